//! Room on a bed by sliding what stands there.

use crate::bed::Spot;
use units::Length;

/// Whether a station that stays may be slid.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Slides {
    /// It stays where it is.
    Never,
    /// It may be slid to make room.
    IfNeedBe,
    /// It must be: it does not serve where it is.
    Always,
}

/// A station that stays on the bed.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Staying {
    pub(crate) left: Length,
    pub(crate) length: Length,
    pub(crate) punch_length: Length,
    /// Farthest the punch's centre may be from the bed's, once it is slid.
    pub(crate) off_centre_most: Length,
    /// How near it is better, if there is room: no more than the above.
    pub(crate) off_centre_wished: Length,
    pub(crate) slides: Slides,
}

/// What stays on a bed, from left to right.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Row<'a> {
    pub(crate) stations: &'a [Staying],
    pub(crate) bed_length: Length,
    /// Distance a station slid or put on keeps from its neighbours.
    pub(crate) gap: Length,
}

/// Places for new stations, and what is slid for them.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Room {
    /// Left ends of the new stations.
    pub(crate) places: Vec<Length>,
    /// Stations of the row that are slid, from left to right, and their new left ends.
    pub(crate) slid: Vec<(usize, Length)>,
}

/// Stations slid one by one beside those that must be; when so many do not help, all are.
const SLID_MOST: usize = 3;
/// Steps of the search for one set of stations that slide, and for all sets together; the first
/// order that fits is nearly always among the first few dozen.
const TRIED_MOST: u32 = 300;
const TRIED_IN_ALL: u32 = 3_000;

/// Places for new stations when at most `most` of the stations that stay are slid beside those that
/// must be: as few as possible, and those by the shortest distances. They keep their order along
/// the bed: nothing passes another. `None` when no arrangement tried lets all of them fit.
pub(crate) fn make_room(row: &Row<'_>, spots: &[Spot], most: usize) -> Option<Room> {
    if spots.len() > 16 || !row.is_long_enough(spots) {
        return None;
    }
    let movable: Vec<usize> = row.which(Slides::IfNeedBe).collect();
    let mut tries = TRIED_IN_ALL;
    let few = most.min(SLID_MOST).min(movable.len());
    let last = (few < movable.len() && movable.len() <= most).then_some(movable.len());
    for count in (0..=few).chain(last) {
        let mut chosen: Vec<usize> = (0..count).collect();
        let mut best: Option<(Length, Room)> = None;
        loop {
            let mut slides: Vec<bool> = vec![false; row.stations.len()];
            for at in row.which(Slides::Always) {
                slides[at] = true;
            }
            for &at in &chosen {
                slides[movable[at]] = true;
            }
            let mut orders = Orders::new(row, spots, &slides, tries.min(TRIED_MOST));
            let allowed = orders.tries;
            orders.extend(0, 0, None);
            tries -= allowed - orders.tries;
            if let Some(found) = orders.best
                && best.as_ref().is_none_or(|best| found.0 < best.0)
            {
                best = Some(found);
            }
            if tries == 0 || !next_choice(&mut chosen, movable.len()) {
                break;
            }
        }
        if let Some((_, room)) = best {
            return Some(room);
        }
    }
    None
}

/// The next choice of as many out of `of`, in the order of a dictionary; false after the last.
fn next_choice(chosen: &mut [usize], of: usize) -> bool {
    let count = chosen.len();
    let Some(at) = (0..count).rev().find(|&at| chosen[at] < of - count + at) else {
        return false;
    };
    chosen[at] += 1;
    for after in at + 1..count {
        chosen[after] = chosen[after - 1] + 1;
    }
    true
}

impl Row<'_> {
    fn which(&self, slides: Slides) -> impl Iterator<Item = usize> + '_ {
        let all = self.stations.iter().enumerate();
        all.filter(move |(_, station)| station.slides == slides)
            .map(|(at, _)| at)
    }

    /// Whether the bed holds all of them at all.
    fn is_long_enough(&self, spots: &[Spot]) -> bool {
        let old: Length = self.stations.iter().map(|station| station.length).sum();
        let new: Length = spots.iter().map(|spot| spot.length).sum();
        let neighbours = (self.stations.len() + spots.len()).saturating_sub(1);
        let gaps = i64::try_from(spots.len().min(neighbours)).unwrap_or(i64::MAX);
        let gaps = Length::from_nanometres(self.gap.nanometres().saturating_mul(gaps));
        old + new + gaps <= self.bed_length
    }

    /// Least and greatest left end of a station that is slid or put on.
    fn window(&self, length: Length, punch_length: Length, off_centre_most: Length) -> Window {
        let last = self.bed_length - length;
        let middle = (self.bed_length - punch_length).half();
        let most = off_centre_most.min(self.bed_length);
        Window {
            least: (middle - most).max(Length::ZERO),
            most: (middle + most).min(last),
        }
    }
}

/// Where a left end may be.
#[derive(Clone, Copy)]
struct Window {
    least: Length,
    most: Length,
}

/// A station in an order along the bed.
#[derive(Clone, Copy)]
struct Item {
    what: What,
    length: Length,
    window: Window,
    /// Whether it is slid or put on, and keeps its gaps.
    moves: bool,
}

#[derive(Clone, Copy)]
enum What {
    Stays(usize),
    New(usize),
}

/// The orders in which stations that stay and new ones may stand, some of the former sliding.
struct Orders<'a> {
    row: &'a Row<'a>,
    spots: &'a [Spot],
    stays: Vec<Item>,
    new: Vec<Item>,
    order: Vec<Item>,
    /// Distance slid in all, and the room.
    best: Option<(Length, Room)>,
    tries: u32,
}

impl<'a> Orders<'a> {
    fn new(row: &'a Row<'a>, spots: &'a [Spot], slides: &[bool], tries: u32) -> Orders<'a> {
        let stays = row.stations.iter().zip(slides).enumerate();
        let stays = stays.map(|(at, (station, &moves))| Item {
            what: What::Stays(at),
            length: station.length,
            window: if moves {
                row.window(
                    station.length,
                    station.punch_length,
                    station.off_centre_most,
                )
            } else {
                Window {
                    least: station.left,
                    most: station.left,
                }
            },
            moves,
        });
        let new = spots.iter().enumerate().map(|(at, spot)| Item {
            what: What::New(at),
            length: spot.length,
            window: row.window(spot.length, spot.punch_length, spot.off_centre_most),
            moves: true,
        });
        Orders {
            row,
            spots,
            stays: stays.collect(),
            new: new.collect(),
            order: Vec::with_capacity(row.stations.len() + spots.len()),
            best: None,
            tries,
        }
    }

    /// Goes on from `next` of the row, the new stations in `used` standing already, each as far left
    /// as it may: where that is too far right, nothing else fits either. `last` is the right end
    /// reached and whether the station there moves.
    fn extend(&mut self, next: usize, used: u32, last: Option<(Length, bool)>) {
        if self.order.len() == self.stays.len() + self.new.len() {
            self.settle();
            return;
        }
        if let Some(&item) = self.stays.get(next) {
            self.put(item, (next + 1, used), last);
        }
        for at in (0..self.new.len()).filter(|at| used & (1 << at) == 0) {
            let item = self.new[at];
            self.put(item, (next, used | (1 << at)), last);
        }
    }

    fn put(&mut self, item: Item, (next, used): (usize, u32), last: Option<(Length, bool)>) {
        if self.tries == 0 {
            return;
        }
        self.tries -= 1;
        let from = last.map_or(item.window.least, |(right, moves)| {
            item.window
                .least
                .max(right + self.between(moves, item.moves))
        });
        // A station that is not slid stands as close to one beside it that is not as it did.
        let fits = from <= item.window.most || last.is_some_and(|(_, moves)| !moves && !item.moves);
        if fits {
            self.order.push(item);
            let left = from.min(item.window.most);
            self.extend(next, used, Some((left + item.length, item.moves)));
            self.order.pop();
        }
    }

    fn between(&self, one_moves: bool, other_moves: bool) -> Length {
        if one_moves || other_moves {
            self.row.gap
        } else {
            Length::ZERO
        }
    }

    /// Places for the order found: the sliding stations as near to where they were as may be, then
    /// the new ones as near to the centre, those that must be nearest first.
    fn settle(&mut self) {
        let mut windows = self.tightened();
        let mut room = Room {
            places: vec![Length::ZERO; self.spots.len()],
            slid: Vec::new(),
        };
        let mut distance = Length::ZERO;
        for at in 0..self.order.len() {
            let item = self.order[at];
            if let (What::Stays(station), true) = (item.what, item.moves) {
                let station_there = &self.row.stations[station];
                let old = station_there.left;
                let wished = self.row.window(
                    station_there.length,
                    station_there.punch_length,
                    station_there.off_centre_wished,
                );
                let left = old.max(wished.least).min(wished.most);
                let left = left.max(windows[at].least).min(windows[at].most);
                self.fix(&mut windows, at, left);
                distance += (left - old).abs();
                if left != old {
                    room.slid.push((station, left));
                }
            }
        }
        if self.best.as_ref().is_some_and(|best| best.0 <= distance) {
            return;
        }
        let mut new: Vec<(usize, usize)> = Vec::with_capacity(self.spots.len());
        for (at, item) in self.order.iter().enumerate() {
            if let What::New(spot) = item.what {
                new.push((at, spot));
            }
        }
        new.sort_by_key(|&(_, spot)| (self.spots[spot].off_centre_most, spot));
        for (at, spot) in new {
            let centre = (self.row.bed_length - self.spots[spot].punch_length).half();
            let left = centre.max(windows[at].least).min(windows[at].most);
            self.fix(&mut windows, at, left);
            room.places[spot] = left;
        }
        self.best = Some((distance, room));
    }

    /// Where each station of the order may stand so that all others still fit.
    fn tightened(&self) -> Vec<Window> {
        let mut windows: Vec<Window> = self.order.iter().map(|item| item.window).collect();
        for at in 1..windows.len() {
            self.push_right(&mut windows, at);
        }
        for at in (0..windows.len().saturating_sub(1)).rev() {
            self.push_left(&mut windows, at);
        }
        windows
    }

    fn fix(&self, windows: &mut [Window], at: usize, left: Length) {
        windows[at] = Window {
            least: left,
            most: left,
        };
        for right in at + 1..windows.len() {
            self.push_right(windows, right);
        }
        for before in (0..at).rev() {
            self.push_left(windows, before);
        }
    }

    /// No farther left than the station before it lets it.
    fn push_right(&self, windows: &mut [Window], at: usize) {
        let (before, item) = (self.order[at - 1], self.order[at]);
        if before.moves || item.moves {
            let least = windows[at - 1].least + before.length + self.row.gap;
            windows[at].least = windows[at].least.max(least);
        }
    }

    /// No farther right than the station behind it lets it.
    fn push_left(&self, windows: &mut [Window], at: usize) {
        let (item, behind) = (self.order[at], self.order[at + 1]);
        if item.moves || behind.moves {
            let most = windows[at + 1].most - item.length - self.row.gap;
            windows[at].most = windows[at].most.min(most);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use rand::{RngExt, SeedableRng};
    use rand_pcg::Pcg64;

    const DM: i64 = 100_000_000;
    /// Whole decimetres of bed.
    const BED: i64 = 12;

    /// An invented row: lengths, places and distances from the centre in whole decimetres.
    fn invent(rng: &mut Pcg64) -> (Vec<Staying>, Vec<Spot>) {
        let dm = |number: i64| Length::from_nanometres(number * DM);
        let off = |rng: &mut Pcg64| match rng.random_range(0..4) {
            0 => dm(rng.random_range(0..4)),
            _ => Length::UNLIMITED,
        };
        let (mut stations, mut at) = (Vec::new(), rng.random_range(0..4));
        while stations.len() < 4 {
            // Even lengths: so that places by the centre are whole decimetres.
            let length = 2 * rng.random_range(1..3);
            if at + length > BED {
                break;
            }
            let slides = match rng.random_range(0..8) {
                0 => Slides::Always,
                1 => Slides::Never,
                _ => Slides::IfNeedBe,
            };
            stations.push(Staying {
                left: dm(at),
                length: dm(length),
                punch_length: dm(length),
                off_centre_most: off(rng),
                off_centre_wished: Length::UNLIMITED,
                slides,
            });
            at += length + rng.random_range(0..3);
        }
        let spot = |rng: &mut Pcg64| {
            let length = dm(2 * rng.random_range(1..3));
            Spot {
                length,
                punch_length: length,
                off_centre_most: off(rng),
            }
        };
        let spots = (0..rng.random_range(1..3)).map(|_| spot(rng)).collect();
        (stations, spots)
    }

    /// Fewest stations that slide beside those that must, over every place in whole decimetres.
    fn fewest(row: &Row<'_>, spots: &[Spot], placed: &mut Vec<(Length, bool)>) -> Option<usize> {
        let at = placed.len();
        let stays = row.stations.len();
        if at == stays + spots.len() {
            let slid = (0..stays).filter(|&at| placed[at].1);
            return Some(slid.count() - row.which(Slides::Always).count());
        }
        let mut best = None;
        for left in (0..BED).map(|number| Length::from_nanometres(number * DM)) {
            let moves = at >= stays || left != row.stations[at].left;
            let must = at < stays && row.stations[at].slides == Slides::Always;
            let may_not = at < stays && row.stations[at].slides == Slides::Never;
            placed.push((left, moves || must));
            if !(moves && may_not) && stands(row, spots, placed) {
                let found = fewest(row, spots, placed);
                best = best.into_iter().chain(found).min();
            }
            placed.pop();
        }
        best
    }

    /// Whether the last of those placed may stand with the others.
    fn stands(row: &Row<'_>, spots: &[Spot], placed: &[(Length, bool)]) -> bool {
        let stays = row.stations.len();
        let size = |at: usize| match row.stations.get(at) {
            Some(station) => (station.length, station.off_centre_most),
            None => (spots[at - stays].length, spots[at - stays].off_centre_most),
        };
        let last = placed.len() - 1;
        let ((left, moves), (length, most)) = (placed[last], size(last));
        let off = (left + left + length - row.bed_length).abs().half();
        if left + length > row.bed_length || (moves && off > most) {
            return false;
        }
        (0..last).all(|at| {
            let ((other, other_moves), (other_length, _)) = (placed[at], size(at));
            let gap = if moves || other_moves {
                row.gap
            } else {
                Length::ZERO
            };
            let behind = other + other_length + gap <= left;
            let before = left + length + gap <= other;
            // Those that stay keep their order.
            if last < stays {
                behind
            } else {
                behind || before
            }
        })
    }

    #[test]
    fn no_fewer_stations_slid_would_do() {
        let mut rng = Pcg64::seed_from_u64(1);
        let (mut fit, mut slid, mut not) = (0, 0, 0);
        for _ in 0..2_500 {
            let (stations, spots) = invent(&mut rng);
            let row = Row {
                stations: &stations,
                bed_length: Length::from_nanometres(BED * DM),
                gap: Length::from_nanometres(rng.random_range(0..2) * DM),
            };
            let found = make_room(&row, &spots, usize::MAX);
            let least = fewest(&row, &spots, &mut Vec::new());
            // One that must slide may find its own place again; such a row is not a fair question.
            let must = row.which(Slides::Always).count();
            let Some(room) = found else {
                assert_eq!(least, None, "{row:#?}\n{spots:#?}");
                not += 1;
                continue;
            };
            let extra = room
                .slid
                .iter()
                .filter(|(at, _)| stations[*at].slides == Slides::IfNeedBe);
            let extra = extra.count();
            assert!(
                least.is_some_and(|least| extra <= least),
                "{least:?} {row:#?}\n{room:#?}"
            );
            let mut placed = Vec::new();
            for (at, station) in stations.iter().enumerate() {
                let new = room.slid.iter().find(|(slid, _)| *slid == at);
                let must = station.slides == Slides::Always;
                placed.push((new.map_or(station.left, |new| new.1), new.is_some() || must));
                assert!(stands(&row, &spots, &placed), "{row:#?}\n{room:#?}");
            }
            for &left in &room.places {
                placed.push((left, true));
                assert!(
                    stands(&row, &spots, &placed),
                    "{row:#?}\n{spots:#?}\n{room:#?}"
                );
            }
            fit += 1;
            slid += usize::from(room.slid.len() > must);
        }
        assert!(fit > 500 && slid > 100 && not > 200);
    }
}

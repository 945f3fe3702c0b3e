//! What stands on a bed, and where more can stand.

use crate::Stock;
use crate::change::off_centre;
use model::{BedStation, Die, Horn, Punch};
use std::sync::Arc;
use units::Length;

/// A station as it stands on a bed: indices into the shop's profiles and sections.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Stand {
    /// Punch profile.
    pub punch: usize,
    /// Die profile.
    pub die: usize,
    /// Whether the punch stands turned about.
    pub reversed: bool,
    /// Left end, from the bed's left end.
    pub left: Length,
    /// Sum of the punch sections.
    pub punch_length: Length,
    /// Sum of the die sections.
    pub die_length: Length,
    /// Punch sections from left to right.
    pub punch_sections: Vec<usize>,
    /// Die sections from left to right.
    pub die_sections: Vec<usize>,
    /// Whether horn sections stand at both ends.
    pub horns: bool,
    /// Punch height plus die height.
    pub closed: Length,
    /// How far the tip may come below the shoulders without a sheet before tools touch.
    pub free_depth: Length,
}

impl Stand {
    /// Bed length taken.
    #[must_use]
    pub fn length(&self) -> Length {
        self.punch_length.max(self.die_length)
    }

    /// Right end.
    #[must_use]
    pub fn right(&self) -> Length {
        self.left + self.length()
    }

    /// All sections, punch first.
    pub fn sections(&self) -> impl Iterator<Item = usize> {
        self.punch_sections
            .iter()
            .chain(&self.die_sections)
            .copied()
    }

    /// Whether it holds the section.
    #[must_use]
    pub fn holds(&self, section: usize) -> bool {
        self.punch_sections.contains(&section) || self.die_sections.contains(&section)
    }

    /// The station with its die block turned to another die; `None` when that is no die.
    #[must_use]
    pub fn turned(&self, stock: &Stock<'_>, die: usize) -> Option<Stand> {
        let (upper, lower) = (stock.punch(self.punch)?, stock.die(die)?);
        Some(Stand {
            die,
            closed: upper.height + lower.height,
            free_depth: free_depth(upper, lower),
            ..self.clone()
        })
    }

    /// A station of given sections; `None` when a profile is not what it should be.
    #[must_use]
    pub fn assemble(
        stock: &Stock<'_>,
        (punch, die): (usize, usize),
        reversed: bool,
        left: Length,
        punch_sections: Vec<usize>,
        die_sections: Vec<usize>,
    ) -> Option<Stand> {
        let (upper, lower) = (stock.punch(punch)?, stock.die(die)?);
        let sum = |sections: &[usize]| sections.iter().map(|&s| stock.section_length(s)).sum();
        let horn = |section: Option<&usize>| {
            section.map_or(Horn::None, |&section| stock.shop().sections[section].horn)
        };
        // Turned about, a left horn becomes a right one.
        let (first, last) = if reversed {
            (Horn::Right, Horn::Left)
        } else {
            (Horn::Left, Horn::Right)
        };
        Some(Stand {
            punch,
            die,
            reversed,
            left,
            punch_length: sum(&punch_sections),
            die_length: sum(&die_sections),
            horns: horn(punch_sections.first()) == first && horn(punch_sections.last()) == last,
            closed: upper.height + lower.height,
            free_depth: free_depth(upper, lower),
            punch_sections,
            die_sections,
        })
    }
}

/// How far a punch tip may come below the die's shoulders, without a sheet, before it touches the
/// groove: by the groove's depth, or by the tip's radius against its walls (geometry, computed).
#[must_use]
pub fn free_depth(punch: &Punch, die: &Die) -> Length {
    if die.flattening {
        return Length::ZERO;
    }
    let half = (die.angle.get() / 2.0).to_radians();
    let tip = punch.tip_radius.mm();
    let walls = die.v.mm() / (2.0 * half.tan()) - tip * (1.0 / half.sin() - 1.0);
    die.groove_depth.min(Length::from_mm(walls))
}

/// A station that wants a place.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Spot {
    /// Bed length it takes.
    pub length: Length,
    /// Punch length, whose centre carries the force.
    pub punch_length: Length,
    /// Farthest that centre may be from the bed's.
    pub off_centre_most: Length,
}

/// Stations on a bed, from left to right.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Bed {
    /// The stations, by left end.
    pub stands: Vec<Arc<Stand>>,
}

impl Bed {
    /// The bed of a brake as the floor describes it. Stations with unknown tools are left out;
    /// whoever read the floor has refused them.
    #[must_use]
    pub fn of_floor<'f>(stock: &Stock<'_>, stations: impl Iterator<Item = &'f BedStation>) -> Bed {
        let stand = |station: &BedStation| {
            let sections = |ids: &[units::SectionId]| -> Option<Vec<usize>> {
                ids.iter().map(|id| stock.section_index(id)).collect()
            };
            Stand::assemble(
                stock,
                (
                    stock.profile_index(&station.punch)?,
                    stock.profile_index(&station.die)?,
                ),
                station.reversed,
                station.left,
                sections(&station.punch_sections)?,
                sections(&station.die_sections)?,
            )
        };
        let mut stands: Vec<Arc<Stand>> = stations.filter_map(stand).map(Arc::new).collect();
        stands.sort_by_key(|stand| stand.left);
        Bed { stands }
    }

    /// Places for new stations among `kept` ones, each `gap` from its neighbours and as near the
    /// bed's centre as may be; the ones that must be nearest the centre choose first, and make room
    /// where the others would find none. `None` when no arrangement tried lets all of them fit.
    #[must_use]
    pub fn place(
        kept: &[(Length, Length)],
        bed_length: Length,
        gap: Length,
        spots: &[Spot],
    ) -> Option<Vec<Length>> {
        let mut order: Vec<usize> = (0..spots.len()).collect();
        order.sort_by_key(|&spot| spots[spot].off_centre_most);
        let mut placing = Placing {
            bed_length,
            gap,
            spots,
            taken: kept.to_vec(),
            row: None,
            tries: TRIED_MOST,
        };
        let mut places = vec![Length::ZERO; spots.len()];
        if placing.place_rest(&order, &mut places) {
            return Some(places);
        }
        if spots.len() < 2 {
            return None;
        }
        placing.row = placing.side_by_side();
        placing.tries = TRIED_MOST;
        placing.place_rest(&order, &mut places).then_some(places)
    }
}

/// Arrangements tried before stations are said not to fit; the first is nearly always good.
const TRIED_MOST: u32 = 400;

/// Stations on their way to their places.
struct Placing<'a> {
    bed_length: Length,
    gap: Length,
    spots: &'a [Spot],
    /// Spans of bed taken so far.
    taken: Vec<(Length, Length)>,
    /// Left end of the new stations standing side by side about the bed's centre.
    row: Option<Length>,
    tries: u32,
}

impl Placing<'_> {
    fn side_by_side(&self) -> Option<Length> {
        let gaps = i64::try_from(self.spots.len().saturating_sub(1)).ok()?;
        let whole: Length = self.spots.iter().map(|spot| spot.length).sum();
        let whole = whole + Length::from_nanometres(self.gap.nanometres() * gaps);
        (whole <= self.bed_length).then(|| (self.bed_length - whole).half())
    }

    /// Places the spots in `order`, the first at the best place that leaves room for the others.
    fn place_rest(&mut self, order: &[usize], places: &mut [Length]) -> bool {
        let Some((&index, rest)) = order.split_first() else {
            return true;
        };
        let spot = self.spots[index];
        for left in self.free_places(&spot) {
            if self.tries == 0 {
                return false;
            }
            self.tries -= 1;
            places[index] = left;
            self.taken.push((left, left + spot.length));
            if self.place_rest(rest, places) {
                return true;
            }
            self.taken.pop();
        }
        false
    }

    /// Places free for a spot: in the middle, at the ends and beside what is there; those nearest
    /// the bed's centre first.
    fn free_places(&self, spot: &Spot) -> Vec<Length> {
        let (gap, last) = (self.gap, self.bed_length - spot.length);
        if last < Length::ZERO {
            return Vec::new();
        }
        let off_centre = |left: Length| off_centre(left, spot.punch_length, self.bed_length);
        let free = |left: Length| {
            Length::ZERO <= left
                && left <= last
                && off_centre(left) <= spot.off_centre_most
                && self
                    .taken
                    .iter()
                    .all(|&(from, to)| left + spot.length + gap <= from || to + gap <= left)
        };
        let beside = self
            .taken
            .iter()
            .flat_map(|&(from, to)| [to + gap, from - gap - spot.length]);
        let mut places: Vec<Length> = [last.half(), Length::ZERO, last]
            .into_iter()
            .chain(self.row)
            .chain(beside)
            .filter(|&left| free(left))
            .collect();
        places.sort_by_key(|&left| (off_centre(left), left));
        places.dedup();
        places
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn mm(mm: i64) -> Length {
        Length::from_whole_mm(mm)
    }

    fn spot(length: i64, off_centre_most: i64) -> Spot {
        Spot {
            length: mm(length),
            punch_length: mm(length),
            off_centre_most: mm(off_centre_most),
        }
    }

    #[test]
    fn an_empty_bed_takes_a_station_at_its_centre() {
        let places = Bed::place(&[], mm(3000), mm(40), &[spot(1000, 5000)]);
        assert_eq!(places, Some(vec![mm(1000)]));
    }

    #[test]
    fn the_station_that_must_be_central_chooses_first() {
        let places = Bed::place(&[], mm(3000), mm(40), &[spot(800, 5000), spot(1000, 0)]);
        assert_eq!(places, Some(vec![mm(160), mm(1000)]));
    }

    /// 1 500 + 40 + 1 500 of 3 100: one in the middle leaves room for nothing else.
    #[test]
    fn long_stations_stand_side_by_side() {
        let places = Bed::place(&[], mm(3100), mm(40), &[spot(1500, 5000), spot(1500, 5000)]);
        assert_eq!(places, Some(vec![mm(0), mm(1540)]));
        // 770 off the centre is as near as both can be: 30 free at each end.
        let places = Bed::place(&[], mm(3100), mm(40), &[spot(1500, 770), spot(1500, 770)]);
        assert_eq!(places, Some(vec![mm(30), mm(1570)]));
        assert_eq!(
            Bed::place(&[], mm(3100), mm(40), &[spot(1500, 769), spot(1500, 769)]),
            None
        );
        assert_eq!(
            Bed::place(&[], mm(3039), mm(40), &[spot(1500, 5000), spot(1500, 5000)]),
            None
        );
    }

    #[test]
    fn gaps_and_ends_are_kept() {
        let kept = [(mm(1000), mm(2000))];
        assert_eq!(
            Bed::place(&kept, mm(3000), mm(40), &[spot(961, 5000)]),
            None
        );
        let places = Bed::place(&kept, mm(3000), mm(40), &[spot(960, 5000)]);
        assert_eq!(places, Some(vec![mm(0)]));
    }
}

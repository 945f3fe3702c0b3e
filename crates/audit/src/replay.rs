//! How a change alters a bed, replayed.

use crate::bed::{Bed, Placed};
use model::{Changeover, Slid, Station, Takedown, Turned};

/// One change on a bed, replayed.
#[derive(Clone, Debug, Default)]
pub(crate) struct Replay<'a> {
    /// Stations taken off that were there, as they stood.
    pub(crate) removed: Bed<'a>,
    /// Stations to be taken off, turned or slid that were not there.
    pub(crate) not_there: Bed<'a>,
    /// Stations to be taken off, turned or slid that the change had dealt with before.
    pub(crate) twice: Bed<'a>,
    /// Stations that stay where and as they are.
    pub(crate) kept: Bed<'a>,
    /// Stations whose die block is turned.
    pub(crate) turned: Vec<Moved<'a>>,
    /// Stations slid along the bed.
    pub(crate) slid: Vec<Moved<'a>>,
    /// Stations put on.
    pub(crate) inserted: Bed<'a>,
    /// The bed after.
    pub(crate) after: Bed<'a>,
}

/// A station that stays on the bed and is turned or slid.
#[derive(Clone, Debug)]
pub(crate) struct Moved<'a> {
    /// As it stood.
    pub(crate) before: Placed<'a>,
    /// As the plan says it stood.
    pub(crate) stated_before: Placed<'a>,
    /// As it stands then: another die or another place, all else as it stood.
    pub(crate) after: Placed<'a>,
}

impl<'a> Replay<'a> {
    /// Replays the change before a run.
    pub(crate) fn of_changeover(before: &Bed<'a>, change: &'a Changeover) -> Replay<'a> {
        let mut bed = Open::of(before);
        let mut replay = Replay::default();
        replay.take_off(&mut bed, &change.remove);
        for turned in &change.turn {
            replay.turn(&mut bed, turned);
        }
        for slid in &change.slide {
            replay.slide(&mut bed, slid);
        }
        replay.inserted = change.insert.iter().map(Placed::from_plan).collect();
        replay.close(bed)
    }

    /// Replays a takedown.
    pub(crate) fn of_takedown(before: &Bed<'a>, takedown: &'a Takedown) -> Replay<'a> {
        let mut bed = Open::of(before);
        let mut replay = Replay::default();
        replay.take_off(&mut bed, &takedown.remove);
        replay.close(bed)
    }

    /// Whether any tool is moved.
    pub(crate) fn moves_tools(&self) -> bool {
        !self.removed.is_empty() || !self.inserted.is_empty() || self.alters_what_stays()
    }

    /// Whether a station that stays on the bed is turned or slid.
    pub(crate) fn alters_what_stays(&self) -> bool {
        !self.turned.is_empty() || !self.slid.is_empty()
    }

    /// Whether this is a station that the change put on or slid to its place.
    pub(crate) fn placed_now(&self, station: &Placed) -> bool {
        self.inserted.contains(station) || self.slid.iter().any(|moved| moved.after == *station)
    }

    fn take_off(&mut self, bed: &mut Open<'a>, stations: &'a [Station]) {
        for station in stations.iter().map(Placed::from_plan) {
            let found = bed.take(&[&|standing| standing.same_tools(&station)]);
            if let Some(standing) = self.settle(found, station) {
                self.removed.push(standing);
            }
        }
    }

    fn turn(&mut self, bed: &mut Open<'a>, turned: &'a Turned) {
        let stated = Placed::from_plan(&turned.station);
        let die = stated.die;
        let stated_before = Placed {
            die: &turned.from,
            ..stated
        };
        let found = bed.take_like(&stated_before);
        if let Some(before) = self.settle(found, stated_before.clone()) {
            let after = Placed {
                die,
                ..before.clone()
            };
            self.turned.push(Moved {
                before,
                stated_before,
                after,
            });
        }
    }

    fn slide(&mut self, bed: &mut Open<'a>, slid: &'a Slid) {
        let stated = Placed::from_plan(&slid.station);
        let left = stated.left;
        let stated_before = Placed {
            left: slid.from,
            ..stated
        };
        let found = bed.take_like(&stated_before);
        if let Some(before) = self.settle(found, stated_before.clone()) {
            let after = Placed {
                left,
                ..before.clone()
            };
            self.slid.push(Moved {
                before,
                stated_before,
                after,
            });
        }
    }

    /// The station found, if the change may still have it; else a note why not.
    fn settle(&mut self, found: Found<'a>, wanted: Placed<'a>) -> Option<Placed<'a>> {
        match found {
            Found::Free(station) => return Some(station),
            Found::Taken => self.twice.push(wanted),
            Found::Nowhere => self.not_there.push(wanted),
        }
        None
    }

    fn close(mut self, bed: Open<'a>) -> Replay<'a> {
        self.kept = bed.free;
        let moved = self.turned.iter().chain(&self.slid);
        let moved: Bed = moved.map(|moved| moved.after.clone()).collect();
        self.after = self.kept.clone();
        self.after.extend(moved);
        self.after.extend(self.inserted.iter().cloned());
        self.after.sort_by_key(|station| station.left);
        self
    }
}

/// A bed in the midst of a change: what the change has not dealt with yet, and what it has.
struct Open<'a> {
    free: Bed<'a>,
    taken: Bed<'a>,
}

enum Found<'a> {
    Free(Placed<'a>),
    Taken,
    Nowhere,
}

type Fits<'f> = &'f dyn Fn(&Placed) -> bool;

impl<'a> Open<'a> {
    fn of(before: &Bed<'a>) -> Open<'a> {
        Open {
            free: before.clone(),
            taken: Bed::new(),
        }
    }

    /// Takes the station that fits, by the first way of fitting that finds any.
    fn take(&mut self, ways: &[Fits]) -> Found<'a> {
        for fits in ways {
            if let Some(index) = self.free.iter().position(fits) {
                let station = self.free.remove(index);
                self.taken.push(station.clone());
                return Found::Free(station);
            }
            if self.taken.iter().any(fits) {
                return Found::Taken;
            }
        }
        Found::Nowhere
    }

    /// Takes the station meant: one just like it, else of its sections, else in its place. What is
    /// wrong about the last two is told by the rules of what is turned and what is slid.
    fn take_like(&mut self, wanted: &Placed) -> Found<'a> {
        self.take(&[
            &|standing| standing.same_tools(wanted),
            &|standing| standing.same_sections(wanted),
            &|standing| standing.left == wanted.left,
        ])
    }
}

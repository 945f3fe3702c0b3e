//! What stands on a bed, and how a change alters it.

use crate::lookup::Lookup;
use crate::numbers::nm;
use model::{BedStation, Die, Punch, Station};
use units::{Length, ProfileId, SectionId};

/// A station as a thing: which sections stand where and which way round. Two are the same when all
/// of this is.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Placed<'a> {
    pub(crate) punch: &'a ProfileId,
    pub(crate) die: &'a ProfileId,
    pub(crate) left: Length,
    /// Whether the punch stands turned about.
    pub(crate) reversed: bool,
    pub(crate) punch_sections: Vec<&'a SectionId>,
    pub(crate) die_sections: Vec<&'a SectionId>,
}

impl<'a> Placed<'a> {
    pub(crate) fn from_floor(station: &'a BedStation) -> Placed<'a> {
        Placed {
            punch: &station.punch,
            die: &station.die,
            left: station.left,
            reversed: station.reversed,
            punch_sections: station.punch_sections.iter().collect(),
            die_sections: station.die_sections.iter().collect(),
        }
    }

    pub(crate) fn from_plan(station: &'a Station) -> Placed<'a> {
        Placed {
            punch: &station.punch,
            die: &station.die,
            left: station.left,
            reversed: station.reversed,
            punch_sections: station
                .punch_sections
                .iter()
                .map(|piece| &piece.section)
                .collect(),
            die_sections: station
                .die_sections
                .iter()
                .map(|piece| &piece.section)
                .collect(),
        }
    }

    pub(crate) fn sections(&self) -> impl Iterator<Item = &'a SectionId> {
        self.punch_sections
            .iter()
            .chain(&self.die_sections)
            .copied()
    }

    /// Length of the punch sections in nanometres.
    pub(crate) fn punch_length(&self, lookup: &Lookup) -> i128 {
        length_of(&self.punch_sections, lookup)
    }

    /// Length of the die sections in nanometres.
    pub(crate) fn die_length(&self, lookup: &Lookup) -> i128 {
        length_of(&self.die_sections, lookup)
    }

    /// Bed length taken in nanometres: the longer of punch and die.
    pub(crate) fn length(&self, lookup: &Lookup) -> i128 {
        self.punch_length(lookup).max(self.die_length(lookup))
    }

    /// Left end in nanometres.
    pub(crate) fn from(&self) -> i128 {
        nm(self.left)
    }

    /// Right end in nanometres.
    pub(crate) fn to(&self, lookup: &Lookup) -> i128 {
        self.from() + self.length(lookup)
    }

    /// The profiles, when the shop has both.
    pub(crate) fn profiles(&self, lookup: &Lookup<'a>) -> Option<(&'a Punch, &'a Die)> {
        Some((lookup.punches.get(self.punch)?, lookup.dies.get(self.die)?))
    }

    /// Whether it is the same but for the way round its punch stands. A plan that turns a station
    /// without moving it is told just that.
    pub(crate) fn same_tools(&self, other: &Placed) -> bool {
        (self.punch, self.die, self.left) == (other.punch, other.die, other.left)
            && self.punch_sections == other.punch_sections
            && self.die_sections == other.die_sections
    }

    /// `PA over D16 at 1000`, or `PA reversed over D16 at 1000`.
    pub(crate) fn describe(&self) -> String {
        let way = if self.reversed { " reversed" } else { "" };
        format!("{}{way} over {} at {}", self.punch, self.die, self.left)
    }
}

fn length_of(sections: &[&SectionId], lookup: &Lookup) -> i128 {
    sections
        .iter()
        .filter_map(|id| lookup.sections.get(id))
        .map(|section| nm(section.length))
        .sum()
}

/// A bed from left to right.
pub(crate) type Bed<'a> = Vec<Placed<'a>>;

/// One change on a bed, replayed.
#[derive(Clone, Debug, Default)]
pub(crate) struct Replay<'a> {
    /// Stations taken off that were there, as they stood.
    pub(crate) removed: Bed<'a>,
    /// Stations to be taken off that were not there.
    pub(crate) not_there: Bed<'a>,
    /// Stations that stay.
    pub(crate) kept: Bed<'a>,
    /// Stations put on.
    pub(crate) inserted: Bed<'a>,
    /// The bed after.
    pub(crate) after: Bed<'a>,
}

/// Takes `remove` off, then puts `insert` on.
pub(crate) fn replay<'a>(
    before: &Bed<'a>,
    remove: &'a [Station],
    insert: &'a [Station],
) -> Replay<'a> {
    let mut replay = Replay {
        kept: before.clone(),
        ..Replay::default()
    };
    for station in remove.iter().map(Placed::from_plan) {
        let mut there = replay.kept.iter();
        match there.position(|kept| kept.same_tools(&station)) {
            Some(index) => replay.removed.push(replay.kept.remove(index)),
            None => replay.not_there.push(station),
        }
    }
    replay.inserted = insert.iter().map(Placed::from_plan).collect();
    replay.after = replay.kept.clone();
    replay.after.extend(replay.inserted.iter().cloned());
    replay.after.sort_by_key(|station| station.left);
    replay
}

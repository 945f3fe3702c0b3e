//! What stands on a bed.

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
            && self.same_sections(other)
    }

    /// Whether it is made of the same pieces, wherever and whichever face up they stand.
    pub(crate) fn same_sections(&self, other: &Placed) -> bool {
        self.punch_sections == other.punch_sections && self.die_sections == other.die_sections
    }

    /// In words, everything in which it is not the other but the way round its punch stands, which
    /// has a rule of its own.
    pub(crate) fn differences(&self, other: &Placed) -> Vec<String> {
        let mut words = Vec::new();
        let mut tell = |differs: bool, what: &str, here: String, there: String| {
            if differs {
                words.push(format!("{what} {here} is {there} on the bed"));
            }
        };
        let (here, there) = (self.punch, other.punch);
        tell(here != there, "punch", here.to_string(), there.to_string());
        let (here, there) = (self.die, other.die);
        tell(here != there, "die", here.to_string(), there.to_string());
        let (here, there) = (self.left, other.left);
        tell(
            here != there,
            "left end",
            here.to_string(),
            there.to_string(),
        );
        let (here, there) = (&self.punch_sections, &other.punch_sections);
        tell(here != there, "punch sections", list(here), list(there));
        let (here, there) = (&self.die_sections, &other.die_sections);
        tell(here != there, "die sections", list(here), list(there));
        words
    }

    /// `PA over D16 at 1000`, or `PA reversed over D16 at 1000`.
    pub(crate) fn describe(&self) -> String {
        let way = if self.reversed { " reversed" } else { "" };
        format!("{}{way} over {} at {}", self.punch, self.die, self.left)
    }
}

fn list(sections: &[&SectionId]) -> String {
    let ids: Vec<&str> = sections.iter().map(|id| id.as_str()).collect();
    ids.join(" ")
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

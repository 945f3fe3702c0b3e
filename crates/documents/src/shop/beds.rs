//! The beds as they are: every section in one place, every station within its bed and beside the
//! others.

use super::brakes::Brakes;
use super::floor::Around;
use super::mounts::check_mounts;
use super::sections::FILE as SECTIONS;
use crate::codes::{
    HORN_INSIDE, MIXED_SETS, OFF_THE_BED, SECTION_OF_OTHER, SECTION_OUT, SECTION_TWICE,
    STATIONS_OVERLAP, TURNED_ABOUT, UNKNOWN_SECTION,
};
use crate::fields::Fields;
use crate::findings::{Findings, Problem};
use crate::table::Row;
use model::{BedStation, Horn, Section, SectionStatus};
use std::collections::BTreeMap;
use units::{Length, Place, ProfileId, SectionId};

/// A station with the row it stands in.
pub(super) struct StationRow<'r, 'a, 'f> {
    pub(super) row: &'r mut Row<'a, 'f>,
    pub(super) station: BedStation,
}

/// The stations so far.
pub(super) struct Beds {
    stations: Vec<Laid>,
    used: BTreeMap<SectionId, Place>,
}

struct Laid {
    station: BedStation,
    /// Right end; unknown when a section is.
    right: Option<Length>,
    place: Place,
}

impl Beds {
    pub(super) fn new() -> Beds {
        Beds {
            stations: Vec::new(),
            used: BTreeMap::new(),
        }
    }

    /// Checks a station by itself and against the sections used before, and keeps it.
    pub(super) fn add(&mut self, station: StationRow<'_, '_, '_>, around: &Around<'_>) {
        let StationRow { row, station } = station;
        let (brakes, tooling) = (around.brakes, around.tooling);
        check_mounts(
            row,
            &station.brake,
            &station.punch,
            &station.die,
            brakes,
            tooling,
        );
        let punches = self.check_sections(
            row,
            "punch_sections",
            (&station.punch, &station.punch_sections, station.reversed),
            around,
        );
        let dies = self.check_sections(
            row,
            "die_sections",
            (&station.die, &station.die_sections, false),
            around,
        );
        check_way_round(row, &station, around);
        let right = punches
            .zip(dies)
            .map(|(punches, dies)| station.left + punches.max(dies));
        let place = row.place("left");
        self.stations.push(Laid {
            station,
            right,
            place,
        });
    }

    /// The sum of the sections' lengths, when all are known.
    fn check_sections(
        &mut self,
        row: &mut Row<'_, '_>,
        key: &'static str,
        (profile, ids, reversed): (&ProfileId, &[SectionId], bool),
        around: &Around<'_>,
    ) -> Option<Length> {
        let sections = around.sections;
        let block = around.tooling.block_of(profile);
        let mut known: Vec<&Section> = Vec::new();
        for id in ids {
            if let Some(first) = self.used.get(id) {
                let found = format!("{id} is already at {first}");
                let action = "take it out where it is not";
                row.report(
                    key,
                    Problem::new(SECTION_TWICE, found, "a section once", action),
                );
            } else {
                self.used.insert(id.clone(), row.place(key));
            }
            if let Some(problem) = sections.ids.missing(id, UNKNOWN_SECTION, SECTIONS) {
                row.report(key, problem);
            }
            let Some(section) = sections.get(id) else {
                continue;
            };
            check_section(row, key, section, (profile, block));
            known.push(section);
        }
        check_set(row, key, &known);
        check_horns(row, key, &known, reversed);
        // No more sections than fit a line, none beyond 20 m: no overflow.
        (known.len() == ids.len()).then(|| known.iter().map(|section| section.length).sum())
    }

    /// Checks the stations of each bed against its ends and against each other, and hands all over
    /// by brake, in the shop's order, and position.
    pub(super) fn finish(self, brakes: &Brakes, out: &mut Findings) -> Vec<BedStation> {
        let mut stations = self.stations;
        stations.sort_by_key(|laid| {
            let brake = brakes
                .list
                .iter()
                .position(|brake| brake.id == laid.station.brake);
            (brake.unwrap_or(usize::MAX), laid.station.left)
        });
        for laid in &stations {
            check_ends(laid, brakes, out);
        }
        for pair in stations.windows(2) {
            if let [before, after] = pair {
                check_pair(before, after, out);
            }
        }
        stations.into_iter().map(|laid| laid.station).collect()
    }
}

/// A section is of the station's profile, or of the block whose face it is.
fn check_section(
    row: &mut Row<'_, '_>,
    key: &'static str,
    section: &Section,
    (profile, block): (&ProfileId, Option<&ProfileId>),
) {
    if section.profile != *profile && Some(&section.profile) != block {
        let found = format!("{} is of {}", section.id, section.profile);
        let expected = match block {
            Some(block) => format!("sections of {profile} or of its block {block}"),
            None => format!("sections of {profile}"),
        };
        let action = "correct the section or the profile";
        row.report(key, Problem::new(SECTION_OF_OTHER, found, expected, action));
    }
    if section.status == SectionStatus::Out {
        let found = format!("{} is out of service", section.id);
        let action = "take it off the bed, or correct its status in sections.csv";
        row.report(
            key,
            Problem::new(SECTION_OUT, found, "sections in service", action),
        );
    }
}

fn check_set(row: &mut Row<'_, '_>, key: &'static str, sections: &[&Section]) {
    let Some(first) = sections.first() else {
        return;
    };
    if let Some(other) = sections.iter().find(|section| section.set != first.set) {
        let found = format!(
            "{} of set {}, {} of set {}",
            first.id, first.set, other.id, other.set
        );
        let action = "sets are ground alike and not mixed; correct the sections or their sets";
        row.report(
            key,
            Problem::new(MIXED_SETS, found, "sections of one set", action),
        );
    }
}

/// Horns stand at the ends; turned about, a left horn is a right one.
fn check_horns(row: &mut Row<'_, '_>, key: &'static str, sections: &[&Section], reversed: bool) {
    let last = sections.len().saturating_sub(1);
    for (at, section) in sections.iter().enumerate() {
        let well = match section.horn {
            Horn::None => true,
            Horn::Left => at == if reversed { last } else { 0 },
            Horn::Right => at == if reversed { 0 } else { last },
        };
        if !well {
            let found = format!("{} is number {} of {}", section.id, at + 1, last + 1);
            let expected = if reversed {
                "turned about: a right horn first and a left horn last"
            } else {
                "a left horn first and a right horn last"
            };
            let action = "list the sections from left to right";
            row.report(key, Problem::new(HORN_INSIDE, found, expected, action));
        }
    }
}

/// A punch without relief is the same either way round.
fn check_way_round(row: &mut Row<'_, '_>, station: &BedStation, around: &Around<'_>) {
    let punch = around.tooling.punch(&station.punch);
    let straight = punch.filter(|punch| punch.relief == Length::ZERO);
    let Some(punch) = straight.filter(|_| station.reversed) else {
        return;
    };
    let found = format!("yes, and {} is a straight punch", punch.id);
    let action = "empty the cell, or correct the punch";
    row.report(
        "reversed",
        Problem::new(TURNED_ABOUT, found, "no, without a relief", action),
    );
}

fn check_ends(laid: &Laid, brakes: &Brakes, out: &mut Findings) {
    let (Some(brake), Some(right)) = (brakes.get(&laid.station.brake), laid.right) else {
        return;
    };
    if right > brake.bed {
        let found = format!("from {} to {right} mm", laid.station.left);
        let expected = format!("within the bed, 0 to {} mm", brake.bed);
        let action = "correct the position or the sections";
        out.add(
            laid.place.clone(),
            Problem::new(OFF_THE_BED, found, expected, action),
        );
    }
}

fn check_pair(before: &Laid, after: &Laid, out: &mut Findings) {
    let Some(right) = before
        .right
        .filter(|_| before.station.brake == after.station.brake)
    else {
        return;
    };
    if after.station.left < right {
        let found = format!("begins at {} mm", after.station.left);
        let expected = format!("no earlier than {right} mm, where the station before it ends");
        let action = "correct one of the two positions or their sections";
        out.add(
            after.place.clone(),
            Problem::new(STATIONS_OVERLAP, found, expected, action),
        );
    }
}

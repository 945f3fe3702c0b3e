//! sections.csv: the physical sections of each profile or block of dies.

use super::general::General;
use super::tooling::{FILE as TOOLING, Tooling};
use crate::codes::{BAD_ID, HORN_ON_DIE, NO_SECTIONS, OUT_OF_RANGE, UNKNOWN_PROFILE};
use crate::fields::Fields;
use crate::findings::{Findings, Problem, shown};
use crate::known::Known;
use crate::limits::MOST_ROWS;
use crate::table::{Column, Layout, Row, optional, read_table, required};
use crate::value::{Choice, Id, LengthIn, Number, Text, Whole};
use model::{Horn, Section, SectionStatus};
use std::collections::{BTreeMap, BTreeSet};
use units::{Kilograms, ProfileId, SectionId};

pub(super) const FILE: &str = "sections.csv";

pub(super) const COLUMNS: &[Column] = &[
    required("profile"),
    required("length").length(),
    optional("count"),
    optional("id"),
    optional("set"),
    optional("horn"),
    required("drawer"),
    required("mass_kg"),
    optional("status"),
];
const HORNS: Choice<Horn> = Choice(&[
    ("none", Horn::None),
    ("left", Horn::Left),
    ("right", Horn::Right),
]);
const STATUS: Choice<SectionStatus> =
    Choice(&[("good", SectionStatus::Good), ("out", SectionStatus::Out)]);

/// The sections and their ids.
pub(super) struct Sections {
    pub(super) list: Vec<Section>,
    pub(super) ids: Known<SectionId>,
    index: BTreeMap<SectionId, usize>,
}

impl Sections {
    pub(super) fn get(&self, id: &SectionId) -> Option<&Section> {
        self.list.get(*self.index.get(id)?)
    }
}

/// Reads sections.csv.
pub(super) fn read_sections(
    bytes: Option<&[u8]>,
    general: &General,
    tooling: &Tooling,
    out: &mut Findings,
) -> Sections {
    let mut sections = Sections {
        list: Vec::new(),
        ids: Known::new(),
        index: BTreeMap::new(),
    };
    let layout = Layout {
        file: FILE,
        columns: COLUMNS,
        unit: general.unit,
    };
    let whole = bytes.is_some_and(|bytes| {
        read_table(layout, bytes, out, |row| {
            if read_row(row, tooling, &mut sections).is_none() {
                sections.ids.mark_incomplete();
            }
        })
    });
    if whole {
        note_profiles_without(&sections, tooling, out);
    } else {
        sections.ids.mark_incomplete();
    }
    sections
}

fn read_row(row: &mut Row<'_, '_>, tooling: &Tooling, sections: &mut Sections) -> Option<()> {
    let profile = row.required("profile", &Id(ProfileId::new));
    let length = row.required("length", &LengthIn::above_zero(20_000));
    let count = row.or(
        "count",
        &Whole {
            least: 1,
            most: 1_000,
            unit: "sections",
        },
        1,
    );
    let id = row.optional("id", &Id(SectionId::new));
    let set = row.or("set", &Text, "A".to_owned());
    let horn = row.or("horn", &HORNS, Horn::None);
    let drawer = row.required("drawer", &Text);
    let mass = row.required("mass_kg", &Number::above(0.0, 10_000.0, "kg"));
    let status = row.or("status", &STATUS, SectionStatus::Good);
    let profile = profile?;
    check_profile(row, &profile, horn, tooling);
    let section = Section {
        id: SectionId::new("-").ok()?,
        profile,
        set,
        length: length?,
        horn,
        drawer: drawer?,
        mass: Kilograms::of(mass?),
        status,
    };
    let base = match id {
        Some(id) => id.to_string(),
        None => format!("{}-{}mm", section.profile, section.length),
    };
    for number in 1..=count {
        let text = if count > 1 {
            format!("{base}-{number}")
        } else {
            base.clone()
        };
        add_section(row, &text, &section, sections)?;
    }
    Some(())
}

fn add_section(
    row: &mut Row<'_, '_>,
    id: &str,
    section: &Section,
    sections: &mut Sections,
) -> Option<()> {
    if sections.list.len() >= MOST_ROWS {
        let expected = format!("at most {MOST_ROWS} sections in all");
        let problem = Problem::new(
            OUT_OF_RANGE,
            "too many sections",
            expected,
            "lower the count",
        );
        row.report("count", problem);
        return None;
    }
    let id = match SectionId::new(id) {
        Ok(id) => id,
        Err(error) => {
            let found = format!("{}: {error}", shown(id));
            let action = "give the section a shorter id of its own";
            row.report("id", Problem::new(BAD_ID, found, "an id", action));
            return None;
        }
    };
    if sections.ids.add(&id, row.place("id"), row.out) {
        sections.index.insert(id.clone(), sections.list.len());
        sections.list.push(Section {
            id,
            ..section.clone()
        });
    }
    Some(())
}

fn check_profile(row: &mut Row<'_, '_>, profile: &ProfileId, horn: Horn, tooling: &Tooling) {
    let block = tooling.is_block(profile);
    if !block && let Some(problem) = tooling.ids.missing(profile, UNKNOWN_PROFILE, TOOLING) {
        row.report("profile", problem);
    }
    if horn != Horn::None && (block || tooling.die(profile).is_some()) {
        let found = format!("a horn on die {profile}");
        let action = "leave the horn empty, or name a punch";
        row.report(
            "horn",
            Problem::new(HORN_ON_DIE, found, "horns on punches alone", action),
        );
    }
}

fn note_profiles_without(sections: &Sections, tooling: &Tooling, out: &mut Findings) {
    let good = sections
        .list
        .iter()
        .filter(|section| section.status == SectionStatus::Good);
    let owned: BTreeSet<&ProfileId> = good.map(|section| &section.profile).collect();
    for profile in tooling
        .list
        .iter()
        .filter(|profile| !owned.contains(profile.id()))
    {
        if tooling
            .block_of(profile.id())
            .is_some_and(|block| owned.contains(block))
        {
            continue;
        }
        let Some(place) = tooling.ids.place(profile.id()) else {
            continue;
        };
        let found = format!("{} has no section in service", profile.id());
        let problem = Problem::new(NO_SECTIONS, found, "", "it is not used in any plan");
        out.add(place.clone(), problem);
    }
}

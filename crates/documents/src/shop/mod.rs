//! Reading a whole shop folder, file by file.
//!
//! Each file has its module. They are read in the order of [`KNOWN_FILES`], so that a reference
//! almost always points to something read before; the few that point forwards are checked at the
//! end of their file.

mod base;
mod beds;
mod bends;
mod brakes;
mod calendars;
mod crew;
mod deductions;
mod defaults;
mod floor;
mod general;
mod grades;
mod lines;
mod materials;
mod mounts;
mod orders;
mod parts;
mod rules;
mod sections;
mod sequence;
mod setup_bends;
mod setups;
mod shares;
mod tooling;

pub use base::{Base, Cells, OrderRow};
pub use defaults::default_change_times;

use crate::codes::{ABSENT_FILE, MISSING_FILE, UNKNOWN_FILE};
use crate::file_set::{FileSet, KNOWN_FILES};
use crate::findings::{Findings, Problem, shown};
use crate::nearest::suggestion;
use defaults::{Defaults, read_defaults};
use grades::{Grades, read_grades};
use model::{Deduction, Floor, Person, ProvenSetup, Shop};
use units::{Finding, Place};

/// Reads the files of a shop folder.
///
/// All findings are collected, at most 1 000, sorted by file in the order of [`KNOWN_FILES`] and
/// then by line. The shop is there exactly when none of them is an error; then every reference in
/// it resolves and every id is unique within its list. No bytes make this panic.
#[must_use]
pub fn read_shop(files: &FileSet) -> (Option<Shop>, Vec<Finding>) {
    let mut findings = Findings::default();
    check_names(files, &mut findings);
    let defaults = read_defaults(&mut findings);
    let grades = read_grades(&mut findings);
    let read = defaults.map(|defaults| read_all(files, &defaults, &grades, &mut findings));
    let shop = read.and_then(Read::into_shop);
    let good = !findings.any_error();
    (shop.filter(|_| good), findings.finish())
}

/// The columns of an order.
pub(crate) fn order_columns() -> impl Iterator<Item = &'static str> {
    orders::COLUMNS.iter().map(|column| column.name)
}

/// What the files say, list by list.
struct Read {
    general: general::General,
    brakes: brakes::Brakes,
    materials: materials::Materials,
    tooling: tooling::Tooling,
    sections: sections::Sections,
    parts: parts::Parts,
    deductions: Vec<Deduction>,
    setups: Vec<ProvenSetup>,
    orders: orders::Orders,
    people: Vec<Person>,
    floor: Floor,
}

impl Read {
    fn into_shop(self) -> Option<Shop> {
        Some(Shop {
            name: self.general.name?,
            zone: self.general.zone,
            as_of: self.general.as_of,
            rules: self.general.rules?,
            calendars: self.general.calendars,
            brakes: self.brakes.list,
            materials: self.materials.list,
            profiles: self.tooling.list,
            sections: self.sections.list,
            parts: self.parts.list,
            deductions: self.deductions,
            setups: self.setups,
            orders: self.orders.list,
            people: self.people,
            floor: self.floor,
        })
    }
}

fn read_all(files: &FileSet, defaults: &Defaults, grades: &Grades, out: &mut Findings) -> Read {
    let general = general::read_general(files.get("shop.toml"), defaults, out);
    let brakes = brakes::read_brakes(files.get("brakes.toml"), &general, defaults, out);
    let sheet = files.get("materials.toml");
    let materials = materials::read_materials(sheet, &general, grades, out);
    let tooling = tooling::read_tooling(files.get("tooling.toml"), &general, out);
    let sections = sections::read_sections(files.get("sections.csv"), &general, &tooling, out);
    let (part_rows, bend_rows) = (files.get("parts.csv"), files.get("bends.csv"));
    let parts = parts::read_parts(part_rows, bend_rows, &general, &materials, out);
    let deduction_rows = files.get("deductions.csv");
    let deductions = deductions::read_deductions(deduction_rows, &general, &materials, out);
    let setup_rows = files.get("setups.csv");
    let setups = setups::read_setups(setup_rows, &general, &parts, &brakes, &tooling, out);
    let order_rows = files.get("work-orders.csv");
    let around = orders::Around {
        general: &general,
        parts: &parts,
        brakes: &brakes,
    };
    let mut orders = orders::read_orders(order_rows, around, out);
    sequence::check_sequence(&orders, &|_| None, out);
    shares::read_deliveries(files.get("deliveries.csv"), &general, &mut orders, out);
    shares::read_blanks(files.get("blanks.csv"), &general, &mut orders, out);
    let people = crew::read_crew(files.get("crew.csv"), &general, &brakes, out);
    let around = floor::Around {
        general: &general,
        brakes: &brakes,
        tooling: &tooling,
        sections: &sections,
        orders: &orders,
    };
    let floor = floor::read_floor(files.get("floor.csv"), &around, out);
    Read {
        general,
        brakes,
        materials,
        tooling,
        sections,
        parts,
        deductions,
        setups,
        orders,
        people,
        floor,
    }
}

/// What is assumed when an optional file is not there.
const ASSUMED: &[(&str, &str)] = &[
    (
        "deductions.csv",
        "every deduction is worked out by the formula",
    ),
    ("setups.csv", "no setup is proven"),
    ("deliveries.csv", "every order ships at once"),
    ("blanks.csv", "all blanks are on hand"),
    (
        "floor.csv",
        "all beds are empty, nothing is running and no brake is down",
    ),
];

/// Reports files that are missing and files that nobody reads.
fn check_names(files: &FileSet, out: &mut Findings) {
    let place = |file: &str| Place {
        file: file.to_owned(),
        line: None,
        field: None,
    };
    for (name, required) in KNOWN_FILES {
        if files.get(name).is_some() {
            continue;
        }
        let problem = if *required {
            let action = "add it as docs/reference/shop-files.md describes";
            Problem::new(
                MISSING_FILE,
                "the file is not there",
                "a required file",
                action,
            )
        } else {
            let assumed = ASSUMED.iter().find(|(file, _)| file == name);
            let found = format!("not there: {}", assumed.map_or("", |(_, assumed)| assumed));
            Problem::new(ABSENT_FILE, found, "", "add it if that is not so")
        };
        out.add(place(name), problem);
    }
    for name in files.names() {
        let table = name.ends_with(".csv") || name.ends_with(".toml");
        if table && !KNOWN_FILES.iter().any(|(known, _)| *known == name) {
            let known = KNOWN_FILES.iter().map(|(known, _)| *known);
            let action = suggestion(name, known, "nobody reads it; rename it or move it away");
            let found = format!("a file {}", shown(name));
            let expected = "the files of a shop folder";
            out.add(
                place(name),
                Problem::new(UNKNOWN_FILE, found, expected, action),
            );
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const PAGE: &str = include_str!("../../../../docs/reference/shop-files.md");

    #[test]
    fn every_file_and_column_is_documented() {
        let tables = [
            (sections::FILE, sections::COLUMNS),
            (parts::FILE, parts::COLUMNS),
            (bends::FILE, bends::COLUMNS),
            (deductions::FILE, deductions::COLUMNS),
            (setups::FILE, setups::COLUMNS),
            (orders::FILE, orders::COLUMNS),
            (shares::DELIVERIES, shares::DELIVERY_COLUMNS),
            (shares::BLANKS, shares::BLANK_COLUMNS),
            (crew::FILE, crew::COLUMNS),
            (floor::FILE, floor::COLUMNS),
        ];
        for (file, columns) in tables {
            let start = PAGE.find(&format!("\n## {file}\n")).expect(file);
            let section = &PAGE[start + 1..];
            let section = &section[..section.find("\n## ").unwrap_or(section.len())];
            for column in columns {
                assert!(
                    section.contains(&format!("`{}`", column.name)),
                    "{file} {}",
                    column.name
                );
            }
        }
        for (file, _) in KNOWN_FILES {
            assert!(PAGE.contains(&format!("\n| {file} |")), "{file}");
        }
    }

    #[test]
    fn every_default_is_documented() {
        let defaults = include_str!("../../../../config/defaults.toml");
        let keys = defaults.lines().filter_map(|line| line.split_once(" = "));
        for (key, _) in keys.filter(|(key, _)| !key.starts_with('#')) {
            assert!(PAGE.contains(&format!("`{key}`")), "{key}");
        }
    }
}

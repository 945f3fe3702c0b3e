//! One fault at a time in the small shop: the code it is reported under, and the place.

use super::{files, text};
use documents::{CODES, FileSet, read_shop};
use units::Finding;

/// What is changed, where, and what must be said: name, file, text replaced, its replacement, code,
/// place.
pub type Case = (
    &'static str,
    &'static str,
    &'static str,
    &'static str,
    &'static str,
    &'static str,
);

/// Checks that the fault is found where it is, and that a shop comes out only without an error.
pub fn check(name: &str, set: &FileSet, code: &str, place: &str) {
    let (shop, findings) = read_shop(set);
    let said: Vec<String> = findings.iter().map(ToString::to_string).collect();
    let said = said.join("\n");
    let hit = |finding: &&Finding| finding.code == code && finding.place.to_string() == place;
    let finding = findings.iter().find(hit);
    let finding = finding.unwrap_or_else(|| panic!("{name}: no {code} at {place} in\n{said}"));
    assert!(!finding.found.is_empty(), "{name}: {finding}");
    assert!(!finding.action.is_empty(), "{name}: {finding}");
    let errors = findings.iter().any(Finding::is_error);
    assert_eq!(shop.is_none(), errors, "{name}:\n{said}");
    let known = CODES.iter().find(|known| known.code == code);
    assert_eq!(
        known.map(|known| known.severity),
        Some(finding.severity),
        "{name}"
    );
}

pub fn edited(file: &str, from: &str, to: &str) -> FileSet {
    let good = text(file);
    assert!(good.contains(from), "{file} has no {from:?}");
    let mut set = files();
    set.insert(file, good.replacen(from, to, 1).into_bytes());
    set
}

pub fn check_all(cases: &[Case]) {
    for (name, file, from, to, code, place) in cases {
        check(name, &edited(file, from, to), code, place);
    }
}

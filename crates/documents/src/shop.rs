//! Reading a whole shop folder.

use crate::file_set::{FileSet, KNOWN_FILES};
use model::Shop;
use units::{Finding, Place, Severity};

/// Reads the files of a shop folder.
///
/// All findings are collected, sorted by file and line. The shop is there exactly when none of them
/// is an error.
#[must_use]
pub fn read_shop(files: &FileSet) -> (Option<Shop>, Vec<Finding>) {
    let missing = KNOWN_FILES
        .iter()
        .filter(|(name, required)| *required && files.get(name).is_none());
    let findings = missing.map(|(name, _)| Finding {
        code: "D101",
        severity: Severity::Error,
        place: Place {
            file: (*name).to_owned(),
            line: None,
            field: None,
        },
        found: "the file is not there".to_owned(),
        expected: String::new(),
        action: "add it".to_owned(),
    });
    (None, findings.collect())
}

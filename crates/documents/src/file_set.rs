//! The files of a shop folder, as bytes.

use std::collections::BTreeMap;

/// Files a shop folder may hold, in the order in which they are read and reported, and whether each
/// is required.
pub const KNOWN_FILES: &[(&str, bool)] = &[
    ("shop.toml", true),
    ("brakes.toml", true),
    ("materials.toml", true),
    ("tooling.toml", true),
    ("sections.csv", true),
    ("parts.csv", true),
    ("bends.csv", true),
    ("deductions.csv", false),
    ("setups.csv", false),
    ("work-orders.csv", true),
    ("deliveries.csv", false),
    ("blanks.csv", false),
    ("crew.csv", true),
    ("floor.csv", false),
];

/// Named byte strings: what a caller found in a shop folder.
///
/// Names are relative to the folder. Whoever builds the set decides how the bytes are fetched; this
/// crate never opens a file.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct FileSet {
    files: BTreeMap<String, Vec<u8>>,
}

impl FileSet {
    /// No files yet.
    #[must_use]
    pub fn new() -> FileSet {
        FileSet::default()
    }

    /// Adds a file; a second one of the same name replaces the first.
    pub fn insert(&mut self, name: &str, bytes: Vec<u8>) {
        self.files.insert(name.to_owned(), bytes);
    }

    /// The bytes of a file, when it is there.
    #[must_use]
    pub fn get(&self, name: &str) -> Option<&[u8]> {
        self.files.get(name).map(Vec::as_slice)
    }

    /// The names, in alphabetical order.
    pub fn names(&self) -> impl Iterator<Item = &str> {
        self.files.keys().map(String::as_str)
    }
}

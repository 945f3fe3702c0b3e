//! The repository's files in memory: what every check looks at.

use std::collections::BTreeMap;
use std::fs;
use std::io;
use std::path::Path;

/// Folders that hold no source of ours.
const SKIPPED: &[&str] = &["target", ".git"];

/// All files by their path from the root, with `/` between folders, and their text.
#[derive(Debug, Default)]
pub(crate) struct Tree {
    files: BTreeMap<String, String>,
}

/// Something a check does not accept.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Fault {
    /// File, with `:line` where one can be told.
    pub(crate) place: String,
    /// What is wrong and what to do.
    pub(crate) text: String,
}

impl Fault {
    pub(crate) fn new(place: impl Into<String>, text: impl Into<String>) -> Fault {
        Fault {
            place: place.into(),
            text: text.into(),
        }
    }
}

impl Tree {
    /// Reads everything under `root`.
    ///
    /// # Errors
    /// When a folder or file cannot be read.
    pub(crate) fn read(root: &Path) -> io::Result<Tree> {
        let mut tree = Tree::default();
        tree.read_folder(root, "")?;
        Ok(tree)
    }

    fn read_folder(&mut self, folder: &Path, prefix: &str) -> io::Result<()> {
        for entry in fs::read_dir(folder)? {
            let entry = entry?;
            let name = entry.file_name().to_string_lossy().into_owned();
            let path = format!("{prefix}{name}");
            if entry.file_type()?.is_dir() {
                if !SKIPPED.contains(&name.as_str()) {
                    self.read_folder(&entry.path(), &format!("{path}/"))?;
                }
            } else {
                let bytes = fs::read(entry.path())?;
                self.insert(path, String::from_utf8_lossy(&bytes));
            }
        }
        Ok(())
    }

    pub(crate) fn insert(&mut self, path: impl Into<String>, text: impl Into<String>) {
        self.files.insert(path.into(), text.into());
    }

    /// A file's text; empty when there is no such file.
    pub(crate) fn text(&self, path: &str) -> &str {
        self.files.get(path).map_or("", String::as_str)
    }

    /// Whether a file or a folder stands at the path.
    pub(crate) fn has(&self, path: &str) -> bool {
        let folder = format!("{}/", path.trim_end_matches('/'));
        self.files.contains_key(path) || self.under(&folder).next().is_some()
    }

    /// Files whose path begins with `prefix`, with their text.
    pub(crate) fn under<'t>(&'t self, prefix: &str) -> impl Iterator<Item = (&'t str, &'t str)> {
        let prefix = prefix.to_owned();
        self.files
            .range(prefix.clone()..)
            .take_while(move |(path, _)| path.starts_with(&prefix))
            .map(|(path, text)| (path.as_str(), text.as_str()))
    }

    /// Files whose name ends in `ending`, with their text.
    pub(crate) fn ending<'t>(&'t self, ending: &str) -> impl Iterator<Item = (&'t str, &'t str)> {
        self.files
            .iter()
            .filter(move |(path, _)| path.ends_with(ending))
            .map(|(path, text)| (path.as_str(), text.as_str()))
    }

    /// Names of the workspace's crates: the folders under `crates/` that hold a manifest.
    pub(crate) fn crates(&self) -> Vec<&str> {
        self.under("crates/")
            .filter_map(|(path, _)| path.strip_prefix("crates/")?.strip_suffix("/Cargo.toml"))
            .filter(|name| !name.contains('/'))
            .collect()
    }
}

#[cfg(test)]
impl Tree {
    /// A tree of the given files.
    pub(crate) fn of(files: &[(&str, &str)]) -> Tree {
        let mut tree = Tree::default();
        for (path, text) in files {
            tree.insert(*path, *text);
        }
        tree
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn crates_are_folders_with_a_manifest() {
        let tree = Tree::of(&[
            ("crates/a/Cargo.toml", ""),
            ("crates/a/fixtures/x/Cargo.toml", ""),
            ("crates/b/src/lib.rs", ""),
        ]);
        assert_eq!(tree.crates(), ["a"]);
        assert!(tree.has("crates/b") && tree.has("crates/b/src/") && !tree.has("crates/c"));
    }
}

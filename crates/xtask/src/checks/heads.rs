//! Every crate says what it is, what it must not know, and takes the workspace's lints.

use super::purity::PURE;
use crate::tree::{Fault, Tree};

/// The page with a paragraph for every crate.
const MAP: &str = "DEVELOPERS.md";

pub(crate) fn check(tree: &Tree) -> Vec<Fault> {
    let mut faults = Vec::new();
    for name in tree.crates() {
        let manifest = format!("crates/{name}/Cargo.toml");
        for (line, what) in [
            ("description = \"", "has no description"),
            (
                "[lints]\nworkspace = true",
                "does not take the workspace's lints",
            ),
            (
                "license.workspace = true",
                "does not take the workspace's license",
            ),
        ] {
            if !tree.text(&manifest).contains(line) {
                faults.push(Fault::new(&manifest, what));
            }
        }
        faults.extend(head(tree, name));
        faults.extend(paragraph(tree, name));
    }
    faults
}

/// The head of a crate's first file.
fn head(tree: &Tree, name: &str) -> Option<Fault> {
    let library = format!("crates/{name}/src/lib.rs");
    let file = if tree.has(&library) {
        library
    } else {
        format!("crates/{name}/src/main.rs")
    };
    let head: Vec<&str> = tree
        .text(&file)
        .lines()
        .take_while(|line| line.starts_with("//!"))
        .collect();
    // One line of three words is no description.
    if head.concat().len() < 40 {
        return Some(Fault::new(
            file,
            "does not begin with `//!` lines that say what it is",
        ));
    }
    let says = head.iter().any(|line| line.starts_with("//! Invariant"));
    (PURE.contains(&name) && !says)
        .then(|| Fault::new(file, "its head has no line that begins `Invariant:`"))
}

/// The crate's section in the map of the code.
fn paragraph(tree: &Tree, name: &str) -> Option<Fault> {
    let heading = format!("### `{name}`\n");
    let Some((_, section)) = tree.text(MAP).split_once(&heading) else {
        return Some(Fault::new(MAP, format!("has no section `{name}`")));
    };
    let section = section.split("\n#").next().unwrap_or_default();
    (!section.contains("Invariant:"))
        .then(|| Fault::new(MAP, format!("the section `{name}` has no `Invariant:`")))
}

#[cfg(test)]
mod tests {
    use super::*;

    const MANIFEST: &str =
        "[package]\ndescription = \"x\"\nlicense.workspace = true\n\n[lints]\nworkspace = true\n";
    const HEAD: &str =
        "//! Quantities, typed ids and the time of day.\n//!\n//! Invariant: pure.\n";
    const SECTION: &str = "# Map\n\n### `units`\n\nQuantities.\n\nInvariant: nothing below.\n";

    fn faults_with(manifest: &str, head: &str, map: &str) -> usize {
        let tree = Tree::of(&[
            ("crates/units/Cargo.toml", manifest),
            ("crates/units/src/lib.rs", head),
            (MAP, map),
        ]);
        check(&tree).len()
    }

    #[test]
    fn a_crate_that_says_all_passes() {
        assert_eq!(faults_with(MANIFEST, HEAD, SECTION), 0);
    }

    #[test]
    fn whatever_is_left_unsaid_is_found() {
        assert_eq!(faults_with("", HEAD, SECTION), 3);
        assert_eq!(faults_with(MANIFEST, "//! .\n", SECTION), 1);
        assert_eq!(
            faults_with(MANIFEST, &HEAD.replace("Invariant", "Note"), SECTION),
            1
        );
        assert_eq!(faults_with(MANIFEST, HEAD, "# Map\n"), 1);
        let other = "### `units`\n\nQuantities.\n\n### `model`\n\nInvariant: none.\n";
        assert_eq!(faults_with(MANIFEST, HEAD, other), 1);
    }
}

//! Crates that compute must not reach out: no files, network, clock, chance or printing.

use crate::rust_text::RustText;
use crate::tree::{Fault, Tree};

/// Crates whose answers follow from their arguments alone.
pub(crate) const PURE: &[&str] = &[
    "units",
    "model",
    "bending",
    "shape",
    "tooling",
    "study",
    "similarity",
    "search",
    "schedule",
    "quoting",
    "exact",
    "audit",
    "documents",
    "prospects",
    "daybook",
    "paper",
];

/// What their code does not mention.
const OUTSIDE: &[&str] = &[
    "std::fs",
    "std::net",
    "std::env",
    "std::process",
    "SystemTime",
    "Instant",
    "Utc::now",
    "Local::now",
    "thread_rng",
    "rand::rng",
    "tokio",
    "print!",
    "println!",
    "eprint!",
    "eprintln!",
];

pub(crate) fn check(tree: &Tree) -> Vec<Fault> {
    let mut faults = Vec::new();
    for name in PURE {
        for (path, text) in tree.under(&format!("crates/{name}/src/")) {
            let source = RustText::of(text);
            for word in OUTSIDE {
                for line in source.lines_with(word) {
                    let text =
                        format!("{name} is pure and must not use {word}; take it as an argument");
                    faults.push(Fault::new(format!("{path}:{line}"), text));
                }
            }
        }
    }
    faults
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_clock_in_a_pure_crate_is_found_and_in_a_comment_is_not() {
        let source = "// Instant\nfn f() { std::time::Instant::now(); }\n";
        let tree = Tree::of(&[
            ("crates/tooling/src/bed.rs", source),
            ("crates/daemon/src/lib.rs", source),
        ]);
        let faults = check(&tree);
        assert_eq!(faults.len(), 1);
        assert_eq!(faults[0].place, "crates/tooling/src/bed.rs:2");
    }

    #[test]
    fn every_forbidden_word_is_found() {
        for word in OUTSIDE {
            let tree = Tree::of(&[("crates/units/src/lib.rs", word)]);
            assert_eq!(check(&tree).len(), 1, "{word}");
        }
    }
}

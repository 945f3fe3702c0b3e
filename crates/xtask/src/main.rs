//! House rules as a program.
//!
//! `cargo run -q -p xtask -- tidy` looks at the whole repository and says what does not keep the
//! rules of DEVELOPERS.md; `cargo test -p xtask` does the same, and tries every check on a tree
//! with that fault in it. One check is one file under `checks/`.
//!
//! Invariant: reads the repository, changes nothing, and no program of the shop's depends on it.

mod checks;
mod rust_text;
mod tree;

use checks::CHECKS;
use std::io::{self, Write};
use std::path::{Path, PathBuf};
use std::process::ExitCode;
use tree::{Fault, Tree};

const USAGE: &str = "usage: cargo run -q -p xtask -- tidy";

fn main() -> ExitCode {
    let asked: Vec<String> = std::env::args().skip(1).collect();
    if asked != ["tidy"] {
        return told(&mut io::stderr(), USAGE, 2);
    }
    match Tree::read(&root()) {
        Ok(tree) => {
            let faults = tidy(&tree);
            let code = u8::from(!faults.is_empty());
            told(&mut io::stdout(), &report(&faults), code)
        }
        Err(error) => told(&mut io::stderr(), &format!("cannot read: {error}"), 2),
    }
}

/// Runs every check.
fn tidy(tree: &Tree) -> Vec<(&'static str, Fault)> {
    CHECKS
        .iter()
        .flat_map(|(name, check)| check(tree).into_iter().map(move |fault| (*name, fault)))
        .collect()
}

fn report(faults: &[(&str, Fault)]) -> String {
    let mut lines: Vec<String> = faults
        .iter()
        .map(|(check, fault)| format!("{}: {} [{check}]", fault.place, fault.text))
        .collect();
    lines.push(match faults.len() {
        0 => format!("tidy: {} checks, nothing to mend", CHECKS.len()),
        count => format!("tidy: {count} to mend"),
    });
    lines.join("\n")
}

/// The repository's root: two folders above this crate.
fn root() -> PathBuf {
    let here = Path::new(env!("CARGO_MANIFEST_DIR"));
    here.ancestors().nth(2).unwrap_or(here).to_owned()
}

/// Writes a text; a reader that has gone away is no failure.
fn told(out: &mut dyn Write, text: &str, code: u8) -> ExitCode {
    match writeln!(out, "{text}") {
        Err(error) if error.kind() != io::ErrorKind::BrokenPipe => ExitCode::from(3),
        _ => ExitCode::from(code),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_repository_is_tidy() {
        let tree = Tree::read(&root()).expect("the repository can be read");
        assert!(tree.crates().len() > 10, "read from the wrong folder");
        let faults = tidy(&tree);
        assert!(faults.is_empty(), "\n{}", report(&faults));
    }
}

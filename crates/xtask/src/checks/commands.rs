//! What the README tells people to type is what the build runs.

use crate::tree::{Fault, Tree};

/// The two commands of the README, in its order.
const COMMANDS: [&str; 2] = [
    "cargo run --release -q -p cli -- plan demo-shop",
    "sh tests/run",
];
/// What the build runs besides.
const STEPS: [&str; 4] = [
    "cargo fmt --all --check",
    "cargo clippy --workspace --all-targets",
    "cargo doc --workspace --no-deps",
    "cargo run -q -p xtask -- tidy",
];

pub(crate) fn check(tree: &Tree) -> Vec<Fault> {
    let mut faults = Vec::new();
    let readme = tree.text("README.md");
    let first: Vec<&str> = readme
        .split("```sh\n")
        .skip(1)
        .flat_map(|block| block.split("```").next().unwrap_or_default().lines())
        .take(COMMANDS.len())
        .collect();
    if first != COMMANDS {
        let text = format!("its first commands should be {COMMANDS:?}, they are {first:?}");
        faults.push(Fault::new("README.md", text));
    }
    let build = tree.text(".ci/run");
    for command in COMMANDS.iter().chain(&STEPS) {
        if !build.contains(command) {
            faults.push(Fault::new(".ci/run", format!("does not run: {command}")));
        }
    }
    if !tree.has("tests/run") {
        faults.push(Fault::new("tests/run", "is not there"));
    }
    faults
}

#[cfg(test)]
mod tests {
    use super::*;

    fn readme(commands: &[&str]) -> String {
        let blocks: Vec<String> = commands
            .iter()
            .map(|command| format!("Type\n\n```sh\n{command}\n```\n"))
            .collect();
        blocks.join("\n")
    }

    fn faults_with(readme: &str, build: &str) -> usize {
        check(&Tree::of(&[
            ("README.md", readme),
            (".ci/run", build),
            ("tests/run", "x"),
        ]))
        .len()
    }

    #[test]
    fn a_build_of_the_readmes_commands_passes() {
        let build = [&COMMANDS[..], &STEPS[..]].concat();
        assert_eq!(faults_with(&readme(&COMMANDS), &build.join("\n")), 0);
        assert_eq!(faults_with(&readme(&COMMANDS), &build[1..].join("\n")), 1);
    }

    #[test]
    fn other_commands_are_found() {
        let build = [&COMMANDS[..], &STEPS[..]].concat().join("\n");
        assert_eq!(faults_with(&readme(&["cargo test"]), &build), 1);
        assert_eq!(
            check(&Tree::default()).len(),
            1 + COMMANDS.len() + STEPS.len() + 1
        );
    }
}

//! Every command is documented, with its help word for word.
//!
//! `UPDATE_DOCS=1 cargo test -p cli documented` writes the help into docs/reference/cli.md anew.

use crate::program::{brakewright, top};
use std::fs;

const COMMANDS: [&str; 14] = [
    "check",
    "bends",
    "plan",
    "batches",
    "changeover",
    "quote",
    "whatif",
    "part",
    "orders",
    "holidays",
    "verify",
    "serve",
    "db",
    "people",
];

/// The help of a command, without spaces at the ends of lines.
fn help(command: &str) -> String {
    let args = if command.is_empty() {
        vec!["--help"]
    } else {
        vec![command, "--help"]
    };
    let answer = brakewright(&args);
    assert_eq!(answer.code, Some(0), "{command}: {}", answer.err);
    let lines: Vec<&str> = answer.out.lines().map(str::trim_end).collect();
    lines.join("\n").trim_end().to_owned()
}

/// The page with the block behind every `<!-- help NAME -->` written anew.
fn with_help(page: &str) -> String {
    let mut out = String::new();
    let mut rest = page;
    while let Some((before, after)) = rest.split_once("<!-- help ") {
        let (name, after) = after.split_once(" -->\n").expect("the mark is closed");
        let block = after.strip_prefix("\n```text\n").expect("a block follows");
        let (_, after) = block.split_once("```\n").expect("the block is closed");
        let help = help(name.trim_start_matches("brakewright").trim());
        out.push_str(before);
        out.push_str(&format!("<!-- help {name} -->\n\n```text\n{help}\n```\n"));
        rest = after;
    }
    out + rest
}

#[test]
fn the_reference_holds_the_help_word_for_word() {
    let path = top().join("docs/reference/cli.md");
    let page = fs::read_to_string(&path).expect("docs/reference/cli.md is there");
    for command in COMMANDS {
        let mark = format!("<!-- help brakewright {command} -->");
        assert!(page.contains(&mark), "docs/reference/cli.md lacks {mark}");
    }
    let fresh = with_help(&page);
    if std::env::var_os("UPDATE_DOCS").is_some() {
        fs::write(&path, &fresh).unwrap();
    }
    let written = fs::read_to_string(&path).unwrap();
    assert!(
        written == fresh,
        "docs/reference/cli.md is not up to date: UPDATE_DOCS=1 writes it"
    );
}

#[test]
fn every_command_has_help_with_an_example() {
    let all = help("");
    for command in COMMANDS {
        assert!(
            all.contains(&format!("\n  {command} ")),
            "--help does not list {command}"
        );
        let own = help(command);
        assert!(own.contains("Example"), "{command} has no example");
        assert!(
            own.contains(&format!("brakewright {command} ")),
            "{command}: {own}"
        );
        let prints_data = !["orders", "serve", "db", "people"].contains(&command);
        assert_eq!(own.contains("--json"), prints_data, "{command}: --json");
    }
    let listed = all.lines().skip_while(|line| *line != "Commands:").skip(1);
    let listed: Vec<&str> = listed
        .take_while(|line| !line.is_empty())
        .filter(|line| line.starts_with("  ") && !line.starts_with("   "))
        .filter_map(|line| line.split_whitespace().next())
        .filter(|command| *command != "help")
        .collect();
    assert_eq!(listed, COMMANDS);
}

#[test]
fn the_readme_names_every_command() {
    let readme = fs::read_to_string(top().join("README.md")).expect("README.md is there");
    for command in COMMANDS {
        assert!(
            readme.contains(command),
            "README.md does not mention {command}"
        );
    }
}

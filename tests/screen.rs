//! What reaches a terminal, a pipe, and a pipe nobody reads.

use crate::program::{Scratch, brakewright, command, top};
use std::fs;
use std::io::Read;
use std::process::Stdio;

#[test]
fn nothing_is_coloured_in_a_pipe() {
    for args in [
        ["--help"].as_slice(),
        &["plan", "tests/tiny-shop"],
        &["plan", "--no-such-flag"],
        &["check", "nowhere"],
        &["bends", "demo-shop", "BX-206"],
        &["changeover", "tests/tiny-shop", "B1"],
    ] {
        for no_colour in [false, true] {
            let mut call = command(args);
            if no_colour {
                call.env("NO_COLOR", "1");
            }
            let output = call.output().unwrap();
            let escapes = output
                .stdout
                .iter()
                .chain(&output.stderr)
                .filter(|byte| **byte == 0x1b);
            assert_eq!(escapes.count(), 0, "{args:?}");
        }
    }
}

#[test]
fn progress_is_not_written_to_a_pipe() {
    let answer = brakewright(&["plan", "tests/tiny-shop"]);
    assert_eq!(answer.err, "");
}

#[test]
fn a_reader_that_leaves_is_no_fault() {
    let mut call = command(&["plan", "demo-shop", "--json", "--iterations", "1"]);
    let mut child = call
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    let mut first = [0; 10];
    child.stdout.take().unwrap().read_exact(&mut first).unwrap();
    let output = child.wait_with_output().unwrap();
    assert_eq!(
        output.status.code(),
        Some(0),
        "{}",
        String::from_utf8_lossy(&output.stderr)
    );
    assert_eq!(String::from_utf8_lossy(&output.stderr), "");
}

#[test]
fn tables_stay_within_a_page() {
    for args in [
        ["plan", "demo-shop", "--iterations", "1"].as_slice(),
        &["batches", "demo-shop"],
    ] {
        for line in brakewright(args).out.lines() {
            assert!(line.chars().count() <= 120, "{line}");
            assert!(!line.ends_with(' '), "{line:?}");
        }
    }
}

#[test]
fn text_from_files_cannot_steer_a_terminal() {
    let scratch = Scratch::new();
    let plan = brakewright(&["plan", "tests/tiny-shop", "--json", "--iterations", "1"]).out;
    let evil = plan.replacen("\"run\": \"B1-02\"", "\"run\": \"B1-01\\u001b[2J\"", 1);
    let evil = evil.replacen("\"quantity\": 30", "\"quantity\": 29", 1);
    assert_ne!(plan, evil);
    fs::write(scratch.path("evil.json"), evil).unwrap();
    let answer = brakewright(&["verify", "tests/tiny-shop", &scratch.text("evil.json")]);
    assert_eq!(answer.code, Some(1), "{}", answer.err);
    assert!(!answer.out.contains('\u{1b}') && !answer.err.contains('\u{1b}'));
}

#[test]
fn usage_errors_end_with_two_and_help_with_zero() {
    for args in [
        [].as_slice(),
        &["paln"],
        &["plan"],
        &["plan", "demo-shop", "--days", "0"],
        &["plan", "demo-shop", "--seconds", "0"],
        &["plan", "demo-shop", "--seconds", "5", "--iterations", "5"],
        &["plan", "demo-shop", "--seed", "-1"],
        &["plan", "demo-shop", "--iterations", "many"],
        &["batches", "demo-shop", "--dot", "--json"],
        &["serve", "demo-shop", "--listen", "here"],
    ] {
        let answer = brakewright(args);
        assert_eq!(answer.code, Some(2), "{args:?}");
        assert_eq!(answer.out, "", "{args:?}");
        assert!(!answer.err.is_empty(), "{args:?}");
    }
    for args in [["--help"].as_slice(), &["--version"], &["help", "plan"]] {
        let answer = brakewright(args);
        assert_eq!(
            (answer.code, answer.err.as_str()),
            (Some(0), ""),
            "{args:?}"
        );
    }
}

#[test]
fn unreadable_plans_end_with_two() {
    let scratch = Scratch::new();
    let good = brakewright(&["plan", "tests/tiny-shop", "--json", "--iterations", "1"]).out;
    let cases = [
        ("empty.json", String::new(), "empty.json"),
        ("cut.json", good[..good.len() / 2].to_owned(), "cut.json:"),
        ("list.json", "[]".to_owned(), "list.json"),
        (
            "other.json",
            good.replacen("Tiny shop", "Big shop", 1),
            "other.json:shop",
        ),
        (
            "field.json",
            good.replacen("\"seed\"", "\"sead\"", 1),
            "field.json:",
        ),
        (
            "format.json",
            good.replacen("plan/1", "plan/9", 1),
            "format.json:format",
        ),
    ];
    for (name, text, place) in cases {
        fs::write(scratch.path(name), text).unwrap();
        let answer = brakewright(&["verify", "tests/tiny-shop", &scratch.text(name)]);
        assert_eq!(answer.code, Some(2), "{name}: {}", answer.err);
        assert_eq!(answer.out, "", "{name}");
        assert!(answer.err.contains(place), "{name}: {}", answer.err);
    }
    let absent = brakewright(&["verify", "tests/tiny-shop", "nowhere.json"]);
    assert_eq!(absent.code, Some(2));
    assert!(
        absent.err.contains("cannot read nowhere.json"),
        "{}",
        absent.err
    );
    let folder = top().join("docs").to_str().unwrap().to_owned();
    assert_eq!(
        brakewright(&["verify", "tests/tiny-shop", &folder]).code,
        Some(2)
    );
}

//! Sheets as PDF: written beside the plan or alone, all or nothing, the same bytes again.
//!
//! What is on the pages is read back in the tests of the crate `paper`.

use crate::program::{Answer, Scratch, brakewright, names_in};
use std::fs;
use std::path::Path;

const WITH_PAPER: [&str; 8] = [
    "batches.dot",
    "changeovers.pdf",
    "changeovers.txt",
    "plan.json",
    "plan.pdf",
    "run-list.csv",
    "run-list.pdf",
    "run-list.txt",
];

fn plan_into(folder: &str, more: &[&str]) -> Answer {
    let mut args = vec![
        "plan",
        "tests/tiny-shop",
        "--iterations",
        "200",
        "--out",
        folder,
    ];
    args.extend(more);
    brakewright(&args)
}

fn sheet_into(file: &str, more: &[&str]) -> Answer {
    let mut args = vec!["changeover", "tests/tiny-shop", "B1", "--iterations", "200"];
    args.extend(["--pdf", file]);
    args.extend(more);
    brakewright(&args)
}

/// The media boxes of a PDF of ours; its page objects are not compressed.
fn boxes(path: &Path) -> Vec<String> {
    let bytes = fs::read(path).unwrap();
    assert!(bytes.starts_with(b"%PDF-1.7"), "{}", path.display());
    assert!(
        bytes.trim_ascii_end().ends_with(b"%%EOF"),
        "{}",
        path.display()
    );
    let text = String::from_utf8_lossy(&bytes);
    let boxes = text.split("/MediaBox [").skip(1);
    boxes
        .filter_map(|rest| Some(rest.split_once(']')?.0.to_owned()))
        .collect()
}

#[test]
fn pdfs_appear_beside_the_plan_when_asked_for() {
    let scratch = Scratch::new();
    let answer = plan_into(&scratch.text("monday"), &["--paper", "a4"]);
    assert_eq!(answer.code, Some(0), "{}", answer.err);
    assert_eq!(names_in(&scratch.path("monday")), WITH_PAPER);
    assert!(
        answer
            .err
            .contains("run-list.pdf, changeovers.pdf, plan.pdf into"),
        "{}",
        answer.err
    );
    let pages = |name: &str| boxes(&scratch.path("monday").join(name));
    for name in ["run-list.pdf", "changeovers.pdf", "plan.pdf"] {
        let pages = pages(name);
        assert!(!pages.is_empty());
        assert!(
            pages.iter().all(|size| size.starts_with("0 0 595.27")),
            "{pages:?}"
        );
    }
    let together = pages("run-list.pdf").len() + pages("changeovers.pdf").len();
    assert_eq!(pages("plan.pdf").len(), together);
    // An output without paper takes the place of one with it, and the other way round.
    assert_eq!(plan_into(&scratch.text("monday"), &[]).code, Some(0));
    assert_eq!(names_in(&scratch.path("monday")).len(), 5);
    let answer = plan_into(&scratch.text("monday"), &["--paper", "letter"]);
    assert_eq!(answer.code, Some(0), "{}", answer.err);
    let letter = pages("plan.pdf");
    assert!(
        letter.iter().all(|size| size == "0 0 612 792"),
        "{letter:?}"
    );
    assert_eq!(scratch.names(), ["monday"]);
}

#[test]
fn the_same_call_writes_the_same_bytes() {
    let scratch = Scratch::new();
    let made = ["--paper", "letter", "--made", "2027-03-22T15:40"];
    for folder in ["one", "two"] {
        let answer = plan_into(&scratch.text(folder), &made);
        assert_eq!(answer.code, Some(0), "{}", answer.err);
    }
    for name in WITH_PAPER {
        let read = |folder: &str| fs::read(scratch.path(folder).join(name)).unwrap();
        assert!(read("one") == read("two"), "{name} differs");
    }
}

#[test]
fn paper_without_a_folder_and_bad_moments_are_refused() {
    let scratch = Scratch::new();
    let calls: [(&[&str], &str); 4] = [
        (&["plan", "tests/tiny-shop", "--paper", "a4"], "--out"),
        (
            &["plan", "tests/tiny-shop", "--out", "x", "--paper", "a3"],
            "letter",
        ),
        (
            &[
                "plan",
                "tests/tiny-shop",
                "--out",
                "x",
                "--made",
                "2027-03-22",
            ],
            "--paper",
        ),
        (
            &["changeover", "tests/tiny-shop", "B1", "--paper", "a4"],
            "--pdf",
        ),
    ];
    for (args, words) in calls {
        let answer = brakewright(args);
        assert_eq!(answer.code, Some(2), "{args:?}");
        assert!(answer.err.contains(words), "{}", answer.err);
    }
    let answer = plan_into(
        &scratch.text("x"),
        &["--paper", "a4", "--made", "yesterday"],
    );
    assert_eq!(answer.code, Some(2));
    assert!(answer.err.contains("--made:"), "{}", answer.err);
    assert!(scratch.names().is_empty());
}

#[test]
fn one_sheet_goes_into_a_file_of_its_own_and_nobody_elses() {
    let scratch = Scratch::new();
    let file = scratch.text("sheet.pdf");
    for size in ["a4", "letter", "letter"] {
        // The second and third take the place of the one before.
        let answer = sheet_into(&file, &["--paper", size]);
        assert_eq!(answer.code, Some(0), "{}", answer.err);
        assert_eq!(answer.out, "");
        assert!(answer.err.contains("Wrote "), "{}", answer.err);
    }
    let pages = boxes(&scratch.path("sheet.pdf"));
    assert!(pages.iter().all(|size| size == "0 0 612 792"), "{pages:?}");
    fs::write(scratch.path("mine.pdf"), "%PDF-1.4 mine").unwrap();
    for name in ["mine.pdf", "none/sheet.pdf", "."] {
        let answer = sheet_into(&scratch.text(name), &[]);
        assert_eq!(answer.code, Some(2), "{name}: {}", answer.err);
    }
    let mine = fs::read_to_string(scratch.path("mine.pdf")).unwrap();
    assert_eq!(mine, "%PDF-1.4 mine");
    assert_eq!(scratch.names(), ["mine.pdf", "sheet.pdf"]);
}

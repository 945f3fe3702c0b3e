//! `plan --out`: all files or none, and nobody else's folder.

use crate::program::{Scratch, brakewright, names_in};
use std::fs;

const FILES: [&str; 5] = [
    "batches.dot",
    "changeovers.txt",
    "plan.json",
    "run-list.csv",
    "run-list.txt",
];

fn plan_into(folder: &str) -> crate::program::Answer {
    brakewright(&[
        "plan",
        "tests/tiny-shop",
        "--iterations",
        "200",
        "--out",
        folder,
    ])
}

#[test]
fn all_files_are_written_and_hold_the_plan() {
    let scratch = Scratch::new();
    let answer = plan_into(&scratch.text("monday"));
    assert_eq!(answer.code, Some(0), "{}", answer.err);
    assert_eq!(scratch.names(), ["monday"]);
    assert_eq!(names_in(&scratch.path("monday")), FILES);
    let read = |name: &str| fs::read_to_string(scratch.path("monday").join(name)).unwrap();
    let json: serde_json::Value = serde_json::from_str(&read("plan.json")).unwrap();
    let runs = json["brakes"][0]["runs"].as_array().unwrap();
    let table = read("run-list.csv");
    assert_eq!(table.lines().count(), 1 + runs.len());
    let sheets = read("changeovers.txt");
    for run in runs {
        let name = run["run"].as_str().unwrap();
        assert!(table.contains(&format!("B1,{name},")), "{table}");
        assert!(read("run-list.txt").contains(name));
        let changed = !run["changeover"]["steps"].as_array().unwrap().is_empty();
        assert_eq!(
            sheets.contains(&format!("before {name},")),
            changed,
            "{name}"
        );
    }
    assert!(sheets.contains("Caution: bending can maim."));
    let judged = brakewright(&[
        "verify",
        "tests/tiny-shop",
        &scratch.text("monday/plan.json"),
    ]);
    assert_eq!(judged.code, Some(0), "{}", judged.out);
}

#[test]
fn an_earlier_output_is_replaced_and_an_empty_folder_used() {
    let scratch = Scratch::new();
    fs::create_dir(scratch.path("monday")).unwrap();
    assert_eq!(plan_into(&scratch.text("monday")).code, Some(0));
    fs::remove_file(scratch.path("monday/batches.dot")).unwrap();
    assert_eq!(plan_into(&scratch.text("monday")).code, Some(0));
    assert_eq!(names_in(&scratch.path("monday")), FILES);
    assert_eq!(scratch.names(), ["monday"]);
}

#[test]
fn what_is_not_ours_is_left_alone() {
    let scratch = Scratch::new();
    fs::create_dir(scratch.path("mine")).unwrap();
    fs::write(scratch.path("mine/notes.txt"), "keep me").unwrap();
    fs::create_dir(scratch.path("alike")).unwrap();
    fs::write(
        scratch.path("alike/plan.json"),
        "{\"floor\": \"plan of the house\"}",
    )
    .unwrap();
    fs::write(scratch.path("file"), "keep me too").unwrap();
    let cases = [
        (scratch.text("mine"), "it holds notes.txt"),
        (
            scratch.text("alike"),
            "its plan.json is not one of this program",
        ),
        (scratch.text("file"), "not a folder"),
        (scratch.text("none/monday"), "is not a folder"),
        ("/".to_owned(), "name a folder to be made"),
        ("..".to_owned(), "name a folder to be made"),
        (
            scratch
                .copy_of("tests/tiny-shop")
                .to_str()
                .unwrap()
                .to_owned(),
            "it holds",
        ),
    ];
    let before = scratch.names();
    for (folder, words) in cases {
        let answer = plan_into(&folder);
        assert_eq!(answer.code, Some(2), "{folder}: {}", answer.err);
        assert!(answer.err.contains(words), "{folder}: {}", answer.err);
        assert_eq!(answer.out, "", "{folder}");
    }
    assert_eq!(scratch.names(), before);
    assert_eq!(
        fs::read_to_string(scratch.path("mine/notes.txt")).unwrap(),
        "keep me"
    );
    assert_eq!(
        fs::read_to_string(scratch.path("file")).unwrap(),
        "keep me too"
    );
}

#[test]
fn cells_are_no_formulas() {
    let scratch = Scratch::new();
    let shop = scratch.copy_of("tests/tiny-shop");
    let orders = fs::read_to_string(shop.join("work-orders.csv")).unwrap();
    fs::write(
        shop.join("work-orders.csv"),
        orders.replacen("T-1,", "-T-1,", 1),
    )
    .unwrap();
    let setups = fs::read_to_string(shop.join("setups.csv")).unwrap();
    fs::write(
        shop.join("setups.csv"),
        setups.replacen("B1,A-1,", "B1,=1+1,", 1),
    )
    .unwrap();
    let folder = scratch.text("out");
    let answer = brakewright(&["plan", shop.to_str().unwrap(), "--out", &folder]);
    assert_eq!(answer.code, Some(0), "{}", answer.err);
    let table = fs::read_to_string(scratch.path("out/run-list.csv")).unwrap();
    assert!(table.contains(",'-T-1,"), "{table}");
    assert!(table.contains(",'=1+1,"), "{table}");
}

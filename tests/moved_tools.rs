//! The tiny shop with other tools and another bed: die blocks turned and stations slid, from the
//! search through the audit to the sheet.

use crate::program::{Scratch, brakewright};
use serde_json::Value;
use std::fs;
use std::path::Path;

/// Changes a file of a shop folder.
fn change(shop: &Path, file: &str, edits: &[(&str, &str)]) {
    let path = shop.join(file);
    let mut text = fs::read_to_string(&path).unwrap();
    for (from, to) in edits {
        assert!(text.contains(from), "{file} has no {from:?}");
        text = text.replace(from, to);
    }
    fs::write(path, text).unwrap();
}

/// The plan, which the audit has accepted, and its runs.
fn plan(shop: &Path) -> (Value, Vec<Value>) {
    let answer = brakewright(&["plan", shop.to_str().unwrap(), "--json"]);
    assert_eq!(answer.code, Some(0), "{}", answer.err);
    let plan = answer.json();
    assert_eq!(plan["verified"], true);
    let runs = plan["brakes"][0]["runs"].as_array().unwrap().clone();
    (plan, runs)
}

fn actions(run: &Value) -> Vec<&str> {
    let steps = run["changeover"]["steps"].as_array().unwrap().iter();
    steps.map(|step| step["action"].as_str().unwrap()).collect()
}

fn sheet(shop: &Path, run: &str) -> String {
    let folder = shop.to_str().unwrap();
    let answer = brakewright(&["changeover", folder, "B1", "--run", run]);
    assert_eq!(answer.code, Some(0), "{}", answer.err);
    answer.out
}

/// The three dies are faces of one block: it goes on once and is turned from then on. To another
/// face: prepare 4, turn 1, guard 2, program 1, first piece 1, approval 1, that is 10 minutes.
#[test]
fn one_block_is_put_on_once_and_turned_from_then_on() {
    let scratch = Scratch::new();
    let shop = scratch.copy_of("tests/tiny-shop");
    let dies = ["V8-88", "V16-88", "V25-85"];
    for die in dies {
        let (named, of_block) = (
            format!("id = \"{die}\""),
            format!("id = \"{die}\"\nblock = \"BL\""),
        );
        change(&shop, "tooling.toml", &[(&named, &of_block)]);
    }
    let heavy = [
        ("V8-88,500,D1,15.7", "BL,500,D1,25"),
        ("V16-88,500,D1,15.7\n", ""),
        ("V25-85,500,D2,16.1\n", ""),
    ];
    change(&shop, "sections.csv", &heavy);
    let (whole, runs) = plan(&shop);
    let mut turns = 0;
    for (run, before) in runs.iter().skip(1).zip(&runs) {
        let turned = run["changeover"]["turn"].as_array().unwrap();
        let die = |run: &Value| run["bed"][0]["die"].as_str().unwrap().to_owned();
        assert!(run["changeover"]["insert"].as_array().unwrap().is_empty());
        if die(run) == die(before) {
            assert_eq!(actions(run), ["program", "first-piece", "approval"]);
            assert_eq!(run["batch"], before["batch"]);
            continue;
        }
        turns += 1;
        let all = [
            "prepare",
            "turn",
            "guard",
            "program",
            "first-piece",
            "approval",
        ];
        assert_eq!(actions(run), all);
        // 2 minutes more for a section that takes two.
        assert_eq!(run["changeover"]["work_seconds"], (10 + 2) * 60);
        assert_eq!(turned[0]["from_die"], die(before));
        assert_eq!(turned[0]["station"], run["bed"][0]);
        assert_ne!(run["batch"], before["batch"]);
    }
    assert!(turns >= 2);
    assert_eq!(whole["totals"]["changeovers"], turns + 1);

    let name = |run: &Value| run["run"].as_str().unwrap().to_owned();
    let first = runs
        .iter()
        .find(|run| actions(run).contains(&"turn"))
        .unwrap();
    let sheet = sheet(&shop, &name(first));
    for told in [
        "Is turned\n",
        "turned from V8-88",
        "turn the die block of station 1",
        "two people or a crane",
    ] {
        assert!(sheet.contains(told), "{told:?} is not in\n{sheet}");
    }
    let folder = shop.to_str().unwrap();
    let json = brakewright(&["changeover", folder, "B1", "--run", &name(first), "--json"]).json();
    assert_eq!(json["bed_before"][0]["die"], "V8-88");
    assert_eq!(json["bed_before"][0]["v_mm"], 8.0);
}

/// On a bed of 1 100 with the V16 from 300 to 800 nothing fits beside it. It is wanted later: it is
/// slid (2 minutes) and not taken off and put on again (5 and 6 minutes).
#[test]
fn what_is_wanted_later_is_slid_out_of_the_way() {
    let scratch = Scratch::new();
    let shop = scratch.copy_of("tests/tiny-shop");
    change(
        &shop,
        "brakes.toml",
        &[
            ("bed = 600 ", "bed = 1100 "),
            ("between_frames = 520", "between_frames = 1000"),
        ],
    );
    change(
        &shop,
        "sections.csv",
        &[(
            "V8-88,500,D1,15.7",
            "V8-88,500,D1,15.7\nST88-R1-120,505,P1,8.7",
        )],
    );
    let floor = "what,brake,punch,die,left,punch_sections,die_sections\n\
                 station,B1,ST88-R1-120,V16-88,300,ST88-R1-120-500mm,V16-88-500mm\n";
    fs::write(shop.join("floor.csv"), floor).unwrap();
    let (_, runs) = plan(&shop);
    let first = &runs[0];
    assert_eq!(first["order"], "T-1");
    let all = [
        "prepare",
        "slide",
        "put-on",
        "guard",
        "program",
        "first-piece",
        "approval",
    ];
    assert_eq!(actions(first), all);
    let slid = &first["changeover"]["slide"][0];
    assert_eq!(
        (&slid["from_mm"], &slid["station"]["die"]),
        (&Value::from(300.0), &Value::from("V16-88"))
    );
    let lefts: Vec<f64> = first["bed"]
        .as_array()
        .unwrap()
        .iter()
        .map(|s| s["left_mm"].as_f64().unwrap())
        .collect();
    // 505 and a gap of 20 beside 500: 75 millimetres are left over.
    assert_eq!(lefts, [75.0, 595.0]);

    let sheet = sheet(&shop, first["run"].as_str().unwrap());
    for told in [
        "Is slid\n",
        "slid from 300 mm",
        "slide station 1",
        "from 300 to 75 mm",
    ] {
        assert!(sheet.contains(told), "{told:?} is not in\n{sheet}");
    }
    let list = brakewright(&["plan", shop.to_str().unwrap()]).out;
    assert!(list.contains("0/1/1 1s"), "{list}");
}

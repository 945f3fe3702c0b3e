//! `part` and `quote --dxf`: parts out of flat patterns, and drawings that are refused.

use crate::program::{Scratch, brakewright, demo_plan, top};
use serde_json::Value;
use std::fs;

const TRAY: &str = "tests/exchange/drawings/tray.dxf";

fn part<'a>(drawing: &'a str, more: &[&'a str]) -> Vec<&'a str> {
    let all = ["part", "demo-shop", "--dxf", drawing, "--id", "TR-900"];
    let sheet = ["--thickness", "1", "--material", "DC01"];
    [&all[..], &sheet[..], more].concat()
}

#[test]
fn a_tray_is_shown_with_its_legs_and_what_was_assumed() {
    let answer = brakewright(&part(TRAY, &["--angle", "90", "--radius", "1"]));
    assert_eq!(answer.code, Some(0), "{}", answer.err);
    for words in [
        "blank 376 x 276 mm",
        "1 cut-out",
        "DIN 6935",
        "NOTES not read",
        "39.959",
    ] {
        assert!(answer.out.contains(words), "{words}: {}", answer.out);
    }
    let json = brakewright(&part(TRAY, &["--angle", "90", "--radius", "1", "--json"])).json();
    let bends = json["bends"].as_array().unwrap();
    let edges: Vec<&Value> = bends.iter().map(|bend| &bend["edge"]).collect();
    assert_eq!(edges, ["c", "d", "a", "b"]);
    assert_eq!(bends[2]["length_mm"], 298.0);
}

#[test]
fn its_rows_belong_into_a_shop_and_the_part_can_be_bent() {
    let scratch = Scratch::new();
    let rows = scratch.text("rows");
    let angle = ["--angle", "90", "--radius", "1", "--out", &rows];
    let answer = brakewright(&part(TRAY, &angle));
    assert_eq!(answer.code, Some(0), "{}", answer.err);
    // Written again it replaces what it wrote; a folder with other things in it is left alone.
    assert_eq!(brakewright(&part(TRAY, &angle)).code, Some(0));
    let shop = scratch.text("shop");
    copy("demo-shop", &shop);
    let into = ["--angle", "90", "--radius", "1", "--out", &shop];
    assert_eq!(brakewright(&part(TRAY, &into)).code, Some(2));
    // The rows have all columns; those of the demo shop have the same, in the same order.
    for name in ["parts.csv", "bends.csv"] {
        let written = fs::read_to_string(format!("{rows}/{name}")).unwrap();
        let path = format!("{shop}/{name}");
        let mut table = fs::read_to_string(&path).unwrap();
        for row in written.lines().skip(2) {
            table.push_str(row);
            table.push('\n');
        }
        fs::write(path, table).unwrap();
    }
    let checked = brakewright(&["check", &shop]);
    assert_eq!(checked.code, Some(0), "{}{}", checked.out, checked.err);
    let bent = brakewright(&["bends", &shop, "TR-900", "--json"]);
    assert_eq!(bent.code, Some(0), "{}", bent.err);
}

fn copy(from: &str, to: &str) {
    fs::create_dir(to).unwrap();
    for entry in fs::read_dir(top().join(from)).unwrap() {
        let entry = entry.unwrap();
        fs::copy(
            entry.path(),
            format!("{to}/{}", entry.file_name().display()),
        )
        .unwrap();
    }
}

#[test]
fn a_drawing_gets_a_date() {
    let scratch = Scratch::new();
    fs::write(scratch.path("plan.json"), demo_plan()).unwrap();
    let plan = scratch.text("plan.json");
    let call = [
        "quote",
        "demo-shop",
        "--dxf",
        TRAY,
        "--thickness",
        "1",
        "--material",
        "DC01",
    ];
    let more = [
        "--quantity",
        "20",
        "--after",
        &plan,
        "--samples",
        "200",
        "--json",
    ];
    let said = ["--angle", "90", "--radius", "1"];
    let answer = brakewright(&[&call[..], &said[..], &more[..]].concat());
    assert_eq!(answer.code, Some(0), "{}", answer.err);
    let assumed = answer.json()["assumed"].to_string();
    assert!(assumed.contains("DIN 6935"), "{assumed}");
    // What the drawing does not say must be told.
    let silent = brakewright(&[&call[..], &more[..]].concat());
    assert_eq!(silent.code, Some(2));
    assert!(silent.err.contains("G307"), "{}", silent.err);
    let both = brakewright(&[&call[..], &more[..], &["--part", "CH-203"]].concat());
    assert_eq!(both.code, Some(2));
}

#[test]
fn drawings_that_cannot_be_used_are_refused_with_their_code() {
    for (name, code) in [
        ("open", "G206"),
        ("short-line", "G303"),
        ("unknown-layer", "G203"),
        ("no-unit", "G201"),
        ("in-metres", "G202"),
        ("not-a-number", "G107"),
        ("far-away", "G107"),
        ("block-in-itself", "G108"),
        ("cut-off", "G105"),
    ] {
        let drawing = format!("tests/exchange/drawings/{name}.dxf");
        let answer = brakewright(&part(&drawing, &["--angle", "90", "--radius", "1"]));
        assert_eq!(answer.code, Some(2), "{name}: {}", answer.out);
        assert!(answer.err.contains(code), "{name}: {}", answer.err);
        assert!(answer.out.is_empty());
    }
    let told = ["--angle", "90", "--radius", "1", "--units", "mm"];
    let answer = brakewright(&part("tests/exchange/drawings/no-unit.dxf", &told));
    assert_eq!(answer.code, Some(0), "{}", answer.err);
    for wrong in [
        ["--angle", "NaN"],
        ["--angle", "180"],
        ["--radius", "0"],
        ["--units", "mile"],
    ] {
        let answer = brakewright(&part(TRAY, &wrong));
        assert_eq!(answer.code, Some(2), "{wrong:?}");
    }
    let answer = brakewright(&part(
        "demo-shop/shop.toml",
        &["--angle", "90", "--radius", "1"],
    ));
    assert!(answer.err.contains("G104"), "{}", answer.err);
}

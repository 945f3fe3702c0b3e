//! Ten usual shapes on two brakes: which brake makes which, what stops the others, numbers by hand.
//!
//! The reckoning of every number stands in tests/ten_parts/README.md [computed].

use crate::program::{Scratch, brakewright, names_in};
use serde_json::Value;
use std::fs;

const SHOP: &str = "tests/ten_parts";

/// What a brake says to a part: it makes it, or the reason, by a few of its words.
enum Says {
    Yes,
    No(&'static str),
}
use Says::{No, Yes};

const PARTS: [(&str, Says, Says); 10] = [
    ("LB-01", Yes, Yes),
    (
        "UC-02",
        No("takes 1417 kN; rated 1300 kN"),
        No("the bed is 1250 mm long"),
    ),
    ("DU-03", No("would reach 13.0 mm into the tools"), Yes),
    (
        "ZP-04",
        No("shorter than V24 can hold, 17.0 mm"),
        No("shorter than V24 can hold, 17.0 mm"),
    ),
    ("HS-05", Yes, No("there is no R axis")),
    (
        "BX-06",
        Yes,
        No("2 stations need two fingers each; there are 2"),
    ),
    (
        "HM-07",
        Yes,
        No("2 stations need two fingers each; there are 2"),
    ),
    ("RD-08", Yes, Yes),
    (
        "TF-09",
        Yes,
        No("needs X1 and X2 21.0 mm apart; both fingers move together"),
    ),
    (
        "AC-10",
        No("would reach 9.3 mm into the tools"),
        No("would reach 9.3 mm into the tools"),
    ),
];

fn of(part: &str) -> Value {
    brakewright(&["bends", SHOP, part, "--json"]).json()
}

fn near(found: &Value, expected: f64, within: f64) {
    let found = found.as_f64().unwrap();
    assert!(
        (found - expected).abs() <= within,
        "{found}, by hand {expected}"
    );
}

#[test]
fn each_brake_makes_it_or_says_why_not() {
    for (part, long, short) in &PARTS {
        let answer = brakewright(&["bends", SHOP, part, "--json"]);
        let json = answer.json();
        for (at, says) in [long, short].into_iter().enumerate() {
            let brake = &json["brakes"][at];
            let reasons = brake["reasons"].as_array().unwrap();
            match says {
                Yes => assert!(
                    brake["fits"] == true && reasons.is_empty(),
                    "{part}: {brake:#}"
                ),
                No(words) => {
                    let texts: Vec<&str> = reasons
                        .iter()
                        .map(|r| r["text"].as_str().unwrap())
                        .collect();
                    assert!(brake["fits"] == false, "{part}");
                    assert!(
                        texts.iter().all(|text| text.contains(words)),
                        "{part}: {texts:?}"
                    );
                    // Told once, and the number needed breaks the one that is there.
                    let mut once = reasons.clone();
                    once.dedup();
                    assert!(!reasons.is_empty() && once == *reasons, "{part}: {texts:?}");
                    assert!(reasons.iter().all(|r| r["needed"] != r["limit"]), "{part}");
                }
            }
        }
        let made = matches!((long, short), (Yes, _) | (_, Yes));
        assert_eq!(answer.code, Some(i32::from(!made)), "{part}");
    }
}

#[test]
fn every_form_of_the_sheet_is_printed_for_every_part() {
    let scratch = Scratch::new();
    for (part, long, short) in &PARTS {
        let made = matches!((long, short), (Yes, _) | (_, Yes));
        let into = scratch.text(part);
        let forms: [&[&str]; 6] = [
            &[],
            &["--brake", "LONG"],
            &["--all"],
            &["--draw"],
            &["--explain"],
            &["--out", &into],
        ];
        for form in forms {
            let answer = brakewright(&[&["bends", SHOP, part][..], form].concat());
            let here = if form == ["--brake", "LONG"] {
                matches!(long, Yes)
            } else {
                made
            };
            assert_eq!(
                answer.code,
                Some(i32::from(!here)),
                "{part} {form:?}: {}",
                answer.err
            );
            assert!(
                answer.out.contains("Caution: bending can maim."),
                "{part} {form:?}"
            );
            for line in answer.out.lines() {
                assert!(
                    line.chars().count() <= 120 && !line.ends_with(' '),
                    "{line:?}"
                );
            }
        }
        let index = fs::read_to_string(scratch.path(part).join("sections.txt")).unwrap();
        let pictures = names_in(&scratch.path(part)).len() - 1;
        assert_eq!(
            pictures == 0,
            index.contains("No picture: "),
            "{part}: {index}"
        );
        let nobody = index.contains("no brake asked about can bend the part");
        assert_eq!(nobody, !made, "{part}: {index}");
    }
}

#[test]
fn forces_deductions_and_gauge_are_those_of_the_pocket_calculator() {
    let bend = |part: &str, hit: usize| of(part)["brakes"][0]["bends"][hit].clone();
    let bracket = bend("LB-01", 0);
    assert_eq!(bracket["v_mm"], 10.0);
    near(&bracket["force_kn"], 53.28, 0.001);
    near(&bracket["deduction_mm"], 3.742, 0.001);
    near(&bracket["x_mm"], 38.129, 0.001);
    near(&bracket["smallest_leg_mm"], 7.071, 0.001);
    let rail = of("UC-02");
    near(&rail["brakes"][0]["reasons"][0]["needed"], 1_416.98, 0.01);
    let lip = of("ZP-04");
    near(&lip["brakes"][0]["reasons"][0]["needed"], 16.971, 0.001);
    let hat = bend("HS-05", 2);
    near(&hat["force_kn"], 89.28, 0.001);
    near(&hat["r_mm"], -3.0, 0.15);
    let side = bend("BX-06", 3);
    near(&side["deduction_mm"], 2.904, 0.001);
    near(&side["x_mm"], 38.548, 0.001);
    let (sharp, flat) = (bend("HM-07", 1), bend("HM-07", 2));
    near(&sharp["deduction_mm"], 11.459, 0.001);
    near(&sharp["x_mm"], 11.770, 0.001);
    near(&sharp["smallest_leg_mm"], 11.591, 0.001);
    near(&flat["force_kn"], 111.0, 0.001);
    let taper = of("TF-09");
    near(&taper["brakes"][1]["reasons"][0]["needed"], 20.978, 0.001);
}

/// 7 strokes, 13.69 mm apart, about X = 100 − 28.181/2 = 85.91: 85.91 ± 3·13.69.
#[test]
fn a_stepped_radius_says_where_its_strokes_are_gauged() {
    let sheet = brakewright(&["bends", SHOP, "RD-08", "--brake", "LONG"]).out;
    let words: Vec<&str> = sheet.split_whitespace().collect();
    let words = words.join(" ");
    assert!(
        words.contains("7 strokes of 12.86°, 13.69 mm apart"),
        "{sheet}"
    );
    assert!(words.contains("From X 126.97 down to X 44.84"), "{sheet}");
    let openings = of("RD-08")["brakes"][0]["options"][0]["openings"].clone();
    for opening in openings.as_array().unwrap() {
        near(&opening["radius_mm"], 60.0, 0.001);
    }
}

/// The straight punches are in the way; the gooseneck clears, but stands 30 mm higher.
#[test]
fn a_refusal_says_what_stops_the_other_punches() {
    let brake = of("DU-03")["brakes"][0].clone();
    let others = brake["passed_over"].as_array().unwrap();
    assert_eq!(others.len(), 1, "{others:?}");
    assert_eq!(others[0]["tools"][0][0], "GOOSE", "{others:?}");
    let why = others[0]["why"].as_str().unwrap();
    assert!(
        why.contains("needs 100 mm of daylight; there are 90 mm"),
        "{why}"
    );
    let short = brakewright(&["bends", SHOP, "DU-03"]).out;
    assert!(short.contains("--brake LONG says by what"), "{short}");

    // Room enough, but the gooseneck's sections do not make up the channel's 300 mm.
    let scratch = Scratch::new();
    let shop = scratch.copy_of(SHOP);
    change(
        &shop.join("brakes.toml"),
        "open_height = 480",
        "open_height = 500",
    );
    let folder = shop.to_str().unwrap();
    let roomy = brakewright(&["bends", folder, "DU-03", "--json"]).json();
    assert_eq!(roomy["brakes"][0]["fits"], true);
    change(&shop.join("sections.csv"), "GOOSE,200,1,,,A3,5.6\n", "");
    let few = brakewright(&["bends", folder, "DU-03", "--json"]).json();
    let why = &few["brakes"][0]["passed_over"][0]["why"];
    let expected = "bend 1: no sections of GOOSE make up 300 to 400 mm";
    assert_eq!(why, expected, "{few:#}");
    // What no tool changes is not put down to punches.
    assert_eq!(
        of("UC-02")["brakes"][1]["passed_over"],
        serde_json::json!([])
    );
}

fn change(path: &std::path::Path, old: &str, new: &str) {
    let text = fs::read_to_string(path).unwrap();
    assert!(text.contains(old), "{old}");
    fs::write(path, text.replacen(old, new, 1)).unwrap();
}

#[test]
fn three_orders_have_no_place_and_the_audit_accepts_the_plan() {
    let checked = brakewright(&["check", SHOP]);
    assert_eq!(checked.code, Some(0), "{}", checked.err);
    assert!(
        checked.out.contains("0 errors, 0 warnings"),
        "{}",
        checked.out
    );
    let scratch = Scratch::new();
    let into = scratch.text("plan");
    let planned = brakewright(&["plan", SHOP, "--out", &into, "--json"]);
    assert_eq!(planned.code, Some(1), "{}", planned.err);
    let json = planned.json();
    let unplaced: Vec<&str> = json["unplaced"]
        .as_array()
        .unwrap()
        .iter()
        .map(|order| order["order"].as_str().unwrap())
        .collect();
    assert_eq!(unplaced, ["W-02", "W-04", "W-10"]);
    assert_eq!(json["totals"]["late_orders"], 0);
    let verdict = brakewright(&["verify", SHOP, &format!("{into}/plan.json")]);
    assert_eq!(verdict.code, Some(0), "{}", verdict.out);
}

//! The tiny shop: its best plan is proved by trying every order, and by hand in its README.

use crate::program::{brakewright, top};
use std::fs;

#[test]
fn the_plan_is_the_best_there_is() {
    let shop = workshop::check(&top().join("tests/tiny-shop"))
        .unwrap()
        .shop
        .unwrap();
    let from = workshop::default_from(&shop, units::Moment(0));
    let (problem, findings) = schedule::compile(&shop, from);
    assert_eq!(findings, Vec::new());
    let best = exact::enumerate(&problem, 5_000_000).expect("few enough to try them all");
    assert!(best.evaluated >= 720, "only {} were tried", best.evaluated);

    let answer = brakewright(&["plan", "tests/tiny-shop", "--json"]);
    assert_eq!(answer.code, Some(0), "{}", answer.err);
    assert_eq!(answer.json()["totals"]["objective"], best.cost);
    assert_eq!(
        written_best(),
        best.cost,
        "tests/tiny-shop/README.md says otherwise"
    );
}

/// The objective of the plan that the README calls best.
fn written_best() -> i64 {
    let page = fs::read_to_string(top().join("tests/tiny-shop/README.md")).unwrap();
    let line = page
        .lines()
        .find(|line| line.starts_with("| **best**"))
        .expect("a best plan");
    let cell = line
        .trim_end_matches(['|', ' '])
        .rsplit('|')
        .next()
        .unwrap();
    let digits: String = cell.chars().filter(char::is_ascii_digit).collect();
    digits.parse().unwrap()
}

#[test]
fn the_sequence_is_the_one_in_the_readme() {
    let json = brakewright(&["plan", "tests/tiny-shop", "--json"]).json();
    let runs = json["brakes"][0]["runs"].as_array().unwrap();
    let orders: Vec<&str> = runs
        .iter()
        .map(|run| run["order"].as_str().unwrap())
        .collect();
    assert_eq!(orders, ["T-1", "T-4", "T-2", "T-3", "T-6", "T-5"]);
    let late: Vec<i64> = runs
        .iter()
        .map(|run| run["late_seconds"].as_i64().unwrap() / 60)
        .collect();
    assert_eq!(late, [0, 0, 0, 13, 0, 1]);
}

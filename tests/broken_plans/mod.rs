//! The judge at the door: a real plan with one thing wrong is rejected, and the rule is named.
//!
//! Plans change whenever the search gets better, so every corruption looks for a place where it can
//! be made instead of naming one.

mod beds;
mod bends;
mod moves;
mod orders;
mod search;
mod times;

use crate::program::{Answer, Scratch, brakewright, demo_plan};
use serde_json::Value;
use std::fs;

/// A corruption: what it is, how it is made, and the rule that must be named.
pub(crate) type Case = (&'static str, fn(&mut Value), &'static str);

/// Makes each corruption in a fresh copy of the demo shop's plan and has it judged.
fn reject_all(cases: &[Case]) {
    let scratch = Scratch::new();
    let mut wrong = Vec::new();
    for (name, corrupt, rule) in cases {
        let mut plan: Value = serde_json::from_str(demo_plan()).expect("a plan");
        corrupt(&mut plan);
        let text = serde_json::to_string(&plan).expect("still JSON");
        assert!(
            plan != serde_json::from_str::<Value>(demo_plan()).unwrap(),
            "{name}: nothing changed"
        );
        fs::write(scratch.path("plan.json"), text).unwrap();
        let answer = brakewright(&["verify", "demo-shop", &scratch.text("plan.json")]);
        let named = answer
            .out
            .lines()
            .any(|line| line.split(' ').nth(1) == Some(rule));
        let said = answer.out.contains("\nrejected: ");
        if !(named && said && answer.code == Some(1)) {
            let Answer { code, out, err } = answer;
            wrong.push(format!(
                "{name}: {rule} is not named, ended with {code:?}\n{out}{err}"
            ));
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn orders_and_promises() {
    reject_all(orders::CASES);
}

#[test]
fn beds_and_sections() {
    reject_all(beds::CASES);
}

#[test]
fn turns_and_slides() {
    reject_all(moves::CASES);
}

#[test]
fn bends_and_forces() {
    reject_all(bends::CASES);
}

#[test]
fn times_and_people() {
    reject_all(times::CASES);
}

#[test]
fn there_are_enough_of_them() {
    let all = [
        orders::CASES,
        beds::CASES,
        moves::CASES,
        bends::CASES,
        times::CASES,
    ]
    .concat();
    assert!(all.len() >= 60, "{}", all.len());
    let mut rules: Vec<&str> = all.iter().map(|(_, _, rule)| *rule).collect();
    rules.sort_unstable();
    rules.dedup();
    assert!(rules.len() >= 50, "{}", rules.len());
}

#[test]
fn violations_are_told_to_machines_too() {
    let scratch = Scratch::new();
    let mut plan: Value = serde_json::from_str(demo_plan()).unwrap();
    plan["totals"]["objective"] = Value::from(1);
    fs::write(scratch.path("plan.json"), plan.to_string()).unwrap();
    let args = ["verify", "demo-shop", &scratch.text("plan.json"), "--json"];
    let answer = brakewright(&args);
    assert_eq!(answer.code, Some(1));
    let json = answer.json();
    assert_eq!(json["accepted"], false);
    let rules: Vec<&str> = json["violations"]
        .as_array()
        .unwrap()
        .iter()
        .map(|violation| violation["rule"].as_str().unwrap())
        .collect();
    assert!(rules.contains(&"wrong-objective"), "{rules:?}");
}

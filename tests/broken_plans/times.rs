//! Shifts, people and the order of things.

use super::Case;
use super::search::{
    changes, edit, find, find_pair, list, number, overlap, run, runs, seconds, shift, shift_change,
    shift_run, shop, text, whole,
};
use chrono::{DateTime, Timelike};
use serde_json::{Value, json};

pub(super) const CASES: &[Case] = &[
    (
        "two runs at once on one brake",
        |plan| {
            // Onto the middle of the run before, whatever the pause between the two.
            let at = find_pair(plan, |before, _| whole(&before["run_seconds"]) > 1_200);
            let middle = seconds(&plan["brakes"][at.0]["runs"][at.1 - 1]["start"]) + 600;
            let run = run(plan, at);
            let by = middle - seconds(&run["start"]);
            shift_run(run, by);
        },
        "brake-does-two-things",
    ),
    (
        "a changeover during the run before",
        |plan| {
            let at = find_pair(plan, |_, run| changes(run));
            let before = seconds(&plan["brakes"][at.0]["runs"][at.1 - 1]["start"]);
            let change = &mut run(plan, at)["changeover"];
            let by = before + 60 - seconds(&change["start"]);
            shift_change(change, by);
        },
        "brake-does-two-things",
    ),
    (
        "two runs the wrong way round",
        |plan| {
            edit(&mut plan["brakes"][0]["runs"]).swap(1, 2);
        },
        "out-of-order",
    ),
    (
        "work on a public holiday",
        |plan| {
            let at = find(plan, |(brake, position), _| brake == 0 && position == 1);
            let to = DateTime::parse_from_rfc3339("2027-03-26T08:00:00+01:00")
                .unwrap()
                .timestamp();
            let by = to - seconds(&run(plan, at)["start"]);
            shift_run(run(plan, at), by);
        },
        "brake-not-staffed",
    ),
    (
        "work on a brake that is down",
        |plan| {
            let to = DateTime::parse_from_rfc3339("2027-03-23T08:00:00+01:00")
                .unwrap()
                .timestamp();
            let by = to - seconds(&plan["brakes"][2]["runs"][0]["start"]);
            shift_run(&mut plan["brakes"][2]["runs"][0], by);
        },
        "brake-not-staffed",
    ),
    (
        "the late crew in the morning",
        |plan| {
            let at = find(plan, |_, run| hour(&run["segments"][0]["start"]) < 12);
            run(plan, at)["segments"][0]["crew"][0] = json!("op-4");
        },
        "person-not-there",
    ),
    (
        "one operator at two brakes",
        |plan| {
            let (at, person) = runs(plan)
                .find_map(|(at, run)| {
                    let other =
                        runs(plan).find(|(other, used)| other.0 != at.0 && overlap(run, used));
                    other.map(|(_, used)| (at, used["segments"][0]["crew"][0].clone()))
                })
                .expect("two brakes work at once");
            run(plan, at)["segments"][0]["crew"][0] = person;
        },
        "person-in-two-places",
    ),
    (
        "an operator not trained on the brake",
        |plan| {
            // Only two operators are trained on B5.
            plan["brakes"][4]["runs"][0]["segments"][0]["crew"][0] = json!("op-1");
        },
        "crew",
    ),
    (
        "one person for a piece of two",
        |plan| {
            let at = find(plan, |_, run| list(&run["segments"][0]["crew"]).len() == 2);
            edit(&mut run(plan, at)["segments"][0]["crew"]).pop();
        },
        "crew",
    ),
    (
        "nobody at the brake",
        |plan| {
            plan["brakes"][0]["runs"][0]["segments"][0]["crew"] = json!([]);
        },
        "crew",
    ),
    (
        "a changeover by one who does not set",
        |plan| {
            let at = find(plan, |_, run| changes(run));
            run(plan, at)["changeover"]["segments"][0]["crew"][0] = json!("op-1");
        },
        "setter",
    ),
    (
        "a changeover begun as the shift ends",
        near_shift_end,
        "change-near-shift-end",
    ),
    (
        "a changeover beyond its setter's shift",
        near_shift_end,
        "change-spans-shifts",
    ),
    (
        "a run that stops for no reason",
        |plan| {
            let at = find(plan, |_, run| {
                list(&run["segments"]).len() == 1 && whole(&run["run_seconds"]) > 3_600
            });
            let run = run(plan, at);
            let mut rest = run["segments"][0].clone();
            let start = seconds(&rest["start"]);
            let length = seconds(&rest["end"]) - start;
            shift(&mut run["segments"][0]["end"], 600 - length);
            shift(&mut rest["start"], 1_200);
            edit(&mut run["segments"]).push(rest);
        },
        "run-pauses",
    ),
    (
        "a run shorter than its work",
        |plan| {
            let at = find(plan, |_, run| whole(&run["run_seconds"]) > 3_600);
            let run = run(plan, at);
            let last = list(&run["segments"]).len() - 1;
            shift(&mut run["segments"][last]["end"], -60);
            shift(&mut run["end"], -60);
        },
        "segments-do-not-add-up",
    ),
    (
        "segments that do not begin with the run",
        |plan| {
            let at = find(plan, |_, _| true);
            shift(&mut run(plan, at)["start"], -60);
        },
        "segments-out-of-shape",
    ),
    (
        "a run without any work",
        |plan| {
            let at = find(plan, |_, _| true);
            run(plan, at)["segments"] = json!([]);
        },
        "segments-out-of-shape",
    ),
    (
        "a first piece approved at night",
        |plan| {
            let at = find(plan, |_, run| {
                let steps = list(&run["changeover"]["steps"]);
                let own = shop().rules.approve_own.0;
                steps
                    .iter()
                    .any(|step| step["action"] == "approval" && whole(&step["seconds"]) > own)
            });
            let change = &mut run(plan, at)["changeover"];
            let by = 3_600 * (20 - i64::from(hour(&change["end"])));
            shift_change(change, by);
        },
        "inspector-not-there",
    ),
];

/// The hour on the shop's clock.
fn hour(time: &Value) -> u32 {
    DateTime::parse_from_rfc3339(text(time))
        .expect("a time")
        .hour()
}

/// Begins a changeover of the early setter ten minutes before the end of that shift.
fn near_shift_end(plan: &mut Value) {
    let at = find(plan, |_, run| {
        changes(run)
            && text(&run["changeover"]["segments"][0]["crew"][0]) == "set-1"
            && list(&run["changeover"]["segments"]).len() == 1
            && number(&run["changeover"]["minutes"]) > 12.0
    });
    let change = &mut run(plan, at)["changeover"];
    let start = DateTime::parse_from_rfc3339(text(&change["start"])).expect("a time");
    let ten_to_two = i64::from(start.num_seconds_from_midnight()) - (13 * 60 + 50) * 60;
    shift_change(change, -ten_to_two);
}

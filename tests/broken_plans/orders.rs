//! Orders, promises, totals, batches, and what has no place.

use super::Case;
use super::search::{
    add, edit, find, find_pair, list, move_to, moves_tools, order, run, runs, seconds, shift,
    shift_run, take, text, whole,
};
use serde_json::{Value, json};

pub(super) const CASES: &[Case] = &[
    (
        "a brake's list left out",
        |plan| drop(edit(&mut plan["brakes"]).pop()),
        "brake-list",
    ),
    (
        "a longer horizon",
        |plan| shift(&mut plan["until"], 86_400),
        "wrong-horizon",
    ),
    (
        "a later beginning",
        |plan| shift(&mut plan["from"], 7_200),
        "before-the-plan",
    ),
    (
        "a run beyond the horizon",
        |plan| {
            let at = find(plan, |_, _| true);
            shift_run(run(plan, at), 40 * 86_400);
        },
        "beyond-the-horizon",
    ),
    (
        "one name for two runs",
        |plan| {
            let name = plan["brakes"][0]["runs"][0]["run"].clone();
            plan["brakes"][0]["runs"][1]["run"] = name;
        },
        "run-name-twice",
    ),
    (
        "an order nobody gave",
        |plan| {
            plan["brakes"][0]["runs"][1]["order"] = json!("W-9999");
        },
        "unknown-order",
    ),
    (
        "another part",
        |plan| {
            let at = find(plan, |_, run| text(&run["part"]) != "BR-101");
            run(plan, at)["part"] = json!("BR-101");
        },
        "wrong-part",
    ),
    (
        "one piece short",
        |plan| {
            let at = find(plan, |_, run| whole(&run["quantity"]) > 1);
            add(&mut run(plan, at)["quantity"], -1);
        },
        "not-a-share",
    ),
    (
        "an order left out",
        |plan| {
            let at = find(plan, |(_, position), _| position == 2);
            take(plan, at);
        },
        "pieces-do-not-add-up",
    ),
    (
        "an order done twice",
        |plan| {
            let at = find(plan, |(_, position), _| position == 2);
            let mut again = run(plan, at).clone();
            again["run"] = json!("B1-99");
            edit(&mut plan["brakes"][at.0]["runs"]).insert(at.1 + 1, again);
        },
        "pieces-do-not-add-up",
    ),
    (
        "a tied order elsewhere",
        |plan| {
            let at = find(plan, |_, run| order(run).brake.is_some());
            move_to(plan, at, (at.0 + 1) % 5);
        },
        "tied-to-another-brake",
    ),
    (
        "blanks there sooner than they are",
        |plan| {
            let at = find(plan, |_, run| !order(run).blanks.is_empty());
            shift(&mut run(plan, at)["ready"], -3_600);
        },
        "wrong-ready",
    ),
    (
        "bent before its blanks are there",
        |plan| {
            let from = seconds(&plan["from"]);
            let at = find(plan, |_, run| seconds(&run["ready"]) > from + 60);
            let late = seconds(&run(plan, at)["start"]) - from;
            shift_run(run(plan, at), -late);
        },
        "before-ready",
    ),
    (
        "bent before the order it follows",
        |plan| {
            let from = seconds(&plan["from"]);
            let at = find(plan, |_, run| {
                order(run).after.is_some() && seconds(&run["start"]) > from
            });
            let late = seconds(&run(plan, at)["start"]) - from;
            shift_run(run(plan, at), -late);
        },
        "before-predecessor",
    ),
    (
        "a later due time",
        |plan| shift(&mut plan["brakes"][1]["runs"][1]["due"], 3_600),
        "wrong-due",
    ),
    (
        "lateness hidden",
        |plan| {
            let at = find(plan, |_, run| whole(&run["late_seconds"]) > 0);
            run(plan, at)["late_seconds"] = json!(0);
        },
        "wrong-lateness",
    ),
    (
        "a kit's lateness not its last member's",
        |plan| {
            let at = find(plan, |_, run| order(run).kit.is_some());
            add(&mut run(plan, at)["late_seconds"], 3_600);
        },
        "wrong-lateness",
    ),
    (
        "the order in progress second",
        |plan| {
            edit(&mut plan["brakes"][1]["runs"]).swap(0, 1);
        },
        "in-progress-not-first",
    ),
    (
        "the order in progress on another brake",
        |plan| {
            move_to(plan, (1, 0), 2);
        },
        "in-progress-not-first",
    ),
    (
        "the order in progress not pinned",
        |plan| {
            plan["brakes"][1]["runs"][0]["pinned"] = json!(false);
        },
        "in-progress-disturbed",
    ),
    (
        "a minute less of changeovers",
        |plan| {
            add(&mut plan["totals"]["changeover_seconds"], -60);
        },
        "wrong-total",
    ),
    (
        "one late order less",
        |plan| add(&mut plan["totals"]["late_orders"], -1),
        "wrong-total",
    ),
    (
        "overtime hidden",
        |plan| add(&mut plan["totals"]["overtime_seconds"], 60),
        "wrong-total",
    ),
    (
        "a smaller objective",
        |plan| add(&mut plan["totals"]["objective"], -1),
        "wrong-objective",
    ),
    (
        "a bound above the plan",
        |plan| {
            let above = whole(&plan["totals"]["objective"]) + 1;
            plan["bound"]["objective"] = json!(above);
        },
        "bound-above-objective",
    ),
    (
        "a baseline below nothing",
        |plan| {
            plan["baselines"]["due_date_order"]["objective"] = json!(-1);
        },
        "negative-baseline",
    ),
    (
        "one bed, two batches",
        |plan| {
            let at = find_pair(plan, |before, run| {
                !moves_tools(run) && before["batch"] == run["batch"]
            });
            run(plan, at)["batch"] = json!("B9/9");
        },
        "batch-split",
    ),
    (
        "a new bed, an old batch",
        |plan| {
            let at = find_pair(plan, |before, run| {
                moves_tools(run) && before["batch"] != run["batch"]
            });
            let old = plan["brakes"][at.0]["runs"][at.1 - 1]["batch"].clone();
            run(plan, at)["batch"] = old;
        },
        "batch-not-new",
    ),
    (
        "pinned behind a run that is not",
        |plan| {
            let at = find_pair(plan, |before, _| before["pinned"] == false);
            run(plan, at)["pinned"] = json!(true);
        },
        "pinned-behind",
    ),
    (
        "no place for nobody's order",
        |plan| plan["unplaced"][0]["order"] = json!("W-9999"),
        "unplaced-entry",
    ),
    (
        "no place for no pieces",
        |plan| plan["unplaced"][0]["quantity"] = json!(0),
        "unplaced-entry",
    ),
    (
        "no place without reasons",
        |plan| plan["unplaced"][0]["reasons"] = json!([]),
        "refusal-missing",
    ),
    (
        "one brake's reason left out",
        |plan| {
            edit(&mut plan["unplaced"][2]["reasons"]).retain(|reason| reason["brake"] != "B4");
        },
        "refusal-missing",
    ),
    (
        "a reason that is none",
        |plan| {
            let reasons = edit(&mut plan["unplaced"][4]["reasons"]);
            let force = reasons.iter_mut().find(|reason| reason["code"] == "force");
            force.expect("an order beyond the force")["needed"] = json!(1.0);
        },
        "refusal-does-not-refuse",
    ),
    (
        "an order left out for no reason",
        |plan| drop(edit(&mut plan["unplaced"]).remove(0)),
        "pieces-do-not-add-up",
    ),
    (
        "a follower placed, its order not",
        follower_without_its_order,
        "predecessor-unplaced",
    ),
];

/// Leaves the order out that a placed order waits for.
fn follower_without_its_order(plan: &mut Value) {
    let at = find(plan, |_, run| order(run).after.is_some());
    let wanted = order(run(plan, at)).after.clone().expect("it follows one");
    let first: Vec<_> = runs(plan)
        .filter(|(_, run)| text(&run["order"]) == wanted.as_str())
        .map(|(at, _)| at)
        .collect();
    let mut pieces = 0;
    for at in first.into_iter().rev() {
        pieces += whole(&take(plan, at)["quantity"]);
    }
    let mut entry = plan["unplaced"][0].clone();
    assert!(!list(&entry["reasons"]).is_empty());
    entry["order"] = json!(wanted.as_str());
    entry["quantity"] = json!(pieces);
    edit(&mut plan["unplaced"]).push(entry);
}

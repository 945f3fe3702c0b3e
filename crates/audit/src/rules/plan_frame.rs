//! The plan's frame: whose plan it is, its first and last moment, one entry per brake.

use super::{Rule, broken};
use crate::case::Case;
use model::Violation;
use units::Moment;

pub(super) const SHOP: Rule = ("A100", "wrong-shop", "the plan names another shop");
pub(super) const BRAKE_LIST: Rule = (
    "A101",
    "brake-list",
    "the plan does not have exactly one entry per brake, in the shop's order",
);
pub(super) const HORIZON: Rule = (
    "A102",
    "wrong-horizon",
    "`until` is not `from` plus the horizon's days",
);
pub(super) const BEFORE: Rule = (
    "A103",
    "before-the-plan",
    "a changeover, takedown or run starts before the plan does",
);
pub(super) const AFTER: Rule = (
    "A104",
    "beyond-the-horizon",
    "a run or takedown ends after the plan's last moment",
);
pub(super) const RUN_NAME: Rule = ("A105", "run-name-twice", "two runs carry the same name");

pub(super) fn check(case: &Case, out: &mut Vec<Violation>) {
    let (shop, plan) = (case.shop, case.plan);
    if shop.name != plan.shop {
        broken(
            out,
            &SHOP,
            "plan",
            format!("made for {:?}, judged for {:?}", plan.shop, shop.name),
        );
    }
    if !shop
        .brakes
        .iter()
        .map(|brake| &brake.id)
        .eq(plan.brakes.iter().map(|line| &line.brake))
    {
        let listed: Vec<_> = plan.brakes.iter().map(|line| line.brake.as_str()).collect();
        let owned: Vec<_> = shop.brakes.iter().map(|brake| brake.id.as_str()).collect();
        let text = format!(
            "lists {}; the shop has {}",
            listed.join(" "),
            owned.join(" ")
        );
        broken(out, &BRAKE_LIST, "plan", text);
    }
    if plan.until != case.until() {
        let (until, from) = (case.show(plan.until), case.show(plan.from));
        let text = format!(
            "until {until}, but {} days from {from} are {}",
            shop.rules.horizon_days,
            case.show(case.until())
        );
        broken(out, &HORIZON, "plan", text);
    }
    check_bounds(case, out);
    check_names(case, out);
}

fn check_bounds(case: &Case, out: &mut Vec<Violation>) {
    let mut bound = |at: &str, word: &str, start: Moment, end: Moment| {
        if start < case.plan.from {
            let text = format!(
                "{word} starts {}, the plan {}",
                case.show(start),
                case.show(case.plan.from)
            );
            broken(out, &BEFORE, at, text);
        }
        if end > case.until() {
            let text = format!(
                "{word} ends {}, the plan {}",
                case.show(end),
                case.show(case.until())
            );
            broken(out, &AFTER, at, text);
        }
    };
    for takedown in &case.takedowns {
        bound(
            &takedown.at,
            "takedown",
            takedown.takedown.start,
            takedown.takedown.end,
        );
    }
    for run in &case.runs {
        let (name, changeover) = (&run.run.name, &run.run.changeover);
        bound(name, "changeover", changeover.start, changeover.start);
        bound(name, "run", run.run.start, run.run.end);
    }
}

fn check_names(case: &Case, out: &mut Vec<Violation>) {
    let mut names: Vec<_> = case.runs.iter().map(|run| run.run.name.as_str()).collect();
    names.sort_unstable();
    let mut told = None;
    for pair in names.windows(2) {
        if let [first, second] = pair
            && first == second
            && told != Some(*first)
        {
            broken(
                out,
                &RUN_NAME,
                first,
                format!("more than one run is called {first:?}"),
            );
            told = Some(*first);
        }
    }
}

//! An order that follows another waits for its last run.

use super::{Rule, broken};
use crate::case::Case;
use model::{Limit, Violation};

pub(super) const EARLY: Rule = (
    "A113",
    "before-predecessor",
    "a run starts before the order it follows has ended",
);
pub(super) const UNPLACED: Rule = (
    "A114",
    "predecessor-unplaced",
    "an order follows one with unplaced pieces, but is placed or refused for another limit",
);

pub(super) fn check(case: &Case, out: &mut Vec<Violation>) {
    for order in &case.shop.orders {
        let Some(first) = &order.after else { continue };
        let places = |id| case.runs_of.get(id).into_iter().flatten();
        let last = places(first)
            .filter_map(|place| case.runs.get(*place))
            .max_by_key(|run| run.run.end);
        let followers = || places(&order.id).filter_map(|place| case.runs.get(*place));
        if let Some(last) = last {
            for run in followers().filter(|run| run.run.start < last.run.end) {
                let text = format!(
                    "starts {}, but {} of order {first} ends {}",
                    case.show(run.run.start),
                    last.run.name,
                    case.show(last.run.end)
                );
                broken(out, &EARLY, &run.run.name, text);
            }
        }
        if case.unplaced.get(first).is_none_or(|pieces| *pieces == 0)
            || case.shop.pieces_left(order) == 0
        {
            continue;
        }
        for run in followers() {
            let text = format!("order {first} must be finished first and has unplaced pieces");
            broken(out, &UNPLACED, &run.run.name, text);
        }
        let mut entries = case
            .plan
            .unplaced
            .iter()
            .filter(|entry| entry.order == order.id);
        let named =
            entries.any(|entry| entry.refusals.iter().any(|r| r.limit == Limit::Predecessor));
        if !named && followers().next().is_none() {
            let text = format!("order {first} has unplaced pieces; no refusal says so");
            broken(out, &UNPLACED, order.id.as_str(), text);
        }
    }
}

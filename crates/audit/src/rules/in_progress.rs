//! An order in progress goes on where it is.

use super::{Rule, broken};
use crate::case::Case;
use model::{Changeover, Violation};

pub(super) const FIRST: Rule = (
    "A181",
    "in-progress-not-first",
    "an order in progress is not the first run on its brake",
);
pub(super) const CHANGED: Rule = (
    "A182",
    "in-progress-disturbed",
    "an order in progress is not pinned, or its bed is changed before it ends",
);

pub(super) fn check(case: &Case, out: &mut Vec<Violation>) {
    for running in &case.shop.floor.running {
        let line = case
            .plan
            .brakes
            .iter()
            .find(|line| line.brake == running.brake);
        let first = line.and_then(|line| line.runs.first());
        // Unplaced as a whole, with its refusals, when it cannot go on at all.
        let planned = case.runs_of.contains_key(&running.order);
        if planned && first.is_none_or(|run| run.order != running.order) {
            let found = first.map_or("nothing".to_owned(), |run| format!("order {}", run.order));
            let text = format!("order {} is in progress, {found} runs first", running.order);
            broken(out, &FIRST, running.brake.as_str(), text);
        }
    }
    for run in case.runs.iter().filter(|run| run.in_progress) {
        let changeover = &run.run.changeover;
        let took_down = case.takedowns.iter().any(|takedown| {
            takedown.brake_id == run.brake_id && takedown.takedown.start < run.run.end
        });
        let text = if !run.run.pinned {
            "not pinned"
        } else if alters(changeover) {
            "a changeover alters its bed"
        } else if took_down {
            "a takedown alters its bed"
        } else {
            continue;
        };
        broken(
            out,
            &CHANGED,
            &run.run.name,
            format!("order {}: {text}", run.run.order),
        );
    }
}

/// Whether the plan says that any tool is moved.
fn alters(changeover: &Changeover) -> bool {
    !changeover.remove.is_empty()
        || !changeover.turn.is_empty()
        || !changeover.slide.is_empty()
        || !changeover.insert.is_empty()
}

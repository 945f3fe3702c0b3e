//! Consecutive runs on one bed carry one batch name.

use super::{Rule, broken};
use crate::case::Case;
use model::Violation;
use std::collections::BTreeSet;

pub(super) const SPLIT: Rule = (
    "A187",
    "batch-split",
    "consecutive runs on an unchanged bed carry different batch names",
);
pub(super) const NOT_NEW: Rule = (
    "A188",
    "batch-not-new",
    "the first run of a brake or after tools were moved carries a batch name used before",
);

pub(super) fn check(case: &Case, out: &mut Vec<Violation>) {
    let mut used: BTreeSet<&str> = BTreeSet::new();
    for run in &case.runs {
        let (name, batch) = (&run.run.name, run.run.batch.as_str());
        let previous = run.previous.and_then(|place| case.runs.get(place));
        let moved = run.bed.moves_tools();
        let same_name = previous.is_some_and(|previous| previous.run.batch == batch);
        let same_bed = previous.is_some_and(|previous| previous.bed.after == run.bed.after);
        if !moved && same_bed && !same_name {
            broken(
                out,
                &SPLIT,
                name,
                format!("batch {batch:?} begins on the same bed"),
            );
        }
        // A takedown since the previous run changed the bed, but not by this run's changeover:
        // it may carry on the batch or begin one.
        if (moved || !same_name) && used.contains(batch) {
            broken(
                out,
                &NOT_NEW,
                name,
                format!("batch {batch:?} was used before"),
            );
        }
        used.insert(batch);
    }
}

//! The bed after a change is the bed before, less what is taken off, plus what is put on.

use super::{Rule, broken};
use crate::bed::{Bed, Placed};
use crate::case::Case;
use model::Violation;

pub(super) const NOT_THERE: Rule = (
    "A157",
    "not-on-the-bed",
    "a change takes off a station that is not on the bed",
);
pub(super) const KEEP: Rule = (
    "A158",
    "wrong-keep",
    "`keep` is not what was there and is not taken off",
);
pub(super) const BED: Rule = (
    "A159",
    "wrong-bed",
    "`bed` is not the bed after the change, from left to right",
);

pub(super) fn check(case: &Case, out: &mut Vec<Violation>) {
    for takedown in &case.takedowns {
        tell_missing(&takedown.at, &takedown.bed.not_there, out);
    }
    for run in &case.runs {
        let name = &run.run.name;
        tell_missing(name, &run.bed.not_there, out);
        let changeover = &run.run.changeover;
        let mut keep: Bed = changeover.keep.iter().map(Placed::from_plan).collect();
        keep.sort_by_key(|station| station.left);
        if !same_tools(&keep, &run.bed.kept) {
            let text = format!("keeps {}, but {} stay", list(&keep), list(&run.bed.kept));
            broken(out, &KEEP, name, text);
        }
        let stated: Bed = run.run.bed.iter().map(Placed::from_plan).collect();
        if !same_tools(&stated, &run.bed.after) {
            let text = format!(
                "bed is {}, but the change leaves {}",
                list(&stated),
                list(&run.bed.after)
            );
            broken(out, &BED, name, text);
        }
    }
}

/// In the same order too. Which way round they stand is told by a rule of its own.
fn same_tools(stated: &Bed, found: &Bed) -> bool {
    let mut pairs = stated.iter().zip(found);
    stated.len() == found.len() && pairs.all(|(stated, found)| stated.same_tools(found))
}

fn tell_missing(at: &str, missing: &Bed, out: &mut Vec<Violation>) {
    for station in missing {
        broken(
            out,
            &NOT_THERE,
            at,
            format!("{} is not on the bed", station.describe()),
        );
    }
}

fn list(bed: &Bed) -> String {
    if bed.is_empty() {
        return "nothing".to_owned();
    }
    bed.iter()
        .map(Placed::describe)
        .collect::<Vec<_>>()
        .join(", ")
}

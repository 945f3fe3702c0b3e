//! Each station on the bed before a change is taken off, kept, turned or slid; with what is put on,
//! those that stay are the bed after.

use super::{Rule, broken};
use crate::bed::{Bed, Placed};
use crate::case::Case;
use crate::replay::Replay;
use model::Violation;

pub(super) const NOT_THERE: Rule = (
    "A157",
    "not-on-the-bed",
    "a change takes off, turns or slides a station that is not on the bed",
);
pub(super) const KEEP: Rule = (
    "A158",
    "wrong-keep",
    "`keep` is not what was there and is neither taken off, turned nor slid",
);
pub(super) const BED: Rule = (
    "A159",
    "wrong-bed",
    "`bed` is not the bed after the change, from left to right",
);

pub(super) const TWO_HEADS: Rule = (
    "A203",
    "under-two-heads",
    "a station is listed more than once among those taken off, turned and slid",
);

pub(super) fn check(case: &Case, out: &mut Vec<Violation>) {
    for takedown in &case.takedowns {
        tell_wrong_heads(&takedown.at, &takedown.bed, out);
    }
    for run in &case.runs {
        let name = &run.run.name;
        tell_wrong_heads(name, &run.bed, out);
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

fn tell_wrong_heads(at: &str, bed: &Replay, out: &mut Vec<Violation>) {
    for station in &bed.not_there {
        let text = format!("{} is not on the bed", station.describe());
        broken(out, &NOT_THERE, at, text);
    }
    for station in &bed.twice {
        let text = format!("{} is listed a second time", station.describe());
        broken(out, &TWO_HEADS, at, text);
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

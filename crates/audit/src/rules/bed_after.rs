//! The bed after a change is the bed before, less what is taken off, plus what is put on.

use super::{Rule, broken};
use crate::bed::{Bed, Placed};
use crate::case::Case;
use model::{Station, Violation};

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
        if keep != run.bed.kept {
            let text = format!("keeps {}, but {} stay", list(&keep), list(&run.bed.kept));
            broken(out, &KEEP, name, text);
        }
        if !stated_in_order(&run.run.bed, &run.bed.after) {
            let stated: Bed = run.run.bed.iter().map(Placed::from_plan).collect();
            let text = format!(
                "bed is {}, but the change leaves {}",
                list(&stated),
                list(&run.bed.after)
            );
            broken(out, &BED, name, text);
        }
    }
}

fn stated_in_order(stated: &[Station], after: &Bed) -> bool {
    stated
        .iter()
        .map(Placed::from_plan)
        .eq(after.iter().cloned())
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

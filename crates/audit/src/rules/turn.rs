//! Stations that stay where they are, their die block turned to another V.

use super::{Rule, broken};
use crate::case::{Case, RunCase};
use crate::replay::Moved;
use model::Violation;

pub(super) const OTHERWISE: Rule = (
    "A204",
    "turned-otherwise",
    "a station turned is not, but for its die, as it stood on the bed",
);
pub(super) const BLOCK: Rule = (
    "A205",
    "not-of-its-block",
    "a station is turned to a die that is not of the one block its die sections are of",
);
pub(super) const SAME_DIE: Rule = (
    "A206",
    "turned-to-the-same-die",
    "a station is turned to the die it shows already",
);

pub(super) fn check(case: &Case, out: &mut Vec<Violation>) {
    for run in &case.runs {
        for turned in &run.bed.turned {
            check_turned(case, run, turned, out);
        }
    }
}

fn check_turned(case: &Case, run: &RunCase, turned: &Moved, out: &mut Vec<Violation>) {
    let at = &run.run.name;
    let (before, after) = (&turned.before, &turned.after);
    let differs = turned.stated_before.differences(before);
    if !differs.is_empty() {
        let text = format!("turned, but {}", differs.join(", "));
        broken(out, &OTHERWISE, at, text);
    }
    if before.die == after.die {
        let text = format!("{} shows {} already", before.describe(), after.die);
        broken(out, &SAME_DIE, at, text);
    } else if let Some(text) = not_of_block(case, turned) {
        broken(out, &BLOCK, at, format!("{}: {text}", before.describe()));
    }
}

/// Why the die shown then is no other face of the block that all die sections are of.
fn not_of_block(case: &Case, turned: &Moved) -> Option<String> {
    let (before, after) = (&turned.before, &turned.after);
    let block_of = |die| case.lookup.dies.get(die).and_then(|die| die.block.as_ref());
    let Some(block) = block_of(after.die) else {
        return Some(format!("{} is a die of no block", after.die));
    };
    if block_of(before.die) != Some(block) {
        return Some(format!("{} is of block {block}", after.die));
    }
    if before.die_sections.is_empty() {
        return Some(format!("no die section of block {block}"));
    }
    let of_block = |id| {
        let section = case.lookup.sections.get(id);
        section.is_some_and(|section| section.profile == *block)
    };
    let mut sections = before.die_sections.iter();
    let other = sections.find(|id| !of_block(**id))?;
    Some(format!("section {other} is not of block {block}"))
}

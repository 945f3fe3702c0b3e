//! Stations that stay on the bed but are slid along it.

use super::{Rule, broken};
use crate::bed::Placed;
use crate::case::Case;
use crate::replay::Replay;
use model::Violation;

pub(super) const OTHERWISE: Rule = (
    "A207",
    "slid-otherwise",
    "a station slid is not, but for its place, as it stood on the bed",
);
pub(super) const NOWHERE: Rule = (
    "A208",
    "slid-nowhere",
    "a station is slid to where it stands already",
);
pub(super) const PAST: Rule = (
    "A209",
    "slid-past-another",
    "stations that stay on the bed do not keep their order along it",
);

pub(super) fn check(case: &Case, out: &mut Vec<Violation>) {
    for run in &case.runs {
        check_slid(&run.run.name, &run.bed, out);
        check_order(&run.run.name, &run.bed, out);
    }
}

fn check_slid(at: &str, bed: &Replay, out: &mut Vec<Violation>) {
    for slid in &bed.slid {
        let before = &slid.before;
        let differs = slid.stated_before.differences(before);
        if !differs.is_empty() {
            broken(
                out,
                &OTHERWISE,
                at,
                format!("slid, but {}", differs.join(", ")),
            );
        }
        if before.left == slid.after.left {
            let text = format!("{} stands there already", before.describe());
            broken(out, &NOWHERE, at, text);
        }
    }
}

/// Tells each neighbour passed by the station that stood to its left.
fn check_order(at: &str, bed: &Replay, out: &mut Vec<Violation>) {
    let moved = bed.turned.iter().chain(&bed.slid);
    let mut staying: Vec<(&Placed, &Placed)> =
        moved.map(|moved| (&moved.before, &moved.after)).collect();
    staying.extend(bed.kept.iter().map(|station| (station, station)));
    staying.sort_by_key(|(before, after)| (before.left, after.left));
    for pair in staying.windows(2) {
        let [(left, left_then), (right, right_then)] = pair else {
            continue;
        };
        if left_then.left > right_then.left {
            let text = format!(
                "{} stood left of {}, then at {} and {}",
                left.describe(),
                right.describe(),
                left_then.left,
                right_then.left
            );
            broken(out, &PAST, at, text);
        }
    }
}

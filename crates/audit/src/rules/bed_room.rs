//! Stations within the bed, clear of one another.

use super::{Rule, broken};
use crate::bed::Placed;
use crate::case::Case;
use crate::numbers::{mm, nm};
use crate::replay::Replay;
use model::{Brake, Violation};

pub(super) const OFF_BED: Rule = (
    "A151",
    "off-the-bed",
    "a station reaches beyond the bed's ends",
);
pub(super) const OVERLAP: Rule = (
    "A152",
    "stations-overlap",
    "two stations take the same length of bed",
);
pub(super) const GAP: Rule = (
    "A153",
    "station-gap",
    "a station put on or slid stands too close to its neighbour",
);

pub(super) fn check(case: &Case, out: &mut Vec<Violation>) {
    for run in &case.runs {
        if let Some(brake) = run.brake {
            check_bed(case, &run.run.name, brake, &run.bed, out);
        }
    }
}

fn check_bed(case: &Case, at: &str, brake: &Brake, bed: &Replay, out: &mut Vec<Violation>) {
    for station in &bed.after {
        let to = station.to(&case.lookup);
        if station.from() < 0 || to > nm(brake.bed) {
            let text = format!(
                "{} ends at {} mm of a bed of {} mm",
                station.describe(),
                mm(to),
                brake.bed
            );
            broken(out, &OFF_BED, at, text);
        }
    }
    let gap = nm(case.shop.rules.station_gap);
    let mut furthest: Option<&Placed> = None;
    for station in &bed.after {
        if let Some(left) = furthest {
            let between = station.from() - left.to(&case.lookup);
            let placed_now = bed.placed_now(left) || bed.placed_now(station);
            let pair = format!("{} and {}", left.describe(), station.describe());
            if between < 0 {
                broken(
                    out,
                    &OVERLAP,
                    at,
                    format!("{pair} overlap by {} mm", mm(-between)),
                );
            } else if placed_now && between < gap {
                let text = format!("{pair} are {} mm apart, {} mm needed", mm(between), mm(gap));
                broken(out, &GAP, at, text);
            }
        }
        if furthest.is_none_or(|left| left.to(&case.lookup) < station.to(&case.lookup)) {
            furthest = Some(station);
        }
    }
}

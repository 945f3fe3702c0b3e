//! A brake does one thing at a time, in the order of its list.

use super::{Rule, broken};
use crate::case::Case;
use crate::jobs::Job;
use model::Violation;
use std::collections::BTreeMap;
use units::BrakeId;

pub(super) const OVERLAP: Rule = (
    "A178",
    "brake-does-two-things",
    "changeovers, takedowns or runs of a brake overlap",
);
pub(super) const ORDER: Rule = (
    "A179",
    "out-of-order",
    "a run or its changeover ends before it starts, or comes before what stands before it",
);

pub(super) fn check(case: &Case, out: &mut Vec<Violation>) {
    let jobs = case.jobs();
    let mut by_brake: BTreeMap<&BrakeId, Vec<&Job>> = BTreeMap::new();
    for job in jobs.iter().filter(|job| job.start < job.end) {
        by_brake.entry(job.brake_id).or_default().push(job);
    }
    for (brake, mut jobs) in by_brake {
        jobs.sort_by_key(|job| (job.start, job.end));
        let mut latest: Option<&Job> = None;
        for job in jobs {
            if let Some(before) = latest.filter(|before| job.start < before.end) {
                let text = format!(
                    "{} starts on {brake} at {}, the {} of {} lasts until {}",
                    job.word(),
                    case.show(job.start),
                    before.word(),
                    before.at,
                    case.show(before.end)
                );
                broken(out, &OVERLAP, job.at, text);
            }
            if latest.is_none_or(|before| before.end < job.end) {
                latest = Some(job);
            }
        }
    }
    check_order(case, out);
}

fn check_order(case: &Case, out: &mut Vec<Violation>) {
    for takedown in &case.takedowns {
        let plan = takedown.takedown;
        if plan.end < plan.start {
            broken(
                out,
                &ORDER,
                &takedown.at,
                "ends before it starts".to_owned(),
            );
        }
    }
    for run in &case.runs {
        let (plan, changeover) = (run.run, &run.run.changeover);
        let before = run
            .previous
            .and_then(|place| case.runs.get(place))
            .map(|run| run.run.end);
        let moments = [changeover.start, changeover.end, plan.start, plan.end];
        if !before.into_iter().chain(moments).is_sorted() {
            let shown: Vec<_> = moments.iter().map(|moment| case.show(*moment)).collect();
            let before = before.map_or("none".to_owned(), |before| case.show(before));
            let text = format!(
                "previous end {before}, changeover and run {}",
                shown.join(", ")
            );
            broken(out, &ORDER, &plan.name, text);
        }
    }
}

//! The shape of work in time: segments in order that add up.

use super::{Rule, broken};
use crate::case::Case;
use crate::jobs::Job;
use crate::numbers::seconds_between;
use model::Violation;
use units::Seconds;

pub(super) const SHAPE: Rule = (
    "A166",
    "segments-out-of-shape",
    "segments are missing, empty, out of order, or do not begin and end with their work",
);
pub(super) const SUM: Rule = (
    "A167",
    "segments-do-not-add-up",
    "segment lengths do not add up to the work",
);

pub(super) fn check(case: &Case, out: &mut Vec<Violation>) {
    for job in case.jobs() {
        if let Some(text) = wrong_shape(case, &job) {
            broken(out, &SHAPE, job.at, format!("{}: {text}", job.word()));
        }
        let sum: i128 = job
            .segments
            .iter()
            .map(|s| seconds_between(s.start, s.end))
            .sum();
        if sum != job.work {
            let text = format!(
                "{}: segments hold {sum} s, work is {} s",
                job.word(),
                job.work
            );
            broken(out, &SUM, job.at, text);
        }
    }
}

fn wrong_shape(case: &Case, job: &Job) -> Option<String> {
    let (Some(first), Some(last)) = (job.segments.first(), job.segments.last()) else {
        let idle = job.work == 0 && job.end.0.checked_sub(job.start.0) == Some(Seconds::ZERO.0);
        return (!idle).then(|| "no segments".to_owned());
    };
    if first.start != job.start || last.end != job.end {
        return Some(format!(
            "segments span {} to {}, the work {} to {}",
            case.show(first.start),
            case.show(last.end),
            case.show(job.start),
            case.show(job.end)
        ));
    }
    if let Some(empty) = job
        .segments
        .iter()
        .find(|segment| segment.start >= segment.end)
    {
        return Some(format!(
            "the segment at {} has no length",
            case.show(empty.start)
        ));
    }
    let back = job.segments.windows(2).find_map(|pair| match pair {
        [before, after] if after.start < before.end => Some(after),
        _ => None,
    })?;
    Some(format!(
        "the segment at {} starts before the one before it ends",
        case.show(back.start)
    ))
}

//! Work only while the brake is staffed and the people named are there.

use super::{Rule, broken};
use crate::case::Case;
use crate::jobs::Job;
use model::{Segment, Violation};
use units::Moment;

pub(super) const BRAKE: Rule = (
    "A168",
    "brake-not-staffed",
    "work lies in a second in which the brake is not staffed",
);
pub(super) const PERSON: Rule = (
    "A169",
    "person-not-there",
    "work lies in a second in which a person named is not there",
);

pub(super) fn check(case: &Case, out: &mut Vec<Violation>) {
    for job in case.jobs() {
        for segment in job.segments {
            check_segment(case, &job, segment, out);
        }
    }
}

/// Tells the first bad second of the segment for the brake and for each person.
fn check_segment(case: &Case, job: &Job, segment: &Segment, out: &mut Vec<Violation>) {
    let Some(brake) = job.brake else { return };
    let (start, end) = (segment.start, segment.end);
    if start < end && !case.within_plan(start, end) {
        // Outside the plan's span nobody is planned at all, and no calendar is walked.
        let text = format!(
            "{} at {} lies outside the plan",
            job.word(),
            case.show(start)
        );
        broken(out, &BRAKE, job.at, text);
        return;
    }
    let asked = case.moments_to_ask(brake, &segment.crew, start, end);
    let first = |good: &dyn Fn(Moment) -> bool| asked.iter().copied().find(|at| !good(*at));
    if let Some(at) = first(&|at| case.staffed(brake, at)) {
        let text = format!(
            "{}: {} is not staffed at {}",
            job.word(),
            brake.id,
            case.show(at)
        );
        broken(out, &BRAKE, job.at, text);
    }
    for person in &segment.crew {
        if let Some(at) = first(&|at| case.person_there(person, at)) {
            let text = format!("{}: {person} is not there at {}", job.word(), case.show(at));
            broken(out, &PERSON, job.at, text);
        }
    }
}

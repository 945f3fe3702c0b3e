//! Who bends, and when a run may pause.

use super::{Rule, broken};
use crate::case::{Case, RunCase};
use crate::jobs::{Job, Kind};
use model::{Segment, Violation};
use std::collections::BTreeSet;

pub(super) const CREW: Rule = (
    "A174",
    "crew",
    "a run's people are not as many as the part needs, all different, bending and trained",
);
pub(super) const PAUSE: Rule = (
    "A175",
    "run-pauses",
    "a run pauses while the brake is staffed and its people are there",
);
pub(super) const SPANS: Rule = (
    "A176",
    "run-spans-shifts",
    "a run does not lie within one shift of its brake",
);

pub(super) fn check(case: &Case, out: &mut Vec<Violation>) {
    for job in &case.jobs() {
        if let Kind::Run(run) = job.kind {
            for segment in job.segments {
                check_crew(case, job, run, segment, out);
            }
            check_pauses(case, job, out);
            check_shift(case, job, out);
        }
    }
}

fn check_crew(case: &Case, job: &Job, run: &RunCase, segment: &Segment, out: &mut Vec<Violation>) {
    let at = case.show(segment.start);
    let people: BTreeSet<_> = segment.crew.iter().collect();
    if people.len() != segment.crew.len() {
        broken(
            out,
            &CREW,
            job.at,
            format!("somebody is named twice at {at}"),
        );
    }
    if let Some(needed) = run.crew(case)
        && people.len() != needed
    {
        broken(
            out,
            &CREW,
            job.at,
            format!("{} people at {at}, {needed} needed", people.len()),
        );
    }
    for id in people {
        let problem = match case.lookup.people.get(id) {
            None => "is not in the shop",
            Some(person) if !person.role.bends() => "does not bend",
            Some(person) if !person.brakes.contains(job.brake_id) => "is not trained on the brake",
            Some(_) => continue,
        };
        broken(out, &CREW, job.at, format!("{id} at {at} {problem}"));
    }
}

/// A run stops only when it cannot go on; it may wait as long as it likes for another crew.
fn check_pauses(case: &Case, job: &Job, out: &mut Vec<Violation>) {
    let Some(brake) = job.brake else { return };
    for pair in job.segments.windows(2) {
        let [before, after] = pair else { continue };
        let end = before.end;
        let could_go_on = case.staffed(brake, end)
            && before
                .crew
                .iter()
                .all(|person| case.person_there(person, end));
        if after.start > end && could_go_on {
            let text = format!(
                "stops at {} and goes on {}, with brake and people there",
                case.show(end),
                case.show(after.start)
            );
            broken(out, &PAUSE, job.at, text);
        }
    }
}

fn check_shift(case: &Case, job: &Job, out: &mut Vec<Violation>) {
    let Some(brake) = job.brake else { return };
    if case.shop.rules.run_may_span_shifts {
        return;
    }
    // No shift at all at the start: `brake-not-staffed` tells that.
    let shifts = case.hours.shifts_at(&brake.calendar, job.start);
    let Some(latest) = shifts.iter().map(|shift| shift.end).max() else {
        return;
    };
    if job.end > latest {
        let text = format!(
            "ends {}, the shift it starts in {}",
            case.show(job.end),
            case.show(latest)
        );
        broken(out, &SPANS, job.at, text);
    }
}

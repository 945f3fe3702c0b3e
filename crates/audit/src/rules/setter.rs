//! Who changes tools, and when a change may begin, pause and end.

use super::{Rule, broken};
use crate::case::Case;
use crate::jobs::Job;
use model::{Brake, Violation};
use units::{Moment, PersonId};

pub(super) const SETTER: Rule = (
    "A170",
    "setter",
    "a change does not have one setter trained on the brake, the same throughout",
);
pub(super) const QUIET: Rule = (
    "A171",
    "change-near-shift-end",
    "a change begins too close to the end of its setter's shift",
);
pub(super) const SPANS: Rule = (
    "A172",
    "change-spans-shifts",
    "a change ends after its setter's shift",
);
pub(super) const PAUSE: Rule = (
    "A173",
    "change-pauses",
    "a change pauses while brake and setter are both there",
);

pub(super) fn check(case: &Case, out: &mut Vec<Violation>) {
    for job in case.jobs().iter().filter(|job| !job.is_run()) {
        check_crews(case, job, out);
        let setter = job
            .segments
            .first()
            .and_then(|segment| segment.crew.first());
        if let (Some(brake), Some(setter)) = (job.brake, setter) {
            check_shift(case, job, setter, out);
            check_pauses(case, job, brake, setter, out);
        }
    }
}

fn check_crews(case: &Case, job: &Job, out: &mut Vec<Violation>) {
    let mut setters: Vec<&PersonId> = Vec::new();
    for segment in job.segments {
        let [setter] = segment.crew.as_slice() else {
            let text = format!(
                "{}: {} people at {}, one sets",
                job.word(),
                segment.crew.len(),
                case.show(segment.start)
            );
            broken(out, &SETTER, job.at, text);
            continue;
        };
        if !setters.contains(&setter) {
            setters.push(setter);
        }
    }
    for setter in &setters {
        let problem = match case.lookup.people.get(setter) {
            None => "is not in the shop",
            Some(person) if !person.role.sets() => "does not set",
            Some(person) if !person.brakes.contains(job.brake_id) => "is not trained on the brake",
            Some(_) => continue,
        };
        broken(
            out,
            &SETTER,
            job.at,
            format!("{}: {setter} {problem}", job.word()),
        );
    }
    if setters.len() > 1 {
        let names: Vec<_> = setters.iter().map(|setter| setter.as_str()).collect();
        let text = format!(
            "{}: one person sets, not {}",
            job.word(),
            names.join(" and ")
        );
        broken(out, &SETTER, job.at, text);
    }
}

fn check_shift(case: &Case, job: &Job, setter: &PersonId, out: &mut Vec<Violation>) {
    let Some(person) = case.lookup.people.get(setter) else {
        return;
    };
    let rules = &case.shop.rules;
    // No shift at all at the start: `person-not-there` tells that.
    let shifts = case.hours.shifts_at(&person.calendar, job.start);
    let Some(latest) = shifts.iter().map(|shift| shift.end).max() else {
        return;
    };
    let quiet_from = Moment(latest.0.saturating_sub(rules.quiet_before_shift_end.0));
    if job.start > quiet_from {
        let text = format!(
            "{}: begins {}, after {} none begins in {setter}'s shift",
            job.word(),
            case.show(job.start),
            case.show(quiet_from)
        );
        broken(out, &QUIET, job.at, text);
    }
    if !rules.changeover_may_span_shifts && job.end > latest {
        let text = format!(
            "{}: ends {}, {setter}'s shift {}",
            job.word(),
            case.show(job.end),
            case.show(latest)
        );
        broken(out, &SPANS, job.at, text);
    }
}

fn check_pauses(
    case: &Case,
    job: &Job,
    brake: &Brake,
    setter: &PersonId,
    out: &mut Vec<Violation>,
) {
    for pair in job.segments.windows(2) {
        let [before, after] = pair else { continue };
        let people = std::slice::from_ref(setter);
        let idle = case
            .moments_to_ask(brake, people, before.end, after.start)
            .into_iter()
            .find(|at| case.staffed(brake, *at) && case.person_there(setter, *at));
        if let Some(at) = idle {
            let text = format!(
                "{}: idle at {} with {setter} there",
                job.word(),
                case.show(at)
            );
            broken(out, &PAUSE, job.at, text);
        }
    }
}

//! What a change consists of and costs.

use super::{Rule, broken};
use crate::case::{Case, RunCase, TakedownCase};
use crate::change::{Cost, steps_of_run, steps_of_takedown, work};
use model::{Changeover, Step, StepKind, Violation};
use units::Seconds;

pub(super) const STEPS: Rule = (
    "A160",
    "wrong-steps",
    "the steps of a change or their times are not those of the table",
);
pub(super) const WORK: Rule = (
    "A161",
    "wrong-change-work",
    "the work of a change is not the sum of its steps",
);
pub(super) const EMPTY: Rule = (
    "A162",
    "empty-change-takes-time",
    "a change without steps does not start and end with its run, without segments",
);
pub(super) const TAKEDOWN: Rule = (
    "A163",
    "takedown-for-nobody",
    "a takedown frees no section that the named brake then puts on",
);

pub(super) fn check(case: &Case, out: &mut Vec<Violation>) {
    for takedown in &case.takedowns {
        let expected = steps_of_takedown(case, takedown);
        let plan = takedown.takedown;
        check_steps(&takedown.at, &expected, &plan.steps, plan.work, out);
        check_wanted(case, takedown, out);
    }
    for run in &case.runs {
        let expected = steps_of_run(case, run);
        let changeover = &run.run.changeover;
        check_steps(
            &run.run.name,
            &expected,
            &changeover.steps,
            changeover.work,
            out,
        );
        if expected.is_empty() {
            check_empty(case, run, changeover, out);
        }
    }
}

/// Steps of one kind may come in any order among themselves; the kinds in the table's order.
fn check_steps(
    at: &str,
    expected: &[Cost],
    steps: &[Step],
    stated: Seconds,
    out: &mut Vec<Violation>,
) {
    let mut stated_steps: Vec<Cost> = steps
        .iter()
        .filter(|step| step.time != Seconds::ZERO)
        .map(|step| (step.kind, i128::from(step.time.0)))
        .collect();
    let in_order = stated_steps.is_sorted_by_key(|(kind, _)| place(*kind));
    let mut expected_steps = expected.to_vec();
    expected_steps.sort_unstable();
    let listed = list(&stated_steps);
    stated_steps.sort_unstable();
    if stated_steps != expected_steps || !in_order {
        let text = format!("steps are {listed}; the table gives {}", list(expected));
        broken(out, &STEPS, at, text);
    }
    if i128::from(stated.0) != work(expected) {
        broken(
            out,
            &WORK,
            at,
            format!("{} s stated, steps give {} s", stated.0, work(expected)),
        );
    }
}

/// Row of the table.
fn place(kind: StepKind) -> u8 {
    match kind {
        StepKind::Prepare => 0,
        StepKind::TakeOff => 1,
        StepKind::Turn => 2,
        StepKind::Slide => 3,
        StepKind::PutOn => 4,
        StepKind::Fingers => 5,
        StepKind::Guard => 6,
        StepKind::Programming | StepKind::Program => 7,
        StepKind::FirstPiece => 8,
        StepKind::Approval => 9,
    }
}

fn list(steps: &[Cost]) -> String {
    if steps.is_empty() {
        return "none".to_owned();
    }
    let step = |(kind, time): &Cost| format!("{kind:?} {time} s");
    steps.iter().map(step).collect::<Vec<_>>().join(", ")
}

fn check_empty(case: &Case, run: &RunCase, changeover: &Changeover, out: &mut Vec<Violation>) {
    let start = run.run.start;
    let at_start = changeover.start == start && changeover.end == start;
    if !at_start || !changeover.segments.is_empty() {
        let text = format!(
            "empty change from {} to {} in {} segments, run starts {}",
            case.show(changeover.start),
            case.show(changeover.end),
            changeover.segments.len(),
            case.show(start)
        );
        broken(out, &EMPTY, &run.run.name, text);
    }
}

/// Some section taken off is put on at the named other brake, no earlier than it is free.
fn check_wanted(case: &Case, takedown: &TakedownCase, out: &mut Vec<Violation>) {
    let plan = takedown.takedown;
    let freed: Vec<_> = takedown
        .bed
        .removed
        .iter()
        .flat_map(|station| station.sections())
        .collect();
    let used = case.runs.iter().any(|run| {
        *run.brake_id == plan.wanted_by
            && run.brake_id != takedown.brake_id
            && run.run.changeover.start >= plan.end
            && run
                .bed
                .inserted
                .iter()
                .flat_map(|s| s.sections())
                .any(|id| freed.contains(&id))
    });
    if !used {
        let text = format!(
            "{} puts none of its sections on after {}",
            plan.wanted_by,
            case.show(plan.end)
        );
        broken(out, &TAKEDOWN, &takedown.at, text);
    }
}

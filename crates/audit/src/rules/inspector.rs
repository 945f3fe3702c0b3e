//! First pieces that an inspector or the customer approves, in the inspector's hours.

use super::{Rule, broken};
use crate::case::{Case, RunCase};
use crate::change::{approval, steps_of_run};
use model::{Approval, StepKind, Violation};
use units::{CalendarId, Moment};

pub(super) const HOURS: Rule = (
    "A180",
    "inspector-not-there",
    "a first piece is approved outside the inspector's hours",
);

pub(super) fn check(case: &Case, out: &mut Vec<Violation>) {
    let Some(calendar) = &case.shop.rules.inspector_calendar else {
        return;
    };
    for run in &case.runs {
        let own = run.part.is_none_or(|part| part.approval == Approval::Own);
        let approved = || {
            steps_of_run(case, run)
                .iter()
                .any(|(kind, _)| *kind == StepKind::Approval)
        };
        if !own && approved() {
            check_run(case, run, calendar, out);
        }
    }
}

fn check_run(case: &Case, run: &RunCase, calendar: &CalendarId, out: &mut Vec<Violation>) {
    let end = run.run.changeover.end;
    let start = Moment(end.0.saturating_sub(approval(case, run).0));
    if start > end || !case.within_plan(start, end) {
        return;
    }
    let mut asked = case.hours.marks(calendar, start, end);
    asked.insert(0, start);
    if let Some(at) = asked
        .into_iter()
        .find(|at| !case.hours.there(calendar, *at))
    {
        let text = format!(
            "approval from {} to {}: nobody of {calendar} is there at {}",
            case.show(start),
            case.show(end),
            case.show(at)
        );
        broken(out, &HOURS, &run.run.name, text);
    }
}

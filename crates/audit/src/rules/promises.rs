//! Due times, and lateness counted at a promise's last run or its kit's.

use super::{Rule, broken};
use crate::case::{Case, RunCase};
use crate::numbers::seconds_between;
use model::Violation;
use std::collections::BTreeMap;
use units::{KitId, Moment, OrderId};

pub(super) const DUE: Rule = (
    "A115",
    "wrong-due",
    "a run's `due` is not its delivery's or its order's",
);
pub(super) const LATE: Rule = (
    "A116",
    "wrong-lateness",
    "a run's `late` is not its promise's lateness",
);

/// Lateness of every promise: an order's runs with one due time.
pub(crate) struct Promises<'a> {
    late: BTreeMap<(&'a OrderId, Moment), i128>,
}

impl<'a> Promises<'a> {
    pub(crate) fn of(case: &Case<'a>) -> Promises<'a> {
        let mut own: BTreeMap<(&OrderId, Moment), Moment> = BTreeMap::new();
        let mut kits: BTreeMap<&KitId, Moment> = BTreeMap::new();
        for run in &case.runs {
            let end = run.run.end;
            let completion = own.entry(promise(run)).or_insert(end);
            *completion = end.max(*completion);
            if let Some(kit) = kit(run) {
                let completion = kits.entry(kit).or_insert(end);
                *completion = end.max(*completion);
            }
        }
        let mut late = BTreeMap::new();
        for run in &case.runs {
            let of_kit = kit(run).and_then(|kit| kits.get(kit));
            let completion = of_kit.or_else(|| own.get(&promise(run))).copied();
            let seconds = completion.map_or(0, |end| seconds_between(run.due(), end).max(0));
            late.insert(promise(run), seconds);
        }
        Promises { late }
    }

    /// Lateness of the promise the run belongs to, in seconds.
    fn late(&self, run: &RunCase) -> i128 {
        self.late.get(&promise(run)).copied().unwrap_or(0)
    }

    /// Each promise's order and lateness.
    pub(crate) fn all(&self) -> impl Iterator<Item = (&'a OrderId, i128)> {
        self.late.iter().map(|((order, _), late)| (*order, *late))
    }
}

fn promise<'a>(run: &RunCase<'a>) -> (&'a OrderId, Moment) {
    (&run.run.order, run.due())
}

fn kit<'a>(run: &RunCase<'a>) -> Option<&'a KitId> {
    run.order.and_then(|order| order.kit.as_ref())
}

pub(super) fn check(case: &Case, out: &mut Vec<Violation>) {
    let promises = Promises::of(case);
    for run in &case.runs {
        if run.run.due != run.due() {
            let text = format!(
                "due {}, but its share is due {}",
                case.show(run.run.due),
                case.show(run.due())
            );
            broken(out, &DUE, &run.run.name, text);
        }
        let late = promises.late(run);
        if i128::from(run.run.late.0) != late {
            let text = format!(
                "{} s late, but its promise due {} is {late} s late",
                run.run.late.0,
                case.show(run.due())
            );
            broken(out, &LATE, &run.run.name, text);
        }
    }
}

//! What an earlier plan has told people, and its frozen runs; sections 7 and 9.

use super::{Rule, broken};
use crate::case::Case;
use model::{Plan, Told, Violation};
use std::collections::{BTreeMap, BTreeSet};
use units::{BrakeId, Moment, OrderId};

pub(super) const ENTRY: Rule = (
    "A220",
    "told-of-nothing",
    "an entry of `told` is of an order that is not to be bent, or names no brake, a strange one or one twice, or begins too late, or is the order's second",
);
pub(super) const EARLIER: Rule = (
    "A221",
    "told-otherwise",
    "`told` is not what the earlier plan says",
);
pub(super) const FROZEN: Rule = (
    "A222",
    "frozen-moved",
    "orders with frozen runs do not come first on their brake in the earlier plan's order, or a run is marked pinned that was not frozen",
);

pub(super) fn check(case: &Case, out: &mut Vec<Violation>) {
    let mut seen = BTreeSet::new();
    for told in &case.plan.told {
        if let Some(text) = fault(case, told) {
            broken(out, &ENTRY, "plan", format!("order {}: {text}", told.order));
        } else if !seen.insert(&told.order) {
            let text = format!("order {}: a second entry", told.order);
            broken(out, &ENTRY, "plan", text);
        }
    }
    if let Some(before) = case.before {
        check_against(case, before, out);
        check_frozen(case, before, out);
    }
}

fn fault(case: &Case, told: &Told) -> Option<&'static str> {
    let mut brakes = BTreeSet::new();
    if !is_open(case, &told.order) {
        Some("not in the shop, done or in progress")
    } else if told.start >= told_until(case) {
        Some("begins after the span that people are told of")
    } else if told.brakes.is_empty() {
        Some("no brake")
    } else if told
        .brakes
        .iter()
        .any(|brake| !case.lookup.brakes.contains_key(brake) || !brakes.insert(brake))
    {
        Some("a brake not in the shop, or twice")
    } else {
        None
    }
}

/// Whether an order of the shop has pieces left and is not in progress.
fn is_open(case: &Case, order: &OrderId) -> bool {
    let running = &case.shop.floor.running;
    let order = case.lookup.orders.get(order);
    order.is_some_and(|order| {
        case.shop.pieces_left(order) > 0 && running.iter().all(|one| one.order != order.id)
    })
}

fn told_until(case: &Case) -> Moment {
    Moment(case.plan.from.0.saturating_add(case.shop.rules.told.0))
}

/// By order: first start and brakes of its runs of a plan that end after this plan's start.
type ByOrder<'a> = BTreeMap<&'a OrderId, (Moment, BTreeSet<&'a BrakeId>)>;

/// On the shop's brakes: others are gone since.
fn to_come<'a>(case: &Case, plan: &'a Plan, from: Moment) -> ByOrder<'a> {
    let mut by_order: ByOrder<'a> = BTreeMap::new();
    let brakes = &case.lookup.brakes;
    let lines = plan.brakes.iter();
    for line in lines.filter(|line| brakes.contains_key(&line.brake)) {
        for run in line.runs.iter().filter(|run| run.end > from) {
            let entry = by_order.entry(&run.order);
            let (start, brakes) = entry.or_insert_with(|| (run.start, BTreeSet::new()));
            *start = run.start.min(*start);
            brakes.insert(&line.brake);
        }
    }
    by_order
}

fn check_against(case: &Case, before: &Plan, out: &mut Vec<Violation>) {
    let told = case.plan.told.iter();
    let mut stated: ByOrder = told
        .map(|told| (&told.order, (told.start, told.brakes.iter().collect())))
        .collect();
    for (order, (start, brakes)) in to_come(case, before, case.plan.from) {
        if start >= told_until(case) || !is_open(case, order) {
            continue;
        }
        if stated.remove(order) != Some((start, brakes)) {
            let text = format!(
                "order {order}: not as in the earlier plan, {}",
                case.show(start)
            );
            broken(out, &EARLIER, "plan", text);
        }
    }
    for order in stated.keys() {
        let text = format!("order {order}: the earlier plan says nothing of it in that span");
        broken(out, &EARLIER, "plan", text);
    }
}

fn check_frozen(case: &Case, before: &Plan, out: &mut Vec<Violation>) {
    let from = case.plan.from;
    let until = Moment(from.0.saturating_add(case.shop.rules.frozen.0));
    for line in &case.plan.brakes {
        let earlier = before.brakes.iter().filter(|one| one.brake == line.brake);
        let runs = earlier.flat_map(|line| &line.runs);
        let frozen = runs
            .filter(|run| run.end > from && run.start < until)
            .map(|run| &run.order)
            .filter(|order| is_open(case, order));
        let frozen = firsts(frozen);
        let marked = line.runs.iter().filter(|run| run.pinned);
        for run in marked.filter(|run| is_open(case, &run.order)) {
            if !frozen.contains(&&run.order) {
                let text = format!("order {} is marked pinned and was not frozen", run.order);
                broken(out, &FROZEN, &run.name, text);
            }
        }
        let here: BTreeSet<&OrderId> = line.runs.iter().map(|run| &run.order).collect();
        let expected: Vec<&OrderId> = frozen
            .into_iter()
            .filter(|order| here.contains(order))
            .collect();
        let orders = line.runs.iter().map(|run| &run.order);
        let found = firsts(orders.filter(|order| is_open(case, order)));
        let moved = expected
            .iter()
            .zip(&found)
            .find(|(one, other)| one != other);
        if let Some((order, found)) = moved {
            let text = format!("order {order} is frozen, {found} comes before it");
            broken(out, &FROZEN, line.brake.as_str(), text);
        }
    }
}

/// Each order once, where it comes first.
fn firsts<'a>(orders: impl Iterator<Item = &'a OrderId>) -> Vec<&'a OrderId> {
    let mut seen = BTreeSet::new();
    orders.filter(|&order| seen.insert(order)).collect()
}

/// What the plan's runs differ from what people were told.
#[derive(Default)]
pub(super) struct Disturbance {
    /// Seconds between starts told and starts now.
    pub(super) moved: i128,
    /// Brakes that were not told.
    pub(super) other_brakes: i128,
}

pub(super) fn disturbance(case: &Case) -> Disturbance {
    let mut all = Disturbance::default();
    let now = to_come(case, case.plan, Moment(i64::MIN));
    for told in &case.plan.told {
        if let Some((start, brakes)) = now.get(&told.order) {
            all.moved += (i128::from(start.0) - i128::from(told.start.0)).abs();
            let others = brakes.iter().filter(|brake| !told.brakes.contains(brake));
            all.other_brakes += i128::try_from(others.count()).unwrap_or(i128::MAX);
        }
    }
    all
}

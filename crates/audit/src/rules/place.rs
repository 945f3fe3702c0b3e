//! Pinned runs first, then the orders with a place, then all others.

use super::{Rule, broken};
use crate::case::{Case, RunCase};
use model::{Violation, WorkOrder};
use std::collections::{BTreeMap, BTreeSet};
use units::{BrakeId, OrderId};

pub(super) const PINNED: Rule = (
    "A210",
    "pinned-behind",
    "a pinned run stands behind one of its brake that is not pinned",
);
pub(super) const PLACE: Rule = (
    "A211",
    "out-of-place",
    "a run stands before one of an order with a place that comes first there",
);
pub(super) const SHARES: Rule = (
    "A212",
    "shares-out-of-order",
    "the runs of an order with a place do not come in the order of its shares",
);

/// For each brake, the place an order may stand at: its own, or one of an order that waits for it.
type Places<'a> = BTreeMap<(&'a BrakeId, &'a OrderId), u32>;

/// What stands on a brake in front of the run looked at, pinned runs aside.
#[derive(Default)]
struct Before<'c, 'a> {
    /// The first run that is not pinned.
    loose: Option<&'c RunCase<'a>>,
    /// The run that may stand least far in front; without a place, not in front of any.
    last: Option<(u32, &'c RunCase<'a>)>,
    /// The last run of each order with a place.
    of_order: BTreeMap<&'a OrderId, &'c RunCase<'a>>,
}

pub(super) fn check(case: &Case, out: &mut Vec<Violation>) {
    let places = places(case);
    let mut lines: BTreeMap<&BrakeId, Before> = BTreeMap::new();
    for run in &case.runs {
        let before = lines.entry(run.brake_id).or_default();
        let name = &run.run.name;
        if run.in_progress || run.run.pinned {
            if let Some(loose) = before.loose.filter(|_| run.run.pinned) {
                let text = format!("pinned, but stands behind {}", loose.run.name);
                broken(out, &PINNED, name, text);
            }
            continue;
        }
        before.loose.get_or_insert(run);
        if let Some(own) = run.order.and_then(|order| own_place(order, run.brake_id)) {
            if let Some((_, first)) = before.last.filter(|(place, _)| *place > own) {
                let text = format!(
                    "order {} has place {own}, but {} of order {} stands before it",
                    run.run.order, first.run.name, first.run.order
                );
                broken(out, &PLACE, name, text);
            }
            let other = before.of_order.insert(&run.run.order, run);
            if let Some(other) = other.filter(|other| goes_back(other, run)) {
                let text = format!(
                    "its share of order {} comes before that of {}",
                    run.run.order, other.run.name
                );
                broken(out, &SHARES, name, text);
            }
        }
        let may = places.get(&(run.brake_id, &run.run.order)).copied();
        let may = may.unwrap_or(u32::MAX);
        if before.last.is_none_or(|(place, _)| place < may) {
            before.last = Some((may, run));
        }
    }
}

fn own_place(order: &WorkOrder, brake: &BrakeId) -> Option<u32> {
    order.place.filter(|_| order.brake.as_ref() == Some(brake))
}

/// Whether a run makes an earlier share than the one before it.
fn goes_back(before: &RunCase, run: &RunCase) -> bool {
    let (Some(first), Some(second)) = (before.share, run.share) else {
        return false; // told by another rule
    };
    second.ready < first.ready || second.due < first.due
}

/// The places of all orders with a place, and of what they wait for on their brakes.
fn places<'a>(case: &Case<'a>) -> Places<'a> {
    let mut places = Places::new();
    for order in &case.shop.orders {
        let (Some(brake), Some(place)) = (&order.brake, order.place) else {
            continue;
        };
        if case.shop.pieces_left(order) == 0 {
            continue;
        }
        let mut seen = BTreeSet::new();
        let mut next = Some(order);
        while let Some(order) = next.filter(|order| seen.insert(&order.id)) {
            let least = places.entry((brake, &order.id)).or_insert(place);
            *least = place.min(*least);
            let after = order.after.as_ref();
            next = after.and_then(|first| case.lookup.orders.get(first).copied());
        }
    }
    places
}

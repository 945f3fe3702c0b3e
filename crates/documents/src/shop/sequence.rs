//! `after`: orders that wait for others.

use super::orders::{FILE, Orders};
use crate::codes::{CIRCLE, UNKNOWN_ORDER};
use crate::findings::{Findings, Problem};
use model::WorkOrder;
use std::collections::BTreeSet;
use units::OrderId;

/// Orders read before, by id.
pub(super) type Others<'f, 'o> = &'f dyn Fn(&OrderId) -> Option<&'o WorkOrder>;

/// Reports orders that wait for an unknown order, and circles of orders that wait for each other.
pub(super) fn check_sequence(orders: &Orders, others: Others<'_, '_>, out: &mut Findings) {
    for (position, order) in orders.list.iter().enumerate() {
        let after = order.after.as_ref().filter(|id| others(id).is_none());
        if let Some(problem) = after.and_then(|id| orders.ids.missing(id, UNKNOWN_ORDER, FILE)) {
            out.add(orders.place(position, "after"), problem);
        }
    }
    for circle in circles(orders) {
        report(orders, &circle, out);
    }
    for (position, order) in orders.list.iter().enumerate() {
        if let Some(names) = circle_through_others(orders, order, others) {
            report_names(orders, position, names, out);
        }
    }
}

/// The circle an order closes through orders read before, which do not wait in a circle among
/// themselves. A row goes before an order of the same id that was read before.
fn circle_through_others(
    orders: &Orders,
    start: &WorkOrder,
    others: Others<'_, '_>,
) -> Option<Vec<String>> {
    let mut names = Vec::new();
    let mut seen: BTreeSet<&OrderId> = BTreeSet::new();
    let (mut at, mut left_the_rows) = (start, false);
    while seen.insert(&at.id) {
        names.push(at.id.to_string());
        let next = at.after.as_ref()?;
        at = match orders.get(next) {
            Some(row) => row,
            None => {
                left_the_rows = true;
                others(next)?
            }
        };
    }
    (at.id == start.id && left_the_rows).then_some(names)
}

/// Every circle, as positions in the order of waiting, beginning with its first order in the file.
fn circles(orders: &Orders) -> Vec<Vec<usize>> {
    // Each order waits for at most one other, so a walk either ends or runs into a circle.
    let next: Vec<Option<usize>> = orders
        .list
        .iter()
        .map(|order| {
            order
                .after
                .as_ref()
                .and_then(|after| orders.position(after))
        })
        .collect();
    let mut walk_of: Vec<Option<usize>> = vec![None; next.len()];
    let mut found = Vec::new();
    for start in 0..next.len() {
        let mut at = Some(start);
        while let Some(here) = at {
            match walk_of.get_mut(here) {
                Some(walk @ None) => *walk = Some(start),
                Some(Some(walk)) if *walk == start => {
                    found.push(circle_from(here, &next));
                    break;
                }
                _ => break,
            }
            at = next.get(here).copied().flatten();
        }
    }
    found
}

fn circle_from(member: usize, next: &[Option<usize>]) -> Vec<usize> {
    let mut circle = vec![member];
    let mut at = next.get(member).copied().flatten();
    while let Some(here) = at.filter(|here| *here != member) {
        circle.push(here);
        at = next.get(here).copied().flatten();
    }
    let first = circle
        .iter()
        .enumerate()
        .min_by_key(|(_, position)| **position);
    let turn = first.map_or(0, |(turn, _)| turn);
    circle.rotate_left(turn);
    circle
}

fn report(orders: &Orders, circle: &[usize], out: &mut Findings) {
    let Some(first) = circle.first() else { return };
    let names = circle.iter().filter_map(|at| orders.list.get(*at));
    let names = names.map(|order| order.id.to_string()).collect();
    report_names(orders, *first, names, out);
}

fn report_names(orders: &Orders, first: usize, mut names: Vec<String>, out: &mut Findings) {
    const MOST_SHOWN: usize = 6;
    let count = names.len();
    names.truncate(MOST_SHOWN);
    if count > MOST_SHOWN {
        names.push(format!("{} more", count - MOST_SHOWN));
    }
    names.extend(orders.list.get(first).map(|order| order.id.to_string()));
    let found = format!("{} in a circle", names.join(" waits for "));
    let action = "empty `after` at one of them";
    let place = orders.place(first, "after");
    out.add(
        place,
        Problem::new(CIRCLE, found, "an order that can be first", action),
    );
}

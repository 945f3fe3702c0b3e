//! `after`: orders that wait for others.

use super::orders::{FILE, Orders};
use crate::codes::{CIRCLE, UNKNOWN_ORDER};
use crate::findings::{Findings, Problem};

/// Reports orders that wait for an unknown order, and circles of orders that wait for each other.
pub(super) fn check_sequence(orders: &Orders, out: &mut Findings) {
    for (position, order) in orders.list.iter().enumerate() {
        let after = order.after.as_ref();
        if let Some(problem) = after.and_then(|id| orders.ids.missing(id, UNKNOWN_ORDER, FILE)) {
            out.add(orders.place(position, "after"), problem);
        }
    }
    for circle in circles(orders) {
        report(orders, &circle, out);
    }
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
    const MOST_SHOWN: usize = 6;
    let Some(first) = circle.first() else { return };
    let names = circle
        .iter()
        .take(MOST_SHOWN)
        .filter_map(|at| orders.list.get(*at));
    let mut names: Vec<String> = names.map(|order| order.id.to_string()).collect();
    if circle.len() > MOST_SHOWN {
        names.push(format!("{} more", circle.len() - MOST_SHOWN));
    }
    names.extend(orders.list.get(*first).map(|order| order.id.to_string()));
    let found = format!("{} in a circle", names.join(" waits for "));
    let action = "empty `after` at one of them";
    let place = orders.place(*first, "after");
    out.add(
        place,
        Problem::new(CIRCLE, found, "an order that can be first", action),
    );
}

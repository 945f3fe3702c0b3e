//! Every piece left is in exactly one run or is unplaced, and each run is one share of its order.

use super::{Rule, broken};
use crate::case::Case;
use model::Violation;

pub(super) const ORDER: Rule = ("A106", "unknown-order", "a run's order is not in the shop");
pub(super) const PART: Rule = ("A107", "wrong-part", "a run's part is not its order's");
pub(super) const SHARE: Rule = (
    "A108",
    "not-a-share",
    "a run's quantity is no share of its order cut at blank lots and deliveries",
);
pub(super) const PIECES: Rule = (
    "A109",
    "pieces-do-not-add-up",
    "runs and unplaced pieces are not the pieces left",
);
pub(super) const TIED: Rule = (
    "A110",
    "tied-to-another-brake",
    "a run is on another brake than its order is tied to",
);

pub(super) fn check(case: &Case, out: &mut Vec<Violation>) {
    for run in &case.runs {
        let name = &run.run.name;
        let Some(order) = run.order else {
            broken(
                out,
                &ORDER,
                name,
                format!("no order {} in the shop", run.run.order),
            );
            continue;
        };
        if run.run.part != order.part {
            let text = format!(
                "part {}, but order {} is for {}",
                run.run.part, order.id, order.part
            );
            broken(out, &PART, name, text);
        }
        if run.share.is_none() {
            let shares = case.shares.get(&order.id).map(|shares| {
                shares
                    .placeable
                    .iter()
                    .map(|share| share.quantity.to_string())
                    .collect::<Vec<_>>()
            });
            let text = format!(
                "{} pieces of order {}, whose shares are {} (each once)",
                run.run.quantity,
                order.id,
                shares.unwrap_or_default().join(", ")
            );
            broken(out, &SHARE, name, text);
        }
        // A run in progress is where it is, whatever the order was tied to since.
        if let Some(tied) = order.brake.as_ref().filter(|tied| *tied != run.brake_id)
            && !run.in_progress
        {
            let text = format!(
                "order {} must run on {tied}, not on {}",
                order.id, run.brake_id
            );
            broken(out, &TIED, name, text);
        }
    }
    for order in &case.shop.orders {
        let runs = case.runs_of.get(&order.id).into_iter().flatten();
        let planned: u64 = runs
            .filter_map(|place| case.runs.get(*place))
            .map(|r| u64::from(r.run.quantity))
            .sum();
        let unplaced = case.unplaced.get(&order.id).copied().unwrap_or(0);
        let left = u64::from(case.shop.pieces_left(order));
        if u128::from(planned) + u128::from(unplaced) != u128::from(left) {
            let text =
                format!("{planned} in runs and {unplaced} unplaced, but {left} pieces are left");
            broken(out, &PIECES, order.id.as_str(), text);
        }
    }
}

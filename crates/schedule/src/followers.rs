//! Orders that wait for others, and what becomes of them when those have no place.

use crate::problem::{JobShare, Misfit};
use model::{Limit, Refusal, Shop};
use std::sync::Arc;
use tooling::ToolingOption;

/// The order that must be finished before this one.
pub(crate) fn order_before(shop: &Shop, order: usize) -> Option<usize> {
    let first = shop.orders[order].after.as_ref()?;
    shop.orders.iter().position(|other| other.id == *first)
}

/// An order behind one that has no place has none either.
pub(crate) fn drop_followers_of_misfits(
    shop: &Shop,
    jobs: &mut Vec<JobShare>,
    ways: &mut Vec<Vec<Arc<ToolingOption>>>,
    misfits: &mut Vec<Misfit>,
) {
    loop {
        let stuck = jobs.iter().position(|job| {
            job.after
                .is_some_and(|a| misfits.iter().any(|m| m.order == a))
        });
        let Some(index) = stuck else { return };
        let job = jobs.remove(index);
        ways.remove(index);
        let refusals = job
            .after
            .map_or_else(Vec::new, |first| follower_refusals(shop, first));
        misfits.push(Misfit {
            order: job.order,
            quantity: job.quantity,
            refusals,
        });
    }
}

/// Every brake's reason for an order behind one without a place.
pub(crate) fn follower_refusals(shop: &Shop, first: usize) -> Vec<Refusal> {
    let first = &shop.orders[first].id;
    shop.brakes
        .iter()
        .map(|brake| Refusal {
            brake: brake.id.clone(),
            limit: Limit::Predecessor,
            bend: None,
            needed: 1.0,
            available: 0.0,
            unit: "order finished",
            text: format!("comes after {first}, which has no place"),
        })
        .collect()
}

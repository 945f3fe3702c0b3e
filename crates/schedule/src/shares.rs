//! Orders cut into shares at the boundaries of blank lots and deliveries; docs/rules.md section 1.

use crate::followers::order_before;
use crate::problem::{JobShare, Misfit, Promise};
use model::{Limit, Refusal, Shop, WorkOrder};
use rustc_hash::FxHashMap;
use units::Moment;

/// Runs, the promises they belong to, and what has no blanks.
pub(crate) struct Shares {
    pub(crate) jobs: Vec<JobShare>,
    pub(crate) promises: Vec<Promise>,
    pub(crate) kits: usize,
    pub(crate) misfits: Vec<Misfit>,
}

/// Cuts every order into its runs and promises.
pub(crate) fn split_orders(shop: &Shop) -> Shares {
    let mut out = Shares {
        jobs: Vec::new(),
        promises: Vec::new(),
        kits: 0,
        misfits: Vec::new(),
    };
    let mut kits: FxHashMap<&units::KitId, usize> = FxHashMap::default();
    for (index, order) in shop.orders.iter().enumerate() {
        let Some(part) = shop.parts.iter().position(|part| part.id == order.part) else {
            continue;
        };
        let kit = order.kit.as_ref().map(|kit| {
            let next = kits.len();
            *kits.entry(kit).or_insert(next)
        });
        let after =
            order_before(shop, index).filter(|&other| shop.pieces_left(&shop.orders[other]) > 0);
        let running = shop
            .floor
            .running
            .iter()
            .any(|running| running.order == order.id);
        let mut first = true;
        for share in shares_of(shop, order) {
            let Some(ready) = share.ready else {
                out.misfits
                    .push(no_blanks(shop, index, order, share.quantity));
                continue;
            };
            let promise = Promise {
                due: share.due,
                weight: i64::from(order.weight),
                kit,
                order: index,
            };
            let same = out
                .promises
                .iter()
                .rposition(|p| p.order == index && p.due == share.due);
            let promise = same.unwrap_or_else(|| {
                out.promises.push(promise);
                out.promises.len() - 1
            });
            let running = running && std::mem::take(&mut first);
            let quantity = share.quantity;
            out.jobs.push(JobShare {
                order: index,
                part,
                quantity,
                ready,
                promise,
                after,
                running,
            });
        }
    }
    out.kits = kits.len();
    out
}

struct Share {
    quantity: u32,
    /// `None` when no lot covers it.
    ready: Option<Moment>,
    due: Moment,
}

fn shares_of(shop: &Shop, order: &WorkOrder) -> Vec<Share> {
    let mut lots = order.blanks.clone();
    lots.sort_by_key(|lot| lot.available);
    let mut deliveries = order.deliveries.clone();
    deliveries.sort_by_key(|delivery| delivery.due);
    let running_sums = |quantities: Vec<u32>| -> Vec<u32> {
        quantities
            .into_iter()
            .scan(0_u32, |sum, quantity| {
                *sum = sum.saturating_add(quantity);
                Some(*sum)
            })
            .collect()
    };
    let lot_ends = running_sums(lots.iter().map(|lot| lot.quantity).collect());
    let delivery_ends = running_sums(deliveries.iter().map(|d| d.quantity).collect());
    let done = order.quantity - shop.pieces_left(order);
    let several = order.run_pieces.filter(|&pieces| pieces > 0);
    let run_ends = several.into_iter().flat_map(|pieces| {
        let ends = std::iter::successors(Some(pieces), move |end| end.checked_add(pieces));
        ends.take_while(|&end| end < order.quantity)
    });
    let mut cuts: Vec<u32> = lot_ends
        .iter()
        .chain(&delivery_ends)
        .copied()
        .chain(run_ends)
        .filter(|&cut| done < cut && cut < order.quantity)
        .chain([order.quantity])
        .collect();
    cuts.sort_unstable();
    cuts.dedup();
    let mut start = done;
    let mut shares = Vec::new();
    for end in cuts.into_iter().filter(|&end| end > done) {
        // Pieces start+1..=end lie within one lot and one delivery.
        let lot = lot_ends.iter().position(|&sum| end <= sum);
        let ready = match lot {
            Some(lot) => Some(order.ready.max(lots[lot].available)),
            None if lots.is_empty() => Some(order.ready),
            None => None,
        };
        let delivery = delivery_ends.iter().position(|&sum| end <= sum);
        let due = delivery.map_or(order.due, |delivery| deliveries[delivery].due);
        shares.push(Share {
            quantity: end - start,
            ready,
            due,
        });
        start = end;
    }
    shares
}

fn no_blanks(shop: &Shop, index: usize, order: &WorkOrder, quantity: u32) -> Misfit {
    let there = order.quantity.saturating_sub(quantity);
    let refusals = shop
        .brakes
        .iter()
        .map(|brake| Refusal {
            brake: brake.id.clone(),
            limit: Limit::Blanks,
            bend: None,
            needed: f64::from(order.quantity),
            available: f64::from(there),
            unit: "blanks",
            text: format!("{quantity} blanks are neither on hand nor announced"),
        })
        .collect();
    Misfit {
        order: index,
        quantity,
        refusals,
    }
}

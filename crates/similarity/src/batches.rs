//! Batches: parts that hang together in the graph and stand on one bed at once.

use crate::graph::SetupGraph;
use crate::layout::Beds;
use std::collections::BTreeSet;

/// Most parts in a batch; a bed that serves more is served as well by two batches in a row.
const MOST: usize = 24;

/// Groups parts greedily: edges from the greatest saving down, two groups become one when all
/// their parts fit one bed of one brake together. Every part of the graph is in exactly one batch,
/// in an order in which [`Beds::of`] lays them out.
#[must_use]
pub fn batches(beds: &mut Beds<'_, '_>, graph: &SetupGraph) -> Vec<Vec<usize>> {
    let parts = graph.parts();
    let last = parts.iter().max().map_or(0, |&part| part + 1);
    let mut batch_of: Vec<usize> = vec![usize::MAX; last];
    let mut batches: Vec<Vec<usize>> = Vec::with_capacity(parts.len());
    for part in parts {
        batch_of[part] = batches.len();
        batches.push(vec![part]);
    }
    // Two groups that did not fit together do not fit later either: groups only grow. A group is
    // told by its first part and its size.
    let mut apart: BTreeSet<[(usize, usize); 2]> = BTreeSet::new();
    for (one, two, saving) in graph.edges() {
        let (a, b) = (
            batch_of[one].min(batch_of[two]),
            batch_of[one].max(batch_of[two]),
        );
        if !saving.fits_one_bed || a == b || batches[a].len() + batches[b].len() > MOST {
            continue;
        }
        let pair = [a, b].map(|batch| (batch, batches[batch].len()));
        if apart.contains(&pair) {
            continue;
        }
        let orders = [[a, b], [b, a]].map(|order| order.map(|of| batches[of].clone()).concat());
        // What stands first takes the middle of the bed: another order may leave room.
        if let Some(both) = orders.into_iter().find(|both| beds.of(both).is_some()) {
            for &part in &batches[b] {
                batch_of[part] = a;
            }
            batches[a] = both;
            batches[b].clear();
        } else {
            apart.insert(pair);
        }
    }
    batches.retain(|batch| !batch.is_empty());
    batches
}

//! Batches: parts that hang together in the graph and stand on one bed at once.

use crate::graph::{BRAKES_COMPARED, SetupGraph, change_free};
use crate::shared::Shared;
use std::collections::BTreeSet;
use tooling::{Bed, Composer, Stock, ToolingOption};

/// Most parts in a batch; a bed that serves more is served as well by two batches in a row.
const MOST: usize = 24;

/// Groups parts greedily: edges from the greatest saving down, two groups become one when all
/// their parts fit one bed of one brake together. Every part of the graph is in exactly one batch.
#[must_use]
pub fn batches(
    stock: &Stock<'_>,
    composer: &mut Composer,
    options: &[&ToolingOption],
    graph: &SetupGraph,
) -> Vec<Vec<usize>> {
    let parts = graph.parts();
    let mut batch_of: Vec<usize> = vec![usize::MAX; stock.shop().parts.len()];
    let mut batches: Vec<Vec<usize>> = Vec::with_capacity(parts.len());
    for part in parts {
        batch_of[part] = batches.len();
        batches.push(vec![part]);
    }
    let shared = Shared::of(options);
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
        let both: Vec<usize> = batches[a].iter().chain(&batches[b]).copied().collect();
        if fits_one_bed(stock, composer, (options, &shared), &both) {
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
    for batch in &mut batches {
        batch.sort_unstable();
    }
    batches
}

/// Whether some brake of the first few that can make all parts takes them one after the other
/// without taking a station off.
fn fits_one_bed(
    stock: &Stock<'_>,
    composer: &mut Composer,
    (options, shared): (&[&ToolingOption], &Shared),
    parts: &[usize],
) -> bool {
    let best_of_each = |brake: usize| -> Option<Vec<&ToolingOption>> {
        let best = |&part: &usize| Some(options[*shared.options_of(part, brake).first()?]);
        parts.iter().map(best).collect()
    };
    (0..stock.shop().brakes.len())
        .filter_map(|brake| best_of_each(brake).map(|chosen| (brake, chosen)))
        .take(BRAKES_COMPARED)
        .any(|(brake, chosen)| stands_together(stock, composer, &chosen, brake))
}

fn stands_together(
    stock: &Stock<'_>,
    composer: &mut Composer,
    chosen: &[&ToolingOption],
    brake: usize,
) -> bool {
    let mut bed = Bed::default();
    for (index, option) in chosen.iter().enumerate() {
        let later = &chosen[index + 1..];
        let brake = &stock.shop().brakes[brake];
        match change_free(stock, composer, &bed, brake, option, later) {
            Some(change) if change.removed.is_empty() => bed = change.bed,
            _ => return false,
        }
    }
    true
}

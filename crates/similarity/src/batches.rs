//! Batches: parts that hang together in the graph and stand on one bed at once.

use crate::graph::{SetupGraph, change_free};
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
    for (one, two, saving) in graph.edges() {
        let (a, b) = (
            batch_of[one].min(batch_of[two]),
            batch_of[one].max(batch_of[two]),
        );
        if !saving.fits_one_bed || a == b || batches[a].len() + batches[b].len() > MOST {
            continue;
        }
        let both: Vec<usize> = batches[a].iter().chain(&batches[b]).copied().collect();
        if fits_one_bed(stock, composer, options, &both) {
            for &part in &batches[b] {
                batch_of[part] = a;
            }
            batches[a] = both;
            batches[b].clear();
        }
    }
    batches.retain(|batch| !batch.is_empty());
    for batch in &mut batches {
        batch.sort_unstable();
    }
    batches
}

/// Whether some brake takes all parts one after the other without taking a station off.
fn fits_one_bed(
    stock: &Stock<'_>,
    composer: &mut Composer,
    options: &[&ToolingOption],
    parts: &[usize],
) -> bool {
    (0..stock.shop().brakes.len()).any(|brake| {
        let chosen: Option<Vec<&ToolingOption>> = parts
            .iter()
            .map(|&part| {
                options
                    .iter()
                    .copied()
                    .find(|o| o.part == part && o.brake == brake)
            })
            .collect();
        chosen.is_some_and(|chosen| stands_together(stock, composer, &chosen, brake))
    })
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

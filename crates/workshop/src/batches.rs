//! The similarity graph and its batches, for people.

use model::Shop;
use units::{Moment, PartId, Seconds};

/// Batches and the graph they come from.
#[derive(Debug)]
pub struct BatchReport {
    /// Parts that suit one bed together, largest batch first; parts that suit nothing alone last.
    pub batches: Vec<Vec<PartId>>,
    /// What two parts save when one follows the other, and on which brake.
    pub savings: Vec<(PartId, PartId, Seconds, units::BrakeId)>,
    /// The graph in the DOT language.
    pub dot: String,
}

/// Builds the graph of the parts with open orders.
#[must_use]
pub fn batches(shop: &Shop, from: Moment) -> BatchReport {
    let (problem, _) = schedule::compile(shop, from);
    let id = |part: usize| shop.parts[part].id.clone();
    let mut groups = problem.part_batches.clone();
    groups.sort_by_key(|group| (std::cmp::Reverse(group.len()), group.first().copied()));
    let savings = problem
        .graph
        .edges()
        .into_iter()
        .map(|(one, two, saving)| {
            (
                id(one),
                id(two),
                saving.saved,
                shop.brakes[saving.brake].id.clone(),
            )
        })
        .collect();
    let dot = problem.graph.dot(&problem.stock, &groups);
    let batches = groups
        .iter()
        .map(|group| group.iter().map(|&part| id(part)).collect())
        .collect();
    BatchReport {
        batches,
        savings,
        dot,
    }
}

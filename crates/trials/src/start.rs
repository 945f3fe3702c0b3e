//! First answers: jobs in an order that suits the goal, each put in where it costs least.

use crate::instance::{Goal, SetupShop, ToolShop};
use search::{Problem, Sequences, insert_each};
use std::cmp::Reverse;

/// Due soonest first for tardiness, longest first where machines share the work.
pub fn setups<P: Problem>(shop: &SetupShop, model: &P) -> Sequences {
    let mut order: Vec<usize> = (0..shop.jobs).collect();
    match shop.goal {
        Goal::WeightedTardiness => order.sort_by_key(|&job| (shop.due[job], job)),
        Goal::Makespan => order.sort_by_key(|&job| (Reverse(shop.process[0][job]), job)),
        Goal::FlowTime => order.sort_by_key(|&job| (shop.process[0][job], job)),
        Goal::Total => {}
    }
    insert_each(model, &order)
}

/// Most tools first.
pub fn tools<P: Problem>(shop: &ToolShop, model: &P) -> Sequences {
    let mut order: Vec<usize> = (0..shop.tools.len()).collect();
    order.sort_by_key(|&job| (Reverse(shop.tools[job].count_ones()), job));
    insert_each(model, &order)
}

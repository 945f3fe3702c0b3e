//! A number no plan can be below.
//!
//! Three things are unavoidable, whatever the sequence. Each part is new to some brake once: its
//! program is called up, fingers are slid, its first piece is bent and approved, on the cheapest of
//! its brakes. Stations that stand nowhere yet are put on, or turned to where their die is one of a
//! block. And promises are late that no brake could keep, alone or among the others. These are
//! minima over every way and cost different things, so their sum bounds every plan that places all
//! orders with a way; one that leaves an order out pays its price instead.
//!
//! Lateness is bounded in two ways, and the better bound counts: by the hours that brakes and people
//! have, which takes weights and due times along, and by the order in which promises can end.

mod assignment;
mod hours;
mod lateness;
mod tools;

use crate::least_change::least_new_part;
use crate::problem::{JobShare, Problem, unplaced_cost};
use crate::side_by_side::both;

/// A cost that no answer is below; `None` when nothing above zero can be said. `most` is the cost of
/// some answer: the better it is, the sooner a good bound is found. Threads have no influence on it.
#[must_use]
pub fn lower_bound(problem: &Problem<'_>, most: i64, threads: usize) -> Option<i64> {
    let pieces = first_pieces(problem);
    let stations = tools::stations_put_on(problem);
    let changes: i64 = pieces.iter().chain(&stations).sum();
    let prices: Vec<i64> = problem.jobs.iter().map(|job| price(problem, job)).collect();
    // A run left out costs its price, less the changes that are then perhaps not made.
    let out: Vec<i64> = problem
        .jobs
        .iter()
        .zip(prices.iter().zip(&stations))
        .map(|(job, (price, stations))| price - 60 * (stations + pieces[job.part]))
        .collect();
    let given = problem.misfit_cost + 60 * changes;
    let (late_or_out, late) = both(
        threads,
        || hours::lateness_and_left_out(problem, &out, most - given),
        || lateness::unavoidable(problem),
    );
    let by_hours = given + late_or_out;
    let cheapest_out = prices.iter().copied().min().unwrap_or(0);
    let in_order = 60 * changes + late;
    let bound = by_hours.max(problem.misfit_cost + in_order.min(cheapest_out));
    (bound > 0).then_some(bound)
}

/// What a run costs at least when it finds no place: rounding up the price of an order's pieces all
/// together is less than rounding it run by run.
fn price(problem: &Problem<'_>, job: &JobShare) -> i64 {
    (unplaced_cost(problem.shop, job.order, job.quantity) - 1).max(0)
}

/// Seconds of change that the first run of each part costs at least, by part.
fn first_pieces(problem: &Problem<'_>) -> Vec<i64> {
    let mut least = least_new_part(problem);
    for job in problem.jobs.iter().filter(|job| job.running) {
        least[job.part] = None;
    }
    let seconds = least.into_iter().map(|least| least.map_or(0, |new| new.0));
    seconds.collect()
}

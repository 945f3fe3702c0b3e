//! A number no plan can be below.
//!
//! Three things are unavoidable, whatever the sequence. Each part is new to some brake once: its
//! program is called up, fingers are slid, its first piece is bent and approved, on the cheapest of
//! its brakes. Stations that stand nowhere yet are put on. And promises are late that no brake could
//! keep, alone or among the others. These are minima over every way and cost different things, so
//! their sum bounds every plan that places all orders with a way; a plan that leaves one out pays its
//! price instead, and the bound is never above that.

mod assignment;
mod lateness;
mod tools;

use crate::least_change::new_part;
use crate::problem::{JobShare, Problem, unplaced_cost};

/// A cost that no answer is below; `None` when nothing above zero can be said.
#[must_use]
pub fn lower_bound(problem: &Problem<'_>) -> Option<i64> {
    let cheapest_unplaced = problem
        .jobs
        .iter()
        .filter(|job| counts(problem, job))
        .map(|job| unplaced_cost(problem.shop, job.order))
        .min()
        .unwrap_or(0);
    let changes = first_pieces(problem) + tools::stations_put_on(problem);
    let placed = 60 * changes + lateness::unavoidable(problem);
    let bound = problem.misfit_cost + placed.min(cheapest_unplaced);
    (bound > 0).then_some(bound)
}

/// Whether leaving the run out costs anything: not when its order is paid for as unplaced anyway.
fn counts(problem: &Problem<'_>, job: &JobShare) -> bool {
    problem.price_of_failing(job.order) > 0
}

/// Seconds of change that the first run of each part costs at least.
fn first_pieces(problem: &Problem<'_>) -> i64 {
    (0..problem.shop.parts.len())
        .filter(|&part| {
            let of_part = || problem.jobs.iter().filter(|job| job.part == part);
            of_part().any(|job| counts(problem, job)) && !of_part().any(|job| job.running)
        })
        .filter_map(|part| {
            problem
                .ways
                .iter()
                .flatten()
                .filter(|option| option.part == part)
                .map(|option| new_part(problem, option, false).0)
                .min()
        })
        .sum()
}

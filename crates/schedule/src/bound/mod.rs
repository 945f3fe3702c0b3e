//! A number no plan can be below.
//!
//! Three things are unavoidable, whatever the sequence. Each part is new to some brake once: its
//! program is called up, fingers are slid, its first piece is bent and approved, on the cheapest of
//! its brakes. Stations that stand nowhere yet are put on, or turned to where their die is one of a
//! block. And promises are late that no brake could keep, alone or among the others. These are
//! minima over every way and cost different things, so their sum bounds every plan that places all
//! orders with a way; a plan that leaves one out pays its price instead, and the bound is never above
//! that.

mod assignment;
mod lateness;
mod tools;

use crate::problem::{Problem, unplaced_cost};
use model::ZDrive;
use tooling::ToolingOption;

pub(crate) fn lower_bound(problem: &Problem<'_>) -> Option<i64> {
    let cheapest_unplaced = problem
        .jobs
        .iter()
        .map(|job| unplaced_cost(problem.shop, job.order))
        .min()
        .unwrap_or(0);
    let changes = first_pieces(problem) + tools::stations_put_on(problem);
    let placed = 60 * changes + lateness::unavoidable(problem);
    let bound = problem.misfit_cost + placed.min(cheapest_unplaced);
    (bound > 0).then_some(bound)
}

/// Seconds of change that the first run of each part costs at least.
fn first_pieces(problem: &Problem<'_>) -> i64 {
    (0..problem.shop.parts.len())
        .filter(|&part| {
            !problem
                .jobs
                .iter()
                .any(|job| job.part == part && job.running)
        })
        .filter_map(|part| {
            problem
                .ways
                .iter()
                .flatten()
                .filter(|option| option.part == part)
                .map(|option| new_part_seconds(problem, option))
                .min()
        })
        .sum()
}

/// Seconds a part costs when another was on the brake before, without moving a tool.
fn new_part_seconds(problem: &Problem<'_>, option: &ToolingOption) -> i64 {
    let rules = &problem.shop.rules;
    let brake = &problem.shop.brakes[option.brake];
    let program = if option.program.is_some() {
        brake.times.program
    } else {
        rules.programming
    };
    let fingers = match brake.gauge.z {
        ZDrive::Hand => brake.times.fingers.0 * i64::try_from(option.needs.len()).unwrap_or(0),
        ZDrive::Powered => 0,
    };
    let approval = match option.approval {
        model::Approval::Own => rules.approve_own,
        model::Approval::Inspector => rules.approve_inspector,
        model::Approval::Customer => rules.approve_customer,
    };
    let first = (i64::from(rules.first_off_pieces) * option.cycle_ms + 999) / 1000;
    program.0 + fingers + first + approval.0
}

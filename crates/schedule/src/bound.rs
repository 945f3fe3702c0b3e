//! A number no plan can be below.
//!
//! Two things are unavoidable, whatever the sequence. Each part is new to some brake once: its
//! program is called up, fingers are slid, its first piece is bent and approved, on the cheapest of
//! its brakes. And no promise can be kept earlier than its work takes on the best of its brakes
//! alone, from the first staffed second on. Both are minima over every way, so their sum bounds
//! every plan that places all orders with a way; a plan that leaves one out pays its price instead,
//! and the bound is never above that.

use crate::problem::{Problem, unplaced_cost};
use model::ZDrive;
use tooling::{ToolingOption, run_time};
use units::{Moment, Seconds};

pub(crate) fn lower_bound(problem: &Problem<'_>) -> Option<i64> {
    let cheapest_unplaced = problem
        .jobs
        .iter()
        .map(|job| unplaced_cost(problem.shop, job.order))
        .min()
        .unwrap_or(0);
    let placed = 60 * first_pieces(problem) + lateness(problem);
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

/// Price of the lateness that remains when every run had its best brake to itself.
fn lateness(problem: &Problem<'_>) -> i64 {
    let mut ends: Vec<Option<Moment>> = vec![None; problem.promises.len()];
    let mut kit_ends: Vec<Option<Moment>> = vec![None; problem.kits];
    for (job, ways) in problem.jobs.iter().zip(&problem.ways) {
        let from = job.ready.max(problem.from);
        let alone = |option: &ToolingOption| {
            let work: Seconds = run_time(job.quantity, option.cycle_ms, &problem.shop.rules);
            problem.roster.earliest_end(option.brake, from, work)
        };
        let Some(end) = ways.iter().filter_map(|option| alone(option)).min() else {
            continue;
        };
        ends[job.promise] = ends[job.promise].max(Some(end));
        if let Some(kit) = problem.promises[job.promise].kit {
            kit_ends[kit] = kit_ends[kit].max(Some(end));
        }
    }
    let late_hour = i64::from(problem.shop.rules.late_hour_minutes);
    problem
        .promises
        .iter()
        .zip(&ends)
        .filter_map(|(promise, end)| {
            let end = promise.kit.and_then(|kit| kit_ends[kit]).or(*end)?;
            Some(promise.weight * (end - promise.due).0.max(0) * late_hour)
        })
        .sum()
}

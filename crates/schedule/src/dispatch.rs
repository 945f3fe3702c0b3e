//! A start for the search: whichever brake is free next takes the most urgent order, an order that
//! needs a long changeover counting as less urgent.
//!
//! The index is the apparent tardiness cost with setups, I = w/p · exp(−max(d − p − t, 0)/(K1·p̄)) ·
//! exp(−s/(K2·s̄)): Y. H. Lee, K. Bhaskaran and M. Pinedo, "A heuristic to minimize the total
//! weighted tardiness with sequence-dependent setups", IIE Transactions 29 (1997) \[memory\].

use crate::greedy::due;
use crate::problem::Problem;
use crate::timing::{Scratch, Trial};
use search::{Sequences, Slot};
use tooling::run_time;
use units::Moment;

/// Look-ahead (K1, in mean run times) and dislike of setups (K2, in mean setups) tried; the best of
/// the starts is kept, so a poor pair costs time only.
const FACTORS: [(f64, f64); 4] = [(20.0, 0.3), (20.0, 1.0), (6.0, 0.3), (60.0, 0.3)];
/// A change of ordinary length, the scale of setups: the true mean is not known before a sequence is.
const TYPICAL_CHANGE_SECONDS: f64 = 1_200.0;
/// Orders looked at for one place in the line, the soonest due first: bounds the work in large shops.
const LOOKED_AT: usize = 60;

/// One start per pair of factors.
pub(crate) fn by_urgency(problem: &Problem<'_>, scratch: &mut Scratch) -> Vec<Sequences> {
    FACTORS
        .iter()
        .map(|&factors| dispatch(problem, scratch, factors))
        .collect()
}

fn dispatch(problem: &Problem<'_>, scratch: &mut Scratch, factors: (f64, f64)) -> Sequences {
    let mut sequences = Sequences::new(problem.shop.brakes.len());
    let mut trial = Trial::begin(problem, scratch);
    let mut open: Vec<usize> = Vec::new();
    for (brake, pinned) in problem.pinned.iter().enumerate() {
        for slot in pinned {
            trial.append(brake, *slot);
            sequences.machines[brake].push(*slot);
        }
    }
    open.extend((0..problem.jobs.len()).filter(|&job| !problem.jobs[job].running));
    open.sort_by_key(|&job| (due(problem, job), job));
    let scale = Scale::of(problem, factors);
    while !open.is_empty() {
        let next = next_brake(problem, &trial, &open)
            .and_then(|(brake, at)| most_urgent(problem, &mut trial, &open, brake, at, &scale));
        let (brake, slot) = next.unwrap_or_else(|| {
            // Nothing fits the horizon any more; the rest stands in line and is told why.
            (
                problem.ways[open[0]][0].brake,
                Slot {
                    job: open[0],
                    way: 0,
                },
            )
        });
        trial.append(brake, slot);
        sequences.machines[brake].push(slot);
        open.retain(|&job| job != slot.job);
    }
    sequences
}

/// Mean run time and setup, times the factors, in seconds.
struct Scale {
    slack: f64,
    setup: f64,
}

impl Scale {
    #[allow(clippy::cast_precision_loss)]
    fn of(problem: &Problem<'_>, (k1, k2): (f64, f64)) -> Scale {
        let runs: i64 = (0..problem.jobs.len())
            .map(|job| work(problem, job, 0))
            .sum();
        let mean = runs as f64 / problem.jobs.len().max(1) as f64;
        Scale {
            slack: (k1 * mean).max(1.0),
            setup: k2 * TYPICAL_CHANGE_SECONDS,
        }
    }
}

fn work(problem: &Problem<'_>, job: usize, way: usize) -> i64 {
    let cycle = problem.ways[job][way].cycle_ms;
    run_time(problem.jobs[job].quantity, cycle, &problem.shop.rules).0
}

/// The brake that can begin soonest and has an open order.
fn next_brake(
    problem: &Problem<'_>,
    trial: &Trial<'_, '_>,
    open: &[usize],
) -> Option<(usize, Moment)> {
    (0..problem.shop.brakes.len())
        .filter(|&brake| {
            open.iter()
                .any(|&job| problem.ways[job].iter().any(|way| way.brake == brake))
        })
        .filter_map(|brake| trial.next_start(brake).map(|at| (at, brake)))
        .min()
        .map(|(at, brake)| (brake, at))
}

#[allow(clippy::cast_precision_loss)]
fn most_urgent(
    problem: &Problem<'_>,
    trial: &mut Trial<'_, '_>,
    open: &[usize],
    brake: usize,
    at: Moment,
    scale: &Scale,
) -> Option<(usize, Slot)> {
    let suits = |job: usize| problem.ways[job].iter().any(|way| way.brake == brake);
    let first_done = |job: usize| {
        let first = problem.jobs[job].after;
        first.is_none_or(|order| !open.iter().any(|&other| problem.jobs[other].order == order))
    };
    // Each with its index if nothing had to be changed: no change can make it more urgent.
    let mut hopes: Vec<(f64, Slot)> = Vec::new();
    for &job in open
        .iter()
        .filter(|&&job| suits(job) && first_done(job))
        .take(LOOKED_AT)
    {
        let (share, promise) = (
            &problem.jobs[job],
            &problem.promises[problem.jobs[job].promise],
        );
        let wait = (share.ready - at).0.max(0) as f64;
        for (way, option) in problem.ways[job].iter().enumerate() {
            if option.brake == brake {
                let run = work(problem, job, way) as f64;
                let slack = (promise.due - at).0 as f64 - run;
                let index = (promise.weight as f64 / run.max(60.0)).ln()
                    - slack.max(0.0) / scale.slack
                    - wait / scale.setup;
                hopes.push((index, Slot { job, way }));
            }
        }
    }
    hopes.sort_by(|a, b| b.0.total_cmp(&a.0));
    let mut best: Option<(f64, Slot)> = None;
    for (hope, slot) in hopes {
        if best.is_some_and(|(value, _)| value >= hope) {
            break;
        }
        if let Some(would) = trial.would(brake, slot) {
            let index = hope - would.change.0 as f64 / scale.setup;
            if best.is_none_or(|(value, _)| index > value) {
                best = Some((index, slot));
            }
        }
    }
    best.map(|(_, slot)| (brake, slot))
}

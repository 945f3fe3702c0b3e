//! A start for the search: whichever brake is free next takes the most urgent order, an order that
//! needs a long changeover counting as less urgent.
//!
//! The index is the apparent tardiness cost with setups, I = w/p · exp(−max(d − p − t, 0)/(K1·p̄)) ·
//! exp(−s/(K2·s̄)): Y. H. Lee, K. Bhaskaran and M. Pinedo, "A heuristic to minimize the total
//! weighted tardiness with sequence-dependent setups", IIE Transactions 29 (1997) \[memory\].

use crate::greedy::{Choose, begin_lines, due};
use crate::placed::Front;
use crate::problem::Problem;
use crate::timing::{Scratch, Trial};
use rustc_hash::FxHashMap;
use search::{Sequences, Slot};
use std::sync::Arc;
use tooling::{ToolingOption, run_time};
use units::{Moment, Seconds};

/// Look-ahead (K1, in mean run times), dislike of setups (K2, in mean setups), and orders looked at
/// for one place in the line, the soonest due first: few keep dates, all save changeovers where most
/// must be late anyway. The best of the starts is kept, so a poor triple costs time only.
const FACTORS: [(f64, f64, usize); 6] = [
    (20.0, 0.3, 60),
    (20.0, 1.0, 60),
    (6.0, 0.3, 60),
    (60.0, 0.3, 60),
    (20.0, 0.3, usize::MAX),
    (20.0, 1.0, usize::MAX),
];
/// A change of ordinary length, the scale of setups: the true mean is not known before a sequence is.
const TYPICAL_CHANGE_SECONDS: f64 = 1_200.0;
/// Ways of doing orders looked at for one place in the line, those that would be most urgent if
/// nothing had to be changed: bounds the work in large shops.
const TRIED: usize = 300;

/// How many starts there are.
pub(crate) const STARTS: usize = FACTORS.len();

/// One of the starts.
pub(crate) fn by_urgency(problem: &Problem<'_>, scratch: &mut Scratch, which: usize) -> Sequences {
    dispatch(problem, scratch, FACTORS[which])
}

/// The start for large shops: the triple that did best there.
pub(crate) fn for_many(problem: &Problem<'_>, scratch: &mut Scratch) -> Sequences {
    dispatch(problem, scratch, (20.0, 1.0, usize::MAX))
}

fn dispatch(problem: &Problem<'_>, scratch: &mut Scratch, factors: (f64, f64, usize)) -> Sequences {
    let mut trial = Trial::begin(problem, scratch);
    let mut sequences = begin_lines(&mut trial);
    let mut front = Front::of(problem);
    let mut open = Open::of(problem);
    let scale = Scale::of(problem, factors);
    while let Some(first) = open.first() {
        for slot in front.advance(&mut trial, &mut sequences, Choose::CostsLeast) {
            open.of_order[problem.jobs[slot.job].order] -= 1;
        }
        // A brake that is free soonest may have nothing to do but what waits for another's work.
        let next = next_brakes(problem, &trial, &open)
            .into_iter()
            .filter(|&(_, brake)| !front.waits(brake))
            .find_map(|(at, brake)| most_urgent(problem, &mut trial, &mut open, brake, at, &scale));
        if let (None, Some(brake)) = (next, front.any()) {
            for slot in front.clear(brake, &mut trial, &mut sequences, Choose::CostsLeast) {
                open.of_order[problem.jobs[slot.job].order] -= 1;
            }
            continue;
        }
        let (brake, slot) = next.unwrap_or_else(|| {
            // Nothing fits the horizon any more; the rest stands in line and is told why.
            let job = open.first_that_may(problem).unwrap_or(first);
            (problem.ways[job][0].brake, Slot { job, way: 0 })
        });
        trial.append(brake, slot);
        sequences.machines[brake].push(slot);
        open.close(problem, slot.job);
    }
    while let Some(brake) = front.any() {
        front.clear(brake, &mut trial, &mut sequences, Choose::CostsLeast);
    }
    sequences
}

/// Jobs without a place yet.
struct Open {
    is_open: Vec<bool>,
    /// The open jobs, the latest due first.
    waiting: Vec<usize>,
    /// By brake: every way of doing a job there; those of jobs that have a place are dropped when
    /// met.
    ways: Vec<Vec<Hope>>,
    /// By brake: how many open jobs may go there.
    on_brake: Vec<usize>,
    /// By order: how many of its jobs are open, those with a place too.
    of_order: Vec<usize>,
}

/// A way of doing a job, and what its urgency is made of.
#[derive(Clone, Copy)]
struct Hope {
    slot: Slot,
    /// Logarithm of weight over run time.
    worth: f64,
    run: f64,
}

impl Open {
    #[allow(clippy::cast_precision_loss)]
    fn of(problem: &Problem<'_>) -> Open {
        let mut is_open: Vec<bool> = problem.jobs.iter().map(|job| !job.running).collect();
        let mut of_order = vec![0; problem.shop.orders.len()];
        for slot in (0..problem.pinned.len()).flat_map(|brake| problem.placed(brake)) {
            is_open[slot.job] = false;
            of_order[problem.jobs[slot.job].order] += 1;
        }
        let mut waiting: Vec<usize> = (0..is_open.len()).filter(|&job| is_open[job]).collect();
        waiting.sort_by_key(|&job| std::cmp::Reverse((due(problem, job), job)));
        let mut open = Open {
            is_open,
            waiting,
            ways: vec![Vec::new(); problem.shop.brakes.len()],
            on_brake: vec![0; problem.shop.brakes.len()],
            of_order,
        };
        for &job in open.waiting.iter().rev() {
            let weight = problem.promises[problem.jobs[job].promise].weight as f64;
            open.of_order[problem.jobs[job].order] += 1;
            for (way, option) in problem.ways[job].iter().enumerate() {
                let run = work(problem, job, way) as f64;
                open.ways[option.brake].push(Hope {
                    slot: Slot { job, way },
                    worth: (weight / run.max(60.0)).ln(),
                    run,
                });
            }
            for brake in brakes_of(problem, job) {
                open.on_brake[brake] += 1;
            }
        }
        open
    }

    /// The open job that is due soonest.
    fn first(&mut self) -> Option<usize> {
        while let Some(&job) = self.waiting.last() {
            if self.is_open[job] {
                return Some(job);
            }
            self.waiting.pop();
        }
        None
    }

    /// The open job that is due soonest of those that wait for no other.
    fn first_that_may(&self, problem: &Problem<'_>) -> Option<usize> {
        let mut soonest_first = self.waiting.iter().rev().copied();
        soonest_first.find(|&job| {
            let before = problem.jobs[job].after;
            self.is_open[job] && before.is_none_or(|order| self.of_order[order] == 0)
        })
    }

    fn close(&mut self, problem: &Problem<'_>, job: usize) {
        self.is_open[job] = false;
        self.of_order[problem.jobs[job].order] -= 1;
        for brake in brakes_of(problem, job) {
            self.on_brake[brake] -= 1;
        }
    }
}

/// The brakes a job may go to, each once.
fn brakes_of<'p>(problem: &'p Problem<'_>, job: usize) -> impl Iterator<Item = usize> + 'p {
    let ways = &problem.ways[job];
    let first_there = |way: usize| ways[..way].iter().all(|o| o.brake != ways[way].brake);
    (0..ways.len())
        .filter(move |&way| first_there(way))
        .map(|way| ways[way].brake)
}

/// Mean run time and setup, times the factors, in seconds.
struct Scale {
    slack: f64,
    setup: f64,
    /// Orders looked at.
    reach: usize,
}

impl Scale {
    #[allow(clippy::cast_precision_loss)]
    fn of(problem: &Problem<'_>, (k1, k2, reach): (f64, f64, usize)) -> Scale {
        let runs: i64 = (0..problem.jobs.len())
            .map(|job| work(problem, job, 0))
            .sum();
        let mean = runs as f64 / problem.jobs.len().max(1) as f64;
        Scale {
            slack: (k1 * mean).max(1.0),
            setup: k2 * TYPICAL_CHANGE_SECONDS,
            reach,
        }
    }
}

fn work(problem: &Problem<'_>, job: usize, way: usize) -> i64 {
    let cycle = problem.ways[job][way].cycle_ms;
    run_time(problem.jobs[job].quantity, cycle, &problem.shop.rules).0
}

/// The brakes with open orders, the one that can begin soonest first.
fn next_brakes(problem: &Problem<'_>, trial: &Trial<'_, '_>, open: &Open) -> Vec<(Moment, usize)> {
    let mut brakes: Vec<(Moment, usize)> = (0..problem.shop.brakes.len())
        .filter(|&brake| open.on_brake[brake] > 0)
        .filter_map(|brake| trial.next_start(brake).map(|at| (at, brake)))
        .collect();
    brakes.sort_unstable();
    brakes
}

#[allow(clippy::cast_precision_loss)]
fn most_urgent(
    problem: &Problem<'_>,
    trial: &mut Trial<'_, '_>,
    open: &mut Open,
    brake: usize,
    at: Moment,
    scale: &Scale,
) -> Option<(usize, Slot)> {
    let (is_open, of_order) = (&open.is_open, &open.of_order);
    open.ways[brake].retain(|hope| is_open[hope.slot.job]);
    // Each with its index if nothing had to be changed: no change can make it more urgent.
    let index_of = |hope: &Hope| {
        let job = &problem.jobs[hope.slot.job];
        let slack = (problem.promises[job.promise].due - at).0 as f64 - hope.run;
        let wait = (job.ready - at).0.max(0) as f64;
        hope.worth - slack.max(0.0) / scale.slack - wait / scale.setup
    };
    let first_done = |hope: &&Hope| {
        let first = problem.jobs[hope.slot.job].after;
        first.is_none_or(|order| of_order[order] == 0)
    };
    let within_reach = {
        let (mut jobs, mut last) = (0, None);
        move |hope: &&Hope| {
            jobs += usize::from(last != Some(hope.slot.job));
            last = Some(hope.slot.job);
            jobs <= scale.reach
        }
    };
    let mut hopes: Vec<(f64, Slot)> = open.ways[brake]
        .iter()
        .filter(first_done)
        .take_while(within_reach)
        .map(|hope| (index_of(hope), hope.slot))
        .collect();
    let by_index = |a: &(f64, Slot), b: &(f64, Slot)| {
        let tie = (a.1.job, a.1.way).cmp(&(b.1.job, b.1.way));
        b.0.total_cmp(&a.0).then(tie)
    };
    if hopes.len() > TRIED {
        hopes.select_nth_unstable_by(TRIED, by_index);
        hopes.truncate(TRIED);
    }
    for (hope, slot) in &mut hopes {
        *hope -= trial.least_change(brake, *slot).0 as f64 / scale.setup;
    }
    hopes.sort_by(by_index);
    let mut found = worked_out(problem, trial, brake, &hopes, scale);
    found.sort_by(by_index);
    found
        .into_iter()
        .find(|&(_, slot)| trial.would(brake, slot).is_some())
        .map(|(_, slot)| (brake, slot))
}

/// The hopes whose change is worked out, with their true urgency: all that could be the most urgent,
/// those first that would be if their change cost no more than it must.
#[allow(clippy::cast_precision_loss)]
fn worked_out(
    problem: &Problem<'_>,
    trial: &mut Trial<'_, '_>,
    brake: usize,
    hopes: &[(f64, Slot)],
    scale: &Scale,
) -> Vec<(f64, Slot)> {
    let mut found = Vec::new();
    let mut best = f64::NEG_INFINITY;
    // Orders of one part done one way need the same change.
    let mut changes: FxHashMap<*const ToolingOption, Seconds> = FxHashMap::default();
    for &(hope, slot) in hopes {
        if best >= hope {
            break;
        }
        let way = &problem.ways[slot.job][slot.way];
        let known = changes.get(&Arc::as_ptr(way)).copied();
        if let Some(change) = known.or_else(|| trial.change(brake, slot)) {
            changes.insert(Arc::as_ptr(way), change);
            let more = change - trial.least_change(brake, slot);
            let index = hope - more.0 as f64 / scale.setup;
            best = best.max(index);
            found.push((index, slot));
        }
    }
    found
}

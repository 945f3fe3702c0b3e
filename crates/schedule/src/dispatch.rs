//! A start for the search: whichever brake is free next takes the order that earns most for the time
//! it takes of those who set the brakes.
//!
//! The index is that of apparent tardiness cost, I = w/p · exp(−max(d − t − p, 0)/(K·p̄)): A. P. J.
//! Vepsalainen and T. E. Morton, "Priority rules for job shops with weighted tardiness costs",
//! Management Science 33 (1987) \[memory\]. For p it has the change and a share of the run: shops have
//! fewer setters than brakes, and an hour of theirs is what all brakes wait for.

use crate::greedy::{Choose, begin_lines, due};
use crate::placed::Front;
use crate::problem::Problem;
use crate::timing::{Scratch, Trial};
use rustc_hash::FxHashMap;
use search::{Sequences, Slot};
use std::cmp::Ordering;
use std::sync::Arc;
use tooling::{ToolingOption, run_time};
use units::{Moment, Seconds};

/// How urgent an order is.
#[derive(Clone, Copy, Debug)]
struct Rule {
    /// Look-ahead K, in mean run times.
    ahead: f64,
    /// What an hour of running costs, in hours of setting.
    running: f64,
    /// Seconds of waiting, for blanks or before and within the change, that make an order e times
    /// less urgent.
    patience: f64,
}

impl Rule {
    const fn new(ahead: f64, running: f64, patience: f64) -> Rule {
        Rule {
            ahead,
            running,
            patience,
        }
    }
}

/// The best of the starts is kept, so a poor rule costs time only. Chosen one by one, out of 190, for
/// how cheap the best of them is on the demo shop and on 56 invented shops of 30 to 300 orders: due
/// dates tight and loose, sections scarce and ample, few setters and many. Where few need be late a
/// short look-ahead is best, where most must be a long one. The first does best by itself on large
/// shops, and the order is that for shops that try some only.
const RULES: [Rule; 12] = [
    Rule::new(300.0, 0.1, 4_000.0),
    Rule::new(100.0, 0.3, 4_000.0),
    Rule::new(100.0, 0.03, 500.0),
    Rule::new(300.0, 0.3, 2_000.0),
    Rule::new(6.0, 3.0, 500.0),
    Rule::new(100.0, 0.2, 1_000.0),
    Rule::new(300.0, 0.1, 1_000.0),
    Rule::new(100.0, 0.03, 4_000.0),
    Rule::new(12.0, 1.0, 4_000.0),
    Rule::new(30.0, 0.1, 1_000.0),
    Rule::new(3.0, 0.1, 4_000.0),
    Rule::new(300.0, 0.4, 2_000.0),
];
/// Runs shorter than this count as this long.
const SHORTEST_RUN_SECONDS: f64 = 60.0;
/// Ways of doing orders looked at for one place in the line, those that would be most urgent if they
/// were changed for in the least time possible: bounds the work in large shops.
const TRIED: usize = 300;

/// Jobs up to which so many starts are made: in a large shop a start takes seconds, and the search has
/// better use for them.
const STARTS_UP_TO: [(usize, usize); 2] = [(500, RULES.len()), (2_500, 4)];

/// How many starts there are, one at least.
pub(crate) fn starts(problem: &Problem<'_>) -> usize {
    let up_to = STARTS_UP_TO.iter();
    let mut fitting = up_to.filter(|&&(jobs, _)| problem.jobs.len() <= jobs);
    fitting.next().map_or(1, |&(_, starts)| starts)
}

/// One of the starts.
pub(crate) fn start(problem: &Problem<'_>, scratch: &mut Scratch, which: usize) -> Sequences {
    dispatch(problem, scratch, RULES[which])
}

fn dispatch(problem: &Problem<'_>, scratch: &mut Scratch, rule: Rule) -> Sequences {
    let mut trial = Trial::begin(problem, scratch);
    let mut sequences = begin_lines(&mut trial);
    let mut front = Front::of(problem);
    let mut open = Open::of(problem);
    let scale = Scale::of(problem, rule);
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
    /// By brake: the number of different options among these.
    options: Vec<usize>,
    /// By brake: how many open jobs may go there.
    on_brake: Vec<usize>,
    /// By order: how many of its jobs are open, those with a place too.
    of_order: Vec<usize>,
}

/// A way of doing a job, and what its urgency is made of.
#[derive(Clone, Copy)]
struct Hope {
    slot: Slot,
    /// Number of the tooling option among those of the brake: the same for runs of one part.
    option: usize,
    weight: f64,
    run: f64,
    due: Moment,
    ready: Moment,
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
            options: vec![0; problem.shop.brakes.len()],
            on_brake: vec![0; problem.shop.brakes.len()],
            of_order,
        };
        let mut numbers: FxHashMap<*const ToolingOption, usize> = FxHashMap::default();
        for &job in open.waiting.iter().rev() {
            let promise = problem.promises[problem.jobs[job].promise];
            open.of_order[problem.jobs[job].order] += 1;
            for (way, option) in problem.ways[job].iter().enumerate() {
                let known = &mut open.options[option.brake];
                let number = *numbers.entry(Arc::as_ptr(option)).or_insert_with(|| {
                    *known += 1;
                    *known - 1
                });
                open.ways[option.brake].push(Hope {
                    slot: Slot { job, way },
                    option: number,
                    weight: promise.weight as f64,
                    run: (work(problem, job, way) as f64).max(SHORTEST_RUN_SECONDS),
                    due: promise.due,
                    ready: problem.jobs[job].ready,
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

/// A rule measured by a shop.
struct Scale {
    rule: Rule,
    /// Seconds of slack that make an order e times less urgent.
    slack: f64,
}

impl Scale {
    #[allow(clippy::cast_precision_loss)]
    fn of(problem: &Problem<'_>, rule: Rule) -> Scale {
        let runs: i64 = (0..problem.jobs.len())
            .map(|job| work(problem, job, 0))
            .sum();
        let mean = runs as f64 / problem.jobs.len().max(1) as f64;
        let slack = (rule.ahead * mean).max(1.0);
        Scale { rule, slack }
    }

    /// Logarithm of the index on a brake that is free from one moment and changed by another.
    #[allow(clippy::cast_precision_loss)]
    fn urgency(&self, hope: &Hope, at: Moment, change: Seconds, done: Moment) -> f64 {
        let change = change.0 as f64;
        let taken = change + self.rule.running * hope.run;
        let slack = (hope.due - at.max(done)).0 as f64 - hope.run;
        let wait = ((hope.ready - at).0 as f64)
            .max((done - at).0 as f64 - change)
            .max(0.0);
        (hope.weight / taken).ln() - slack.max(0.0) / self.slack - wait / self.rule.patience
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

/// A way of doing a job, with its urgency when it is changed for no longer than is known so far.
type Rated = (f64, Hope);

/// The most urgent first.
fn by_urgency_then_job(a: &Rated, b: &Rated) -> Ordering {
    let place = |rated: &Rated| (rated.1.slot.job, rated.1.slot.way);
    b.0.total_cmp(&a.0).then(place(a).cmp(&place(b)))
}

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
    let first_done = |hope: &&Hope| {
        let first = problem.jobs[hope.slot.job].after;
        first.is_none_or(|order| of_order[order] == 0)
    };
    // Each as if its change took no longer than it must. Knowing the change hardly ever makes it more
    // urgent: only if less time to spare counts for more than the longer change.
    let mut least: Vec<Option<Seconds>> = vec![None; open.options[brake]];
    let mut hopes: Vec<Rated> = open.ways[brake]
        .iter()
        .filter(first_done)
        .map(|hope| {
            let known = &mut least[hope.option];
            let least = *known.get_or_insert_with(|| trial.least_change(brake, hope.slot));
            (scale.urgency(hope, at, least, at), *hope)
        })
        .collect();
    if hopes.len() > TRIED {
        hopes.select_nth_unstable_by(TRIED, by_urgency_then_job);
        hopes.truncate(TRIED);
    }
    hopes.sort_by(by_urgency_then_job);
    let mut found = worked_out(trial, brake, at, &hopes, scale);
    found.sort_by(by_urgency_then_job);
    found
        .into_iter()
        .find(|(_, hope)| trial.would(brake, hope.slot).is_some())
        .map(|(_, hope)| (brake, hope.slot))
}

/// The hopes whose change is worked out, with their true urgency: all that might be the most urgent,
/// those first that would be if their change cost no more than it must.
fn worked_out(
    trial: &mut Trial<'_, '_>,
    brake: usize,
    at: Moment,
    hopes: &[Rated],
    scale: &Scale,
) -> Vec<Rated> {
    let mut found = Vec::new();
    let mut best = f64::NEG_INFINITY;
    // Orders of one part done one way need the same change.
    let mut changes: FxHashMap<(usize, Moment), (Seconds, Moment)> = FxHashMap::default();
    for &(at_best, hope) in hopes {
        if best >= at_best {
            break;
        }
        let key = (hope.option, hope.ready.max(at));
        let known = changes.get(&key).copied();
        if let Some((change, done)) = known.or_else(|| trial.change(brake, hope.slot)) {
            changes.insert(key, (change, done));
            let urgency = scale.urgency(&hope, at, change, done);
            best = best.max(urgency);
            found.push((urgency, hope));
        }
    }
    found
}

//! Lateness that no plan can avoid.
//!
//! Two facts. A promise cannot end before its runs could when each had the best of its brakes to
//! itself. And of promises that only some brakes can work for, the k that end first take at least as
//! much brake time as the k shortest, while no more brake time passes there than those brakes are
//! staffed and people are there: so the k-th end is not before the moment when that much has passed.
//! Which promise is the k-th is not known; the cheapest of all assignments bounds every plan. (On one
//! machine with all weights alike this is the matching of completion times by shortest processing
//! time with due dates in order; an assignment takes weights, staffed hours and earliest ends along.)
//!
//! Promises are parted into groups, each bounded on the brakes that its runs can go to; whatever the
//! parting, the bounds add up, since each speaks of the lateness of its own promises alone.

use super::assignment::least_sum;
use crate::least_change::least_new_part;
use crate::problem::Problem;
use std::collections::BTreeSet;
use tooling::{ToolingOption, run_time};
use units::{Moment, Seconds};

/// Promises in one group up to which the assignment is solved; in larger groups only the first fact
/// is used.
const ASSIGNED_MOST: usize = 200;
/// Groups tried at most, those of most work first.
const GROUPS_TRIED: usize = 12;

/// Price of the lateness that no plan which places every run can avoid.
pub(super) fn unavoidable(problem: &Problem<'_>) -> i64 {
    let mut left = Alone::all(problem);
    let mut sum = 0;
    let mut sets: Vec<BTreeSet<usize>> = Vec::new();
    for set in left.iter().map(|promise| &promise.brakes) {
        if !sets.contains(set) {
            sets.push(set.clone());
        }
    }
    sets.push((0..problem.shop.brakes.len()).collect());
    sets.sort_by_key(|set| {
        let within = left.iter().filter(|promise| promise.brakes.is_subset(set));
        std::cmp::Reverse(within.map(|promise| promise.work.0).sum::<i64>())
    });
    sets.truncate(GROUPS_TRIED);
    let gain = |left: &[Alone], set: &BTreeSet<usize>| {
        let (group, _) = part(left, set);
        crowded(problem, &group, set) - alone(&group)
    };
    let mut gains: Vec<i64> = sets.iter().map(|set| gain(&left, set)).collect();
    // The group whose crowding adds most is taken out, then the next among what is left.
    loop {
        let best = gains.iter().copied().enumerate();
        let best = best.max_by_key(|&(at, gain)| (gain, std::cmp::Reverse(at)));
        let Some((at, _)) = best.filter(|&(_, gain)| gain > 0) else {
            break;
        };
        let set = sets.swap_remove(at);
        gains.swap_remove(at);
        let (group, rest) = part(&left, &set);
        sum += crowded(problem, &group, &set);
        let rest: Vec<Alone> = rest.into_iter().cloned().collect();
        // A group that has lost nobody gains what it gained.
        for (known, other) in gains.iter_mut().zip(&sets) {
            if group.iter().any(|lost| lost.brakes.is_subset(other)) {
                *known = gain(&rest, other);
            }
        }
        left = rest;
    }
    sum += alone(&left.iter().collect::<Vec<_>>());
    i64::from(problem.shop.rules.late_hour_minutes) * sum
}

/// The promises that only the set's brakes can work for, and the others.
fn part<'p>(promises: &'p [Alone], set: &BTreeSet<usize>) -> (Vec<&'p Alone>, Vec<&'p Alone>) {
    promises
        .iter()
        .partition(|promise| promise.brakes.is_subset(set))
}

/// Weighted lateness of promises that are in nobody's way.
fn alone(group: &[&Alone]) -> i64 {
    group.iter().map(|promise| promise.price(promise.end)).sum()
}

/// Weighted lateness of promises that share a set of brakes.
fn crowded(problem: &Problem<'_>, group: &[&Alone], set: &BTreeSet<usize>) -> i64 {
    if group.len() > ASSIGNED_MOST {
        return alone(group);
    }
    let ends = ends_in_order(problem, group, set);
    least_sum(group.len(), &|k, promise| group[promise].price(ends[k]))
}

/// A promise as if the shop worked for nothing else.
#[derive(Clone)]
struct Alone {
    due: Moment,
    weight: i64,
    /// Its end, or that of the kit it belongs to.
    end: Moment,
    /// Brake time it takes at least.
    work: Seconds,
    /// Brakes that any of its runs can go to.
    brakes: BTreeSet<usize>,
}

impl Alone {
    /// Weighted lateness when it ends no sooner than given.
    fn price(&self, end: Moment) -> i64 {
        self.weight * (end.max(self.end) - self.due).0.max(0)
    }

    fn all(problem: &Problem<'_>) -> Vec<Alone> {
        let mut ends: Vec<Option<Moment>> = vec![None; problem.promises.len()];
        for (run, job) in problem.jobs.iter().enumerate() {
            // A run that cannot end does not make its promise late but unplaced.
            ends[job.promise] = ends[job.promise].max(end_alone(problem, run));
        }
        let mut kit_ends: Vec<Option<Moment>> = vec![None; problem.kits];
        for (promise, end) in problem.promises.iter().zip(&ends) {
            if let Some(kit) = promise.kit {
                kit_ends[kit] = kit_ends[kit].max(*end);
            }
        }
        let mut work = vec![Seconds::ZERO; problem.promises.len()];
        let mut brakes = vec![BTreeSet::new(); problem.promises.len()];
        for (job, ways) in problem.jobs.iter().zip(&problem.ways) {
            let rules = &problem.shop.rules;
            let run = |option: &ToolingOption| run_time(job.quantity, option.cycle_ms, rules);
            brakes[job.promise].extend(ways.iter().map(|option| option.brake));
            work[job.promise] += ways
                .iter()
                .map(|option| run(option))
                .min()
                .unwrap_or(Seconds::ZERO);
        }
        for (promise, change) in changes_of_their_own(problem) {
            work[promise] += change;
        }
        let promises = problem.promises.iter().zip(ends).zip(work).zip(brakes);
        promises
            .filter_map(|(((promise, end), work), brakes)| {
                // A promise none of whose runs has a place is priced as unplaced, in a kit as well.
                let own = end?;
                Some(Alone {
                    due: promise.due,
                    weight: promise.weight,
                    end: promise.kit.and_then(|kit| kit_ends[kit]).unwrap_or(own),
                    work,
                    brakes,
                })
            })
            .collect()
    }
}

/// The earliest end of a run that has the shop to itself; `None` when it cannot end within the
/// horizon.
pub(super) fn end_alone(problem: &Problem<'_>, run: usize) -> Option<Moment> {
    let job = &problem.jobs[run];
    let from = job.ready.max(problem.from);
    let on = |option: &std::sync::Arc<ToolingOption>| {
        let work = run_time(job.quantity, option.cycle_ms, &problem.shop.rules);
        problem.roster.earliest_end(option.brake, from, work)
    };
    problem.ways[run].iter().filter_map(on).min()
}

/// For each part that only one promise has runs of: the promise, and the time its first run is
/// prepared for at least, which is brake time of that promise alone.
fn changes_of_their_own(problem: &Problem<'_>) -> Vec<(usize, Seconds)> {
    let mut promise_of: Vec<Option<usize>> = vec![None; problem.shop.parts.len()];
    let mut shared = vec![false; problem.shop.parts.len()];
    for job in &problem.jobs {
        let other = promise_of[job.part].replace(job.promise);
        shared[job.part] |= job.running || other.is_some_and(|other| other != job.promise);
    }
    let least = least_new_part(problem).into_iter().zip(shared);
    let own = least.enumerate().filter(|&(_, (_, shared))| !shared);
    own.filter_map(|(part, (least, _))| Some((promise_of[part]?, least?)))
        .collect()
}

/// For k = 1, 2, ...: the moment before which the k-th promise cannot end.
fn ends_in_order(problem: &Problem<'_>, promises: &[&Alone], set: &BTreeSet<usize>) -> Vec<Moment> {
    let mut works: Vec<i64> = promises.iter().map(|promise| promise.work.0).collect();
    works.sort_unstable();
    let capacity = problem.roster.capacity(set);
    let (mut needed, mut passed, mut span) = (0, 0, 0);
    let mut ends = Vec::with_capacity(works.len());
    for work in works {
        needed += work;
        // Spans follow one another; each lets so many brakes work at once.
        while let Some(&(window, brakes)) = capacity.get(span) {
            let whole = window.length().0 * brakes;
            if passed + whole >= needed {
                break;
            }
            passed += whole;
            span += 1;
        }
        ends.push(match capacity.get(span) {
            Some(&(window, brakes)) => window.start + Seconds((needed - passed).max(0) / brakes),
            None => problem.until,
        });
    }
    ends
}

//! Plain ways of planning: the two baselines every plan is compared with, and what starts are built from.

use crate::placed::Front;
use crate::problem::Problem;
use crate::timing::{Scratch, Trial};
use search::{Sequences, Slot};
use units::Moment;

/// Seconds within which orders count as due together in the second baseline.
const DUE_TOGETHER: i64 = 3 * 86_400;

/// How a job's place is chosen when jobs are placed one after the other.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Choose {
    /// Where it ends first: what a manager with a whiteboard does.
    EndsFirst,
    /// Where it adds least to the objective, then where it ends first.
    CostsLeast,
}

/// Baseline: orders by due time, each where it ends first.
#[must_use]
pub fn due_date_order(problem: &Problem<'_>, scratch: &mut Scratch) -> Sequences {
    place_in_order(problem, scratch, &by_due(problem))
}

/// Baseline: orders due within three days of the first of them together, grouped by die, each
/// where it ends first.
#[must_use]
pub fn grouped_by_die(problem: &Problem<'_>, scratch: &mut Scratch) -> Sequences {
    let mut order = Vec::new();
    for window in due_windows(problem) {
        let mut window = window;
        window.sort_by_key(|&job| (favourite_die(problem, job), due(problem, job), job));
        order.extend(window);
    }
    place_in_order(problem, scratch, &order)
}

pub(crate) fn due(problem: &Problem<'_>, job: usize) -> Moment {
    problem.promises[problem.jobs[job].promise].due
}

fn by_due(problem: &Problem<'_>) -> Vec<usize> {
    let mut order: Vec<usize> = (0..problem.jobs.len()).collect();
    order.sort_by_key(|&job| (due(problem, job), job));
    order
}

fn due_windows(problem: &Problem<'_>) -> Vec<Vec<usize>> {
    let mut windows: Vec<Vec<usize>> = Vec::new();
    let mut first_due: Option<Moment> = None;
    for job in by_due(problem) {
        let at = due(problem, job);
        match (first_due, windows.last_mut()) {
            (Some(first), Some(window)) if (at - first).0 <= DUE_TOGETHER => window.push(job),
            _ => {
                first_due = Some(at);
                windows.push(vec![job]);
            }
        }
    }
    windows
}

/// The die of the job's best option: what a manager would sort by.
fn favourite_die(problem: &Problem<'_>, job: usize) -> Option<usize> {
    problem.ways[job]
        .first()
        .and_then(|option| option.needs.first())
        .map(|need| need.die)
}

/// The way of a job that suits best on the brakes asked about, with its brake.
pub(crate) fn best_way(
    trial: &mut Trial<'_, '_>,
    job: usize,
    choose: Choose,
    on: impl Fn(usize) -> bool,
) -> Option<(usize, Slot)> {
    let problem = trial.problem();
    let ways = &problem.ways[job];
    let mut hopes: Vec<(Moment, usize)> = (0..ways.len())
        .filter(|&way| on(ways[way].brake))
        .map(|way| {
            let end = trial.soonest_end(ways[way].brake, Slot { job, way });
            (end, way)
        })
        .collect();
    hopes.sort_unstable();
    let mut best: Option<((i64, i64), Slot)> = None;
    for (soonest, way) in hopes {
        // None of the others can end as soon.
        let ends = |best: &((i64, i64), Slot)| best.0.1 < soonest.0;
        if choose == Choose::EndsFirst && best.as_ref().is_some_and(ends) {
            break;
        }
        let slot = Slot { job, way };
        let Some(would) = trial.would(ways[way].brake, slot) else {
            continue;
        };
        debug_assert!(would.end >= soonest, "a run ends sooner than it can");
        let key = match choose {
            Choose::EndsFirst => (0, would.end.0),
            Choose::CostsLeast => (would.cost, would.end.0),
        };
        if best.is_none_or(|(best, known)| (key, way) < (best, known.way)) {
            best = Some((key, slot));
        }
    }
    best.map(|(_, slot)| (ways[slot.way].brake, slot))
}

/// The lines with what was fixed before planning began.
pub(crate) fn begin_lines(trial: &mut Trial<'_, '_>) -> Sequences {
    let problem = trial.problem();
    let mut lines = Sequences::new(problem.shop.brakes.len());
    for (brake, pinned) in problem.pinned.iter().enumerate() {
        for slot in &pinned[..problem.fixed[brake]] {
            trial.append(brake, *slot);
            lines.machines[brake].push(*slot);
        }
    }
    lines
}

/// Appends jobs one after the other. Orders in progress come first and orders with a place next, and
/// an order that others wait for is placed before them.
fn place_in_order(problem: &Problem<'_>, scratch: &mut Scratch, order: &[usize]) -> Sequences {
    let choose = Choose::EndsFirst;
    let mut trial = Trial::begin(problem, scratch);
    let mut sequences = begin_lines(&mut trial);
    let mut front = Front::of(problem);
    let mut pinned = vec![false; problem.jobs.len()];
    for slot in problem.pinned.iter().flatten() {
        pinned[slot.job] = true;
    }
    for job in predecessors_first(problem, order) {
        if pinned[job] {
            continue;
        }
        front.advance(&mut trial, &mut sequences, choose);
        let before = problem.jobs[job].after;
        if let Some(brake) = before.and_then(|order| front.brake_of(problem, order)) {
            front.clear(brake, &mut trial, &mut sequences, choose);
        }
        let ways = &problem.ways[job];
        if ways.iter().all(|way| front.waits(way.brake)) {
            for way in ways {
                front.clear(way.brake, &mut trial, &mut sequences, choose);
            }
        }
        let best = best_way(&mut trial, job, choose, |brake| !front.waits(brake));
        // A job without a place in time still takes its turn somewhere: the search may find one.
        let (brake, slot) = best.unwrap_or((ways[0].brake, Slot { job, way: 0 }));
        front.clear(brake, &mut trial, &mut sequences, choose);
        trial.append(brake, slot);
        sequences.machines[brake].push(slot);
    }
    while let Some(brake) = front.any() {
        front.clear(brake, &mut trial, &mut sequences, choose);
    }
    sequences
}

fn predecessors_first(problem: &Problem<'_>, order: &[usize]) -> Vec<usize> {
    let mut placed = vec![false; problem.jobs.len()];
    let mut out = Vec::with_capacity(order.len());
    let mut waiting: Vec<usize> = order.to_vec();
    while !waiting.is_empty() {
        let before = out.len();
        waiting.retain(|&job| {
            let open = problem.jobs[job].after.is_some_and(|first| {
                problem
                    .jobs
                    .iter()
                    .enumerate()
                    .any(|(j, other)| other.order == first && !placed[j])
            });
            if !open {
                placed[job] = true;
                out.push(job);
            }
            open
        });
        if out.len() == before {
            out.append(&mut waiting); // a circle, which the reader has refused already
        }
    }
    out
}

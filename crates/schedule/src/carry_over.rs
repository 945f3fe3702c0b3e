//! The next plan begins where the last one stood.
//!
//! Runs of a plan made before keep brake, tools and order; those that begin within the shop's frozen
//! span stay there, whatever the search would like. What has gone is left out, what is new goes where
//! it costs least among a few places.

use crate::greedy::due;
use crate::planner::Earlier;
use crate::problem::Problem;
use crate::timing::{Scratch, time};
use model::{Plan, Run};
use search::{Sequences, Slot};
use tooling::ToolingOption;
use units::{Moment, OrderId};

/// New jobs for which a place beside their like is tried as well; with more there is no time.
const TRIED_WELL: usize = 12;
/// Neighbours tried.
const ALIKE_TRIED: usize = 6;

/// What a plan made before leaves to the next one.
pub(crate) struct Carried {
    /// Its lines, what is new put in, what has gone left out.
    pub(crate) lines: Sequences,
    /// By brake: the runs that must stay first.
    pub(crate) pinned: Vec<Vec<Slot>>,
    /// By brake: how many of these are in progress or frozen.
    pub(crate) fixed: Vec<usize>,
}

/// The lines of the plan made before, and its frozen runs pinned when it is in force; no job of the
/// order that is left out is in them.
pub(crate) fn carry_over(
    problem: &Problem<'_>,
    scratch: &mut Scratch,
    before: Earlier<'_>,
    left_out: Option<usize>,
) -> Carried {
    let Earlier {
        plan: before,
        in_force,
    } = before;
    let jobs = problem.jobs.iter();
    let mut placed: Vec<bool> = jobs.map(|job| Some(job.order) == left_out).collect();
    let mut pinned: Vec<Vec<Slot>> = Vec::new();
    for (line, &fixed) in problem.pinned.iter().zip(&problem.fixed) {
        pinned.push(line[..fixed].to_vec());
        for slot in &line[..fixed] {
            placed[slot.job] = true;
        }
    }
    let mut fixed = problem.fixed.clone();
    let mut lines = Sequences::new(pinned.len());
    let mut new_here = Vec::new();
    for brake in 0..pinned.len() {
        let id = &problem.shop.brakes[brake].id;
        let line = before.brakes.iter().find(|line| line.brake == *id);
        let runs = line.map_or(&[][..], |line| line.runs.as_slice());
        let runs = (runs, in_force);
        let (frozen, others) = frozen_and_others(problem, brake, runs, &mut placed);
        let first = &mut pinned[brake];
        first.extend(frozen);
        fixed[brake] = first.len();
        // Those with a place come next, with the tools they had.
        for usual in problem.placed(brake) {
            let same_job = |slot: &&Slot| slot.job == usual.job;
            let is_out = Some(problem.jobs[usual.job].order) == left_out;
            if is_out || first[..fixed[brake]].iter().any(|slot| same_job(&slot)) {
                continue;
            }
            let had = others.iter().find(same_job).copied();
            if had.is_none() {
                new_here.push((brake, first.len()));
            }
            placed[usual.job] = true;
            first.push(had.unwrap_or(*usual));
        }
        let loose = |slot: &Slot| first.iter().all(|first| first.job != slot.job);
        let others = others.into_iter().filter(loose);
        lines.machines[brake] = first.iter().copied().chain(others).collect();
    }
    put_in_others(problem, scratch, before, &placed, (&mut lines, &pinned));
    for (brake, at) in new_here.into_iter().take(TRIED_WELL) {
        let slot = best_tools(problem, scratch, &mut lines, brake, at);
        pinned[brake][at] = slot;
    }
    Carried {
        lines,
        pinned,
        fixed,
    }
}

/// Puts in the jobs that the plan made before has no run for.
fn put_in_others(
    problem: &Problem<'_>,
    scratch: &mut Scratch,
    before: &Plan,
    placed: &[bool],
    (lines, pinned): (&mut Sequences, &[Vec<Slot>]),
) {
    let had_none = |job: usize| {
        let unplaced = &before.unplaced;
        unplaced
            .iter()
            .any(|one| is_order(problem, job, &one.order))
    };
    let open = (0..placed.len()).filter(|&job| !placed[job]);
    let (old, mut new): (Vec<usize>, Vec<usize>) = open.partition(|&job| had_none(job));
    new.sort_by_key(|&job| (due(problem, job), job));
    let well = new.len() <= TRIED_WELL;
    for job in new {
        insert(problem, scratch, lines, pinned, (job, well), i64::MAX);
    }
    // What found no place then is left out again unless it makes the plan better now; at the end of
    // a line it may cost more than without a place.
    for job in old.into_iter().take(TRIED_WELL) {
        let without = time(problem, scratch, lines, i64::MAX, None);
        insert(problem, scratch, lines, pinned, (job, false), without);
    }
}

/// The runs of a brake in the plan made before that are not over: those that are frozen, the order
/// in progress aside, and the others. A plan that is not in force froze none.
fn frozen_and_others(
    problem: &Problem<'_>,
    brake: usize,
    (runs, in_force): (&[Run], bool),
    placed: &mut [bool],
) -> (Vec<Slot>, Vec<Slot>) {
    let frozen_until = problem.from + problem.shop.rules.frozen;
    let (mut frozen, mut others) = (Vec::new(), Vec::new());
    let mut is_frozen = in_force;
    let in_progress = problem.pinned[brake][..problem.fixed[brake]].first();
    let left = |run: &&Run| run.end > problem.from;
    let mut runs = runs.iter().filter(left).peekable();
    // The order in progress has its place already.
    runs.next_if(|run| in_progress.is_some_and(|slot| is_order(problem, slot.job, &run.order)));
    for run in runs {
        is_frozen &= run.start < frozen_until;
        let Some(slot) = slot_of(problem, brake, run, placed) else {
            continue;
        };
        placed[slot.job] = true;
        if is_frozen {
            frozen.push(slot);
        } else {
            others.push(slot);
        }
    }
    (frozen, others)
}

/// Chooses the tools with which a run that has its place costs least.
fn best_tools(
    problem: &Problem<'_>,
    scratch: &mut Scratch,
    lines: &mut Sequences,
    brake: usize,
    at: usize,
) -> Slot {
    let mut best = lines.machines[brake][at];
    let mut least = time(problem, scratch, lines, i64::MAX, None);
    for way in 0..problem.ways[best.job].len() {
        let slot = Slot { way, ..best };
        if problem.ways[slot.job][way].brake != brake || slot == best {
            continue;
        }
        lines.machines[brake][at] = slot;
        let cost = time(problem, scratch, lines, least, None);
        if cost < least {
            (best, least) = (slot, cost);
        }
    }
    lines.machines[brake][at] = best;
    best
}

fn is_order(problem: &Problem<'_>, job: usize, order: &OrderId) -> bool {
    problem.shop.orders[problem.jobs[job].order].id == *order
}

/// The job that a run was for, and the way in which it was done, if both are still there.
fn slot_of(problem: &Problem<'_>, brake: usize, run: &Run, placed: &[bool]) -> Option<Slot> {
    let of_order = |&job: &usize| !placed[job] && is_order(problem, job, &run.order);
    let open = || (0..placed.len()).filter(of_order);
    let same_share = open().find(|&job| problem.jobs[job].quantity == run.quantity);
    let job = same_share.or_else(|| open().next())?;
    let ways = &problem.ways[job];
    let there = |way: &usize| ways[*way].brake == brake;
    let same = (0..ways.len()).find(|way| there(way) && same_tools(problem, &ways[*way], run));
    let way = same.or_else(|| (0..ways.len()).find(there))?;
    Some(Slot { job, way })
}

fn same_tools(problem: &Problem<'_>, option: &ToolingOption, run: &Run) -> bool {
    let profile = |index: usize| problem.shop.profiles[index].id();
    option.need_of_hit.len() == run.bends.len()
        && option
            .need_of_hit
            .iter()
            .zip(&run.bends)
            .all(|(&need, bend)| {
                let need = &option.needs[need];
                run.bed.get(bend.station).is_some_and(|station| {
                    station.punch == *profile(need.punch) && station.die == *profile(need.die)
                })
            })
}

/// Puts a job where the plan then costs least, and less than `most`: by due time on each of its
/// brakes, and beside its like; never before what is pinned.
fn insert(
    problem: &Problem<'_>,
    scratch: &mut Scratch,
    lines: &mut Sequences,
    pinned: &[Vec<Slot>],
    (job, well): (usize, bool),
    most: i64,
) {
    let mut best: Option<(i64, usize, usize, Slot)> = None;
    let mut brakes_seen = Vec::new();
    for (way, option) in problem.ways[job].iter().enumerate() {
        if brakes_seen.contains(&option.brake) {
            continue;
        }
        brakes_seen.push(option.brake);
        let first = pinned[option.brake].len();
        let slot = Slot { job, way };
        for at in places(problem, &lines.machines[option.brake], first, job, well) {
            lines.machines[option.brake].insert(at, slot);
            let limit = best.map_or(most, |(cost, ..)| cost);
            let cost = time(problem, scratch, lines, limit, None);
            lines.machines[option.brake].remove(at);
            if cost < limit || (best.is_none() && most == i64::MAX) {
                best = Some((cost, option.brake, at, slot));
            }
        }
    }
    if let Some((_, brake, at, slot)) = best {
        lines.machines[brake].insert(at, slot);
    }
}

fn places(
    problem: &Problem<'_>,
    line: &[Slot],
    first: usize,
    job: usize,
    well: bool,
) -> Vec<usize> {
    let mine: Moment = due(problem, job);
    let later = line[first..]
        .iter()
        .position(|slot| due(problem, slot.job) > mine);
    let mut places = vec![later.map_or(line.len(), |at| first + at)];
    if well {
        let alike = problem.alike[job].iter().filter_map(|&other| {
            let at = line.iter().position(|slot| slot.job == other)?;
            Some((at + 1).max(first))
        });
        places.extend(alike.take(ALIKE_TRIED));
        places.push(first);
    }
    places.sort_unstable();
    places.dedup();
    places
}

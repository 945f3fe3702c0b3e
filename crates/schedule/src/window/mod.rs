//! Large shops: the search looks at one stretch of a few brakes at a time.
//!
//! Timing a thousand runs to judge one move is too slow to try many. So the runs of a stretch are
//! rearranged among themselves, timed from the state in which the runs before leave the shop, and
//! what comes after is priced: a brake that is free a second later makes every promise that it keeps
//! late afterwards a second later. Brakes outside the group keep the people and the sections that
//! they have in the plan as it is. All that is only a first guess, so a stretch is taken over only
//! when the whole plan, timed as always, costs less. A rolling horizon; the price is the dual of a
//! delay in the plan as it is.

mod group;
mod stretch;
mod within;

use crate::problem::Problem;
use crate::timing::{Scratch, time};
use group::Groups;
use search::{Effort, Outcome, Progress, Sequences, Stop, StopReason, solve};
use stretch::Window;
use within::Within;

/// Jobs up to which the whole plan is searched at once.
const WHOLE_MOST: usize = 400;
/// Runs in a stretch, over all brakes of its group.
const STRETCH: usize = 200;
/// Steps in each stretch of the first pass, and in each after it.
const FIRST_PASS: u64 = 1_000;
const STEPS: u64 = 400;
/// Steps that a chain is worth having for.
const CHAIN_LEAST: u64 = 500;
/// Stretches in a row in which nothing could be moved, after which the search ends.
const IDLE_MOST: usize = 100;

/// Improves a start: all at once, or stretch by stretch when there are many jobs.
pub fn improve(
    problem: &Problem<'_>,
    start: Sequences,
    effort: Effort,
    stop: &mut dyn Stop,
    progress: &mut dyn Progress,
) -> Outcome {
    if problem.jobs.len() <= WHOLE_MOST {
        return solve(problem, start, effort, stop, progress);
    }
    let mut scratch = Scratch::default();
    let cost = time(problem, &mut scratch, &start, i64::MAX, None);
    progress.better(0, cost);
    let mut rolling = Rolling {
        problem,
        groups: Groups::new(problem, effort.seed),
        pains: Vec::new(),
        scratch,
        best: start,
        cost,
        steps: 0,
    };
    rolling.scratch.pains(problem, &mut rolling.pains);
    let mut idle = 0;
    while idle < IDLE_MOST && !stop.now(rolling.steps) {
        let before = rolling.steps;
        rolling.stretch(effort, stop, progress);
        idle = if rolling.steps == before { idle + 1 } else { 0 };
    }
    Outcome {
        best: rolling.best,
        cost: rolling.cost,
        steps: rolling.steps,
        reason: StopReason::Asked,
    }
}

struct Rolling<'a, 's> {
    problem: &'a Problem<'s>,
    groups: Groups,
    scratch: Scratch,
    best: Sequences,
    cost: i64,
    /// Of each job, in the best plan.
    pains: Vec<i64>,
    steps: u64,
}

impl Rolling<'_, '_> {
    fn stretch(&mut self, effort: Effort, stop: &mut dyn Stop, progress: &mut dyn Progress) {
        let Some(spot) = self.groups.next(&self.best, &self.pains) else {
            return;
        };
        let cut = Window::cut(
            self.problem,
            &mut self.scratch,
            &self.best,
            &spot,
            &self.pains,
        );
        let Some((window, lines)) = cut else {
            return;
        };
        let mut within = Within {
            outer: stop,
            done: self.steps,
            most: spot.steps,
        };
        let chains = usize::try_from(spot.steps / CHAIN_LEAST).unwrap_or(usize::MAX);
        let effort = Effort {
            // Another stretch, other dice.
            seed: effort.seed.wrapping_add(self.steps),
            chains: effort.chains.min(chains).max(1),
            ..effort
        };
        let outcome = solve(&window, lines, effort, &mut within, &mut ());
        self.steps += outcome.steps;
        let whole = window.put_back(&self.best, &outcome.best);
        let cost = time(self.problem, &mut self.scratch, &whole, self.cost, None);
        if cost < self.cost {
            self.cost = cost;
            self.best = whole;
            self.scratch.pains(self.problem, &mut self.pains);
            progress.better(self.steps, cost);
        }
    }
}

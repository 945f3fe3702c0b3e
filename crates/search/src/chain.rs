//! One chain of simulated annealing.

use crate::moves::shake;
use crate::solve::Part;
use crate::{Effort, Mix, Outcome, Problem, Sequences, StopReason, Touched};
use rand::{Rng, RngExt, SeedableRng};
use rand_pcg::Pcg64;

/// Trial moves from the start by which the temperature scale is set.
const TRIALS: u32 = 120;
/// Start temperature as a share of the median worsening of a trial move; hotter forgets the start.
const HOT: f64 = 0.004;
/// With few jobs hardly any move changes little, and [`HOT`] accepts none that worsens: the start
/// share is this over the cube of the number of jobs where that is hotter, up to [`HOTTEST`].
const FEW_JOBS: f64 = 50.0;
/// Start share of the smallest problems, half the median worsening: nearly a random walk.
const HOTTEST: f64 = 0.5;
/// End temperature of a cycle as a share of its start.
const COLD: f64 = 0.004;

/// Temperature at the start of a cycle.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Heat(f64);

/// A walk through answers.
pub(crate) struct Chain<P: Problem> {
    rng: Pcg64,
    mix: Mix,
    scratch: P::Scratch,
    pains: Vec<i64>,
    current: Sequences,
    cost: i64,
    /// The same as `current` between steps.
    candidate: Sequences,
    best: Sequences,
    best_cost: i64,
}

impl<P: Problem> Chain<P> {
    pub(crate) fn new(problem: &P, start: Sequences, effort: Effort, index: usize) -> Chain<P> {
        // Generators of neighbouring seeds have nothing in common, whatever the index.
        let own = (index as u64).wrapping_mul(0x9E37_79B9_7F4A_7C15);
        let mut chain = Chain {
            rng: Pcg64::seed_from_u64(effort.seed ^ own),
            mix: effort.mix,
            scratch: problem.scratch(),
            pains: Vec::new(),
            current: start.clone(),
            cost: 0,
            candidate: start.clone(),
            best: start,
            best_cost: 0,
        };
        chain.settle(problem);
        chain.best_cost = chain.cost;
        chain
    }

    pub(crate) fn best(&self) -> &Sequences {
        &self.best
    }

    pub(crate) fn best_cost(&self) -> i64 {
        self.best_cost
    }

    pub(crate) fn finish(self, steps: u64, reason: StopReason) -> Outcome {
        Outcome {
            best: self.best,
            cost: self.best_cost,
            steps,
            reason,
        }
    }

    /// Evaluates the current answer afresh.
    fn settle(&mut self, problem: &P) {
        self.cost = problem.cost(&mut self.scratch, &self.current, i64::MAX);
        problem.pains(&self.scratch, &mut self.pains);
    }

    /// Goes on from another answer.
    pub(crate) fn restart(&mut self, problem: &P, answer: &Sequences, cost: i64) {
        self.current.clone_from(answer);
        self.candidate.clone_from(answer);
        if cost < self.best_cost {
            self.best.clone_from(answer);
            self.best_cost = cost;
        }
        self.settle(problem);
    }

    /// The temperature at which cycles start, from the worsening of trial moves; `None` when no
    /// move changes anything.
    #[allow(clippy::cast_precision_loss)] // costs and job counts far below 2^52
    pub(crate) fn measure(&mut self, problem: &P) -> Option<Heat> {
        let mut worsenings = Vec::new();
        let mut moved = false;
        for _ in 0..TRIALS {
            let touched = shake(problem, self.mix, &mut self.candidate, &[], &mut self.rng);
            if let Some(touched) = touched {
                moved = true;
                let limit = i64::MAX;
                let cost = problem.trial(&mut self.scratch, &self.candidate, &touched, limit);
                if cost > self.cost {
                    worsenings.push(cost - self.cost);
                }
                self.take_back(&touched);
            }
        }
        worsenings.sort_unstable();
        let median = worsenings.get(worsenings.len() / 2).copied().unwrap_or(1);
        let few = FEW_JOBS / (problem.jobs().max(1) as f64).powi(3);
        self.settle(problem);
        moved.then_some(Heat(few.clamp(HOT, HOTTEST) * median as f64))
    }

    pub(crate) fn advance(&mut self, problem: &P, part: &Part) {
        for step in part.from..part.from + part.steps {
            self.step(problem, part.heat.0 * cooling(step, part.cycle));
        }
    }

    fn step(&mut self, problem: &P, temperature: f64) {
        let answer = &mut self.candidate;
        let Some(touched) = shake(problem, self.mix, answer, &self.pains, &mut self.rng) else {
            return;
        };
        // Drawn before the evaluation, so that a hopeless one can stop early.
        let limit = self.cost + allowance(temperature, &mut self.rng);
        let cost = problem.trial(&mut self.scratch, &self.candidate, &touched, limit);
        if cost > limit {
            self.take_back(&touched);
            return;
        }
        problem.keep(&mut self.scratch, &self.candidate, &touched);
        copy_touched(&touched, &self.candidate, &mut self.current);
        self.cost = cost;
        problem.pains(&self.scratch, &mut self.pains);
        if cost < self.best_cost {
            self.best_cost = cost;
            self.best.clone_from(&self.current);
        }
    }

    fn take_back(&mut self, touched: &Touched) {
        copy_touched(touched, &self.current, &mut self.candidate);
    }
}

/// Copies the lines that a move may have changed.
fn copy_touched(touched: &Touched, from: &Sequences, to: &mut Sequences) {
    for &(machine, position) in touched.spots() {
        let (source, line) = (&from.machines[machine], &mut to.machines[machine]);
        line.truncate(position);
        line.extend_from_slice(&source[line.len()..]);
    }
}

/// Temperature factor within a cycle: geometric from 1 to [`COLD`].
#[allow(clippy::cast_precision_loss)]
fn cooling(step: u64, cycle: u64) -> f64 {
    COLD.powf(step as f64 / cycle as f64)
}

/// How much worse an answer may be and still be taken: exponentially distributed with the
/// temperature as its mean, which is the Metropolis rule with the draw made first.
#[allow(clippy::cast_possible_truncation)] // `as` saturates
fn allowance<R: Rng>(temperature: f64, rng: &mut R) -> i64 {
    let draw: f64 = rng.random_range(f64::MIN_POSITIVE..1.0);
    (-draw.ln() * temperature) as i64
}

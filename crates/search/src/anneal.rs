//! The loop: simulated annealing in cycles of doubling length.
//!
//! S. Kirkpatrick, C. D. Gelatt and M. P. Vecchi, "Optimization by Simulated Annealing", Science
//! 220 (1983) \[memory\]. Cycles make it anytime: each starts from the best answer so far, and
//! because each is twice as long as the one before, at least half of any budget is spent in cycles
//! that were finished or nearly so, without knowing the budget.

use crate::moves::shake;
use crate::{Problem, Sequences};
use rand::{Rng, RngExt, SeedableRng};
use rand_pcg::Pcg64;

/// Steps of the first cycle. Shorter ones cool before every job has been moved once.
const FIRST_CYCLE: u64 = 2_000;
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

/// When to stop; asked after every step with the number of steps done.
pub trait Stop {
    /// Whether to stop now.
    fn now(&mut self, steps: u64) -> bool;
}

impl<F: FnMut(u64) -> bool> Stop for F {
    fn now(&mut self, steps: u64) -> bool {
        self(steps)
    }
}

/// Told of every better answer.
pub trait Progress {
    /// A better cost was found at this step.
    fn better(&mut self, step: u64, cost: i64);
}

impl Progress for () {
    fn better(&mut self, _step: u64, _cost: i64) {}
}

/// Why the search ended.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum StopReason {
    /// The caller's [`Stop`] said so.
    Asked,
    /// There is nothing to move.
    NothingToMove,
}

/// What the search found.
#[derive(Clone, Debug)]
pub struct Outcome {
    /// The best answer.
    pub best: Sequences,
    /// Its cost.
    pub cost: i64,
    /// Steps done.
    pub steps: u64,
    /// Why it ended.
    pub reason: StopReason,
}

/// Improves `start`, which must be well formed (each job at most once, at a place of its own,
/// pinned slots first). The answer's cost is never above the start's.
pub fn solve<P: Problem>(
    problem: &P,
    start: Sequences,
    seed: u64,
    stop: &mut dyn Stop,
    progress: &mut dyn Progress,
) -> Outcome {
    let mut rng = Pcg64::seed_from_u64(seed);
    let mut scratch = problem.scratch();
    let cost = problem.cost(&mut scratch, &start, i64::MAX);
    let mut pains = Vec::new();
    problem.pains(&scratch, &mut pains);
    let mut walk = Walk {
        current: start.clone(),
        cost,
        best: start,
        best_cost: cost,
    };
    progress.better(0, cost);
    let Some(hot) = temperature(problem, &mut scratch, &walk, &mut rng) else {
        return walk.finish(0, StopReason::NothingToMove);
    };
    let mut candidate = walk.current.clone();
    let (mut steps, mut cycle, mut in_cycle) = (0, FIRST_CYCLE, 0);
    while !stop.now(steps) {
        steps += 1;
        candidate.clone_from(&walk.current);
        if shake(problem, &mut candidate, &pains, &mut rng) {
            // Drawn before the evaluation, so that a hopeless one can stop early.
            let limit = walk.cost + allowance(hot * cooling(in_cycle, cycle), &mut rng);
            let cost = problem.cost(&mut scratch, &candidate, limit);
            if cost <= limit {
                std::mem::swap(&mut walk.current, &mut candidate);
                walk.cost = cost;
                problem.pains(&scratch, &mut pains);
                if cost < walk.best_cost {
                    walk.best_cost = cost;
                    walk.best.clone_from(&walk.current);
                    progress.better(steps, cost);
                }
            }
        }
        in_cycle += 1;
        if in_cycle == cycle {
            (cycle, in_cycle) = (cycle * 2, 0);
            walk.current.clone_from(&walk.best);
            walk.cost = problem.cost(&mut scratch, &walk.current, i64::MAX);
            problem.pains(&scratch, &mut pains);
        }
    }
    walk.finish(steps, StopReason::Asked)
}

struct Walk {
    current: Sequences,
    cost: i64,
    best: Sequences,
    best_cost: i64,
}

impl Walk {
    fn finish(self, steps: u64, reason: StopReason) -> Outcome {
        Outcome {
            best: self.best,
            cost: self.best_cost,
            steps,
            reason,
        }
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

/// The start temperature, from the worsening of trial moves; `None` when no move changes anything.
#[allow(clippy::cast_precision_loss)]
fn temperature<P: Problem, R: Rng>(
    problem: &P,
    scratch: &mut P::Scratch,
    walk: &Walk,
    rng: &mut R,
) -> Option<f64> {
    let mut worsenings = Vec::new();
    let mut moved = false;
    let mut trial = walk.current.clone();
    for _ in 0..TRIALS {
        trial.clone_from(&walk.current);
        if shake(problem, &mut trial, &[], rng) {
            moved = true;
            let worse = problem.cost(scratch, &trial, i64::MAX) - walk.cost;
            if worse > 0 {
                worsenings.push(worse);
            }
        }
    }
    worsenings.sort_unstable();
    let median = worsenings.get(worsenings.len() / 2).copied().unwrap_or(1);
    let few = FEW_JOBS / (problem.jobs().max(1) as f64).powi(3);
    moved.then_some(few.clamp(HOT, HOTTEST) * median as f64)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{Place, Slot};

    /// One machine; the cost is the distance walked between neighbouring numbers.
    struct Line {
        at: Vec<i64>,
        places: Vec<Place>,
        pinned: Vec<Slot>,
    }

    impl Problem for Line {
        type Scratch = ();
        fn scratch(&self) {}
        fn machines(&self) -> usize {
            1
        }
        fn jobs(&self) -> usize {
            self.at.len()
        }
        fn places(&self, _job: usize) -> &[Place] {
            &self.places
        }
        fn pinned(&self, _machine: usize) -> &[Slot] {
            &self.pinned
        }
        fn alike(&self, _job: usize) -> &[usize] {
            &[]
        }
        fn cost(&self, (): &mut (), sequences: &Sequences, _limit: i64) -> i64 {
            let slots = &sequences.machines[0];
            slots
                .windows(2)
                .map(|pair| (self.at[pair[0].job] - self.at[pair[1].job]).abs())
                .sum()
        }
    }

    fn line() -> (Line, Sequences) {
        let at: Vec<i64> = (0..20).map(|i| (i * 7) % 20).collect();
        let pinned = vec![Slot { job: 0, way: 0 }];
        let start = Sequences {
            machines: vec![(0..20).map(|job| Slot { job, way: 0 }).collect()],
        };
        (
            Line {
                at,
                places: vec![Place { machine: 0, way: 0 }],
                pinned,
            },
            start,
        )
    }

    #[test]
    fn sorts_a_line_and_leaves_the_pinned_slot_first() {
        let (line, start) = line();
        let outcome = solve(&line, start, 1, &mut |steps| steps >= 20_000, &mut ());
        assert_eq!(outcome.cost, 19);
        assert_eq!(outcome.best.machines[0][0].job, 0);
        assert_eq!(outcome.best.len(), 20);
    }

    #[test]
    fn same_seed_and_steps_give_the_same_answer() {
        let (line, start) = line();
        let run = |seed| {
            solve(
                &line,
                start.clone(),
                seed,
                &mut |steps| steps >= 300,
                &mut (),
            )
            .best
        };
        assert_eq!(run(3), run(3));
        assert_ne!(run(3), run(4));
    }

    #[test]
    fn nothing_to_move_is_said() {
        let (line, _) = line();
        let start = Sequences {
            machines: vec![vec![Slot { job: 0, way: 0 }]],
        };
        let outcome = solve(&line, start, 1, &mut |_| false, &mut ());
        assert_eq!(outcome.reason, StopReason::NothingToMove);
    }
}

//! The loop: chains of simulated annealing side by side, in cycles that grow by a fifth.
//!
//! S. Kirkpatrick, C. D. Gelatt and M. P. Vecchi, "Optimization by Simulated Annealing", Science
//! 220 (1983) \[memory\]. Cycles make it anytime: whenever it is stopped, at most a sixth of the
//! steps were in the cycle that was not finished. A cycle starts from the best answer so far of all
//! chains; long ones start from a child of two of the best answers five times of six.
//!
//! Chains know nothing of one another within a cycle, so that threads only decide how soon the
//! answer is there, never which it is.

use crate::chain::Chain;
use crate::elite::Elite;
use crate::{Mix, Problem, Sequences};

/// Steps of the first cycle of each chain. Shorter ones cool before every job has been moved once.
const FIRST_CYCLE: u64 = 2_000;
/// A cycle is longer than the one before by this part of it.
const GROWTH: u64 = 5;
/// Cycles in which every job is moved so many times may start from a child of two answers: shorter
/// ones would not mend it.
const LONG: u64 = 300;
/// Every so many-th long cycle starts from the best answer nevertheless.
const FROM_BEST: u64 = 6;
/// Most steps of each chain between two looks at [`Stop`].
const ROUND: u64 = 1 << 14;

/// Something that the search can be told to do without, to see what it is worth.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Habit {
    /// Cycles that grow; all are as long as the first instead.
    GrowingCycles,
    /// Children of two answers; every cycle starts from the best instead.
    Crossing,
    /// Cycles that breed, where a problem allows them; all anneal instead.
    Breeding,
    /// Guesses of what changes promise, where a problem has them; the first that is drawn is evaluated.
    Forecasts,
    /// Evaluations given up as soon as they seem to come out too dear, where a problem does that; every one
    /// goes on until that is sure.
    GivingUp,
    /// Temperatures in the scale of samples; they are shares of the cost instead.
    ScaledHeat,
}

/// How the work is done. What a plan depends on is all here, but for the threads.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Effort {
    /// Number the chains' generators start from.
    pub seed: u64,
    /// Chains side by side, at least 1.
    pub chains: usize,
    /// Threads they are spread over, at least 1; has no influence on the answer.
    pub threads: usize,
    /// How often each kind of move is tried.
    pub mix: Mix,
    /// What is left out, if anything.
    pub without: Option<Habit>,
}

impl Effort {
    /// One chain in one thread.
    #[must_use]
    pub fn single(seed: u64) -> Effort {
        Effort {
            seed,
            chains: 1,
            threads: 1,
            mix: Mix::default(),
            without: None,
        }
    }
}

/// When to stop.
pub trait Stop {
    /// Whether to stop now, all chains together having done so many steps.
    fn now(&mut self, steps: u64) -> bool;
    /// How many more steps may be done before asking again; as many as the search likes when not
    /// told otherwise.
    fn at_most(&self, steps: u64) -> u64 {
        let _ = steps;
        u64::MAX
    }
}

/// Asked after every step.
impl<F: FnMut(u64) -> bool> Stop for F {
    fn now(&mut self, steps: u64) -> bool {
        self(steps)
    }
    fn at_most(&self, _steps: u64) -> u64 {
        1
    }
}

/// Told of every better answer that is noticed.
pub trait Progress {
    /// A better cost was there after so many steps of all chains.
    fn better(&mut self, steps: u64, cost: i64);
}

impl Progress for () {
    fn better(&mut self, _steps: u64, _cost: i64) {}
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
    /// Steps done, all chains together.
    pub steps: u64,
    /// Why it ended.
    pub reason: StopReason,
}

/// Improves `start`, which must be well formed (each job at most once, at a place of its own,
/// pinned slots first). The answer's cost is never above the start's.
pub fn solve<P: Problem>(
    problem: &P,
    start: Sequences,
    effort: Effort,
    stop: &mut dyn Stop,
    progress: &mut dyn Progress,
) -> Outcome {
    let mut first = Chain::new(problem, start, effort, 0);
    let mut known = first.best_standing();
    progress.better(0, known.0);
    if !first.can_move(problem) {
        return first.finish(0, StopReason::NothingToMove);
    }
    let start = first.best().clone();
    let more =
        (1..effort.chains.max(1)).map(|index| Chain::new(problem, start.clone(), effort, index));
    let mut chains: Vec<Chain<P>> = std::iter::once(first).chain(more).collect();
    let count = chains.len() as u64;
    let (mut steps, mut cycle, mut in_cycle) = (0, Cycle::first(), 0);
    let kinds = Kinds::of(problem, effort.without);
    let mut elite = Elite::default();
    elite.add(known, &start);
    while !stop.now(steps) {
        let asked = stop.at_most(steps).div_ceil(count);
        let round = asked.min(ROUND).min(cycle.length - in_cycle).max(1);
        let part = Part {
            cycle: cycle.length,
            kind: kinds.of_cycle(cycle),
            from: in_cycle,
            steps: round,
        };
        advance(problem, &mut chains, &part, effort.threads);
        in_cycle += round;
        steps += round * count;
        let found = chains[best_of(&chains)].best_standing();
        if found < known {
            if found.0 < known.0 {
                progress.better(steps, found.0);
            }
            known = found;
        }
        if in_cycle == cycle.length {
            for chain in &chains {
                elite.add(chain.best_standing(), chain.best());
            }
            (cycle, in_cycle) = (cycle.next(effort.without), 0);
            for chain in &mut chains {
                chain.restart(problem, &elite, kinds.of_cycle(cycle));
            }
        }
    }
    for chain in &chains {
        elite.add(chain.best_standing(), chain.best());
    }
    let mut outcome = chains.swap_remove(0).finish(steps, StopReason::Asked);
    if let Some((standing, answer)) = elite.best() {
        outcome.cost = standing.0;
        outcome.best.clone_from(answer);
    }
    outcome
}

/// Steps of each chain between two restarts.
#[derive(Clone, Copy)]
struct Cycle {
    length: u64,
    /// Cycles before it.
    number: u64,
}

impl Cycle {
    fn first() -> Cycle {
        Cycle {
            length: FIRST_CYCLE,
            number: 0,
        }
    }

    fn next(self, without: Option<Habit>) -> Cycle {
        let more = match without {
            Some(Habit::GrowingCycles) => 0,
            _ => self.length / GROWTH,
        };
        Cycle {
            length: self.length + more,
            number: self.number + 1,
        }
    }
}

/// What a cycle is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Kind {
    /// Annealing from the best answer.
    FromBest,
    /// Annealing from a child of two of the best.
    FromChild,
    /// Breeding.
    Breeding,
}

/// What the kinds of cycles depend on.
#[derive(Clone, Copy)]
struct Kinds {
    jobs: u64,
    scans: bool,
    without: Option<Habit>,
}

impl Kinds {
    fn of<P: Problem>(problem: &P, without: Option<Habit>) -> Kinds {
        Kinds {
            jobs: problem.jobs() as u64,
            scans: problem.scans() && without != Some(Habit::Breeding),
            without,
        }
    }

    /// Where a problem allows breeding, only the first cycle anneals.
    fn of_cycle(self, cycle: Cycle) -> Kind {
        if self.scans && cycle.number > 0 {
            return Kind::Breeding;
        }
        let long = cycle.length / LONG >= self.jobs;
        let crosses =
            self.without != Some(Habit::Crossing) && !cycle.number.is_multiple_of(FROM_BEST);
        if long && crosses {
            Kind::FromChild
        } else {
            Kind::FromBest
        }
    }
}

/// A part of a cycle.
pub(crate) struct Part {
    /// Steps of the whole cycle.
    pub(crate) cycle: u64,
    /// What it is.
    pub(crate) kind: Kind,
    /// Steps of it that are done.
    pub(crate) from: u64,
    /// Steps to do now.
    pub(crate) steps: u64,
}

/// The chain with the best answer, the first of equals.
fn best_of<P: Problem>(chains: &[Chain<P>]) -> usize {
    let costs = chains.iter().map(Chain::best_standing).enumerate();
    costs
        .min_by_key(|&(index, standing)| (standing, index))
        .map_or(0, |(index, _)| index)
}

fn advance<P: Problem>(problem: &P, chains: &mut [Chain<P>], part: &Part, threads: usize) {
    let each = chains.len().div_ceil(threads.max(1));
    if each >= chains.len() {
        for chain in chains {
            chain.advance(problem, part);
        }
        return;
    }
    std::thread::scope(|scope| {
        let mut groups = chains.chunks_mut(each);
        let own = groups.next();
        for group in groups {
            scope.spawn(move || {
                for chain in group {
                    chain.advance(problem, part);
                }
            });
        }
        for chain in own.into_iter().flatten() {
            chain.advance(problem, part);
        }
    });
}

#[cfg(test)]
pub(crate) mod tests {
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
        let outcome = solve(
            &line,
            start,
            Effort::single(1),
            &mut |steps| steps >= 20_000,
            &mut (),
        );
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
                Effort::single(seed),
                &mut |steps| steps >= 300,
                &mut (),
            )
            .best
        };
        assert_eq!(run(3), run(3));
        assert_ne!(run(3), run(4));
    }

    /// Does not want to be asked before.
    pub(crate) struct After(pub(crate) u64);

    impl Stop for After {
        fn now(&mut self, steps: u64) -> bool {
            steps >= self.0
        }
        fn at_most(&self, steps: u64) -> u64 {
            self.0 - steps
        }
    }

    /// Long enough for cycles that start from children of two answers.
    #[test]
    fn threads_have_no_influence_on_the_answer() {
        let (line, start) = line();
        let run = |threads| {
            let effort = Effort {
                chains: 3,
                threads,
                ..Effort::single(5)
            };
            let mut stop = After(60_000);
            let outcome = solve(&line, start.clone(), effort, &mut stop, &mut ());
            (outcome.best, outcome.cost, outcome.steps)
        };
        assert_eq!(run(1), run(3));
    }

    #[test]
    fn cycles_grow_by_a_fifth_and_the_long_ones_cross() {
        let cycle = Cycle::first().next(None);
        assert_eq!((cycle.length, cycle.number), (2_400, 1));
        let of = |jobs, without| Kinds {
            jobs,
            scans: false,
            without,
        };
        assert_eq!(of(8, None).of_cycle(cycle), Kind::FromChild);
        assert_eq!(of(9, None).of_cycle(cycle), Kind::FromBest);
        assert_eq!(of(8, Some(Habit::Crossing)).of_cycle(cycle), Kind::FromBest);
        let even = Cycle::first().next(Some(Habit::GrowingCycles));
        assert_eq!(even.length, FIRST_CYCLE);
        let sixth = (0..6).fold(Cycle::first(), |cycle, _| cycle.next(None));
        assert_eq!(of(1, None).of_cycle(sixth), Kind::FromBest);
    }

    #[test]
    fn nothing_to_move_is_said() {
        let (line, _) = line();
        let start = Sequences {
            machines: vec![vec![Slot { job: 0, way: 0 }]],
        };
        let outcome = solve(&line, start, Effort::single(1), &mut |_| false, &mut ());
        assert_eq!(outcome.reason, StopReason::NothingToMove);
    }
}

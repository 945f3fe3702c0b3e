//! One chain of simulated annealing, and of breeding where a problem allows it.

use crate::breeding::Breeding;
use crate::elite::Elite;
use crate::heat::{Heat, Samples, Shares};
use crate::moves::{Ground, Index, shake};
use crate::solve::{Kind, Part};
use crate::{Effort, Exchange, Habit, Mix, Outcome, Problem, Sequences, Slot, StopReason, Touched};
use rand::{RngExt, SeedableRng};
use rand_pcg::Pcg64;

/// A walk through answers.
pub(crate) struct Chain<P: Problem> {
    rng: Pcg64,
    mix: Mix,
    without: Option<Habit>,
    scratch: P::Scratch,
    pains: Vec<i64>,
    current: Sequences,
    cost: i64,
    index: Index,
    /// The same as `current` between steps.
    candidate: Sequences,
    best: Sequences,
    best_standing: Standing,
    heat: Heat,
    samples: Samples,
    breeding: Breeding,
    /// Room for exchanges.
    room: Vec<Slot>,
    /// Lines of the change that promises most.
    promising: [Vec<Slot>; 2],
}

/// Changes drawn for one that is evaluated, where a problem can guess: up to a share of the jobs, since the
/// more there are the longer an evaluation takes, and a guess hardly longer.
const DRAWN_OF_JOBS: usize = 4;
/// Steps at one temperature.
const STAIR: u64 = 32;

/// What an answer is judged by: its worth, then its cost.
pub(crate) type Standing = (i64, i64);

impl<P: Problem> Chain<P> {
    pub(crate) fn new(problem: &P, start: Sequences, effort: Effort, index: usize) -> Chain<P> {
        // Generators of neighbouring seeds have nothing in common, whatever the index.
        let own = (index as u64).wrapping_mul(0x9E37_79B9_7F4A_7C15);
        let mut chain = Chain {
            rng: Pcg64::seed_from_u64(effort.seed ^ own),
            mix: effort.mix,
            without: effort.without,
            scratch: problem.scratch(),
            pains: Vec::new(),
            current: start.clone(),
            cost: 0,
            index: Index::default(),
            candidate: start.clone(),
            best: start,
            best_standing: (0, 0),
            heat: Heat::default(),
            samples: Samples::default(),
            breeding: Breeding::default(),
            room: Vec::new(),
            promising: Default::default(),
        };
        chain.settle(problem);
        chain.best_standing = chain.standing(problem);
        chain
    }

    pub(crate) fn best(&self) -> &Sequences {
        &self.best
    }

    pub(crate) fn best_standing(&self) -> Standing {
        self.best_standing
    }

    pub(crate) fn finish(self, steps: u64, reason: StopReason) -> Outcome {
        Outcome {
            best: self.best,
            cost: self.best_standing.0,
            steps,
            reason,
        }
    }

    fn standing(&self, problem: &P) -> Standing {
        (problem.worth(&self.scratch, self.cost), self.cost)
    }

    /// Evaluates the current answer afresh.
    fn settle(&mut self, problem: &P) {
        self.cost = problem.cost(&mut self.scratch, &self.current, i64::MAX);
        problem.pains(&self.scratch, &mut self.pains);
        self.index.build(problem.jobs(), &self.current);
    }

    /// Goes on from the best answer so far, or from a child of two of the best.
    pub(crate) fn restart(&mut self, problem: &P, elite: &Elite, kind: Kind) {
        let child = (kind == Kind::FromChild)
            .then(|| elite.child(problem, &mut self.rng))
            .flatten();
        let start = child.as_ref().or(elite.best().map(|best| &best.1));
        if let Some(start) = start {
            self.current.clone_from(start);
        }
        self.candidate.clone_from(&self.current);
        self.best.clone_from(&self.current);
        self.settle(problem);
        self.best_standing = self.standing(problem);
        if kind == Kind::Breeding {
            self.breeding.begin(problem, &self.current, &mut self.rng);
        }
    }

    /// Whether any of a number of moves changes anything; leaves all as it was.
    pub(crate) fn can_move(&mut self, problem: &P) -> bool {
        (0..Samples::FIRST).any(|_| {
            let touched = self.shake(problem);
            if let Some(touched) = touched {
                self.take_back(&touched);
            }
            touched.is_some()
        })
    }

    fn shake(&mut self, problem: &P) -> Option<Touched> {
        let ground = Ground {
            problem,
            pains: &self.pains,
            index: &self.index,
        };
        let kind = self.mix.draw(&mut self.rng);
        shake(&ground, kind, &mut self.candidate, &mut self.rng)
    }

    pub(crate) fn advance(&mut self, problem: &P, part: &Part) {
        if part.kind == Kind::Breeding {
            for _ in 0..part.steps {
                self.breed(problem);
            }
        } else {
            self.anneal(problem, part);
        }
    }

    /// Looks at one row of exchanges; a child that none makes better is followed by the next.
    fn breed(&mut self, problem: &P) {
        let Some(row) = self.breeding.next_row() else {
            let standing = self.standing(problem);
            let grown = &self.current;
            let child = self
                .breeding
                .next_child(problem, standing, grown, &mut self.rng);
            self.current = child;
            self.candidate.clone_from(&self.current);
            self.cost = problem.cost(&mut self.scratch, &self.current, i64::MAX);
            self.breeding.begin(problem, &self.current, &mut self.rng);
            return;
        };
        if let Some(exchange) = problem.scan(&mut self.scratch, &self.current, row) {
            self.exchange(problem, &exchange);
        }
    }

    fn exchange(&mut self, problem: &P, exchange: &Exchange) {
        let touched = exchange.apply(&mut self.candidate, &mut self.room);
        let limit = self.cost - 1;
        let cost = problem.trial(&mut self.scratch, &self.candidate, &touched, limit);
        debug_assert!(cost <= limit, "an exchange was said to be better");
        if cost > limit {
            self.take_back(&touched);
            return;
        }
        problem.keep(&mut self.scratch, &self.candidate, &touched);
        copy_touched(&touched, &self.candidate, &mut self.current);
        self.cost = cost;
        self.breeding.improved();
        self.keep_best(problem);
    }

    fn anneal(&mut self, problem: &P, part: &Part) {
        let looks = Samples::of_cycle(part.cycle);
        let cooling = part.cycle - looks;
        let mut temperature = self
            .heat
            .at(part.from.saturating_sub(looks) / STAIR * STAIR, cooling);
        for step in part.from..part.from + part.steps {
            if step < looks {
                self.look(problem);
                if step + 1 == looks {
                    self.heat = self.heat_of(part, problem.jobs());
                }
                continue;
            }
            if (step - looks).is_multiple_of(STAIR) {
                temperature = self.heat.at(step - looks, cooling);
            }
            self.step(problem, temperature);
        }
    }

    /// The temperatures of the cycle that has been looked at.
    fn heat_of(&mut self, part: &Part, jobs: usize) -> Heat {
        let shares = Shares::of(part, jobs, &mut self.rng);
        let scaled = self.samples.heat(shares);
        match self.without {
            Some(Habit::ScaledHeat) => Heat::of_cost(self.cost),
            _ => scaled,
        }
    }

    /// Tries a move only to see how much worse it is.
    fn look(&mut self, problem: &P) {
        let Some(touched) = self.shake(problem) else {
            return;
        };
        let cost = problem.trial(&mut self.scratch, &self.candidate, &touched, i64::MAX);
        self.samples.add(cost - self.cost);
        self.take_back(&touched);
    }

    /// A change to be evaluated: any, or of several the one that promises most where that can be
    /// guessed. Sometimes many are drawn and sometimes few, since guesses err.
    fn propose(&mut self, problem: &P) -> Option<Touched> {
        if !problem.forecasts() || self.without == Some(Habit::Forecasts) {
            return self.shake(problem);
        }
        let most = (problem.jobs() / DRAWN_OF_JOBS).max(1).ilog2();
        let draws = 1 << self.rng.random_range(0..=most);
        if draws == 1 {
            return self.shake(problem);
        }
        let mut best: Option<(i64, Touched)> = None;
        for _ in 0..draws {
            let Some(touched) = self.shake(problem) else {
                continue;
            };
            let (base, candidate) = (&self.current, &self.candidate);
            let guess = problem.forecast(&self.scratch, base, candidate, &touched);
            if best.is_none_or(|(least, _)| guess < least) {
                best = Some((guess, touched));
                for (line, &(machine, _)) in self.promising.iter_mut().zip(touched.spots()) {
                    line.clone_from(&self.candidate.machines[machine]);
                }
            }
            self.take_back(&touched);
        }
        let (_, touched) = best?;
        for (line, &(machine, _)) in self.promising.iter().zip(touched.spots()) {
            self.candidate.machines[machine].clone_from(line);
        }
        Some(touched)
    }

    fn step(&mut self, problem: &P, temperature: f64) {
        let Some(touched) = self.propose(problem) else {
            return;
        };
        // Drawn before the evaluation, so that a hopeless one can stop early.
        let limit = self.cost + Heat::allowance(temperature, &mut self.rng);
        let (scratch, candidate) = (&mut self.scratch, &self.candidate);
        let cost = if self.without == Some(Habit::GivingUp) {
            problem.trial(scratch, candidate, &touched, limit)
        } else {
            problem.attempt(scratch, candidate, &touched, limit)
        };
        if cost > limit {
            self.take_back(&touched);
            return;
        }
        problem.keep(&mut self.scratch, &self.candidate, &touched);
        copy_touched(&touched, &self.candidate, &mut self.current);
        self.renew(&touched);
        self.cost = cost;
        problem.pains(&self.scratch, &mut self.pains);
        self.keep_best(problem);
    }

    fn keep_best(&mut self, problem: &P) {
        let standing = self.standing(problem);
        if standing < self.best_standing {
            self.best_standing = standing;
            self.best.clone_from(&self.current);
        }
    }

    fn take_back(&mut self, touched: &Touched) {
        copy_touched(touched, &self.current, &mut self.candidate);
    }

    fn renew(&mut self, touched: &Touched) {
        for (&(machine, from), &tail) in touched.spots().iter().zip(touched.tails()) {
            let line = &self.current.machines[machine];
            // In a line that has grown or shrunk the slots at its end have moved.
            let whole = touched.spots().len() > 1;
            let to = if whole { line.len() } else { line.len() - tail };
            self.index.renew(machine, line, from, to);
        }
    }
}

/// Copies the slots that a move may have changed.
fn copy_touched(touched: &Touched, from: &Sequences, to: &mut Sequences) {
    for (&(machine, position), &tail) in touched.spots().iter().zip(touched.tails()) {
        let (source, line) = (&from.machines[machine], &mut to.machines[machine]);
        if source.len() == line.len() {
            let end = line.len() - tail;
            line[position..end].copy_from_slice(&source[position..end]);
        } else {
            line.truncate(position);
            line.extend_from_slice(&source[position..]);
        }
    }
}

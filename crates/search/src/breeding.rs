//! Breeding: children of two answers, each taken down to where no exchange makes it better.
//!
//! A memetic algorithm \[memory: P. Moscato, "On evolution, search, optimization, genetic algorithms
//! and martial arts", Caltech 1989\] for problems that can tell quickly what becomes of an answer
//! when two stretches of a line change places ([`crate::Problem::scan`]). Where few jobs hurt, most
//! moves of an annealing change nothing; descents that look at long stretches find the few that do.

use crate::chain::Standing;
use crate::elite::cross;
use crate::exchange::{Row, rows};
use crate::{Problem, Sequences};
use rand::seq::SliceRandom;
use rand::{Rng, RngExt};

/// Answers that are parents.
const PARENTS: usize = 10;
/// After so many children for each parent without a better best answer the pool is drawn anew.
const BARREN: usize = 60;
/// Answers that differ in at most this part of the jobs are near. A pool of near ones has nothing left to
/// cross, so it holds but one of them.
const NEAR: usize = 6;

/// A pool of answers that no exchange makes better, and the descent of the next.
#[derive(Debug, Default)]
pub(crate) struct Breeding {
    pool: Vec<(Standing, Sequences)>,
    descent: Descent,
    /// Children since the best of the pool was found.
    barren: usize,
    /// Whether the best stays when the pool is drawn anew.
    keeps_best: bool,
}

impl Breeding {
    /// The next row to look at; `None` when all were looked at since the last exchange.
    pub(crate) fn next_row(&mut self) -> Option<Row> {
        self.descent.next_row()
    }

    /// Something was better: all rows are to be looked at again.
    pub(crate) fn improved(&mut self) {
        self.descent.left = self.descent.rows.len();
    }

    /// A new answer goes down from here.
    pub(crate) fn begin<P: Problem, R: Rng>(
        &mut self,
        problem: &P,
        answer: &Sequences,
        rng: &mut R,
    ) {
        self.descent.begin(problem, answer, rng);
    }

    /// Takes a grown child into the pool, and gives the next.
    pub(crate) fn next_child<P: Problem, R: Rng>(
        &mut self,
        problem: &P,
        standing: Standing,
        grown: &Sequences,
        rng: &mut R,
    ) -> Sequences {
        self.add(standing, grown, problem.jobs());
        if self.pool.len() >= PARENTS && self.barren > BARREN * PARENTS {
            self.renew();
        }
        if self.pool.len() < PARENTS {
            return shuffled(problem, grown, rng);
        }
        let one = rng.random_range(0..PARENTS);
        let two = (one + rng.random_range(1..PARENTS)) % PARENTS;
        let child = cross(problem, &self.pool[one].1, &self.pool[two].1, rng);
        child.unwrap_or_else(|| shuffled(problem, grown, rng))
    }

    /// An answer takes the place of the one it is near, or else of the worst, if it is better.
    fn add(&mut self, standing: Standing, grown: &Sequences, jobs: usize) {
        self.barren += 1;
        let standings = self.pool.iter().map(|(standing, _)| *standing);
        if standings.clone().all(|other| standing < other) {
            self.barren = 0;
        }
        let away = self.pool.iter().map(|(_, answer)| differing(answer, grown));
        let nearest = away.enumerate().min_by_key(|&(_, away)| away);
        let place = match nearest {
            Some((index, away)) if away * NEAR <= jobs => Some(index),
            _ if self.pool.len() < PARENTS => None,
            _ => {
                let worst = standings.enumerate().max_by_key(|&(_, standing)| standing);
                worst.map(|(index, _)| index)
            }
        };
        match place {
            None => self.pool.push((standing, grown.clone())),
            Some(index) if standing < self.pool[index].0 => {
                self.pool[index] = (standing, grown.clone());
            }
            Some(_) => {}
        }
    }

    /// Leaves nothing, or every other time the best alone: good answers may lie far apart.
    fn renew(&mut self) {
        let best = self.pool.drain(..).min_by_key(|(standing, _)| *standing);
        self.pool.extend(best.filter(|_| self.keeps_best));
        self.keeps_best = !self.keeps_best;
        self.barren = 0;
    }
}

/// Positions at which two answers differ.
fn differing(one: &Sequences, two: &Sequences) -> usize {
    let pairs = one.machines.iter().zip(&two.machines);
    let in_line = pairs.map(|(one, two)| {
        let both = one.iter().zip(two).filter(|(one, two)| one != two).count();
        both + one.len().abs_diff(two.len())
    });
    in_line.sum()
}

/// The same jobs on every machine in any order, pinned slots first.
fn shuffled<P: Problem, R: Rng>(problem: &P, answer: &Sequences, rng: &mut R) -> Sequences {
    let mut new = answer.clone();
    for (machine, line) in new.machines.iter_mut().enumerate() {
        line[problem.pinned(machine).len()..].shuffle(rng);
    }
    new
}

/// Looks at all rows in an order of its own, again and again until none helps.
#[derive(Debug, Default)]
struct Descent {
    rows: Vec<Row>,
    at: usize,
    stride: usize,
    /// Rows still to be looked at.
    left: usize,
}

impl Descent {
    fn begin<P: Problem, R: Rng>(&mut self, problem: &P, answer: &Sequences, rng: &mut R) {
        rows(
            answer,
            |machine| problem.pinned(machine).len(),
            &mut self.rows,
        );
        let count = self.rows.len();
        self.left = count;
        if count > 0 {
            self.at = rng.random_range(0..count);
            self.stride = stride(count, rng);
        }
    }

    fn next_row(&mut self) -> Option<Row> {
        self.left = self.left.checked_sub(1)?;
        self.at = (self.at + self.stride) % self.rows.len();
        self.rows.get(self.at).copied()
    }
}

/// A step by which all of so many rows are come by before one is met twice.
fn stride<R: Rng>(count: usize, rng: &mut R) -> usize {
    fn common(one: usize, two: usize) -> usize {
        if two == 0 {
            one
        } else {
            common(two, one % two)
        }
    }
    loop {
        let stride = rng.random_range(1..=count);
        if common(stride, count) == 1 {
            return stride;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::solve::tests::After;
    use crate::{Effort, Exchange, Habit, Place, Slot, solve};
    use rand::SeedableRng;
    use rand_pcg::Pcg64;
    use std::collections::BTreeSet;

    /// One machine; a job costs its number for each position it comes too late, job 0 stays first.
    struct Due {
        places: [Place; 1],
        pinned: [Slot; 1],
    }

    const JOBS: usize = 16;

    fn due() -> (Due, Sequences) {
        let slot = |job| Slot { job, way: 0 };
        let line = (0..JOBS).map(slot).collect();
        let due = Due {
            places: [Place { machine: 0, way: 0 }],
            pinned: [slot(0)],
        };
        let start = Sequences {
            machines: vec![line],
        };
        (due, start)
    }

    fn sum(answer: &Sequences) -> i64 {
        let late = answer.machines[0]
            .iter()
            .enumerate()
            .map(|(position, slot)| {
                let wanted = JOBS * 7 / (slot.job + 7);
                slot.job * position.saturating_sub(wanted)
            });
        i64::try_from(late.sum::<usize>()).unwrap()
    }

    impl Problem for Due {
        type Scratch = ();
        fn scratch(&self) {}
        fn machines(&self) -> usize {
            1
        }
        fn jobs(&self) -> usize {
            JOBS
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
            sum(sequences)
        }
        fn scans(&self) -> bool {
            true
        }
        fn scan(&self, (): &mut (), sequences: &Sequences, row: Row) -> Option<Exchange> {
            let better = |exchange: &Exchange| {
                let mut new = sequences.clone();
                exchange.apply(&mut new, &mut Vec::new());
                sum(&new) < sum(sequences)
            };
            let exchange = |first, second| Exchange {
                machine: 0,
                first,
                second,
            };
            match row {
                Row::Stretch { from, to, .. } => {
                    let ends = to + 1..=JOBS;
                    ends.map(|end| exchange(from..to, to..end)).find(better)
                }
                Row::Slot { at, .. } => {
                    let others = at + 2..JOBS;
                    let with = |other: usize| exchange(at..at + 1, other..other + 1);
                    others.map(with).find(better)
                }
            }
        }
    }

    #[test]
    fn breeding_leaves_the_pinned_slot_first_and_does_not_depend_on_threads() {
        let (due, start) = due();
        let run = |threads, without| {
            let effort = Effort {
                chains: 2,
                threads,
                without,
                ..Effort::single(3)
            };
            let outcome = solve(&due, start.clone(), effort, &mut After(30_000), &mut ());
            assert_eq!(outcome.best.machines[0][0], due.pinned[0]);
            assert_eq!(outcome.cost, sum(&outcome.best));
            (outcome.best, outcome.cost)
        };
        assert_eq!(run(1, None), run(2, None));
        let annealed = run(1, Some(Habit::Breeding)).1;
        assert!(run(1, None).1 <= annealed && annealed < sum(&start));
    }

    #[test]
    fn a_descent_meets_every_row_once_before_it_gives_up() {
        let ((due, start), mut breeding) = (due(), Breeding::default());
        breeding.begin(&due, &start, &mut Pcg64::seed_from_u64(4));
        let all = breeding.descent.rows.len();
        let mut met = BTreeSet::new();
        while let Some(row) = breeding.next_row() {
            met.insert(format!("{row:?}"));
        }
        assert_eq!(met.len(), all);
        breeding.improved();
        assert!(
            breeding.next_row().is_some(),
            "all are to be looked at again"
        );
    }

    #[test]
    fn the_pool_keeps_the_better_and_begins_anew_when_nothing_comes_of_it() {
        let ((due, start), mut breeding) = (due(), Breeding::default());
        let mut rng = Pcg64::seed_from_u64(5);
        for standing in (0..30).rev() {
            let child = shuffled(&due, &start, &mut rng);
            breeding.next_child(&due, (standing, standing), &child, &mut rng);
        }
        let standings: BTreeSet<i64> = breeding.pool.iter().map(|entry| entry.0.0).collect();
        assert_eq!(standings, (0..10).collect());
        // A near one takes the place of its neighbour and of no other, and only when better.
        let (old, mut near) = (breeding.pool[3].1.clone(), breeding.pool[3].1.clone());
        near.machines[0].swap(4, 5);
        let own = breeding.pool[3].0.0;
        for (standing, kept) in [(own + 1, &old), (own - 1, &near)] {
            breeding.add((standing, standing), &near, JOBS);
            assert_eq!((&breeding.pool[3].1, breeding.pool.len()), (kept, PARENTS));
        }
        for _ in 0..=BARREN * PARENTS {
            breeding.next_child(&due, (50, 50), &start, &mut rng);
        }
        assert!(breeding.pool.len() < PARENTS, "drawn anew");
    }
}

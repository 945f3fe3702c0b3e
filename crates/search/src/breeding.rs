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
/// Answers of one standing that differ in no more positions than this count as the same.
const SAME: usize = 3;

/// A pool of answers that no exchange makes better, and the descent of the next.
#[derive(Debug, Default)]
pub(crate) struct Breeding {
    pool: Vec<(Standing, Sequences)>,
    descent: Descent,
    /// Children since the best of the pool was found.
    barren: usize,
    /// How often the pool was drawn anew.
    renewed: usize,
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
        self.add(standing, grown);
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

    /// An answer takes the place of the worst if it is better and nearly no other.
    fn add(&mut self, standing: Standing, grown: &Sequences) {
        self.barren += 1;
        let same = |(other, answer): &(Standing, Sequences)| {
            *other == standing && differing(answer, grown) <= SAME
        };
        if self.pool.iter().any(same) {
            return;
        }
        let standings = self.pool.iter().map(|(standing, _)| *standing);
        if standings.clone().all(|other| standing < other) {
            self.barren = 0;
        }
        if self.pool.len() < PARENTS {
            self.pool.push((standing, grown.clone()));
            return;
        }
        let worst = standings.enumerate().max_by_key(|&(_, standing)| standing);
        if let Some((index, _)) = worst.filter(|(_, other)| standing < *other) {
            self.pool[index] = (standing, grown.clone());
        }
    }

    /// Leaves nothing, or every other time the best alone: good answers may lie far apart.
    fn renew(&mut self) {
        let best = self.pool.drain(..).min_by_key(|(standing, _)| *standing);
        if self.renewed.is_multiple_of(2) {
            self.pool.clear();
        }
        if self.renewed % 2 == 1 {
            self.pool.extend(best);
        }
        self.renewed += 1;
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

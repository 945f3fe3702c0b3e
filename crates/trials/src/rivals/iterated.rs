//! Plain iterated local search: always the best of all insertions and exchanges, then a kick.

use super::annealing::random_move;
use super::{Found, copy_lines, exchange, put, spots};
use crate::clock::Limit;
use rand::SeedableRng;
use rand_pcg::Pcg64;
use search::{Problem, Sequences, Touched};

/// Random moves of a kick.
const KICKS: usize = 4;

/// The answer the search stands at.
struct Walk<'p, P: Problem> {
    problem: &'p P,
    scratch: P::Scratch,
    current: Sequences,
    candidate: Sequences,
    cost: i64,
    limit: Limit,
}

/// Searches from a start until the time is over.
pub fn iterated<P: Problem>(problem: &P, start: Sequences, seed: u64, limit: Limit) -> Found {
    let mut rng = Pcg64::seed_from_u64(seed);
    let mut walk = Walk {
        problem,
        scratch: problem.scratch(),
        current: start.clone(),
        candidate: start.clone(),
        cost: 0,
        limit,
    };
    walk.cost = problem.cost(&mut walk.scratch, &start, i64::MAX);
    let mut best = (start, problem.worth(&walk.scratch, walk.cost));
    let mut home = (walk.current.clone(), walk.cost);
    loop {
        while limit.share() < 1.0 && walk.improve() {}
        let worth = problem.worth(&walk.scratch, walk.cost);
        if worth < best.1 {
            best = (walk.current.clone(), worth);
        }
        if limit.share() >= 1.0 {
            return best;
        }
        if walk.cost <= home.1 {
            home = (walk.current.clone(), walk.cost);
        } else {
            walk.current.clone_from(&home.0);
        }
        for _ in 0..KICKS {
            random_move(problem, &mut walk.current, &mut rng);
        }
        walk.candidate.clone_from(&walk.current);
        walk.cost = problem.cost(&mut walk.scratch, &walk.current, i64::MAX);
    }
}

/// A neighbour: what to do with the job at a spot.
#[derive(Clone, Copy)]
enum Neighbour {
    Put((usize, usize), (usize, usize), usize),
    Exchange((usize, usize), (usize, usize)),
}

impl<P: Problem> Walk<'_, P> {
    /// Takes the best of all neighbours if it is better.
    fn improve(&mut self) -> bool {
        let mut best = (self.cost, None);
        let all = spots(self.problem, &self.current);
        for (index, &from) in all.iter().enumerate() {
            if self.limit.share() >= 1.0 {
                break;
            }
            for place in self
                .problem
                .places(self.current.machines[from.0][from.1].job)
            {
                let line = self.current.machines[place.machine].len();
                let last = line - usize::from(place.machine == from.0);
                for at in self.problem.pinned(place.machine).len()..=last {
                    let to = (place.machine, at);
                    self.weigh(Neighbour::Put(from, to, place.way), &mut best);
                }
            }
            for &other in &all[index + 1..] {
                self.weigh(Neighbour::Exchange(from, other), &mut best);
            }
        }
        let Some(neighbour) = best.1 else {
            return false;
        };
        if let Some(touched) = self.make(neighbour) {
            self.cost = self
                .problem
                .trial(&mut self.scratch, &self.candidate, &touched, i64::MAX);
            self.problem
                .keep(&mut self.scratch, &self.candidate, &touched);
            copy_lines(&touched, &self.candidate, &mut self.current);
        }
        true
    }

    fn make(&mut self, neighbour: Neighbour) -> Option<Touched> {
        match neighbour {
            Neighbour::Put(from, to, way) => Some(put(&mut self.candidate, from, to, way)),
            Neighbour::Exchange(one, two) => exchange(self.problem, &mut self.candidate, one, two),
        }
    }

    fn weigh(&mut self, neighbour: Neighbour, best: &mut (i64, Option<Neighbour>)) {
        let Some(touched) = self.make(neighbour) else {
            return;
        };
        let most = best.0 - 1;
        let cost = self
            .problem
            .trial(&mut self.scratch, &self.candidate, &touched, most);
        if cost <= most {
            *best = (cost, Some(neighbour));
        }
        copy_lines(&touched, &self.current, &mut self.candidate);
    }
}

//! Proofs on small cases: the best of all sequences, by trying them all.
//!
//! Knows no more of a problem than the search does, and shares none of its moves, so that a test
//! can hold the search against it.
//!
//! Invariant: pure.

use search::{Problem, Sequences, Slot};

/// The best answer and how many were looked at.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Best {
    /// An answer of least cost; the first one found of equals.
    pub sequences: Sequences,
    /// Its cost.
    pub cost: i64,
    /// Complete answers evaluated.
    pub evaluated: u64,
}

/// Tries every way of putting all jobs, each in each of its places, in every order. `None` when
/// more than `most` complete answers would have to be evaluated, which makes no proof.
///
/// Pinned slots stay first; jobs without a place are left out.
pub fn enumerate<P: Problem>(problem: &P, most: u64) -> Option<Best> {
    let mut sequences = Sequences::new(problem.machines());
    let mut placed = vec![false; problem.jobs()];
    for machine in 0..problem.machines() {
        for slot in problem.pinned(machine) {
            sequences.machines[machine].push(*slot);
            placed[slot.job] = true;
        }
    }
    let loose: Vec<usize> = (0..problem.jobs())
        .filter(|&job| !placed[job] && !problem.places(job).is_empty())
        .collect();
    let mut walk = Walk {
        problem,
        scratch: problem.scratch(),
        loose,
        most,
        evaluated: 0,
        best: None,
    };
    walk.place(0, &mut sequences)?;
    let evaluated = walk.evaluated;
    walk.best.map(|(cost, sequences)| Best {
        sequences,
        cost,
        evaluated,
    })
}

struct Walk<'p, P: Problem> {
    problem: &'p P,
    scratch: P::Scratch,
    loose: Vec<usize>,
    most: u64,
    evaluated: u64,
    best: Option<(i64, Sequences)>,
}

impl<P: Problem> Walk<'_, P> {
    /// Inserts job number `index` at every position of every place; inserting the jobs one after
    /// the other into all positions yields every order of every split exactly once.
    fn place(&mut self, index: usize, sequences: &mut Sequences) -> Option<()> {
        let Some(&job) = self.loose.get(index) else {
            return self.evaluate(sequences);
        };
        let problem = self.problem;
        for place in problem.places(job) {
            let first = problem.pinned(place.machine).len();
            for at in first..=sequences.machines[place.machine].len() {
                sequences.machines[place.machine].insert(
                    at,
                    Slot {
                        job,
                        way: place.way,
                    },
                );
                let done = self.place(index + 1, sequences);
                sequences.machines[place.machine].remove(at);
                done?;
            }
        }
        Some(())
    }

    fn evaluate(&mut self, sequences: &Sequences) -> Option<()> {
        if self.evaluated == self.most {
            return None;
        }
        self.evaluated += 1;
        // An answer that is sure to be no better need not be evaluated to its end.
        let limit = self.best.as_ref().map_or(i64::MAX, |(best, _)| best - 1);
        let cost = self.problem.cost(&mut self.scratch, sequences, limit);
        if self.best.as_ref().is_none_or(|(best, _)| cost < *best) {
            self.best = Some((cost, sequences.clone()));
        }
        Some(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use search::Place;

    struct Count {
        jobs: usize,
        places: Vec<Place>,
    }

    impl Problem for Count {
        type Scratch = ();
        fn scratch(&self) {}
        fn machines(&self) -> usize {
            self.places.len()
        }
        fn jobs(&self) -> usize {
            self.jobs
        }
        fn places(&self, _job: usize) -> &[Place] {
            &self.places
        }
        fn pinned(&self, _machine: usize) -> &[Slot] {
            &[]
        }
        fn alike(&self, _job: usize) -> &[usize] {
            &[]
        }
        fn cost(&self, (): &mut (), sequences: &Sequences, _limit: i64) -> i64 {
            let first = &sequences.machines[0];
            first
                .iter()
                .enumerate()
                .map(|(at, slot)| if at == slot.job { 0 } else { 1 })
                .sum()
        }
    }

    #[test]
    fn every_order_is_tried_once() {
        let problem = Count {
            jobs: 5,
            places: vec![Place { machine: 0, way: 0 }],
        };
        let best = enumerate(&problem, 1_000).unwrap();
        assert_eq!((best.evaluated, best.cost), (120, 0));
    }

    #[test]
    fn every_split_over_two_machines_is_tried_once() {
        let places = vec![Place { machine: 0, way: 0 }, Place { machine: 1, way: 1 }];
        let best = enumerate(&Count { jobs: 3, places }, 1_000).unwrap();
        // 3 jobs on 2 machines in order: 3! times the 4 ways to cut a line of three in two.
        assert_eq!(best.evaluated, 24);
    }

    #[test]
    fn too_many_is_no_proof() {
        let problem = Count {
            jobs: 5,
            places: vec![Place { machine: 0, way: 0 }],
        };
        assert_eq!(enumerate(&problem, 119), None);
    }
}

//! Which brakes are looked at together, and from where on.

use super::STRETCH;
use crate::problem::Problem;

/// Brakes of a group.
const GROUP: usize = 5;
/// A group of brakes, and the run from which on they are looked at.
#[derive(Clone, Debug)]
pub(super) struct Spot {
    /// Brakes.
    pub(super) brakes: Vec<usize>,
    /// Runs of the whole shop that come before, in the order in which they are timed.
    pub(super) from: usize,
}

/// Chooses groups.
#[derive(Debug)]
pub(super) struct Groups {
    /// By pair of brakes: jobs that both can take.
    shared: Vec<Vec<u64>>,
    /// State of the dice.
    dice: u64,
    /// Brakes that have not been looked at from where this pass is now.
    left: Vec<usize>,
    /// Where the pass is.
    from: usize,
}

impl Groups {
    pub(super) fn new(problem: &Problem<'_>, seed: u64) -> Groups {
        let brakes = problem.beds.len();
        let mut shared = vec![vec![0; brakes]; brakes];
        for places in &problem.places {
            let mut of_job: Vec<usize> = places.iter().map(|place| place.machine).collect();
            of_job.sort_unstable();
            of_job.dedup();
            for &one in &of_job {
                for &other in &of_job {
                    shared[one][other] += 1;
                }
            }
        }
        let dice = seed;
        Groups {
            shared,
            dice,
            left: (0..brakes).collect(),
            from: 0,
        }
    }

    /// The next group. All brakes are looked at from one moment on before the pass goes on to a
    /// later one: what is changed early changes all that comes after.
    pub(super) fn next(&mut self, runs: usize) -> Spot {
        let all = self.shared.len();
        let size = super::env("GROUP", GROUP).min(all);
        if self.left.is_empty() {
            self.left = (0..all).collect();
            // Half of what was looked at is looked at again with what follows.
            self.from += super::env("STRETCH", STRETCH) * all / size / 2;
            if self.from >= runs {
                self.from = 0;
            }
        }
        let leader = self.below(self.left.len());
        let mut brakes = vec![self.left.swap_remove(leader)];
        while brakes.len() < size && !self.left.is_empty() {
            let next = self.companion(&brakes);
            brakes.push(self.left.swap_remove(next));
        }
        let from = self.from;
        Spot { brakes, from }
    }

    /// One of the brakes left, drawn by how many jobs it shares with those of a group.
    fn companion(&mut self, group: &[usize]) -> usize {
        let shared = |other: usize| -> u64 {
            let with = group.iter().map(|&brake| self.shared[brake][other]);
            with.sum::<u64>() + 1
        };
        let weights: Vec<u64> = self.left.iter().map(|&brake| shared(brake)).collect();
        let mut left = self.draw() % weights.iter().sum::<u64>().max(1);
        for (index, weight) in weights.iter().enumerate() {
            if left < *weight {
                return index;
            }
            left -= weight;
        }
        0
    }

    fn below(&mut self, count: usize) -> usize {
        let count = u64::try_from(count.max(1)).unwrap_or(u64::MAX);
        usize::try_from(self.draw() % count).unwrap_or(0)
    }

    /// Splitmix64: G. L. Steele, D. Lea and C. H. Flood, "Fast splittable pseudorandom number
    /// generators", OOPSLA 2014 \[memory\].
    fn draw(&mut self) -> u64 {
        self.dice = self.dice.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut mixed = self.dice;
        mixed = (mixed ^ (mixed >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        mixed = (mixed ^ (mixed >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        mixed ^ (mixed >> 31)
    }
}

//! Which brakes are looked at together, and from where on.

use super::STRETCH;
use crate::problem::Problem;
use search::Sequences;

/// Brakes of a group.
const GROUP: usize = 5;
/// Runs drawn to find one that hurts, for every other stretch.
const PAINS_DRAWN: usize = 4;

/// A group of brakes, and the run from which on they are looked at.
#[derive(Clone, Debug)]
pub(super) struct Spot {
    /// Brakes, the leader first.
    pub(super) brakes: Vec<usize>,
    /// Position in the leader's line.
    pub(super) from: usize,
}

/// Chooses groups.
#[derive(Debug)]
pub(super) struct Groups {
    /// By pair of brakes: jobs that both can take.
    shared: Vec<Vec<u64>>,
    /// State of the dice.
    dice: u64,
    turn: u64,
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
        let turn = 0;
        Groups { shared, dice, turn }
    }

    /// The next group: a run that is drawn leads, every other time one that hurts, and the brakes
    /// that can take the same jobs as its brake go with it. `None` when all lines are empty.
    pub(super) fn next(
        &mut self,
        problem: &Problem<'_>,
        plan: &Sequences,
        pains: &[i64],
    ) -> Option<Spot> {
        self.turn += 1;
        let runs = plan.len();
        if runs == 0 {
            return None;
        }
        let draws = if self.turn.is_multiple_of(2) {
            PAINS_DRAWN
        } else {
            1
        };
        let drawn: Vec<usize> = (0..draws).map(|_| self.below(runs)).collect();
        let (leader, position) = drawn
            .into_iter()
            .filter_map(|index| find(plan, index))
            .max_by_key(|&(brake, position)| pains[plan.machines[brake][position].job])?;
        let brakes = self.around(leader, GROUP.min(problem.beds.len()));
        // What hurts is mended by what comes before it.
        let back = self.below(STRETCH / brakes.len() + 1);
        let from = position.saturating_sub(back);
        Some(Spot { brakes, from })
    }

    /// A leader with brakes drawn by how many jobs they share with it.
    fn around(&mut self, leader: usize, size: usize) -> Vec<usize> {
        let mut group = vec![leader];
        while group.len() < size {
            let shared = &self.shared[leader];
            let free: Vec<(usize, u64)> = (0..shared.len())
                .filter(|brake| !group.contains(brake))
                .map(|brake| (brake, shared[brake] + 1))
                .collect();
            let all: u64 = free.iter().map(|(_, weight)| weight).sum();
            let mut left = self.draw() % all.max(1);
            let chosen = free.iter().find(|(_, weight)| {
                let here = left < *weight;
                left = left.saturating_sub(*weight);
                here
            });
            let Some(&(brake, _)) = chosen else { break };
            group.push(brake);
        }
        group
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

/// Brake and position of the run with a number, counted line after line.
fn find(plan: &Sequences, mut index: usize) -> Option<(usize, usize)> {
    for (brake, line) in plan.machines.iter().enumerate() {
        if index < line.len() {
            return Some((brake, index));
        }
        index -= line.len();
    }
    None
}

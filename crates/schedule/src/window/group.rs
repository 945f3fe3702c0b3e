//! Which brakes are looked at together, and from where on.

use super::{FIRST_PASS, STEPS, STRETCH};
use crate::problem::Problem;
use search::Sequences;

/// Brakes up to which all of them are one group.
const TOGETHER_MOST: usize = 12;
/// Brakes of a group where there are more.
const GROUP: usize = 5;
/// Runs drawn to find one that hurts.
const PAINS_DRAWN: usize = 4;

/// Where a stretch begins.
#[derive(Clone, Copy, Debug)]
pub(super) enum Begin {
    /// After so many runs of the whole shop, in the order in which they are timed.
    Runs(usize),
    /// At a position in the line of the group's first brake.
    Position(usize),
}

/// A group of brakes, and the run from which on they are looked at.
#[derive(Clone, Debug)]
pub(super) struct Spot {
    /// Brakes.
    pub(super) brakes: Vec<usize>,
    pub(super) begin: Begin,
    /// Steps it is worth.
    pub(super) steps: u64,
}

/// Chooses groups.
#[derive(Debug)]
pub(super) struct Groups {
    /// By pair of brakes: jobs that both can take.
    shared: Vec<Vec<u64>>,
    /// State of the dice.
    dice: u64,
    /// Runs before the next stretch of the first pass.
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
        let from = 0;
        Groups { shared, dice, from }
    }

    /// The next group. One of all brakes first goes through the plan from the front to the back, for
    /// what is changed early changes all that comes after. Everything else is drawn: one half of
    /// the time a run that hurts, the other half any run.
    pub(super) fn next(&mut self, plan: &Sequences, pains: &[i64]) -> Option<Spot> {
        let all = self.shared.len();
        if all <= TOGETHER_MOST && self.from < plan.len() {
            let begin = Begin::Runs(self.from);
            // Half of what was looked at is looked at again with what follows.
            self.from += STRETCH / 2;
            return Some(Spot {
                brakes: (0..all).collect(),
                begin,
                steps: FIRST_PASS,
            });
        }
        let draws = if self.below(2) == 0 { PAINS_DRAWN } else { 1 };
        self.around(plan, pains, draws)
    }

    /// The run that hurts most of a few drawn, with what comes before it, on its brake and others.
    fn around(&mut self, plan: &Sequences, pains: &[i64], draws: usize) -> Option<Spot> {
        let runs = plan.len();
        let drawn: Vec<usize> = (0..draws).map(|_| self.below(runs)).collect();
        let (leader, position) = drawn
            .into_iter()
            .filter_map(|index| find(plan, index))
            .max_by_key(|&(brake, position)| pains[plan.machines[brake][position].job])?;
        let mut brakes = vec![leader];
        let mut left: Vec<usize> = (0..self.shared.len()).filter(|&b| b != leader).collect();
        self.fill(&mut brakes, &mut left);
        let back = self.below(STRETCH / brakes.len() + 1);
        let begin = Begin::Position(position.saturating_sub(back));
        Some(Spot {
            brakes,
            begin,
            steps: STEPS,
        })
    }

    fn size(&self) -> usize {
        let all = self.shared.len();
        if all <= TOGETHER_MOST { all } else { GROUP }
    }

    /// Draws brakes to go with those of a group.
    fn fill(&mut self, group: &mut Vec<usize>, left: &mut Vec<usize>) {
        while group.len() < self.size() && !left.is_empty() {
            let next = self.companion(group, left);
            group.push(left.swap_remove(next));
        }
    }

    /// One of the brakes left, drawn by how many jobs it shares with those of a group.
    fn companion(&mut self, group: &[usize], others: &[usize]) -> usize {
        let shared = |other: usize| -> u64 {
            let with = group.iter().map(|&brake| self.shared[brake][other]);
            with.sum::<u64>() + 1
        };
        let weights: Vec<u64> = others.iter().map(|&brake| shared(brake)).collect();
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

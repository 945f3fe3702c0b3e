//! Which brakes need which profiles in runs still to come.

use super::scratch::State;
use crate::problem::Problem;
use search::{Sequences, Touched};

/// How much more of profiles brakes need in one answer than in another, over all their runs.
#[derive(Clone, Debug, Default)]
pub(super) struct Demand {
    /// Brake, profile and runs; none of them nothing.
    more: Vec<(usize, usize, i32)>,
    /// Room: by profile, the runs of one brake.
    count: Vec<i32>,
}

impl Demand {
    pub(super) fn clear(&mut self) {
        self.more.clear();
    }

    /// What touched lines need more than `before`.
    pub(super) fn set(
        &mut self,
        problem: &Problem<'_>,
        before: &Sequences,
        after: &Sequences,
        touched: &Touched,
    ) {
        self.more.clear();
        self.count.resize(problem.shop.profiles.len(), 0);
        for (&(brake, from), &tail) in touched.spots().iter().zip(touched.tails()) {
            let profiles = |lines: &Sequences| -> Vec<usize> {
                let line = &lines.machines[brake];
                let slots = line[from..line.len() - tail].iter();
                let needs = slots.flat_map(|slot| &problem.ways[slot.job][slot.way].needs);
                needs.flat_map(|need| [need.punch, need.die]).collect()
            };
            let (old, new) = (profiles(before), profiles(after));
            for &profile in &old {
                self.count[profile] -= 1;
            }
            for &profile in &new {
                self.count[profile] += 1;
            }
            for profile in old.into_iter().chain(new) {
                let count = std::mem::take(&mut self.count[profile]);
                if count != 0 {
                    self.more.push((brake, profile, count));
                }
            }
        }
    }

    /// Changes a state of the one answer, before anything that is touched, to one of the other.
    pub(super) fn add_to(&self, state: &mut State) {
        for &(brake, profile, count) in &self.more {
            state.demand[profile] += count;
            state.demand_of_brake[brake][profile] += count;
        }
    }

    /// Whether every brake sees the same profiles wanted elsewhere in both answers, at a state before
    /// anything that is touched. Then it has seen the same so far: demand only falls on the way.
    pub(super) fn looks_alike(&self, state: &State) -> bool {
        self.more.iter().all(|&(_, profile, _)| {
            let brakes = state.demand_of_brake.iter().enumerate();
            brakes.into_iter().all(|(brake, own)| {
                let before = state.demand[profile] - own[profile];
                let others = self.more.iter().filter(|more| more.1 == profile);
                let elsewhere = others.filter(|more| more.0 != brake);
                let after = before + elsewhere.map(|more| more.2).sum::<i32>();
                (before > 0) == (after > 0)
            })
        })
    }
}

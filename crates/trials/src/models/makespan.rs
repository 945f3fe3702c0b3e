//! A makespan that also feels the machines that are not critical.

use crate::instance::Goal;

/// Hardly any move changes a makespan, so a walk led by it alone strays over plateaus. The walk is
/// led by the sum of the loads' powers instead, where every saving counts, and the more the fuller
/// its machine is; the makespan itself decides which answer is best.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Guide {
    goal: Goal,
    /// One over the load that counts as usual.
    per_load: f64,
}

/// The higher, the less a machine counts that is not critical; far higher, and an answer much better
/// than the first costs nothing that could still be told apart.
const POWER: i32 = 8;
/// Cost of a machine with the usual load: fine enough for steps of one time unit.
const UNIT: f64 = 1e9;
/// Highest cost of one machine; leaves room for sums over machines.
const MOST: f64 = 1e16;

impl Guide {
    /// `usual` is about what a machine's load comes to in the end; too much rather than too little.
    #[allow(clippy::cast_precision_loss)] // loads far below 2^52
    pub(crate) fn new(goal: Goal, usual: i64) -> Guide {
        Guide {
            goal,
            per_load: 1.0 / usual.max(1) as f64,
        }
    }

    /// What a machine adds to the cost: `sum` for goals that add up over jobs.
    #[allow(clippy::cast_precision_loss, clippy::cast_possible_truncation)] // clamped
    pub(crate) fn cost(self, end: i64, sum: i64) -> i64 {
        match self.goal {
            Goal::WeightedTardiness | Goal::FlowTime => sum,
            Goal::Total => end,
            Goal::Makespan => {
                let load = end as f64 * self.per_load;
                (UNIT * load.powi(POWER)).min(MOST) as i64
            }
        }
    }

    /// The goal itself.
    pub(crate) fn worth(self, ends: impl Iterator<Item = i64>, cost: i64) -> i64 {
        match self.goal {
            Goal::Makespan => ends.max().unwrap_or(0),
            _ => cost,
        }
    }
}

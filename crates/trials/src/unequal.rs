//! Random magazines with tools of unequal size, and what keeping by slots saves on them.

use crate::instance::{Goal, SizedShop, ToolShop};
use crate::models::{Keep, SizedModel};
use rand::seq::SliceRandom;
use rand::{RngExt, SeedableRng};
use rand_pcg::Pcg64;
use search::{Effort, Problem, Sequences, Slot, solve};

/// Jobs of an instance.
const JOBS: usize = 25;
/// Tools.
const TOOLS: usize = 24;
/// Fewest and most tools that a job needs.
const NEEDED: (usize, usize) = (2, 6);

/// Tools put in on one machine, by rule: [`Keep::Soonest`], then [`Keep::PerSlot`].
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Switches {
    /// For the same random order.
    pub as_drawn: [i64; 2],
    /// For the orders that the search finds with each rule.
    pub searched: [i64; 2],
}

/// An instance: sizes are drawn evenly from 1 to `largest`; the magazine holds the job that needs
/// most room, and as much again as `spare` percent of it.
#[must_use]
pub fn draw(largest: u32, spare: u32, seed: u64) -> SizedShop {
    let mut rng = Pcg64::seed_from_u64(seed);
    let size: Vec<u32> = (0..TOOLS)
        .map(|_| rng.random_range(1..=largest.max(1)))
        .collect();
    let mut every: Vec<usize> = (0..TOOLS).collect();
    let mut tools = Vec::new();
    let mut widest = 0;
    for _ in 0..JOBS {
        every.shuffle(&mut rng);
        let needed = &every[..rng.random_range(NEEDED.0..=NEEDED.1)];
        tools.push(needed.iter().fold(0_u128, |tools, tool| tools | 1 << tool));
        widest = widest.max(needed.iter().map(|&tool| size[tool]).sum());
    }
    SizedShop {
        shop: ToolShop {
            capacity: vec![widest + widest * spare / 100],
            switch_time: vec![1],
            process: vec![vec![0; JOBS]],
            tools,
            goal: Goal::Total,
        },
        size,
    }
}

/// Counts tools put in with both rules, before and after so many steps of search.
#[must_use]
pub fn compare(sized: &SizedShop, steps: u64, seed: u64) -> Switches {
    let mut switches = Switches::default();
    for (index, keep) in [Keep::Soonest, Keep::PerSlot].into_iter().enumerate() {
        let model = SizedModel::new(sized.clone(), keep);
        let line = (0..sized.shop.tools.len()).map(|job| Slot { job, way: 0 });
        let start = Sequences {
            machines: vec![line.collect()],
        };
        switches.as_drawn[index] = model.cost(&mut model.scratch(), &start, i64::MAX);
        let mut stop = |done: u64| done >= steps;
        let found = solve(&model, start, Effort::single(seed), &mut stop, &mut ());
        switches.searched[index] = found.cost;
    }
    switches
}

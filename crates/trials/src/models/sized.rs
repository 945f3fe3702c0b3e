//! Tools of unequal size, and two rules of what stays in the magazine.
//!
//! With tools of one size keeping what is needed soonest is the best there is. With unequal sizes it
//! is not: a wide tool that is needed a little sooner than a narrow one takes the room of many. The
//! second rule therefore weighs how long a tool would only stand there by the slots it takes.
//!
//! At the start the magazine holds what is needed soonest, at no cost.

use super::makespan::Guide;
use super::tools::alike;
use crate::instance::SizedShop;
use search::{Place, Problem, Sequences, Slot, Touched};
use std::cmp::Reverse;

/// What goes out to make room.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Keep {
    /// What is needed latest goes out, of equals the tool with the highest number; the first filling
    /// ends with the first tool that does not fit. The baseline.
    Soonest,
    /// What is not needed again goes out first, then the tool with the most slots times jobs until
    /// it is needed; what there is room for after all stays. The first filling passes over tools
    /// that do not fit.
    PerSlot,
}

/// A shop with tools of unequal size, ready to be searched.
#[derive(Debug)]
pub struct SizedModel {
    sized: SizedShop,
    keep: Keep,
    places: Vec<Vec<Place>>,
    alike: Vec<Vec<usize>>,
    guide: Guide,
}

/// Working memory: each machine's line as it was last evaluated.
#[derive(Debug, Default)]
pub struct Base {
    /// When it is done, and completion times together.
    lines: Vec<(i64, i64)>,
    cost: i64,
    next_use: Vec<usize>,
}

impl SizedModel {
    /// Prepares a shop.
    #[must_use]
    pub fn new(sized: SizedShop, keep: Keep) -> SizedModel {
        let shop = &sized.shop;
        let fitting = |tools: &u128| {
            let fits = |machine: &usize| room(*tools, &sized.size) <= shop.capacity[*machine];
            let machines = (0..shop.capacity.len()).filter(fits);
            machines.map(|machine| Place { machine, way: 0 }).collect()
        };
        let machines = i64::try_from(shop.capacity.len().max(1)).unwrap_or(1);
        let work: i64 = shop.process.iter().flatten().sum();
        let tools: i64 = shop.tools.iter().map(|t| i64::from(t.count_ones())).sum();
        let switching = tools * shop.switch_time.iter().sum::<i64>();
        SizedModel {
            places: shop.tools.iter().map(fitting).collect(),
            alike: alike(&shop.tools),
            keep,
            guide: Guide::new(shop.goal, (work + switching) / machines / machines),
            sized,
        }
    }

    /// What each magazine holds: the first filling, then what stands there while each job is done.
    #[must_use]
    pub fn magazines(&self, sequences: &Sequences) -> Vec<Vec<u128>> {
        let mut next_use = Vec::new();
        let lines = sequences.machines.iter().enumerate();
        lines
            .map(|(machine, slots)| {
                let mut held = Vec::new();
                self.line(&mut next_use, machine, slots, |magazine| {
                    held.push(magazine);
                });
                held
            })
            .collect()
    }

    /// When a line is done, and its completion times together. Tells of each magazine.
    fn line(
        &self,
        next_use: &mut Vec<usize>,
        machine: usize,
        slots: &[Slot],
        mut told: impl FnMut(u128),
    ) -> (i64, i64) {
        let (shop, size) = (&self.sized.shop, &self.sized.size);
        let capacity = shop.capacity[machine];
        let mut magazine = self.first_filling(slots, capacity);
        told(magazine);
        let (mut clock, mut flow) = (0, 0);
        for (position, slot) in slots.iter().enumerate() {
            let need = shop.tools[slot.job];
            let put_in = (need & !magazine).count_ones();
            magazine |= need;
            let over = room(magazine, size).saturating_sub(capacity);
            if over > 0 {
                self.needed_next(next_use, &slots[position + 1..]);
                let loose = magazine & !need;
                magazine &= !match self.keep {
                    Keep::Soonest => needed_latest(loose, over, size, next_use),
                    Keep::PerSlot => idlest(loose, over, size, next_use),
                };
            }
            told(magazine);
            clock += shop.switch_time[machine] * i64::from(put_in);
            clock += shop.process[machine][slot.job];
            flow += clock;
        }
        (clock, flow)
    }

    fn first_filling(&self, slots: &[Slot], capacity: u32) -> u128 {
        let (mut magazine, mut full) = (0_u128, 0);
        for slot in slots {
            for tool in bits(self.sized.shop.tools[slot.job] & !magazine) {
                let size = self.sized.size[tool];
                if full + size <= capacity {
                    full += size;
                    magazine |= 1 << tool;
                } else if self.keep == Keep::Soonest {
                    return magazine;
                }
            }
        }
        magazine
    }

    /// For every tool, in how many jobs it is needed.
    fn needed_next(&self, next_use: &mut Vec<usize>, ahead: &[Slot]) {
        next_use.clear();
        next_use.resize(self.sized.size.len(), usize::MAX);
        for (distance, slot) in ahead.iter().enumerate().rev() {
            for tool in bits(self.sized.shop.tools[slot.job]) {
                next_use[tool] = distance;
            }
        }
    }
}

/// What goes out by [`Keep::Soonest`].
fn needed_latest(loose: u128, mut over: u32, size: &[u32], next_use: &[usize]) -> u128 {
    let mut out = 0;
    while over > 0 {
        let latest = bits(loose & !out).max_by_key(|&tool| (next_use[tool], tool));
        let Some(tool) = latest else { break };
        out |= 1 << tool;
        over = over.saturating_sub(size[tool]);
    }
    out
}

/// What goes out by [`Keep::PerSlot`].
fn idlest(loose: u128, over: u32, size: &[u32], next_use: &[usize]) -> u128 {
    // Not needed again is as many jobs as there can be, whatever the size.
    let idle = |tool: usize| {
        next_use[tool]
            .saturating_add(1)
            .saturating_mul(size[tool] as usize)
    };
    let (mut out, mut freed) = (0_u128, 0);
    while freed < over {
        let most = bits(loose & !out).max_by_key(|&tool| (idle(tool), tool));
        let Some(tool) = most else { break };
        out |= 1 << tool;
        freed += size[tool];
    }
    // The last to go may have freed enough for others to stay, those needed soonest first.
    loop {
        let fits = |tool: &usize| next_use[*tool] < usize::MAX && size[*tool] <= freed - over;
        let back = bits(out)
            .filter(fits)
            .max_by_key(|&tool| Reverse((next_use[tool], tool)));
        let Some(tool) = back.filter(|_| freed >= over) else {
            return out;
        };
        out &= !(1 << tool);
        freed -= size[tool];
    }
}

fn room(tools: u128, size: &[u32]) -> u32 {
    bits(tools).map(|tool| size[tool]).sum()
}

fn bits(mut tools: u128) -> impl Iterator<Item = usize> {
    std::iter::from_fn(move || {
        (tools != 0).then(|| {
            let lowest = tools.trailing_zeros() as usize;
            tools &= tools - 1;
            lowest
        })
    })
}

impl Problem for SizedModel {
    type Scratch = Base;

    fn scratch(&self) -> Base {
        Base::default()
    }
    fn machines(&self) -> usize {
        self.sized.shop.capacity.len()
    }
    fn jobs(&self) -> usize {
        self.sized.shop.tools.len()
    }
    fn places(&self, job: usize) -> &[Place] {
        &self.places[job]
    }
    fn pinned(&self, _machine: usize) -> &[Slot] {
        &[]
    }
    fn alike(&self, job: usize) -> &[usize] {
        &self.alike[job]
    }
    fn cost(&self, base: &mut Base, sequences: &Sequences, _limit: i64) -> i64 {
        base.lines.clear();
        base.cost = 0;
        for (machine, slots) in sequences.machines.iter().enumerate() {
            let line = self.line(&mut base.next_use, machine, slots, |_| ());
            base.lines.push(line);
            base.cost += self.guide.cost(line.0, line.1);
        }
        base.cost
    }
    fn trial(&self, base: &mut Base, sequences: &Sequences, touched: &Touched, _limit: i64) -> i64 {
        let mut cost = base.cost;
        for &(machine, _) in touched.spots() {
            let (end, flow) = base.lines[machine];
            cost -= self.guide.cost(end, flow);
            let slots = &sequences.machines[machine];
            let (end, flow) = self.line(&mut base.next_use, machine, slots, |_| ());
            cost += self.guide.cost(end, flow);
        }
        cost
    }
    fn keep(&self, base: &mut Base, sequences: &Sequences, touched: &Touched) {
        for &(machine, _) in touched.spots() {
            let (end, flow) = base.lines[machine];
            base.cost -= self.guide.cost(end, flow);
            let slots = &sequences.machines[machine];
            let line = self.line(&mut base.next_use, machine, slots, |_| ());
            base.cost += self.guide.cost(line.0, line.1);
            base.lines[machine] = line;
        }
    }
    fn worth(&self, base: &Base, cost: i64) -> i64 {
        self.guide.worth(base.lines.iter().map(|line| line.0), cost)
    }
}

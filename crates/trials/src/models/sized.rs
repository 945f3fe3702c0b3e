//! Tools of unequal size: the rule "keep what is needed soonest" as it stands.
//!
//! With unequal sizes the rule is no longer the best there is; it is the baseline against which
//! arranging a bed is measured. At the start the magazine holds what is needed soonest, in the
//! order of need and of the tools' numbers, up to the first that does not fit. To make room, what
//! is needed latest goes out, of equals the tool with the highest number.

use super::makespan::Guide;
use crate::instance::SizedShop;
use search::{Place, Problem, Sequences, Slot, Touched};

/// A shop with tools of unequal size, ready to be searched.
#[derive(Debug)]
pub struct SizedModel {
    sized: SizedShop,
    places: Vec<Vec<Place>>,
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
    pub fn new(sized: SizedShop) -> SizedModel {
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
            guide: Guide::new(shop.goal, (work + switching) / machines / machines),
            sized,
        }
    }

    fn line(&self, next_use: &mut Vec<usize>, machine: usize, slots: &[Slot]) -> (i64, i64) {
        let (shop, size) = (&self.sized.shop, &self.sized.size);
        let capacity = shop.capacity[machine];
        let mut magazine = self.first_filling(slots, capacity);
        let (mut clock, mut flow) = (0, 0);
        for (position, slot) in slots.iter().enumerate() {
            let need = shop.tools[slot.job];
            let put_in = (need & !magazine).count_ones();
            magazine |= need;
            let mut over = room(magazine, size).saturating_sub(capacity);
            if over > 0 {
                self.needed_next(next_use, &slots[position + 1..]);
            }
            while over > 0 {
                let latest = bits(magazine & !need).max_by_key(|&tool| (next_use[tool], tool));
                let Some(tool) = latest else { break };
                magazine &= !(1 << tool);
                over = over.saturating_sub(size[tool]);
            }
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
                full += self.sized.size[tool];
                if full > capacity {
                    return magazine;
                }
                magazine |= 1 << tool;
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
    fn alike(&self, _job: usize) -> &[usize] {
        &[]
    }
    fn cost(&self, base: &mut Base, sequences: &Sequences, _limit: i64) -> i64 {
        base.lines.clear();
        base.cost = 0;
        for (machine, slots) in sequences.machines.iter().enumerate() {
            let line = self.line(&mut base.next_use, machine, slots);
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
            let (end, flow) = self.line(&mut base.next_use, machine, slots);
            cost += self.guide.cost(end, flow);
        }
        cost
    }
    fn keep(&self, base: &mut Base, sequences: &Sequences, touched: &Touched) {
        for &(machine, _) in touched.spots() {
            let (end, flow) = base.lines[machine];
            base.cost -= self.guide.cost(end, flow);
            let slots = &sequences.machines[machine];
            let line = self.line(&mut base.next_use, machine, slots);
            base.cost += self.guide.cost(line.0, line.1);
            base.lines[machine] = line;
        }
    }
    fn worth(&self, base: &Base, cost: i64) -> i64 {
        self.guide.worth(base.lines.iter().map(|line| line.0), cost)
    }
}

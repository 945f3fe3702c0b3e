//! Setups between jobs, on one machine or several.

use super::makespan::Guide;
use crate::instance::{Goal, SetupShop};
use search::{Place, Problem, Sequences, Slot, Touched};

/// Jobs kept that follow or precede one cheaply.
const ALIKE_MOST: usize = 10;

/// A shop with setups, ready to be searched.
#[derive(Debug)]
pub struct SetupModel {
    shop: SetupShop,
    places: Vec<Place>,
    alike: Vec<Vec<usize>>,
    guide: Guide,
}

/// What is known of one machine's line.
#[derive(Clone, Debug, Default)]
struct Line {
    /// When the machine is done with so many jobs.
    done: Vec<i64>,
    /// What so many jobs add up to.
    sum: Vec<i64>,
    /// When all is done, the time after the last job included.
    end: i64,
    cost: i64,
}

/// Working memory: the base.
#[derive(Debug, Default)]
pub struct Base {
    lines: Vec<Line>,
    cost: i64,
    /// What each job adds to a weighted tardiness.
    pains: Vec<i64>,
}

impl SetupModel {
    /// Prepares a shop.
    #[must_use]
    pub fn new(shop: SetupShop) -> SetupModel {
        let machines = shop.process.len();
        let place = |machine| Place { machine, way: 0 };
        let quickest = |job: usize| {
            let on = |machine: usize| shop.process[machine][job];
            (0..machines).map(on).min().unwrap_or(0)
        };
        let work: i64 = (0..shop.jobs).map(quickest).sum();
        let usual = work / i64::try_from(machines.max(1)).unwrap_or(1);
        SetupModel {
            places: (0..machines).map(place).collect(),
            alike: alike(&shop),
            guide: Guide::new(shop.goal, usual),
            shop,
        }
    }

    /// Takes an answer's loads as the usual ones.
    pub fn calibrate(&mut self, answer: &Sequences) {
        let mut base = Base::default();
        let cost = self.cost(&mut base, answer, i64::MAX);
        if self.shop.goal == Goal::Makespan {
            self.guide = Guide::new(self.shop.goal, self.worth(&base, cost));
        }
    }

    /// The shop.
    #[must_use]
    pub fn shop(&self) -> &SetupShop {
        &self.shop
    }

    /// From the job before, if any, through a job.
    fn leg(&self, machine: usize, before: Option<&Slot>, job: usize) -> i64 {
        let setup = match before {
            Some(before) => self.shop.setup[machine][before.job * self.shop.jobs + job],
            None => self.shop.first[machine][job],
        };
        setup + self.shop.process[machine][job]
    }

    fn added(&self, job: usize, done: i64) -> i64 {
        match self.shop.goal {
            Goal::WeightedTardiness => self.shop.weight[job] * (done - self.shop.due[job]).max(0),
            Goal::FlowTime => done,
            Goal::Makespan | Goal::Total => 0,
        }
    }

    /// Works a line out anew from a position on.
    fn fill(&self, line: &mut Line, machine: usize, slots: &[Slot], from: usize) {
        line.done.truncate(from + 1);
        line.sum.truncate(from + 1);
        if line.done.is_empty() {
            line.done.push(0);
            line.sum.push(0);
        }
        let (mut done, mut sum) = (line.done[from], line.sum[from]);
        let mut before = from.checked_sub(1).map(|p| &slots[p]);
        for slot in &slots[from..] {
            done += self.leg(machine, before, slot.job);
            sum += self.added(slot.job, done);
            line.done.push(done);
            line.sum.push(sum);
            before = Some(slot);
        }
        line.end = done + before.map_or(0, |slot| self.shop.last[slot.job]);
        line.cost = self.guide.cost(line.end, sum);
    }

    /// Notes what each job adds to a weighted tardiness.
    fn feel(&self, base: &mut Base, sequences: &Sequences) {
        if self.shop.goal != Goal::WeightedTardiness {
            return;
        }
        base.pains.resize(self.shop.jobs, 0);
        for (line, slots) in base.lines.iter().zip(&sequences.machines) {
            for (pair, slot) in line.sum.windows(2).zip(slots) {
                base.pains[slot.job] = pair[1] - pair[0];
            }
        }
    }

    /// The cost of a line that differs from a known one in its middle, or something above `limit`.
    fn changed(
        &self,
        line: &Line,
        machine: usize,
        slots: &[Slot],
        (from, tail): (usize, usize),
        limit: i64,
    ) -> i64 {
        let adds = matches!(self.shop.goal, Goal::WeightedTardiness | Goal::FlowTime);
        let (mut done, mut sum) = (line.done[from], line.sum[from]);
        let mut before = from.checked_sub(1).map(|p| &slots[p]);
        // The first slot of the tail has a new neighbour before it.
        let middle = (slots.len() - tail + 1).min(slots.len());
        for slot in &slots[from..middle] {
            done += self.leg(machine, before, slot.job);
            if adds {
                sum += self.added(slot.job, done);
            }
            before = Some(slot);
        }
        if tail == 0 {
            let end = done + before.map_or(0, |slot| self.shop.last[slot.job]);
            return self.guide.cost(end, sum);
        }
        let known = line.done.len() - tail;
        let shift = done - line.done[known];
        if !adds {
            return self.guide.cost(line.end + shift, 0);
        }
        let end = line.end + shift;
        if shift == 0 {
            let rest = line.sum[line.sum.len() - 1] - line.sum[known];
            return self.guide.cost(end, sum + rest);
        }
        for (slot, done) in slots[middle..].iter().zip(&line.done[known + 1..]) {
            let least = self.guide.cost(end, sum);
            if least > limit {
                return least;
            }
            sum += self.added(slot.job, done + shift);
        }
        self.guide.cost(end, sum)
    }
}

/// For each job those it follows or that follow it at the least cost, the cheapest first.
fn alike(shop: &SetupShop) -> Vec<Vec<usize>> {
    let machines = shop.process.len();
    let between = |one: usize, two: usize| -> i64 {
        let (to, fro) = (one * shop.jobs + two, two * shop.jobs + one);
        let cheaper = |machine: usize| shop.setup[machine][to].min(shop.setup[machine][fro]);
        (0..machines).map(cheaper).sum()
    };
    let nearest = |job: usize| {
        let mut others: Vec<usize> = (0..shop.jobs).filter(|&other| other != job).collect();
        others.sort_by_key(|&other| (between(job, other), other));
        others.truncate(ALIKE_MOST);
        others
    };
    (0..shop.jobs).map(nearest).collect()
}

impl Problem for SetupModel {
    type Scratch = Base;

    fn scratch(&self) -> Base {
        Base::default()
    }
    fn machines(&self) -> usize {
        self.places.len()
    }
    fn jobs(&self) -> usize {
        self.shop.jobs
    }
    fn places(&self, _job: usize) -> &[Place] {
        &self.places
    }
    fn pinned(&self, _machine: usize) -> &[Slot] {
        &[]
    }
    fn alike(&self, job: usize) -> &[usize] {
        &self.alike[job]
    }
    fn cost(&self, base: &mut Base, sequences: &Sequences, _limit: i64) -> i64 {
        base.lines.resize(self.places.len(), Line::default());
        let lines = base.lines.iter_mut().zip(&sequences.machines);
        for (machine, (line, slots)) in lines.enumerate() {
            line.done.clear();
            line.sum.clear();
            self.fill(line, machine, slots, 0);
        }
        base.cost = base.lines.iter().map(|line| line.cost).sum();
        self.feel(base, sequences);
        base.cost
    }
    fn trial(&self, base: &mut Base, sequences: &Sequences, touched: &Touched, limit: i64) -> i64 {
        let mut cost = base.cost;
        for &(machine, _) in touched.spots() {
            cost -= base.lines[machine].cost;
        }
        for (&(machine, from), &tail) in touched.spots().iter().zip(touched.tails()) {
            let slots = &sequences.machines[machine];
            let line = &base.lines[machine];
            cost += self.changed(line, machine, slots, (from, tail), limit - cost);
            if cost > limit {
                return cost;
            }
        }
        cost
    }
    fn keep(&self, base: &mut Base, sequences: &Sequences, touched: &Touched) {
        for &(machine, from) in touched.spots() {
            let line = &mut base.lines[machine];
            base.cost -= line.cost;
            self.fill(line, machine, &sequences.machines[machine], from);
            base.cost += line.cost;
        }
        self.feel(base, sequences);
    }
    fn pains(&self, base: &Base, pains: &mut Vec<i64>) {
        pains.clone_from(&base.pains);
    }
    fn worth(&self, base: &Base, cost: i64) -> i64 {
        self.guide
            .worth(base.lines.iter().map(|line| line.end), cost)
    }
}

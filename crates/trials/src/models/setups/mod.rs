//! Setups between jobs, on one machine or several.

mod scan;
mod tangents;

use super::makespan::Guide;
use crate::instance::{Goal, SetupShop};
use scan::Least;
use search::{Exchange, Place, Problem, Row, Sequences, Slot, Touched};
use tangents::Tangents;

/// Jobs kept that follow one cheaply.
const ALIKE_MOST: usize = 10;

/// A shop with setups, ready to be searched.
#[derive(Debug)]
pub struct SetupModel {
    shop: SetupShop,
    places: Vec<Place>,
    alike: Vec<Vec<usize>>,
    /// By machine: from the job before (a row each, the last row for none) through a job.
    legs: Vec<Vec<i64>>,
    /// What a job adds to the sum.
    dues: Vec<Due>,
    usual_leg: i64,
    least: Least,
    guide: Guide,
}

/// A job adds its weight for every time unit that it is done after its due time.
#[derive(Clone, Copy, Debug)]
struct Due {
    weight: i64,
    due: i64,
}

/// What is known after so many jobs of a line.
#[derive(Clone, Copy, Debug, Default)]
struct Mark {
    /// When they are done.
    done: i64,
    /// What they add up to.
    sum: i64,
    /// Weights of those that are late when anything is later.
    late: i64,
}

/// What is known of one machine's line.
#[derive(Clone, Debug, Default)]
struct Line {
    marks: Vec<Mark>,
    /// When all is done, the time after the last job included.
    end: i64,
    cost: i64,
    tangents: Tangents,
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
        let legs: Vec<Vec<i64>> = (0..machines).map(|machine| legs(&shop, machine)).collect();
        SetupModel {
            usual_leg: mean(legs.iter().flatten()),
            least: Least::of(&legs[0], shop.jobs),
            places: (0..machines).map(place).collect(),
            alike: alike(&shop),
            legs,
            dues: dues(&shop),
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

    /// The row of legs that begin before a position.
    fn row(&self, slots: &[Slot], position: usize) -> usize {
        let before = position.checked_sub(1).map(|p| slots[p].job);
        before.unwrap_or(self.shop.jobs)
    }

    fn end(&self, slots: &[Slot], done: i64) -> i64 {
        done + slots.last().map_or(0, |slot| self.shop.last[slot.job])
    }

    /// Works a line out anew from a position on.
    fn fill(&self, line: &mut Line, machine: usize, slots: &[Slot], from: usize) {
        line.tangents.changed_from(from);
        line.marks.truncate(from + 1);
        if line.marks.is_empty() {
            line.marks.push(Mark::default());
        }
        let (legs, mut mark) = (&self.legs[machine], line.marks[from]);
        let mut row = self.row(slots, from);
        for slot in &slots[from..] {
            mark.done += legs[row * self.shop.jobs + slot.job];
            let Due { weight, due } = self.dues[slot.job];
            if mark.done >= due {
                mark.sum += weight * (mark.done - due);
                mark.late += weight;
            }
            line.marks.push(mark);
            row = slot.job;
        }
        line.end = self.end(slots, mark.done);
        line.cost = self.guide.cost(line.end, mark.sum);
    }

    /// Notes what each job adds to a weighted tardiness.
    fn feel(&self, base: &mut Base, sequences: &Sequences) {
        if self.shop.goal != Goal::WeightedTardiness {
            return;
        }
        base.pains.resize(self.shop.jobs, 0);
        for (line, slots) in base.lines.iter().zip(&sequences.machines) {
            for (pair, slot) in line.marks.windows(2).zip(slots) {
                base.pains[slot.job] = pair[1].sum - pair[0].sum;
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
        let legs = &self.legs[machine];
        let (mut done, mut sum) = (line.marks[from].done, line.marks[from].sum);
        let mut row = self.row(slots, from);
        // The first slot of the tail has a new neighbour before it.
        let middle = (slots.len() - tail + 1).min(slots.len());
        for slot in &slots[from..middle] {
            done += legs[row * self.shop.jobs + slot.job];
            let Due { weight, due } = self.dues[slot.job];
            sum += weight * (done - due).max(0);
            if sum > limit {
                return sum;
            }
            row = slot.job;
        }
        if tail == 0 {
            return self.guide.cost(self.end(slots, done), sum);
        }
        let known = &line.marks[line.marks.len() - tail..];
        let (first, last) = (known[0], line.marks[line.marks.len() - 1]);
        let shift = done - first.done;
        let end = line.end + shift;
        // A job's lateness bends upward over its time, so that going on as steeply as it begins is
        // never too much.
        let least =
            |mark: Mark, sum: i64| sum + (last.sum - mark.sum) + shift * (last.late - mark.late);
        let mut bound = least(first, sum);
        // Early jobs that come earlier add nothing, and a flow time is straight.
        let early = shift <= 0 && last.late == first.late;
        if shift == 0 || early || self.shop.goal != Goal::WeightedTardiness {
            return self.guide.cost(end, bound);
        }
        for (slot, mark) in slots[middle..].iter().zip(&known[1..]) {
            let cost = self.guide.cost(end, bound);
            if cost > limit {
                return cost;
            }
            let Due { weight, due } = self.dues[slot.job];
            sum += weight * (mark.done + shift - due).max(0);
            bound = least(*mark, sum);
        }
        self.guide.cost(end, bound)
    }
}

fn mean<'a>(values: impl Iterator<Item = &'a i64> + Clone) -> i64 {
    let count = i64::try_from(values.clone().count()).unwrap_or(i64::MAX);
    values.sum::<i64>() / count.max(1)
}

/// From the job before, if any, through a job.
fn legs(shop: &SetupShop, machine: usize) -> Vec<i64> {
    let (setup, first) = (&shop.setup[machine], &shop.first[machine]);
    let process = shop.process[machine].iter().cycle();
    let setups = setup.iter().chain(first);
    setups
        .zip(process)
        .map(|(setup, process)| setup + process)
        .collect()
}

/// Weights and due times in which each goal is a weighted tardiness; nothing where it is not a sum
/// over jobs.
fn dues(shop: &SetupShop) -> Vec<Due> {
    let due = |job: usize| match shop.goal {
        Goal::WeightedTardiness => Due {
            weight: shop.weight[job],
            due: shop.due[job],
        },
        Goal::FlowTime => Due { weight: 1, due: 0 },
        Goal::Makespan | Goal::Total => Due { weight: 0, due: 0 },
    };
    (0..shop.jobs).map(due).collect()
}

/// For each job those that follow it at the least cost, the cheapest first.
fn alike(shop: &SetupShop) -> Vec<Vec<usize>> {
    let after = |one: usize, two: usize| -> i64 {
        let setup = |setups: &Vec<i64>| setups[one * shop.jobs + two];
        shop.setup.iter().map(setup).sum()
    };
    let nearest = |job: usize| {
        let mut others: Vec<usize> = (0..shop.jobs).filter(|&other| other != job).collect();
        others.sort_by_key(|&other| (after(job, other), other));
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
            line.marks.clear();
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
            let left = limit.saturating_sub(cost);
            cost += self.changed(line, machine, slots, (from, tail), left);
            if cost > limit {
                break;
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
    /// On one machine.
    fn scans(&self) -> bool {
        self.places.len() == 1 && self.shop.goal != Goal::Makespan
    }
    fn scan(&self, base: &mut Base, sequences: &Sequences, row: Row) -> Option<Exchange> {
        let (line, slots) = (base.lines.first_mut()?, sequences.machines.first()?);
        self.draw_tangents(line, slots);
        let (first, second) = match row {
            Row::Stretch { from, to, .. } => {
                let end = self.better_stretch(line, slots, (from, to))?;
                (from..to, to..end)
            }
            Row::Slot { at, .. } => {
                let other = self.better_partner(line, slots, at)?;
                (at..at + 1, other..other + 1)
            }
        };
        Some(Exchange {
            machine: 0,
            first,
            second,
        })
    }
    fn pains(&self, base: &Base, pains: &mut Vec<i64>) {
        pains.clone_from(&base.pains);
    }
    fn worth(&self, base: &Base, cost: i64) -> i64 {
        self.guide
            .worth(base.lines.iter().map(|line| line.end), cost)
    }
}

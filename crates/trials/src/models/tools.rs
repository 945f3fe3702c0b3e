//! Tool magazines, on one machine or several.

use super::makespan::Guide;
use super::pipes::Fillings;
use crate::instance::{Goal, ToolShop};
use search::{Place, Problem, Sequences, Slot, Touched};

/// Jobs kept that share most tools with one.
const ALIKE_MOST: usize = 10;

/// A shop with magazines, ready to be searched.
#[derive(Debug)]
pub struct ToolModel {
    shop: ToolShop,
    places: Vec<Vec<Place>>,
    alike: Vec<Vec<usize>>,
    guide: Guide,
}

/// What is known of one machine's line.
#[derive(Clone, Debug, Default)]
struct Line {
    /// After so many jobs.
    after: Vec<After>,
    /// Before each job and after the last: the latest full filling plus one, and where its window
    /// begins.
    marks: Vec<(usize, usize)>,
    /// Free slots of the fillings after the latest full one, one window after the other.
    windows: Vec<u32>,
    cost: i64,
}

/// Sums along a line.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
struct After {
    /// Tools put in.
    put_in: i64,
    /// Processing time.
    work: i64,
    /// Completion times.
    flow: i64,
}

/// Working memory: the base, and fillings to try things with.
#[derive(Debug, Default)]
pub struct Base {
    lines: Vec<Line>,
    cost: i64,
    fillings: Fillings,
}

impl ToolModel {
    /// Prepares a shop. Its goal is not a weighted tardiness.
    #[must_use]
    pub fn new(shop: ToolShop) -> ToolModel {
        let fitting = |tools: &u128| {
            let fits = |machine: &usize| tools.count_ones() <= shop.capacity[*machine];
            let machines = (0..shop.capacity.len()).filter(fits);
            machines.map(|machine| Place { machine, way: 0 }).collect()
        };
        let machines = i64::try_from(shop.capacity.len().max(1)).unwrap_or(1);
        let work: i64 = shop.process.iter().flatten().sum();
        let tools: i64 = shop.tools.iter().map(|t| i64::from(t.count_ones())).sum();
        let switching = tools * shop.switch_time.iter().sum::<i64>();
        ToolModel {
            places: shop.tools.iter().map(fitting).collect(),
            alike: alike(&shop.tools),
            guide: Guide::new(shop.goal, (work + switching) / machines / machines),
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
    pub fn shop(&self) -> &ToolShop {
        &self.shop
    }

    /// When a machine is done: the first filling of its magazine costs nothing.
    fn done(&self, machine: usize, after: After) -> i64 {
        let free = i64::from(self.shop.capacity[machine]);
        after.work + self.shop.switch_time[machine] * (after.put_in - free).max(0)
    }

    /// One job on.
    fn on(&self, machine: usize, after: After, job: usize, put_in: u32) -> After {
        let mut next = After {
            put_in: after.put_in + i64::from(put_in),
            work: after.work + self.shop.process[machine][job],
            flow: 0,
        };
        next.flow = after.flow + self.done(machine, next);
        next
    }

    /// Works a line out anew from a position on.
    fn fill(
        &self,
        line: &mut Line,
        fillings: &mut Fillings,
        machine: usize,
        slots: &[Slot],
        from: usize,
    ) {
        if line.marks.is_empty() {
            line.after.push(After::default());
            line.marks.push((0, 0));
        }
        line.rewind(fillings, from);
        line.after.truncate(from + 1);
        line.marks.truncate(from + 1);
        let (full, start) = line.marks[from];
        line.windows.truncate(start + from - full);
        let mut after = line.after[from];
        for slot in &slots[from..] {
            let capacity = self.shop.capacity[machine];
            let put_in = fillings.push(&self.shop.tools, slots, capacity);
            after = self.on(machine, after, slot.job, put_in);
            line.after.push(after);
            line.marks.push((fillings.full(), line.windows.len()));
            line.windows.extend_from_slice(fillings.window());
        }
        line.cost = self.guide.cost(self.done(machine, after), after.flow);
    }

    /// The cost of a line that differs from a known one in its middle, or something above `limit`.
    fn changed(
        &self,
        line: &Line,
        fillings: &mut Fillings,
        machine: usize,
        slots: &[Slot],
        (from, tail, limit): (usize, usize, i64),
    ) -> i64 {
        line.rewind(fillings, from);
        let mut after = line.after[from];
        let tail_start = slots.len() - tail;
        for position in from..slots.len() {
            if position > tail_start && fillings.full() > tail_start {
                let known = position + line.jobs() - slots.len();
                if line.is_at(fillings, position, known)
                    && let Some(last) = self.rest(line, machine, after, known)
                {
                    after = last;
                    break;
                }
            }
            let capacity = self.shop.capacity[machine];
            let put_in = fillings.push(&self.shop.tools, slots, capacity);
            after = self.on(machine, after, slots[position].job, put_in);
            let least = self.guide.cost(self.done(machine, after), after.flow);
            if least > limit {
                return least;
            }
        }
        self.guide.cost(self.done(machine, after), after.flow)
    }

    /// After the whole line, when it goes on from here as the known line does.
    fn rest(&self, line: &Line, machine: usize, after: After, known: usize) -> Option<After> {
        let (then, last) = (line.after[known], line.after[line.jobs()]);
        let mut end = After {
            put_in: after.put_in + last.put_in - then.put_in,
            work: after.work + last.work - then.work,
            flow: 0,
        };
        if self.shop.goal == Goal::FlowTime {
            // While the first filling goes on, tools put in cost nothing, and times do not shift
            // alike.
            let free = i64::from(self.shop.capacity[machine]);
            if after.put_in != then.put_in && after.put_in.min(then.put_in) < free {
                return None;
            }
            let shift = self.done(machine, after) - self.done(machine, then);
            let jobs = i64::try_from(line.jobs() - known).unwrap_or(0);
            end.flow = after.flow + last.flow - then.flow + shift * jobs;
        }
        Some(end)
    }
}

impl Line {
    fn jobs(&self) -> usize {
        self.marks.len() - 1
    }

    /// Sets fillings to what they are before a position.
    fn rewind(&self, fillings: &mut Fillings, at: usize) {
        let (full, start) = self.marks[at];
        fillings.rewind(at, full, &self.windows[start..start + at - full]);
    }

    /// Whether fillings before a position are in the state this line has before a position of its
    /// own.
    fn is_at(&self, fillings: &Fillings, position: usize, known: usize) -> bool {
        let (full, start) = self.marks[known];
        let ahead = position - fillings.full();
        known - full == ahead && self.windows[start..start + ahead] == *fillings.window()
    }
}

/// For each job those that share most tools with it, the closest first.
pub(super) fn alike(tools: &[u128]) -> Vec<Vec<usize>> {
    let nearest = |job: usize| {
        let mut others: Vec<usize> = (0..tools.len()).filter(|&other| other != job).collect();
        others.sort_by_key(|&other| {
            let shared = (tools[job] & tools[other]).count_ones();
            let all = (tools[job] | tools[other]).count_ones();
            (std::cmp::Reverse(shared), all, other)
        });
        others.truncate(ALIKE_MOST);
        others
    };
    (0..tools.len()).map(nearest).collect()
}

impl Problem for ToolModel {
    type Scratch = Base;

    fn scratch(&self) -> Base {
        Base::default()
    }
    fn machines(&self) -> usize {
        self.shop.capacity.len()
    }
    fn jobs(&self) -> usize {
        self.shop.tools.len()
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
        base.lines.resize(self.machines(), Line::default());
        let lines = base.lines.iter_mut().zip(&sequences.machines);
        for (machine, (line, slots)) in lines.enumerate() {
            self.fill(line, &mut base.fillings, machine, slots, 0);
        }
        base.cost = base.lines.iter().map(|line| line.cost).sum();
        base.cost
    }
    fn trial(&self, base: &mut Base, sequences: &Sequences, touched: &Touched, limit: i64) -> i64 {
        let mut cost = base.cost;
        for &(machine, _) in touched.spots() {
            cost -= base.lines[machine].cost;
        }
        for (&(machine, from), &tail) in touched.spots().iter().zip(touched.tails()) {
            let slots = &sequences.machines[machine];
            let where_changed = (from, tail, limit.saturating_sub(cost));
            let line = &base.lines[machine];
            cost += self.changed(line, &mut base.fillings, machine, slots, where_changed);
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
            let slots = &sequences.machines[machine];
            self.fill(line, &mut base.fillings, machine, slots, from);
            base.cost += line.cost;
        }
    }
    fn worth(&self, base: &Base, cost: i64) -> i64 {
        let ends = base.lines.iter().enumerate().map(|(machine, line)| {
            let after = line.after.last().copied().unwrap_or_default();
            self.done(machine, after)
        });
        self.guide.worth(ends, cost)
    }
}

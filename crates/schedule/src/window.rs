//! Large shops: the search looks at one stretch of the plan at a time.
//!
//! Timing a thousand runs to judge one move is too slow to try many. So the runs of a stretch are
//! rearranged among themselves, timed from the state in which the runs before leave the shop, and
//! what comes after is priced: a brake that is free a second later makes every promise that it keeps
//! late afterwards a second later. That price is only a first guess (it leaves out people, sections
//! and whatever becomes late), so a stretch is taken over only when the whole plan, timed as always,
//! costs less. A rolling horizon; the price is the dual of a delay in the plan as it is.

use crate::problem::Problem;
use crate::timing::{LOOK_AHEAD, Scratch, Timing, time};
use search::{Effort, Outcome, Place, Progress, Sequences, Slot, Stop, StopReason, solve};
use units::Moment;

/// Jobs up to which the whole plan is searched at once.
const WHOLE_MOST: usize = 400;
/// Runs in a stretch.
const STRETCH: usize = 200;
/// Steps in each stretch in the first pass; twice as many in each pass after.
const FIRST_PASS: u64 = 1_000;

/// Improves a start: all at once, or stretch by stretch when there are many jobs.
pub fn improve(
    problem: &Problem<'_>,
    start: Sequences,
    effort: Effort,
    stop: &mut dyn Stop,
    progress: &mut dyn Progress,
) -> Outcome {
    if problem.jobs.len() <= WHOLE_MOST {
        return solve(problem, start, effort, stop, progress);
    }
    let mut scratch = Scratch::default();
    let cost = time(problem, &mut scratch, &start, i64::MAX, None);
    progress.better(0, cost);
    let mut rolling = Rolling {
        problem,
        scratch,
        best: start,
        cost,
        steps: 0,
    };
    let mut in_stretch = FIRST_PASS;
    while !stop.now(rolling.steps) {
        let before = rolling.steps;
        let mut from = 0;
        while from < problem.jobs.len() && !stop.now(rolling.steps) {
            rolling.stretch(from, in_stretch, effort, stop, progress);
            from += STRETCH / 2;
        }
        if rolling.steps == before {
            break;
        }
        in_stretch *= 2;
    }
    Outcome {
        best: rolling.best,
        cost: rolling.cost,
        steps: rolling.steps,
        reason: StopReason::Asked,
    }
}

struct Rolling<'a, 's> {
    problem: &'a Problem<'s>,
    scratch: Scratch,
    best: Sequences,
    cost: i64,
    steps: u64,
}

impl Rolling<'_, '_> {
    fn stretch(
        &mut self,
        from: usize,
        steps: u64,
        effort: Effort,
        stop: &mut dyn Stop,
        progress: &mut dyn Progress,
    ) {
        let Some((window, lines)) = Window::cut(self.problem, &mut self.scratch, &self.best, from)
        else {
            return;
        };
        let mut within = Within {
            outer: stop,
            done: self.steps,
            most: steps,
        };
        let effort = Effort {
            // Another stretch, other dice.
            seed: effort.seed.wrapping_add(self.steps),
            ..effort
        };
        let outcome = solve(&window, lines, effort, &mut within, &mut ());
        self.steps += outcome.steps;
        let whole = window.put_back(&self.best, &outcome.best);
        let cost = time(self.problem, &mut self.scratch, &whole, self.cost, None);
        if cost < self.cost {
            self.cost = cost;
            self.best = whole;
            progress.better(self.steps, cost);
        }
    }
}

/// A stretch of a plan.
struct Window<'a, 's> {
    problem: &'a Problem<'s>,
    /// The shop when the stretch begins; positions in the lines count from there.
    before: Scratch,
    /// By brake: positions in the whole line at which the stretch begins and ends.
    bounds: Vec<(usize, usize)>,
    /// By brake: the runs right after the stretch, which stay and are timed as well.
    after: Vec<Vec<Slot>>,
    /// By brake: price of a second's delay at the end of those, and when that is in the plan as it
    /// was.
    prices: Vec<(i64, Moment)>,
    /// The least that the prices can add.
    least: i64,
    pinned: Vec<Vec<Slot>>,
}

impl<'a, 's> Window<'a, 's> {
    /// Cuts the stretch that begins after so many runs, with its lines. `None` when nothing is left
    /// there.
    fn cut(
        problem: &'a Problem<'s>,
        scratch: &mut Scratch,
        plan: &Sequences,
        from: usize,
    ) -> Option<(Window<'a, 's>, Sequences)> {
        scratch.reset(problem, plan);
        let mut timing = Timing::on(problem, scratch);
        timing.running_first(plan);
        timing.advance_by(from, plan);
        let mut before = timing.state().clone();
        timing.advance_by(STRETCH, plan);
        let ends: Vec<usize> = timing.positions();
        let bounds: Vec<(usize, usize)> = before.positions().zip(ends).collect();
        if bounds.iter().all(|(start, end)| start == end) {
            return None;
        }
        let line = |brake: usize, from: usize, to: usize| plan.machines[brake][from..to].to_vec();
        let mut lines = Sequences::new(bounds.len());
        let mut after = Vec::with_capacity(bounds.len());
        for (brake, &(start, end)) in bounds.iter().enumerate() {
            let length = plan.machines[brake].len();
            lines.machines[brake] = line(brake, start, end);
            after.push(line(brake, end, length.min(end + LOOK_AHEAD)));
        }
        before.leave_demand_after(problem, &lines);
        before.restart_lines();
        let mut window = Window {
            problem,
            pinned: pinned_in(problem, &bounds),
            before,
            bounds,
            after,
            prices: Vec::new(),
            least: 0,
        };
        window.price(plan, scratch);
        Some((window, lines))
    }

    /// Prices delays at the stretch's end by the promises kept late after it.
    fn price(&mut self, plan: &Sequences, scratch: &mut Scratch) {
        let problem = self.problem;
        let late_hour = i64::from(problem.shop.rules.late_hour_minutes);
        time(problem, scratch, plan, i64::MAX, None);
        let mut pains = Vec::new();
        scratch.pains(problem, &mut pains);
        let mut prices: Vec<(i64, Moment)> = Vec::new();
        for (brake, &(_, end)) in self.bounds.iter().enumerate() {
            let rest = plan.machines[brake]
                .iter()
                .skip(end + self.after[brake].len());
            let late = rest.filter(|slot| pains[slot.job] > 0);
            let weight: i64 = late
                .map(|slot| problem.promises[problem.jobs[slot.job].promise].weight)
                .sum();
            prices.push((weight * late_hour, Moment(0)));
        }
        self.prices = prices;
        let lines: Vec<&[Slot]> = self
            .bounds
            .iter()
            .zip(&plan.machines)
            .map(|(&(start, end), line)| &line[start..end])
            .collect();
        let mut now = self.before.clone();
        let whole = self.with_after(&lines);
        now.add_demand_of(problem, &lines);
        let mut timing = Timing::on(problem, &mut now);
        while timing.advance_by(1, &whole) {}
        for (brake, price) in self.prices.iter_mut().enumerate() {
            price.1 = now.clock(brake);
            self.least -= price.0 * (price.1 - self.before.clock(brake)).0;
        }
    }

    /// The lines with the runs right after them.
    fn with_after(&self, lines: &[&[Slot]]) -> Sequences {
        let joined = lines.iter().zip(&self.after);
        Sequences {
            machines: joined
                .map(|(line, after)| [line, after.as_slice()].concat())
                .collect(),
        }
    }

    /// The whole plan with the stretch rearranged.
    fn put_back(&self, plan: &Sequences, lines: &Sequences) -> Sequences {
        let mut whole = Sequences::new(plan.machines.len());
        for (brake, &(start, end)) in self.bounds.iter().enumerate() {
            let (old, new) = (&plan.machines[brake], &mut whole.machines[brake]);
            new.extend_from_slice(&old[..start]);
            new.extend_from_slice(&lines.machines[brake]);
            new.extend_from_slice(&old[end..]);
        }
        whole
    }
}

/// Of each stretch, the runs that stay first.
fn pinned_in(problem: &Problem<'_>, bounds: &[(usize, usize)]) -> Vec<Vec<Slot>> {
    let within = |(pinned, &(start, end)): (&Vec<Slot>, &(usize, usize))| {
        let last = pinned.len().min(end);
        pinned.get(start..last).unwrap_or_default().to_vec()
    };
    problem.pinned.iter().zip(bounds).map(within).collect()
}

impl search::Problem for Window<'_, '_> {
    type Scratch = Scratch;

    fn scratch(&self) -> Scratch {
        self.before.clone()
    }
    fn machines(&self) -> usize {
        self.bounds.len()
    }
    /// All jobs of the shop: the stretch's runs keep their numbers.
    fn jobs(&self) -> usize {
        self.problem.jobs.len()
    }
    fn places(&self, job: usize) -> &[Place] {
        &self.problem.places[job]
    }
    fn pinned(&self, machine: usize) -> &[Slot] {
        &self.pinned[machine]
    }
    fn alike(&self, job: usize) -> &[usize] {
        &self.problem.alike[job]
    }
    fn cost(&self, scratch: &mut Scratch, sequences: &Sequences, limit: i64) -> i64 {
        let lines: Vec<&[Slot]> = sequences.machines.iter().map(Vec::as_slice).collect();
        scratch.go_back_to(&self.before);
        scratch.add_demand_of(self.problem, &lines);
        let whole = self.with_after(&lines);
        let mut timing = Timing::on(self.problem, scratch);
        let given = timing.cost_so_far();
        while timing.advance_by(1, &whole) {
            let so_far = timing.cost_so_far() - given + self.least;
            if so_far > limit {
                return so_far;
            }
        }
        let cost = timing.cost_so_far() - given;
        let delays: i64 = self
            .prices
            .iter()
            .enumerate()
            .map(|(brake, &(price, then))| price * (scratch.clock(brake) - then).0)
            .sum();
        cost + delays
    }
    fn pains(&self, scratch: &Scratch, pains: &mut Vec<i64>) {
        scratch.pains(self.problem, pains);
    }
}

/// A part of the steps that another stop allows.
struct Within<'a> {
    outer: &'a mut dyn Stop,
    done: u64,
    most: u64,
}

impl Stop for Within<'_> {
    fn now(&mut self, steps: u64) -> bool {
        steps >= self.most || self.outer.now(self.done + steps)
    }
    fn at_most(&self, steps: u64) -> u64 {
        let left = self.most.saturating_sub(steps);
        left.min(self.outer.at_most(self.done + steps))
    }
}

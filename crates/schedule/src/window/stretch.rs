//! A stretch of a plan, as the search sees it.

use super::STRETCH;
use super::group::{Begin, Spot};
use crate::problem::Problem;
use crate::roster::Roster;
use crate::timing::{LOOK_AHEAD, Log, Scratch, Timing};
use search::{Place, Sequences, Slot};
use units::{Moment, Window as Span};

/// A stretch of a plan. Its machines are the group's brakes, its jobs the runs in it, both numbered
/// anew.
pub(super) struct Window<'a, 's> {
    problem: &'a Problem<'s>,
    /// Who is there when the other brakes have those they have.
    roster: Roster,
    /// The shop when the stretch begins; positions in the lines count from there.
    before: Scratch,
    brakes: Vec<usize>,
    /// By brake of the group: positions in the whole line at which the stretch begins and ends.
    bounds: Vec<(usize, usize)>,
    /// By brake of the group: the runs right after the stretch, which stay and are timed as well.
    after: Vec<Vec<Slot>>,
    /// By brake of the group: price of a second's delay at the end of those, and when that is in the
    /// plan as it was.
    prices: Vec<(i64, Moment)>,
    /// The least that the prices can add.
    least: i64,
    /// The runs in it, by their numbers here.
    jobs: Vec<usize>,
    places: Vec<Vec<Place>>,
    alike: Vec<Vec<usize>>,
    pinned: Vec<Vec<Slot>>,
}

impl<'a, 's> Window<'a, 's> {
    /// Cuts the stretch of a group that begins at a spot, with its lines. `None` when nothing is left
    /// there.
    pub(super) fn cut(
        problem: &'a Problem<'s>,
        scratch: &mut Scratch,
        plan: &Sequences,
        spot: &Spot,
        pains: &[i64],
    ) -> Option<(Window<'a, 's>, Sequences)> {
        let brakes = &spot.brakes;
        scratch.reset(problem, plan);
        let mut timing = Timing::on(problem, scratch);
        timing.running_first(plan);
        go_to(&mut timing, plan, spot)?;
        let before = timing.state().clone();
        let starts: Vec<usize> = brakes.iter().map(|&brake| before.position(brake)).collect();
        let mut log = Log::default();
        timing.write_to(&mut log);
        let mut left = STRETCH;
        while left > 0 {
            let Some(brake) = timing.advance_once(plan) else {
                break;
            };
            left -= usize::from(brakes.contains(&brake));
        }
        let ends = brakes.iter().map(|&brake| timing.state().position(brake));
        let bounds: Vec<(usize, usize)> = starts.into_iter().zip(ends).collect();
        if bounds.iter().all(|(start, end)| start == end) {
            return None;
        }
        let part = |at: usize, from: usize, to: usize| {
            let line = &plan.machines[brakes[at]];
            line[from..to.min(line.len())].to_vec()
        };
        let each = || bounds.iter().enumerate();
        let lines: Vec<Vec<Slot>> = each().map(|(at, &(from, to))| part(at, from, to)).collect();
        let after: Vec<Vec<Slot>> = each()
            .map(|(at, &(_, end))| part(at, end, end + LOOK_AHEAD))
            .collect();
        // The people that the others have while the runs after the stretch are made.
        let timed_all = |state: &Scratch| {
            let ends = each().zip(&after);
            ends.into_iter()
                .all(|((at, &(_, end)), after)| state.position(brakes[at]) >= end + after.len())
        };
        while !timed_all(timing.state()) && timing.advance_once(plan).is_some() {}
        let mut window = Window {
            problem,
            roster: problem.roster.without(brakes, busy(problem, brakes, &log)),
            before,
            brakes: brakes.clone(),
            bounds,
            after,
            prices: Vec::new(),
            least: 0,
            jobs: lines.iter().flatten().map(|slot| slot.job).collect(),
            places: Vec::new(),
            alike: Vec::new(),
            pinned: Vec::new(),
        };
        window.leave_out_others(&log);
        for (line, &brake) in lines.iter().zip(brakes) {
            window.before.leave_demand_of(problem, brake, line);
        }
        window.before.restart_lines();
        window.number_anew(&lines);
        let lines = window.numbered(&lines);
        window.price(plan, &lines, pains);
        Some((window, lines))
    }

    /// What the other brakes do in the stretch is done, and what they do it with is not to be had,
    /// unless the group uses it as well.
    fn leave_out_others(&mut self, log: &Log) {
        let mut used = vec![[false; 2]; self.problem.shop.sections.len()];
        for run in &log.runs {
            let ours = self.brakes.contains(&run.brake);
            for &stand in &run.change.stand_of_need {
                for section in run.change.bed.stands[stand].sections() {
                    used[section][usize::from(ours)] = true;
                }
            }
            if let (false, Some(last)) = (ours, run.work.last()) {
                self.before
                    .done_elsewhere(self.problem, run.slot.job, last.end);
            }
        }
        for (section, [theirs, ours]) in used.into_iter().enumerate() {
            if theirs && !ours {
                self.before.lend_out(section, self.problem.until);
            }
        }
    }

    fn number_anew(&mut self, lines: &[Vec<Slot>]) {
        let problem = self.problem;
        let mut here = vec![None; problem.jobs.len()];
        for (number, &job) in self.jobs.iter().enumerate() {
            here[job] = Some(number);
        }
        let machine_of = |brake: usize| self.brakes.iter().position(|&own| own == brake);
        for &job in &self.jobs {
            let places = problem.places[job].iter().filter_map(|place| {
                Some(Place {
                    machine: machine_of(place.machine)?,
                    way: place.way,
                })
            });
            self.places.push(places.collect());
            let alike = problem.alike[job].iter().filter_map(|&other| here[other]);
            self.alike.push(alike.collect());
        }
        for ((line, &(start, _)), &brake) in lines.iter().zip(&self.bounds).zip(&self.brakes) {
            let pinned = problem.pinned[brake].len().saturating_sub(start);
            let first = line.iter().take(pinned).filter_map(|slot| {
                Some(Slot {
                    job: here[slot.job]?,
                    way: slot.way,
                })
            });
            self.pinned.push(first.collect());
        }
    }

    /// The lines with the jobs' numbers here.
    fn numbered(&self, lines: &[Vec<Slot>]) -> Sequences {
        let mut number = 0;
        let mut numbered = Sequences::new(lines.len());
        for (line, new) in lines.iter().zip(&mut numbered.machines) {
            for slot in line {
                let way = slot.way;
                new.push(Slot { job: number, way });
                number += 1;
            }
        }
        numbered
    }

    /// Prices delays at the stretch's end by the promises kept late after it.
    fn price(&mut self, plan: &Sequences, lines: &Sequences, pains: &[i64]) {
        let problem = self.problem;
        let late_hour = i64::from(problem.shop.rules.late_hour_minutes);
        for (at, &(_, end)) in self.bounds.iter().enumerate() {
            let line = &plan.machines[self.brakes[at]];
            let rest = line.iter().skip(end + self.after[at].len());
            let weight: i64 = rest
                .filter(|slot| pains[slot.job] > 0)
                .map(|slot| problem.promises[problem.jobs[slot.job].promise].weight)
                .sum();
            self.prices.push((weight * late_hour, Moment(0)));
        }
        let mut now = self.before.clone();
        let whole = self.begin(&mut now, lines);
        let mut timing = Timing::among(problem, &self.roster, &mut now);
        while timing.advance_once(&whole).is_some() {}
        for (&brake, price) in self.brakes.iter().zip(&mut self.prices) {
            price.1 = now.clock(brake);
            self.least -= price.0 * (price.1 - self.before.clock(brake)).0;
        }
    }

    /// Enters the demand of the lines, and tells what is to be timed: for each brake of the shop its
    /// line, with the runs right after it.
    fn begin(&self, state: &mut Scratch, lines: &Sequences) -> Sequences {
        let mut whole = Sequences::new(self.problem.beds.len());
        for ((line, after), &brake) in lines.machines.iter().zip(&self.after).zip(&self.brakes) {
            let slots = &mut whole.machines[brake];
            slots.reserve(line.len() + after.len());
            slots.extend(line.iter().map(|&slot| self.in_shop(slot)));
            state.add_demand_of(self.problem, brake, slots);
            slots.extend_from_slice(after);
        }
        whole
    }

    fn in_shop(&self, slot: Slot) -> Slot {
        Slot {
            job: self.jobs[slot.job],
            way: slot.way,
        }
    }

    /// The whole plan with the stretch rearranged.
    pub(super) fn put_back(&self, plan: &Sequences, lines: &Sequences) -> Sequences {
        let mut whole = plan.clone();
        for (at, &(start, end)) in self.bounds.iter().enumerate() {
            let new = lines.machines[at].iter().map(|&slot| self.in_shop(slot));
            whole.machines[self.brakes[at]].splice(start..end, new);
        }
        whole
    }
}

/// Times the runs before a stretch; `None` when there are not so many.
fn go_to(timing: &mut Timing<'_, '_>, plan: &Sequences, spot: &Spot) -> Option<()> {
    match spot.begin {
        Begin::Runs(runs) => {
            for _ in 0..runs {
                timing.advance_once(plan)?;
            }
        }
        Begin::Position(position) => {
            let leader = *spot.brakes.first()?;
            while timing.state().position(leader) < position {
                timing.advance_once(plan)?;
            }
        }
    }
    Some(())
}

/// When people are busy on brakes outside the group, by person.
fn busy(problem: &Problem<'_>, brakes: &[usize], log: &Log) -> Vec<Vec<Span>> {
    let mut busy = vec![Vec::new(); problem.shop.people.len()];
    for run in log.runs.iter().filter(|run| !brakes.contains(&run.brake)) {
        if let Some((setter, spans)) = &run.changing {
            busy[*setter].extend_from_slice(spans);
        }
        for worked in &run.work {
            for &person in &worked.crew {
                busy[person].push(Span {
                    start: worked.start,
                    end: worked.end,
                });
            }
        }
    }
    busy
}

impl search::Problem for Window<'_, '_> {
    type Scratch = Scratch;

    fn scratch(&self) -> Scratch {
        self.before.clone()
    }
    fn machines(&self) -> usize {
        self.brakes.len()
    }
    /// Of a stretch of all brakes as many as the shop has, though only the first few are in it: the
    /// more jobs, the colder the search, and its few steps are worth most when cold.
    fn jobs(&self) -> usize {
        if self.brakes.len() < self.problem.beds.len() {
            self.jobs.len()
        } else {
            self.problem.jobs.len()
        }
    }
    fn places(&self, job: usize) -> &[Place] {
        &self.places[job]
    }
    fn pinned(&self, machine: usize) -> &[Slot] {
        &self.pinned[machine]
    }
    fn alike(&self, job: usize) -> &[usize] {
        &self.alike[job]
    }
    fn cost(&self, scratch: &mut Scratch, sequences: &Sequences, limit: i64) -> i64 {
        scratch.go_back_to(&self.before);
        let whole = self.begin(scratch, sequences);
        let mut timing = Timing::among(self.problem, &self.roster, scratch);
        let given = timing.cost_so_far();
        while timing.advance_once(&whole).is_some() {
            let so_far = timing.cost_so_far() - given + self.least;
            if so_far > limit {
                return so_far;
            }
        }
        let cost = timing.cost_so_far() - given;
        let delays = self.brakes.iter().zip(&self.prices);
        let delays: i64 = delays
            .map(|(&brake, &(price, then))| price * (scratch.clock(brake) - then).0)
            .sum();
        cost + delays
    }
    fn pains(&self, scratch: &Scratch, pains: &mut Vec<i64>) {
        pains.clear();
        pains.extend(self.jobs.iter().map(|&job| scratch.pain(self.problem, job)));
    }
}

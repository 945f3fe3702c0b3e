//! Placing jobs one after the other, and asking of each place what it would bring.

use super::{Scratch, TakenDown, Timing};
use crate::least_change::least_change;
use crate::problem::Problem;
use search::{Sequences, Slot};
use tooling::run_time;
use units::{Moment, Seconds};

/// Places jobs one after the other, asking of each place what it would bring.
pub(crate) struct Trial<'a, 's> {
    problem: &'a Problem<'s>,
    scratch: &'a mut Scratch,
}

/// What one more run would bring.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Prospect {
    pub(crate) end: Moment,
    /// Addition to the objective.
    pub(crate) cost: i64,
}

impl<'a, 's> Trial<'a, 's> {
    pub(crate) fn begin(problem: &'a Problem<'s>, scratch: &'a mut Scratch) -> Trial<'a, 's> {
        scratch.reset(problem, &Sequences::new(problem.beds.len()));
        Trial { problem, scratch }
    }

    /// What the run would bring if it came next on a brake.
    pub(crate) fn would(&mut self, brake: usize, slot: Slot) -> Option<Prospect> {
        let (booked, takedowns) =
            self.trying(|timing, taken_down| timing.book(brake, slot, &[], taken_down));
        let promise = &self.problem.promises[self.problem.jobs[slot.job].promise];
        let late_hour = i64::from(self.problem.shop.rules.late_hour_minutes);
        booked.map(|booked| {
            let late = promise.weight * (booked.end - promise.due).0.max(0) * late_hour;
            let change = takedowns + booked.change.work;
            Prospect {
                end: booked.end,
                cost: 60 * change.0 + late,
            }
        })
    }

    /// Work of the change if the run came next on a brake, takedowns on other brakes included, and
    /// when it would be done.
    pub(crate) fn change(&mut self, brake: usize, slot: Slot) -> Option<(Seconds, Moment)> {
        let (prepared, takedowns) =
            self.trying(|timing, taken_down| timing.prepare(brake, slot, &[], taken_down));
        prepared.map(|prepared| (takedowns + prepared.work, prepared.changed))
    }

    /// What that work is at least: cheap to tell.
    pub(crate) fn least_change(&self, brake: usize, slot: Slot) -> Seconds {
        let option = &self.problem.ways[slot.job][slot.way];
        let state = &self.scratch.state.brakes[brake];
        let programmed = state.programmed.has(option.part);
        least_change(self.problem, option, &state.bed, state.previous, programmed)
    }

    /// No run on a brake ends sooner: cheap to tell.
    pub(crate) fn soonest_end(&self, brake: usize, slot: Slot) -> Moment {
        let job = &self.problem.jobs[slot.job];
        let option = &self.problem.ways[slot.job][slot.way];
        let rules = &self.problem.shop.rules;
        let changed = self.scratch.state.brakes[brake].clock + self.least_change(brake, slot);
        changed.max(self.ready(slot)) + run_time(job.quantity, option.cycle_ms, rules)
    }

    /// Does something that is then undone; also returns the work of the takedowns made for it.
    fn trying<T>(
        &mut self,
        what: impl FnOnce(&mut Timing<'_, '_>, &mut Vec<TakenDown>) -> Option<T>,
    ) -> (Option<T>, Seconds) {
        let before = self.scratch.state.change_work;
        let mut taken_down = Vec::new();
        let mut timing = Timing::on(self.problem, self.scratch);
        let done = what(&mut timing, &mut taken_down);
        let takedowns = Seconds(self.scratch.state.change_work - before);
        self.scratch.state.put_back(taken_down);
        (done, takedowns)
    }

    /// First moment at which a brake could begin to be changed for another run: it is free, and so
    /// is one who sets and one who bends there.
    pub(crate) fn next_start(&self, brake: usize) -> Option<Moment> {
        let roster = &self.problem.roster;
        let free = |people: &[usize]| people.iter().map(|&p| self.scratch.state.people[p]).min();
        let setter = free(&roster.setters[brake])?;
        let operator = free(&roster.operators[brake])?;
        roster.next_staffed(
            brake,
            self.scratch.state.brakes[brake]
                .clock
                .max(setter)
                .max(operator),
        )
    }

    /// Whether nothing that a run waits for is open.
    pub(crate) fn may_begin(&self, slot: Slot) -> bool {
        let after = self.problem.jobs[slot.job].after;
        after.is_none_or(|order| self.scratch.state.left_of_order[order] == 0)
    }

    /// From when a run's blanks are there, and what it waits for is done.
    pub(crate) fn ready(&self, slot: Slot) -> Moment {
        let job = &self.problem.jobs[slot.job];
        job.after.map_or(job.ready, |order| {
            job.ready.max(self.scratch.state.end_of_order[order])
        })
    }

    /// When the brake that is busy longest is free.
    pub(crate) fn latest_clock(&self) -> Moment {
        let clocks = self.scratch.state.brakes.iter().map(|brake| brake.clock);
        clocks.max().unwrap_or(self.problem.from)
    }

    pub(crate) fn problem(&self) -> &'a Problem<'s> {
        self.problem
    }

    /// Puts the run next on a brake.
    pub(crate) fn append(&mut self, brake: usize, slot: Slot) {
        Timing::on(self.problem, self.scratch).run(brake, slot, &[]);
    }
}

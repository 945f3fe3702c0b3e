//! Times a set of sequences: beds, sections, people and calendars from the plan's first moment on.
//!
//! Brakes are advanced one run at a time, always the one whose next run can begin soonest. A run
//! takes its sections from drawers, from its own bed, or from another bed, where a takedown is
//! made as soon as that brake is between runs. So no sequence can deadlock on sections; bad ones
//! merely cost more.

mod custody;
mod demand;
mod evaluation;
mod fetch;
mod log;
mod milestones;
mod outlook;
mod rehearsal;
mod scratch;
mod trial;
mod turns;

pub(crate) use evaluation::{attempt, keep, of_change, whole};
pub(crate) use log::{Log, TimedRun, TimedTakedown};
pub use scratch::Scratch;
use scratch::{State, TakenDown};
pub(crate) use trial::Trial;
pub(crate) use turns::TYPICAL_CHANGE;

use crate::forecast::Record;
use crate::problem::{Problem, unplaced_cost};
use crate::roster::{ChangeWork, Worked};
use custody::View;
use model::Approval;
use search::{Sequences, Slot};
use tooling::{
    BedChange, Composer, Keep, Previous, Request, StepTime, ToolingOption, change_keeping,
    change_steps, run_time,
};
use units::{Moment, Seconds, Window};

/// Runs looked ahead on the same brake when deciding what to leave on the bed.
const LOOK_AHEAD: usize = 10;

/// Times the sequences and returns the cost; fills the log when one is given. Stops with what is
/// known so far once that is above `limit`.
pub(crate) fn time(
    problem: &Problem<'_>,
    scratch: &mut Scratch,
    sequences: &Sequences,
    limit: i64,
    log: Option<&mut Log>,
) -> i64 {
    scratch.reset(problem, sequences);
    let mut run = Timing::on(problem, scratch);
    run.log = log;
    run.running_first(sequences);
    run.finish_within(sequences, limit, |_| true)
}

/// How many later runs of a brake have a say in what stays on its bed.
fn look_ahead(keep: Keep) -> usize {
    match keep {
        Keep::Serving => LOOK_AHEAD,
        Keep::NeededSoonest => usize::MAX,
        Keep::Blind => 0,
    }
}

/// Timing under way.
pub(crate) struct Timing<'a, 's> {
    problem: &'a Problem<'s>,
    state: &'a mut State,
    composer: &'a mut Composer,
    /// Where it is written down what was timed when, if anywhere.
    timed: Option<&'a mut Record>,
    log: Option<&'a mut Log>,
}

/// A change with a time.
struct Prepared {
    change: BedChange,
    steps: Vec<StepTime>,
    /// Work of the change.
    work: Seconds,
    /// Setter and spans of the change, when there is something to change.
    changing: Option<(usize, Vec<Window>)>,
    /// End of the change.
    changed: Moment,
}

/// A run with a time.
struct Booked {
    change: Prepared,
    worked: Vec<Worked>,
    start: Moment,
    end: Moment,
}

impl<'a, 's> Timing<'a, 's> {
    /// Goes on from a state, without a log.
    pub(crate) fn on(problem: &'a Problem<'s>, scratch: &'a mut Scratch) -> Timing<'a, 's> {
        let Scratch {
            state,
            composer,
            timed,
            ..
        } = scratch;
        Timing::of(problem, state, composer, Some(timed))
    }

    /// The same from a state that stands alone, written down or not.
    fn of(
        problem: &'a Problem<'s>,
        state: &'a mut State,
        composer: &'a mut Composer,
        timed: Option<&'a mut Record>,
    ) -> Timing<'a, 's> {
        Timing {
            problem,
            state,
            composer,
            timed,
            log: None,
        }
    }

    /// Times all that is still to come, asking before every run whether to go on: what is given up is
    /// said to cost more than anything.
    fn finish_within(
        mut self,
        sequences: &Sequences,
        limit: i64,
        mut goes_on: impl FnMut(&Timing<'_, '_>) -> bool,
    ) -> i64 {
        loop {
            if !goes_on(&self) {
                return i64::MAX;
            }
            let Some(brake) = self.soonest(sequences) else {
                return self.finish(sequences);
            };
            self.advance(brake, sequences);
            let so_far = self.cost_so_far();
            if so_far > limit {
                return so_far;
            }
        }
    }

    /// Pieces of an order for which there is no place.
    fn fail(&mut self, order: usize, pieces: u32) {
        let cost = |pieces| unplaced_cost(self.problem.shop, order, pieces);
        let missing = &mut self.state.missing_of_order[order];
        self.state.unplaced += cost(*missing + pieces) - cost(*missing);
        *missing += pieces;
    }

    /// What the plan costs at least, from what has been timed: it only grows.
    pub(crate) fn cost_so_far(&self) -> i64 {
        let rules = &self.problem.shop.rules;
        self.state.spent(rules) + self.state.late * i64::from(rules.late_hour_minutes)
    }

    /// Orders in progress keep their beds and go on at once.
    pub(crate) fn running_first(&mut self, sequences: &Sequences) {
        for (brake, slots) in sequences.machines.iter().enumerate() {
            if let Some(slot) = slots
                .first()
                .filter(|slot| self.problem.jobs[slot.job].running)
            {
                self.state.brakes[brake].next = 1;
                self.run(brake, *slot, &slots[1..]);
            }
        }
    }

    fn advance(&mut self, brake: usize, sequences: &Sequences) {
        let slots = &sequences.machines[brake];
        let position = self.state.brakes[brake].next;
        self.state.brakes[brake].next = position + 1;
        self.run(brake, slots[position], &slots[position + 1..]);
    }

    fn run(&mut self, brake: usize, slot: Slot, later: &[Slot]) {
        let problem = self.problem;
        let job = &problem.jobs[slot.job];
        let option = &problem.ways[slot.job][slot.way];
        let spent = self
            .timed
            .is_some()
            .then(|| self.state.spent(&problem.shop.rules));
        self.state.add_demand(brake, option, -1);
        self.state.expect_anew(brake);
        if let Some(log) = self.log.as_deref_mut() {
            log.order.push((brake, slot));
        }
        let blocked = job.after.is_some_and(|order| {
            self.state.left_of_order[order] > 0 || self.state.missing_of_order[order] > 0
        });
        self.state.left_of_order[job.order] -= job.quantity;
        let end = if blocked {
            None
        } else {
            self.try_run(brake, slot, later)
        };
        match end {
            Some((start, end)) => {
                let disturbance = &mut self.state.disturbance;
                disturbance.run(&problem.told, job.order, brake, start);
                let order_end = &mut self.state.end_of_order[job.order];
                *order_end = (*order_end).max(end);
                let terms = &problem.promises[job.promise];
                let late = |end: Moment| terms.weight * (end - terms.due).0.max(0);
                let promise = &mut self.state.promise_end[job.promise];
                if promise.is_none_or(|before| before < end) {
                    self.state.late += late(end) - promise.map_or(0, late);
                    *promise = Some(end);
                }
            }
            None => {
                self.fail(job.order, job.quantity);
                if let Some(timed) = self.timed.as_deref_mut() {
                    timed.without_place(slot.job);
                }
                if let Some(log) = self.log.as_deref_mut() {
                    log.failed.push(slot.job);
                }
            }
        }
        if self.state.left_of_order[job.order] == 0 {
            self.state.disturbance.close(&problem.told, job.order);
        }
        if let (Some(timed), Some(before)) = (self.timed.as_deref_mut(), spent) {
            timed.spends[slot.job] = self.state.spent(&problem.shop.rules) - before;
        }
    }

    /// Times one run, and tells its start and end; `None` when it finds no place before the horizon's end, and then nothing
    /// has changed: takedowns already made for it are undone.
    fn try_run(&mut self, brake: usize, slot: Slot, later: &[Slot]) -> Option<(Moment, Moment)> {
        let takedowns = self.log.as_deref().map_or(0, |log| log.takedowns.len());
        let mut taken_down = Vec::new();
        if let Some(booked) = self.book(brake, slot, later, &mut taken_down) {
            let span = (booked.start, booked.end);
            self.commit(brake, slot, booked);
            return Some(span);
        }
        self.state.put_back(taken_down);
        if let Some(log) = self.log.as_deref_mut() {
            log.takedowns.truncate(takedowns);
        }
        None
    }

    /// Finds the time of one run without booking it. Only takedowns of sections on other beds are
    /// made; they are added to `taken_down`, so that they can be put back.
    fn book(
        &mut self,
        brake: usize,
        slot: Slot,
        later: &[Slot],
        taken_down: &mut Vec<TakenDown>,
    ) -> Option<Booked> {
        let problem = self.problem;
        let job = &problem.jobs[slot.job];
        let option: &ToolingOption = &problem.ways[slot.job][slot.way];
        let change = self.prepare(brake, slot, later, taken_down)?;
        // The setter is not free before the change is made.
        let setter_free = change.changing.as_ref().map(|&(setter, _)| {
            let free = &mut self.state.people[setter];
            (setter, std::mem::replace(free, change.changed))
        });
        let worked = problem.roster.place_run(
            brake,
            change.changed.max(self.ready(slot)),
            run_time(job.quantity, option.cycle_ms, &problem.shop.rules),
            usize::from(option.crew),
            problem.shop.rules.run_may_span_shifts,
            &self.state.people,
        );
        if let Some((setter, free)) = setter_free {
            self.state.people[setter] = free;
        }
        let worked = worked?;
        let start = worked.first()?.start;
        let end = worked.last()?.end;
        (end <= problem.until).then_some(Booked {
            change,
            worked,
            start,
            end,
        })
    }

    /// From when a run's blanks are there and the order it waits for is done.
    fn ready(&self, slot: Slot) -> Moment {
        let job = &self.problem.jobs[slot.job];
        job.after
            .map_or(job.ready, |o| job.ready.max(self.state.end_of_order[o]))
    }

    /// The change before one run, as [`Timing::book`] finds it.
    fn prepare(
        &mut self,
        brake: usize,
        slot: Slot,
        later: &[Slot],
        taken_down: &mut Vec<TakenDown>,
    ) -> Option<Prepared> {
        let problem = self.problem;
        let job = &problem.jobs[slot.job];
        let option: &ToolingOption = &problem.ways[slot.job][slot.way];
        let change = match &problem.serving[brake] {
            Some(serving) if job.running => serving.clone(),
            _ => self.change(brake, option, later)?,
        };
        let state = &self.state.brakes[brake];
        let steps = if job.running {
            Vec::new()
        } else {
            let programmed = state.programmed.has(option.part);
            let machine = &problem.shop.brakes[brake];
            change_steps(
                &problem.stock,
                machine,
                option,
                &change,
                state.previous,
                programmed,
            )
        };
        let work: Seconds = steps.iter().map(|step| step.time).sum();
        let sections_free = self.fetch_sections(brake, &change, taken_down)?;
        let begin = self.state.brakes[brake].clock.max(sections_free);
        // A change made long before its blanks are there would only hold sections and people.
        let earliest = begin.max(self.ready(slot) - work);
        let changing = if work > Seconds::ZERO {
            Some(problem.roster.place_change(
                &self.change_work(brake, option, earliest, work),
                &self.state.people,
            )?)
        } else {
            None
        };
        let changed = match &changing {
            Some((_, spans)) => spans.last()?.end,
            None => begin,
        };
        Some(Prepared {
            change,
            steps,
            work,
            changing,
            changed,
        })
    }

    /// Books a run: people, bed, sections and what it costs.
    fn commit(&mut self, brake: usize, slot: Slot, booked: Booked) {
        let option: &ToolingOption = &self.problem.ways[slot.job][slot.way];
        let change = booked.change;
        if let Some((setter, _)) = &change.changing {
            self.state.people[*setter] = change.changed;
        }
        for span in &booked.worked {
            for &person in &span.crew {
                self.state.people[person] = span.end;
            }
        }
        let spans = change.changing.as_ref().map(|(_, s)| s.as_slice());
        self.account(brake, spans, change.work, &booked.worked);
        if let Some(log) = self.log.as_deref_mut() {
            let takedowns = log.takedowns.len();
            log.runs.push(TimedRun {
                slot,
                brake,
                takedowns,
                change: change.change.clone(),
                steps: change.steps,
                changing: change.changing,
                work: booked.worked,
            });
        }
        self.settle(brake, option, change.change, change.changed, booked.end);
        if let Some(timed) = self.timed.as_deref_mut() {
            let bed = (brake, &self.state.brakes[brake].bed);
            let span = (booked.start, booked.end);
            timed.run(slot, bed, change.work, span);
        }
    }

    fn change(
        &mut self,
        brake: usize,
        option: &ToolingOption,
        later: &[Slot],
    ) -> Option<BedChange> {
        let problem = self.problem;
        let later: Vec<&ToolingOption> = later
            .iter()
            .take(look_ahead(problem.keep))
            .map(|slot| problem.ways[slot.job][slot.way].as_ref())
            .collect();
        let request = Request {
            brake: &problem.shop.brakes[brake],
            option,
            later: &later,
        };
        let now = self.state.brakes[brake].clock;
        let view = View {
            state: &*self.state,
            brake,
            now,
        };
        let bed = &self.state.brakes[brake].bed;
        let keep = problem.keep;
        change_keeping(&problem.stock, self.composer, bed, &request, &view, keep)
    }

    fn change_work(
        &self,
        brake: usize,
        option: &ToolingOption,
        earliest: Moment,
        work: Seconds,
    ) -> ChangeWork {
        let rules = &self.problem.shop.rules;
        ChangeWork {
            brake,
            earliest,
            work,
            inspected: match option.approval {
                Approval::Own => None,
                Approval::Inspector => Some(rules.approve_inspector),
                Approval::Customer => Some(rules.approve_customer),
            },
            quiet: rules.quiet_before_shift_end,
            may_span_shifts: rules.changeover_may_span_shifts,
        }
    }

    /// The bed, its sections and the brake after a run.
    fn settle(
        &mut self,
        brake: usize,
        option: &ToolingOption,
        change: BedChange,
        changed: Moment,
        end: Moment,
    ) {
        for section in change.removed.iter().flat_map(|stand| stand.sections()) {
            self.state.holder[section] = None;
            self.state.free_at[section] = changed;
        }
        for &index in &change.inserted {
            for section in change.bed.stands[index].sections() {
                self.state.holder[section] = Some(brake);
            }
        }
        let state = &mut self.state.brakes[brake];
        state.bed = change.bed;
        state.clock = end;
        state.previous = Some(Previous {
            part: option.part,
            tallest: option.tallest,
        });
        state.programmed.add(option.part);
    }

    fn account(
        &mut self,
        brake: usize,
        changing: Option<&[Window]>,
        work: Seconds,
        worked: &[Worked],
    ) {
        self.state.change_work += work.0;
        let roster = &self.problem.roster;
        for span in changing.unwrap_or_default() {
            self.state.overtime += roster.overtime_in(brake, *span);
        }
        for span in worked {
            let window = Window {
                start: span.start,
                end: span.end,
            };
            self.state.overtime += roster.overtime_in(brake, window);
        }
    }

    /// The objective; docs/rules.md section 7.
    fn finish(self, sequences: &Sequences) -> i64 {
        let (problem, state) = (self.problem, self.state);
        let rules = &problem.shop.rules;
        for (promise, end) in problem.promises.iter().zip(&state.promise_end) {
            if let (Some(kit), Some(end)) = (promise.kit, end) {
                let kit_end = &mut state.kit_end[kit];
                *kit_end = (*kit_end).max(Some(*end));
            }
        }
        let mut weighted_late = 0;
        let mut completions = Vec::new();
        for (promise, end) in problem.promises.iter().zip(&state.promise_end) {
            // A promise none of whose runs has a place is priced as unplaced, not as late.
            let end = end.map(|end| {
                promise
                    .kit
                    .and_then(|kit| state.kit_end[kit])
                    .unwrap_or(end)
            });
            if let Some(end) = end {
                weighted_late += promise.weight * (end - promise.due).0.max(0);
            }
            completions.push(end);
        }
        let absent = sequences.len() < problem.jobs.len();
        if absent {
            let left = &state.left_of_order;
            state.disturbance.close_open(&problem.told, left);
        }
        if let Some(log) = self.log {
            log.completions = completions;
            log.overtime = state.overtime;
            log.moved = state.disturbance.moved();
            log.other_brakes = state.disturbance.other_brakes();
        }
        let mut unplaced = state.unplaced;
        let orders = state.left_of_order.iter().zip(&state.missing_of_order);
        for (order, (&left, &missing)) in orders.enumerate() {
            if absent && left > 0 {
                let cost = |pieces| unplaced_cost(problem.shop, order, pieces);
                unplaced += cost(missing + left) - cost(missing);
            }
        }
        60 * state.change_work
            + weighted_late * i64::from(rules.late_hour_minutes)
            + state.overtime * 6 * i64::from(rules.overtime_tenths)
            + state.disturbance.cost(rules)
            + unplaced
    }
}

//! Working memory of one evaluation.

use super::demand::Demand;
use super::milestones::Milestones;
use super::outlook::Room;
use crate::forecast::Record;
use crate::problem::{BrakeState, Problem};
use crate::told::Disturbance;
use model::Rules;
use search::Sequences;
use std::sync::Arc;
use tooling::{Composer, Stand, ToolingOption};
use units::Moment;

/// Before anything is known of when a run begins.
const NOT_KNOWN: Moment = Moment(i64::MIN);

/// Working memory of one evaluation, and what is known of the answer that others are compared with.
#[derive(Clone, Debug, Default)]
pub struct Scratch {
    /// The problem that the memories belong to.
    owner: Option<Arc<()>>,
    pub(super) composer: Composer,
    pub(super) state: State,
    /// The answer timed last, and the one that guesses go by.
    pub(super) timed: Record,
    pub(crate) base: Record,
    /// What they cost.
    pub(super) cost: i64,
    pub(super) base_cost: i64,
    /// The lines of the latter.
    pub(super) lines: Sequences,
    /// States on the way through it, and through the one timed last after so many that it shares.
    pub(super) milestones: Milestones,
    pub(super) fresh: Milestones,
    pub(super) kept: usize,
    /// Whether they are written down: only when answers are rehearsed.
    pub(super) collects: bool,
    /// What the answer timed last needs more than the other.
    pub(super) demand: Demand,
    pub(super) room: Room,
}

/// The shop at one moment of an evaluation.
#[derive(Debug, Default)]
pub(super) struct State {
    pub(super) brakes: Vec<BrakeState>,
    /// By brake: when its next run begins at the soonest.
    pub(super) expected: Vec<Moment>,
    pub(super) holder: Vec<Option<usize>>,
    pub(super) free_at: Vec<Moment>,
    pub(super) people: Vec<Moment>,
    /// By order: pieces in runs still to come, and pieces that have found no place.
    pub(super) left_of_order: Vec<u32>,
    pub(super) end_of_order: Vec<Moment>,
    pub(super) missing_of_order: Vec<u32>,
    pub(super) promise_end: Vec<Option<Moment>>,
    pub(super) kit_end: Vec<Option<Moment>>,
    /// By profile: how many runs still to come need it, over all brakes and by brake.
    pub(super) demand: Vec<i32>,
    pub(super) demand_of_brake: Vec<Vec<i32>>,
    pub(super) change_work: i64,
    pub(super) overtime: i64,
    /// Weighted seconds late so far, kits aside; and price of orders that found no place.
    pub(super) late: i64,
    pub(super) unplaced: i64,
    pub(super) disturbance: Disturbance,
}

/// What a takedown changed, so that it can be put back.
pub(super) struct TakenDown {
    brake: usize,
    /// Where on the bed the station stood.
    at: usize,
    stand: Arc<Stand>,
    clock: Moment,
    setter: usize,
    setter_free: Moment,
    /// When each of its sections was last free before.
    free_at: Vec<Moment>,
    change_work: i64,
    overtime: i64,
}

impl Scratch {
    pub(crate) fn reset(&mut self, problem: &Problem<'_>, sequences: &Sequences) {
        if !self
            .owner
            .as_ref()
            .is_some_and(|owner| Arc::ptr_eq(owner, &problem.identity))
        {
            self.owner = Some(Arc::clone(&problem.identity));
            self.composer = problem.composer.clone();
            self.milestones.forget();
        }
        self.state.reset(problem, sequences);
        self.timed.clear(problem.jobs.len());
    }

    /// When the last run of an order ended, after an evaluation that was not stopped; `None` when a
    /// piece of it has no place.
    pub(crate) fn end_of(&self, order: usize) -> Option<Moment> {
        let whole = self.state.left_of_order[order] == 0 && self.state.missing_of_order[order] == 0;
        whole.then(|| self.state.end_of_order[order])
    }

    /// Lateness of each job's promise, with kits, after an evaluation that was not stopped.
    pub(crate) fn pains(&self, problem: &Problem<'_>, pains: &mut Vec<i64>) {
        pains.clear();
        pains.extend(problem.jobs.iter().map(|job| {
            let promise = &problem.promises[job.promise];
            let end = self.state.promise_end[job.promise].map_or(problem.until, |end| {
                promise
                    .kit
                    .and_then(|kit| self.state.kit_end[kit])
                    .unwrap_or(end)
            });
            promise.weight * (end - promise.due).0.max(0)
        }));
    }
}

impl Clone for State {
    fn clone(&self) -> State {
        let mut new = State::default();
        new.clone_from(self);
        new
    }

    // States are stored and taken up again far too often to claim their memory anew.
    fn clone_from(&mut self, other: &State) {
        self.brakes.clone_from(&other.brakes);
        self.expected.clone_from(&other.expected);
        self.holder.clone_from(&other.holder);
        self.free_at.clone_from(&other.free_at);
        self.people.clone_from(&other.people);
        self.left_of_order.clone_from(&other.left_of_order);
        self.end_of_order.clone_from(&other.end_of_order);
        self.missing_of_order.clone_from(&other.missing_of_order);
        self.promise_end.clone_from(&other.promise_end);
        self.kit_end.clone_from(&other.kit_end);
        self.demand.clone_from(&other.demand);
        self.demand_of_brake.clone_from(&other.demand_of_brake);
        self.disturbance.clone_from(&other.disturbance);
        (self.change_work, self.overtime) = (other.change_work, other.overtime);
        (self.late, self.unplaced) = (other.late, other.unplaced);
    }
}

impl State {
    /// Takes a station off a bed at the end of a takedown, whose work is not accounted here. `None`
    /// when there is no such station.
    pub(super) fn take_down(
        &mut self,
        brake: usize,
        at: usize,
        setter: usize,
        end: Moment,
    ) -> Option<TakenDown> {
        let (change_work, overtime) = (self.change_work, self.overtime);
        let state = &mut self.brakes[brake];
        if at >= state.bed.stands.len() {
            return None;
        }
        let stand = state.bed.stands.remove(at);
        let clock = std::mem::replace(&mut state.clock, end);
        let setter_free = std::mem::replace(&mut self.people[setter], end);
        let mut free_at = Vec::new();
        for section in stand.sections() {
            self.holder[section] = None;
            free_at.push(std::mem::replace(&mut self.free_at[section], end));
        }
        Some(TakenDown {
            brake,
            at,
            stand,
            clock,
            setter,
            setter_free,
            free_at,
            change_work,
            overtime,
        })
    }

    /// Undoes takedowns, the last of which was made last.
    pub(super) fn put_back(&mut self, taken_down: Vec<TakenDown>) {
        for undone in taken_down.into_iter().rev() {
            for (section, free_at) in undone.stand.sections().zip(undone.free_at) {
                self.holder[section] = Some(undone.brake);
                self.free_at[section] = free_at;
            }
            self.people[undone.setter] = undone.setter_free;
            (self.change_work, self.overtime) = (undone.change_work, undone.overtime);
            let state = &mut self.brakes[undone.brake];
            state.clock = undone.clock;
            state.bed.stands.insert(undone.at, undone.stand);
        }
    }

    /// As the plan begins.
    pub(super) fn reset(&mut self, problem: &Problem<'_>, sequences: &Sequences) {
        let (from, shop) = (problem.from, problem.shop);
        self.brakes.clear();
        self.brakes
            .extend(problem.beds.iter().map(|bed| BrakeState {
                clock: from,
                bed: bed.clone(),
                ..BrakeState::default()
            }));
        refill(&mut self.expected, problem.beds.len(), NOT_KNOWN);
        refill(&mut self.holder, shop.sections.len(), None);
        refill(&mut self.free_at, shop.sections.len(), from);
        for (brake, bed) in problem.beds.iter().enumerate() {
            for section in bed.stands.iter().flat_map(|stand| stand.sections()) {
                self.holder[section] = Some(brake);
            }
        }
        refill(&mut self.people, shop.people.len(), from);
        self.left_of_order.clone_from(&problem.pieces_in_jobs);
        refill(&mut self.end_of_order, shop.orders.len(), from);
        self.missing_of_order.clone_from(&problem.pieces_without);
        refill(&mut self.promise_end, problem.promises.len(), None);
        refill(&mut self.kit_end, problem.kits, None);
        (self.change_work, self.overtime) = (0, 0);
        (self.late, self.unplaced) = (0, problem.misfit_cost);
        self.disturbance.reset(&problem.told);
        self.count_demand(problem, sequences);
    }

    /// Another run comes next on a brake.
    pub(super) fn expect_anew(&mut self, brake: usize) {
        self.expected[brake] = NOT_KNOWN;
    }

    /// What it has cost so far but for lateness.
    pub(super) fn spent(&self, rules: &Rules) -> i64 {
        60 * self.change_work
            + self.overtime * 6 * i64::from(rules.overtime_tenths)
            + self.unplaced
            + self.disturbance.cost(rules)
    }

    fn count_demand(&mut self, problem: &Problem<'_>, sequences: &Sequences) {
        let profiles = problem.shop.profiles.len();
        refill(&mut self.demand, profiles, 0);
        self.demand_of_brake
            .resize_with(problem.beds.len(), Vec::new);
        for (brake, slots) in sequences.machines.iter().enumerate() {
            refill(&mut self.demand_of_brake[brake], profiles, 0);
            for slot in slots {
                self.add_demand(brake, &problem.ways[slot.job][slot.way], 1);
            }
        }
    }

    pub(super) fn add_demand(&mut self, brake: usize, option: &ToolingOption, count: i32) {
        for need in &option.needs {
            for profile in [need.punch, need.die] {
                self.demand[profile] += count;
                self.demand_of_brake[brake][profile] += count;
            }
        }
    }
}

fn refill<T: Clone>(items: &mut Vec<T>, length: usize, value: T) {
    items.clear();
    items.resize(length, value);
}

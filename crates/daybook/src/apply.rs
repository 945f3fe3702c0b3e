//! Taking happenings in. It never fails: what a command may do was decided before.

use crate::happening::{
    Calibrated, DownEntry, Evidence, Happening, RunningEntry, Source, StationEntry,
};
use crate::order_entry::OrderEntry;
use crate::state::{
    ActualChange, ActualRun, ChangeOn, Doing, EventNumber, Factor, Offer, OnBrake, OrderState,
    Pause, Proposal, Published, RunOn, SectionOut, State,
};
use model::{BedStation, BrakeDown, Floor, WorkOrder};
use std::collections::BTreeSet;
use units::{BrakeId, Moment, OrderId, SectionId, Window};

/// Actual times kept of each kind.
const MOST_ACTUALS: usize = 20_000;
/// Proposals kept.
const MOST_PROPOSALS: usize = 100;

/// The event a happening is.
#[derive(Clone, Copy)]
struct Stamp<'a> {
    number: EventNumber,
    at: Moment,
    who: &'a str,
}

impl State {
    /// Takes in the event `number` that happened at `at` and was reported by `who`. Numbers rise;
    /// an event that was taken in already changes nothing.
    pub fn apply(&mut self, happening: &Happening, number: EventNumber, at: Moment, who: &str) {
        if number <= self.number {
            return;
        }
        self.number = number;
        self.at = self.at.max(at);
        let stamp = Stamp {
            number,
            at: self.at,
            who,
        };
        match happening {
            Happening::ShopDataTaken { revision } => {
                self.revision = Some(*revision);
                self.unfit(stamp);
            }
            Happening::OrdersTaken { source, orders } => {
                for entry in orders {
                    self.take_order(*source, entry, stamp);
                }
                self.wanted(stamp);
            }
            Happening::OrdersWithdrawn { source, orders, .. } => {
                for id in orders {
                    self.withdraw(*source, id, stamp);
                }
                self.wanted(stamp);
            }
            Happening::FloorDescribed {
                stations,
                running,
                down,
            } => self.describe_floor(stations, running, down, stamp),
            Happening::BedDescribed { brake, stations } => {
                let before = self.beds.get(brake).cloned().unwrap_or_default();
                let changing = matches!(self.doing(brake), Doing::ChangingOver(_));
                self.lay(brake, stations);
                if changing {
                    self.set_doing(brake, Doing::Idle, stamp);
                } else {
                    self.touch(brake, stamp);
                }
                if changing || self.beds.get(brake) != Some(&before) {
                    self.unfit(stamp);
                }
            }
            Happening::ChangeoverStarted { .. }
            | Happening::ChangeoverFinished { .. }
            | Happening::TakedownDone { .. } => self.apply_change(happening, stamp),
            Happening::RunStarted { .. }
            | Happening::RunPaused { .. }
            | Happening::RunResumed { .. }
            | Happening::PiecesCounted { .. }
            | Happening::RunFinished { .. } => self.apply_run(happening, stamp),
            Happening::BrakeDown {
                brake,
                from,
                until,
                why,
            } => {
                self.downs.retain(|down| down.brake != *brake);
                self.downs.push(BrakeDown {
                    brake: brake.clone(),
                    window: Window {
                        start: *from,
                        end: *until,
                    },
                    reason: why.clone(),
                });
                self.touch(brake, stamp);
                self.wanted(stamp);
            }
            Happening::BrakeUp { brake } => {
                self.downs.retain(|down| down.brake != *brake);
                self.touch(brake, stamp);
                self.wanted(stamp);
            }
            Happening::SectionOut { section, why } => {
                let since = stamp.at;
                let why = why.clone();
                self.sections_out
                    .insert(section.clone(), SectionOut { since, why });
                self.take_off(section, stamp);
                self.unfit(stamp);
            }
            Happening::SectionBack { section } => {
                self.sections_out.remove(section);
                self.wanted(stamp);
            }
            Happening::ProposalMade { .. }
            | Happening::Published { .. }
            | Happening::PolicyChanged { .. } => self.apply_planning(happening, stamp),
            Happening::CalibrationOffered {
                brake,
                what,
                factor,
                evidence,
            } => self.set_offer(brake, what, *factor, evidence, None, stamp),
            Happening::CalibrationRefused {
                brake,
                what,
                factor,
                evidence,
                why,
            } => self.set_offer(brake, what, *factor, evidence, Some(why.clone()), stamp),
            Happening::CalibrationAccepted {
                brake,
                what,
                factor,
                ..
            } => self.accept(brake, what, *factor, stamp),
        }
    }

    fn wanted(&mut self, stamp: Stamp<'_>) {
        self.plan_wanted_since = stamp.number;
    }

    fn unfit(&mut self, stamp: Stamp<'_>) {
        self.unfit_since = stamp.number;
        self.wanted(stamp);
    }

    fn take_order(&mut self, source: Source, entry: &OrderEntry, stamp: Stamp<'_>) {
        let order = WorkOrder::from(entry);
        if source == Source::Folder {
            self.imported.insert(order.id.clone(), order.clone());
        }
        if let Some(known) = self.orders.get_mut(&order.id) {
            known.order = order;
            known.source = source;
            known.version = stamp.number;
            known.withdrawn = false;
            return;
        }
        let arrived = self.queue.keys().next_back().map_or(0, |last| last + 1);
        self.queue.insert(arrived, order.id.clone());
        let id = order.id.clone();
        let taken = OrderState {
            order,
            source,
            version: stamp.number,
            arrived,
            done: 0,
            scrap: 0,
            withdrawn: false,
        };
        self.orders.insert(id, taken);
    }

    fn withdraw(&mut self, source: Source, id: &OrderId, stamp: Stamp<'_>) {
        if source == Source::Folder {
            self.imported.remove(id);
        }
        if let Some(order) = self.orders.get_mut(id) {
            order.withdrawn = true;
            order.version = stamp.number;
        }
    }

    fn describe_floor(
        &mut self,
        stations: &[StationEntry],
        running: &[RunningEntry],
        down: &[DownEntry],
        stamp: Stamp<'_>,
    ) {
        self.described = floor_of(stations, running, down);
        let before = std::mem::take(&mut self.on_brake);
        let mut brakes: BTreeSet<BrakeId> = before.keys().cloned().collect();
        for (brake, on) in before {
            let Doing::Running(run) = on.doing else {
                continue;
            };
            let goes_on = running
                .iter()
                .any(|row| row.brake == brake && row.order == run.order);
            self.book(
                &run.order,
                if goes_on { 0 } else { run.good },
                run.scrap,
                stamp,
            );
        }
        self.beds.clear();
        brakes.extend(stations.iter().map(|station| station.brake.clone()));
        brakes.extend(running.iter().map(|row| row.brake.clone()));
        brakes.extend(down.iter().map(|row| row.brake.clone()));
        for brake in &brakes {
            let bed: Vec<StationEntry> = stations
                .iter()
                .filter(|station| station.brake == *brake)
                .cloned()
                .collect();
            self.lay(brake, &bed);
            self.set_doing(brake, Doing::Idle, stamp);
        }
        for row in running {
            self.take_running(row, stamp);
        }
        self.downs = down.iter().map(BrakeDown::from).collect();
        self.unfit(stamp);
    }

    /// An order in progress as the floor's description has it; one that is closed, or that is tied
    /// to another brake, is not.
    fn take_running(&mut self, row: &RunningEntry, stamp: Stamp<'_>) {
        let Some(order) = self.open_order(&row.order) else {
            return;
        };
        let tied = order.order.brake.as_ref();
        let elsewhere = tied.is_some_and(|tied| *tied != row.brake);
        let quantity = self.pieces_free(order);
        if elsewhere || quantity == 0 {
            return;
        }
        let run = RunOn {
            of: None,
            made_from: 0,
            order: row.order.clone(),
            quantity,
            good: row.pieces_done.saturating_sub(order.done).min(quantity),
            scrap: 0,
            // Which of them bend is not said.
            stations: self.beds.get(&row.brake).cloned().unwrap_or_default(),
            started: stamp.at,
            paused: None,
            paused_seconds: 0,
            planned_cycle_ms: 0,
            planned_pause_seconds: 0,
            planned_end: None,
        };
        self.set_doing(&row.brake, Doing::Running(Box::new(run)), stamp);
        self.touch_order(&row.order, stamp);
    }

    fn apply_change(&mut self, happening: &Happening, stamp: Stamp<'_>) {
        match happening {
            Happening::ChangeoverStarted {
                brake,
                plan,
                run,
                order,
                bed,
                planned,
            } => {
                let change = ChangeOn {
                    plan: *plan,
                    made_from: self.published.as_ref().map_or(0, |now| now.made_from),
                    run: run.clone(),
                    order: order.clone(),
                    bed: bed.clone(),
                    planned: planned.clone(),
                };
                self.set_doing(brake, Doing::ChangingOver(Box::new(change)), stamp);
            }
            Happening::ChangeoverFinished { brake, bed, .. } => {
                self.lay(brake, bed);
                self.keep_change(brake, stamp);
                self.set_doing(brake, Doing::Idle, stamp);
            }
            Happening::TakedownDone {
                brake,
                plan,
                takedown,
                bed,
            } => {
                self.lay(brake, bed);
                self.touch(brake, stamp);
                if self.published.as_ref().is_some_and(|now| now.plan == *plan) {
                    self.taken_down.insert((brake.clone(), *takedown));
                }
            }
            _ => {}
        }
    }

    /// Keeps what a changeover took, when it was reported from its start.
    fn keep_change(&mut self, brake: &BrakeId, stamp: Stamp<'_>) {
        let Some(on) = self.on_brake.get(brake) else {
            return;
        };
        let Doing::ChangingOver(change) = &on.doing else {
            return;
        };
        let seconds = (stamp.at - on.since).0 - change.planned.pause_seconds;
        if seconds <= 0 || change.planned.seconds <= 0 {
            return;
        }
        let steps = change.planned.steps.iter();
        let actual = ActualChange {
            number: stamp.number,
            made_from: change.made_from,
            brake: brake.clone(),
            planned: steps.map(|step| (step.step, step.seconds)).collect(),
            seconds,
        };
        let changes = &mut self.actuals.changes;
        changes.push_back(actual);
        if changes.len() > MOST_ACTUALS {
            changes.pop_front();
        }
    }

    fn apply_run(&mut self, happening: &Happening, stamp: Stamp<'_>) {
        match happening {
            Happening::RunStarted {
                brake,
                plan,
                run,
                order,
                quantity,
                bed,
                uses,
                planned_cycle_ms,
                planned_pause_seconds,
                planned_end,
                as_planned,
            } => {
                self.lay(brake, bed);
                let started = RunOn {
                    of: Some((*plan, run.clone())),
                    made_from: self.published.as_ref().map_or(0, |now| now.made_from),
                    order: order.clone(),
                    quantity: *quantity,
                    good: 0,
                    scrap: 0,
                    stations: uses
                        .iter()
                        .filter_map(|at| bed.get(*at))
                        .map(BedStation::from)
                        .collect(),
                    started: stamp.at,
                    paused: None,
                    paused_seconds: 0,
                    planned_cycle_ms: *planned_cycle_ms,
                    planned_pause_seconds: *planned_pause_seconds,
                    planned_end: Some(*planned_end),
                };
                self.set_doing(brake, Doing::Running(Box::new(started)), stamp);
                self.touch_order(order, stamp);
                if self.published.as_ref().is_some_and(|now| now.plan == *plan) {
                    self.begun.insert(run.clone());
                }
                if !as_planned {
                    self.wanted(stamp);
                }
            }
            Happening::RunPaused { brake, why } => {
                let pause = Pause {
                    since: stamp.at,
                    why: why.clone(),
                };
                self.change_run(brake, stamp, |run| run.paused = Some(pause));
            }
            Happening::RunResumed { brake } => {
                self.change_run(brake, stamp, |run| end_pause(run, stamp.at));
            }
            Happening::PiecesCounted { brake, good, scrap } => {
                self.change_run(brake, stamp, |run| {
                    run.good = (*good).min(run.quantity);
                    run.scrap = *scrap;
                });
            }
            Happening::RunFinished {
                brake,
                good,
                scrap,
                as_planned,
                ..
            } => self.finish_run(brake, (*good, *scrap), *as_planned, stamp),
            _ => {}
        }
    }

    fn finish_run(
        &mut self,
        brake: &BrakeId,
        (good, scrap): (u32, u32),
        as_planned: bool,
        stamp: Stamp<'_>,
    ) {
        let Some(mut run) = self.run_on(brake).cloned() else {
            return;
        };
        end_pause(&mut run, stamp.at);
        self.book(&run.order, good.min(run.quantity), scrap, stamp);
        self.keep_run(brake, &run, u64::from(good) + u64::from(scrap), stamp);
        self.set_doing(brake, Doing::Idle, stamp);
        if !as_planned {
            self.wanted(stamp);
        }
    }

    fn keep_run(&mut self, brake: &BrakeId, run: &RunOn, pieces: u64, stamp: Stamp<'_>) {
        // Breaks that were planned are not work; pauses reported within them count once.
        let pause = run.paused_seconds.max(run.planned_pause_seconds);
        let seconds = (stamp.at - run.started).0 - pause;
        let (Some(order), Ok(pieces)) = (self.orders.get(&run.order), u32::try_from(pieces)) else {
            return;
        };
        if seconds <= 0 || pieces == 0 || run.planned_cycle_ms <= 0 {
            return;
        }
        let actual = ActualRun {
            number: stamp.number,
            made_from: run.made_from,
            brake: brake.clone(),
            part: order.order.part.clone(),
            pieces,
            planned_ms: run.planned_cycle_ms,
            actual_ms: seconds.saturating_mul(1_000) / i64::from(pieces),
        };
        let runs = &mut self.actuals.runs;
        runs.push_back(actual);
        if runs.len() > MOST_ACTUALS {
            runs.pop_front();
        }
    }

    fn apply_planning(&mut self, happening: &Happening, stamp: Stamp<'_>) {
        match happening {
            Happening::ProposalMade {
                plan,
                made_from,
                cause,
                objective,
            } => {
                let proposal = Proposal {
                    plan: *plan,
                    made_from: *made_from,
                    cause: cause.clone(),
                    objective: *objective,
                    at: stamp.at,
                    number: stamp.number,
                };
                self.proposals.insert(*plan, proposal);
                while self.proposals.len() > MOST_PROPOSALS {
                    self.proposals.pop_first();
                }
            }
            Happening::Published {
                plan,
                made_from,
                automatically,
            } => {
                self.published = Some(Published {
                    plan: *plan,
                    made_from: *made_from,
                    at: stamp.at,
                    by: stamp.who.to_owned(),
                    automatically: *automatically,
                    number: stamp.number,
                });
                self.begun.clear();
                self.taken_down.clear();
            }
            Happening::PolicyChanged { policy } => {
                self.policy = policy.clone();
                self.policy_version = stamp.number;
            }
            _ => {}
        }
    }

    fn set_offer(
        &mut self,
        brake: &BrakeId,
        what: &Calibrated,
        factor: f64,
        evidence: &Evidence,
        refused: Option<String>,
        stamp: Stamp<'_>,
    ) {
        let offer = Offer {
            factor,
            evidence: evidence.clone(),
            number: stamp.number,
            refused,
        };
        self.offers.insert((brake.clone(), what.clone()), offer);
    }

    fn accept(&mut self, brake: &BrakeId, what: &Calibrated, factor: f64, stamp: Stamp<'_>) {
        let key = (brake.clone(), what.clone());
        self.offers.remove(&key);
        let before = self.factors.get(&key).map_or(1.0, |factor| factor.factor);
        let factor = match what {
            Calibrated::Step(_) => before * factor,
            Calibrated::Part(_) => factor,
        };
        let since = stamp.number;
        self.factors.insert(key, Factor { factor, since });
        self.wanted(stamp);
    }

    /// Books a finished run's pieces to its order.
    fn book(&mut self, order: &OrderId, good: u32, scrap: u32, stamp: Stamp<'_>) {
        if let Some(order) = self.orders.get_mut(order) {
            order.done = order.done.saturating_add(good);
            order.scrap = order.scrap.saturating_add(scrap);
            order.version = stamp.number;
        }
    }

    fn touch_order(&mut self, order: &OrderId, stamp: Stamp<'_>) {
        if let Some(order) = self.orders.get_mut(order) {
            order.version = stamp.number;
        }
    }

    fn touch(&mut self, brake: &BrakeId, stamp: Stamp<'_>) {
        match self.on_brake.get_mut(brake) {
            Some(on) => on.version = stamp.number,
            None => self.set_doing(brake, Doing::Idle, stamp),
        }
    }

    fn set_doing(&mut self, brake: &BrakeId, doing: Doing, stamp: Stamp<'_>) {
        let on = OnBrake {
            doing,
            since: stamp.at,
            version: stamp.number,
        };
        self.on_brake.insert(brake.clone(), on);
    }

    fn change_run(&mut self, brake: &BrakeId, stamp: Stamp<'_>, change: impl FnOnce(&mut RunOn)) {
        let Some(on) = self.on_brake.get_mut(brake) else {
            return;
        };
        let Doing::Running(run) = &mut on.doing else {
            return;
        };
        change(run);
        on.version = stamp.number;
        let order = run.order.clone();
        self.touch_order(&order, stamp);
    }

    /// Sets what stands on a bed. A section stands in one place: a station elsewhere that had one of
    /// these is not there any more, and sections out of service are on no bed.
    fn lay(&mut self, brake: &BrakeId, stations: &[StationEntry]) {
        let bed: Vec<BedStation> = stations
            .iter()
            .map(BedStation::from)
            .filter_map(|station| self.in_service(station))
            .collect();
        let here: BTreeSet<&SectionId> = bed.iter().flat_map(BedStation::sections).collect();
        for (other, stations) in &mut self.beds {
            if other != brake {
                stations.retain(|station| !station.sections().any(|id| here.contains(id)));
            }
        }
        self.beds.insert(brake.clone(), bed);
    }

    fn in_service(&self, mut station: BedStation) -> Option<BedStation> {
        let good = |id: &SectionId| !self.sections_out.contains_key(id);
        station.punch_sections.retain(good);
        station.die_sections.retain(good);
        let whole = !station.punch_sections.is_empty() && !station.die_sections.is_empty();
        whole.then_some(station)
    }

    /// Takes a section off its bed. The others of its row are taken to be pushed together to the
    /// left; a station without punch or die is none.
    fn take_off(&mut self, section: &SectionId, stamp: Stamp<'_>) {
        let holds = |bed: &Vec<BedStation>| {
            let mut sections = bed.iter().flat_map(BedStation::sections);
            sections.any(|id| id == section)
        };
        let brake = self.beds.iter().find(|(_, bed)| holds(bed));
        let Some(brake) = brake.map(|(brake, _)| brake.clone()) else {
            return;
        };
        let bed = self.beds.remove(&brake).unwrap_or_default();
        let left = bed
            .into_iter()
            .filter_map(|station| self.in_service(station));
        let left = left.collect();
        self.beds.insert(brake.clone(), left);
        self.touch(&brake, stamp);
    }
}

/// Ends a run's pause, if it is in one.
fn end_pause(run: &mut RunOn, at: Moment) {
    if let Some(pause) = run.paused.take() {
        run.paused_seconds += (at - pause.since).0.max(0);
    }
}

pub(crate) fn floor_of(
    stations: &[StationEntry],
    running: &[RunningEntry],
    down: &[DownEntry],
) -> Floor {
    Floor {
        stations: stations.iter().map(BedStation::from).collect(),
        running: running
            .iter()
            .map(|row| model::RunningOrder {
                brake: row.brake.clone(),
                order: row.order.clone(),
                pieces_done: row.pieces_done,
            })
            .collect(),
        down: down.iter().map(BrakeDown::from).collect(),
    }
}

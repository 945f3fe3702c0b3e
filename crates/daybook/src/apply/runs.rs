//! Changeovers, takedowns and runs, and what they took.

use super::Stamp;
use crate::happening::Happening;
use crate::state::{ActualChange, ActualRun, ChangeOn, Doing, Pause, RunOn, State};
use model::BedStation;
use std::sync::Arc;
use units::{BrakeId, Moment};

/// Actual times kept of each kind.
const MOST_ACTUALS: usize = 5_000;

impl State {
    pub(super) fn apply_change(&mut self, happening: &Happening, stamp: Stamp<'_>) {
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
                self.lay(brake, bed, stamp);
                self.keep_change(brake, stamp);
                self.set_doing(brake, Doing::Idle, stamp);
            }
            Happening::TakedownDone {
                brake,
                plan,
                takedown,
                bed,
            } => {
                self.lay(brake, bed, stamp);
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
        changes.push_back(Arc::new(actual));
        if changes.len() > MOST_ACTUALS {
            changes.pop_front();
        }
    }

    pub(super) fn apply_run(&mut self, happening: &Happening, stamp: Stamp<'_>) {
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
                self.lay(brake, bed, stamp);
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
        runs.push_back(Arc::new(actual));
        if runs.len() > MOST_ACTUALS {
            runs.pop_front();
        }
    }
}

/// Ends a run's pause, if it is in one.
fn end_pause(run: &mut RunOn, at: Moment) {
    if let Some(pause) = run.paused.take() {
        run.paused_seconds += (at - pause.since).0.max(0);
    }
}

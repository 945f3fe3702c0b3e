//! Taking happenings in. It never fails: what a command may do was decided before.

mod floor;
mod pins;
mod planning;
mod runs;

use crate::happening::{Happening, Source};
use crate::order_entry::OrderEntry;
use crate::state::{Doing, EventNumber, OnBrake, OrderState, RunOn, State};
use model::WorkOrder;
use std::sync::Arc;
use units::{BrakeId, Moment, OrderId};

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
            Happening::ShopDataTaken { .. }
            | Happening::OrdersTaken { .. }
            | Happening::OrdersWithdrawn { .. } => self.apply_data(happening, stamp),
            Happening::OrderPinned { .. } | Happening::OrderUnpinned { .. } => {
                self.apply_pin(happening, stamp);
            }
            Happening::FloorDescribed { .. }
            | Happening::BedDescribed { .. }
            | Happening::BrakeDown { .. }
            | Happening::BrakeUp { .. }
            | Happening::SectionOut { .. }
            | Happening::SectionBack { .. } => self.apply_floor(happening, stamp),
            Happening::ChangeoverStarted { .. }
            | Happening::ChangeoverFinished { .. }
            | Happening::TakedownDone { .. } => self.apply_change(happening, stamp),
            Happening::RunStarted { .. }
            | Happening::RunPaused { .. }
            | Happening::RunResumed { .. }
            | Happening::PiecesCounted { .. }
            | Happening::RunFinished { .. } => self.apply_run(happening, stamp),
            Happening::ProposalMade { .. }
            | Happening::Published { .. }
            | Happening::PolicyChanged { .. } => self.apply_planning(happening, stamp),
            Happening::CalibrationOffered { .. }
            | Happening::CalibrationAccepted { .. }
            | Happening::CalibrationRefused { .. } => self.apply_calibration(happening, stamp),
            // Who may do what is kept beside the log, and no plan depends on it.
            Happening::AccountPut { .. }
            | Happening::AccountDisabled { .. }
            | Happening::TokenMade { .. }
            | Happening::TokenEnded { .. } => {}
        }
        if !self.pins.is_empty() {
            self.follow_pins(stamp);
        }
    }

    fn apply_data(&mut self, happening: &Happening, stamp: Stamp<'_>) {
        match happening {
            Happening::ShopDataTaken {
                revision,
                only_orders,
            } => {
                self.revision = Some(*revision);
                if !only_orders {
                    self.unfit(stamp);
                }
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
            _ => {}
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
        let order = Arc::new(WorkOrder::from(entry));
        if source == Source::Folder {
            self.imported.insert(order.id.clone(), Arc::clone(&order));
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
}

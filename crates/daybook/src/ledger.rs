//! Pieces: ordered, done, being bent, left.

use crate::state::{Doing, OrderState, RunOn, State};
use crate::view::OrderStatus;
use units::{BrakeId, OrderId};

impl State {
    /// Runs under way, by brake.
    pub fn runs(&self) -> impl Iterator<Item = (&BrakeId, &RunOn)> {
        self.on_brake
            .iter()
            .filter_map(|(brake, on)| match &on.doing {
                Doing::Running(run) => Some((brake, run.as_ref())),
                Doing::Idle | Doing::ChangingOver(_) => None,
            })
    }

    /// Runs of an order under way, the one that began first before the others.
    #[must_use]
    pub fn runs_of(&self, order: &OrderId) -> Vec<(&BrakeId, &RunOn)> {
        let of_order = |(_, run): &(&BrakeId, &RunOn)| run.order == *order;
        let mut runs: Vec<(&BrakeId, &RunOn)> = self.runs().filter(of_order).collect();
        runs.sort_by_key(|(_, run)| run.started);
        runs
    }

    /// Good pieces of an order, those of runs under way too.
    #[must_use]
    pub fn pieces_good(&self, order: &OrderState) -> u32 {
        let now: u32 = self
            .runs_of(&order.order.id)
            .iter()
            .map(|(_, run)| run.good)
            .sum();
        order.done + now
    }

    /// Pieces of an order that are neither done nor part of a run under way.
    #[must_use]
    pub fn pieces_free(&self, order: &OrderState) -> u32 {
        let taken: u32 = self
            .runs_of(&order.order.id)
            .iter()
            .map(|(_, run)| run.quantity)
            .sum();
        order.order.quantity.saturating_sub(order.done + taken)
    }

    /// Blanks of an order that are announced and not used up, apart from those a brake's run under
    /// way uses; nothing when no lots are named.
    pub(crate) fn blanks_for(&self, order: &OrderState, brake: &BrakeId) -> Option<u32> {
        if order.order.blanks.is_empty() {
            return None;
        }
        let all: u64 = order
            .order
            .blanks
            .iter()
            .map(|lot| u64::from(lot.quantity))
            .sum();
        let used_by = |(other, run): &(&BrakeId, &RunOn)| {
            if *other == brake {
                0
            } else {
                u64::from(run.quantity.max(run.good + run.scrap))
            }
        };
        let elsewhere: u64 = self.runs_of(&order.order.id).iter().map(used_by).sum();
        let used = u64::from(order.done) + u64::from(order.scrap) + elsewhere;
        Some(u32::try_from(all.saturating_sub(used)).unwrap_or(u32::MAX))
    }

    /// How an order stands.
    #[must_use]
    pub fn status(&self, order: &OrderState) -> OrderStatus {
        if order.withdrawn {
            OrderStatus::Withdrawn
        } else if order.done >= order.order.quantity {
            OrderStatus::Done
        } else if self.runs().any(|(_, run)| run.order == order.order.id) {
            OrderStatus::Running
        } else {
            OrderStatus::Open
        }
    }

    /// An order that still has pieces to bend.
    pub(crate) fn open_order(&self, id: &OrderId) -> Option<&OrderState> {
        self.orders.get(id).filter(|order| order.is_open())
    }
}

impl OrderState {
    /// Whether it is neither withdrawn nor done.
    #[must_use]
    pub fn is_open(&self) -> bool {
        !self.withdrawn && self.done < self.order.quantity
    }

    /// Whether anything was bent for it.
    #[must_use]
    pub fn is_worked_on(&self) -> bool {
        self.done > 0 || self.scrap > 0
    }
}

//! Orders coming in and going.

use super::check_why;
use crate::happening::{Happening, Source};
use crate::order_entry::OrderEntry;
use crate::refusal::Refusal;
use crate::state::State;
use documents::OrderRow;
use model::WorkOrder;
use units::OrderId;

impl State {
    pub(super) fn put_orders(
        &self,
        source: Source,
        name: &str,
        rows: &[OrderRow],
        new_only: bool,
    ) -> Result<Vec<Happening>, Refusal> {
        let base = self.base_or_refusal()?;
        let others = |id: &OrderId| {
            let known = self.orders.get(id).filter(|order| !order.withdrawn);
            known.map(|order| order.order.as_ref())
        };
        let read = base.read_orders(name, rows, &others);
        let orders = read.map_err(Refusal::invalid)?;
        let mut taken = Vec::new();
        for order in &orders {
            let same = self.orders.get(&order.id).filter(|known| !known.withdrawn);
            if let Some(known) = same {
                if new_only {
                    return Err(Refusal::conflict(format!(
                        "order {} is there already; change it instead",
                        order.id
                    )));
                }
                if *known.order == *order {
                    continue;
                }
            }
            self.fits_work(order)?;
            taken.push(OrderEntry::from(order));
        }
        if taken.is_empty() {
            return Ok(Vec::new());
        }
        Ok(vec![Happening::OrdersTaken {
            source,
            orders: taken,
        }])
    }

    /// An order may not contradict what was bent for it.
    pub(super) fn fits_work(&self, order: &WorkOrder) -> Result<(), Refusal> {
        let Some(known) = self.orders.get(&order.id) else {
            return Ok(());
        };
        let id = &order.id;
        let runs = self.runs_of(id);
        let taken: u32 = known.done + runs.iter().map(|(_, run)| run.quantity).sum::<u32>();
        if order.quantity < taken {
            let text = if runs.is_empty() {
                format!(
                    "{} pieces of order {id} are done; order at least so many",
                    known.done
                )
            } else {
                format!(
                    "{taken} pieces of order {id} are done or being bent; order at least so many, \
                     or end its run short first"
                )
            };
            return Err(Refusal::conflict(text));
        }
        if order.part != known.order.part && (known.is_worked_on() || !runs.is_empty()) {
            return Err(Refusal::conflict(format!(
                "work on part {} is recorded for order {id}; give the other part an order of its own",
                known.order.part
            )));
        }
        let tied = self.tied_to(order);
        let elsewhere = tied.and_then(|tied| runs.iter().find(|(brake, _)| *brake != tied));
        if let (Some(tied), Some((brake, _))) = (tied, elsewhere) {
            return Err(Refusal::conflict(format!(
                "order {id} is being bent on {brake}; end that run before tying it to {tied}"
            )));
        }
        Ok(())
    }

    pub(super) fn withdraw_orders(
        &self,
        orders: &[OrderId],
        why: &str,
    ) -> Result<Vec<Happening>, Refusal> {
        check_why(why)?;
        let mut gone: Vec<OrderId> = Vec::new();
        for id in orders {
            let Some(order) = self.orders.get(id) else {
                return Err(Refusal::missing(format!("no order {id}")));
            };
            if let Some((brake, _)) = self.runs_of(id).first() {
                return Err(Refusal::not_now(format!(
                    "order {id} is being bent on {brake}; end its run first"
                )));
            }
            if self.is_prepared(id) {
                return Err(Refusal::not_now(format!(
                    "a brake is being changed over for order {id}; end the changeover first"
                )));
            }
            if !order.withdrawn && order.done >= order.order.quantity {
                return Err(Refusal::conflict(format!(
                    "all pieces of order {id} are done; there is nothing to withdraw"
                )));
            }
            if !order.withdrawn && !gone.contains(id) {
                gone.push(id.clone());
            }
        }
        if gone.is_empty() {
            return Ok(Vec::new());
        }
        Ok(vec![Happening::OrdersWithdrawn {
            source: Source::Request,
            orders: gone,
            why: why.to_owned(),
        }])
    }

    /// Whether a brake is being changed over for an order.
    pub(super) fn is_prepared(&self, order: &OrderId) -> bool {
        self.on_brake.values().any(|on| {
            matches!(&on.doing, crate::state::Doing::ChangingOver(change) if change.order == *order)
        })
    }
}

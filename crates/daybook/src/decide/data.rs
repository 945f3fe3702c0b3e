//! Taking over the shop's files.

use crate::floor_entry::{DownEntry, RunningEntry, StationEntry};
use crate::happening::{Happening, Source};
use crate::order_entry::OrderEntry;
use crate::refusal::Refusal;
use crate::state::State;
use documents::Base;
use model::{Shop, WorkOrder};
use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;
use units::OrderId;

/// How the places of findings name orders that came in before.
const OPEN_ORDERS: &str = "open orders";

impl State {
    pub(super) fn take_shop_data(
        &self,
        revision: u64,
        base: &Arc<Base>,
    ) -> Result<Vec<Happening>, Refusal> {
        if self.revision.is_some_and(|taken| taken > revision) {
            return Err(Refusal::conflict(format!(
                "revision {revision} is older than the one taken last"
            )));
        }
        let mut all = Vec::new();
        if self.revision != Some(revision) {
            let before = self.base().map(|base| base.shop());
            all.push(Happening::ShopDataTaken {
                revision,
                only_orders: before.is_some_and(|before| same_but_orders(before, base.shop())),
            });
        }
        let folder: BTreeSet<&OrderId> = base.shop().orders.iter().map(|order| &order.id).collect();
        let taken = self.changed_in_folder(base)?;
        let gone = self.gone_from_folder(&folder);
        self.check_rest(base, &taken, &gone)?;
        self.check_beds_in_use(base)?;
        if !taken.is_empty() {
            let orders = taken.iter().map(|order| OrderEntry::from(*order)).collect();
            all.push(Happening::OrdersTaken {
                source: Source::Folder,
                orders,
            });
        }
        if !gone.is_empty() {
            all.push(Happening::OrdersWithdrawn {
                source: Source::Folder,
                orders: gone,
                why: "no longer in the shop's folder".to_owned(),
            });
        }
        let floor = &base.shop().floor;
        if *floor == self.described {
            all.extend(self.beds_that_fit(base));
        } else {
            all.push(Happening::FloorDescribed {
                stations: floor.stations.iter().map(StationEntry::from).collect(),
                running: floor.running.iter().map(RunningEntry::from).collect(),
                down: floor.down.iter().map(DownEntry::from).collect(),
            });
        }
        Ok(all)
    }

    /// Orders of the folder that are new or not as they were taken last.
    fn changed_in_folder<'b>(&self, base: &'b Base) -> Result<Vec<&'b WorkOrder>, Refusal> {
        let changed =
            |order: &&WorkOrder| self.imported.get(&order.id).map(Arc::as_ref) != Some(*order);
        let taken: Vec<&WorkOrder> = base.shop().orders.iter().filter(changed).collect();
        for order in &taken {
            self.fits_work(order)?;
        }
        Ok(taken)
    }

    /// Orders that came from the folder and are gone from it, unless work on them is recorded.
    fn gone_from_folder(&self, folder: &BTreeSet<&OrderId>) -> Vec<OrderId> {
        let came = self.arrived().filter(|order| {
            self.imported.contains_key(&order.order.id) && !folder.contains(&order.order.id)
        });
        came.filter(|order| order.is_open() && !order.is_worked_on())
            .filter(|order| self.runs_of(&order.order.id).is_empty())
            .map(|order| order.order.id.clone())
            .filter(|id| !self.is_prepared(id))
            .collect()
    }

    /// The open orders that stay as they are must go with the new files, and no circle may be closed.
    fn check_rest(
        &self,
        base: &Base,
        taken: &[&WorkOrder],
        gone: &[OrderId],
    ) -> Result<(), Refusal> {
        let taken: BTreeMap<&OrderId, &WorkOrder> =
            taken.iter().map(|order| (&order.id, *order)).collect();
        let stays = self
            .arrived()
            .filter(|order| order.is_open())
            .map(|order| order.order.as_ref())
            .filter(|order| !taken.contains_key(&order.id) && !gone.contains(&order.id));
        let findings = base.check_orders(OPEN_ORDERS, stays);
        if !findings.is_empty() {
            return Err(Refusal::invalid(findings));
        }
        let order = |id: &OrderId| {
            let known = self.open_order(id).map(|order| order.order.as_ref());
            taken.get(id).copied().or(known)
        };
        for first in taken.values() {
            let mut at = *first;
            // A chain longer than all orders there are goes in a circle.
            let most = self.orders.len() + taken.len();
            for _ in 0..most {
                let Some(next) = at.after.as_ref().and_then(order) else {
                    break;
                };
                at = next;
                if at.id == first.id {
                    return Err(Refusal::conflict(format!(
                        "order {} would wait for itself, through an order that was changed since; \
                         empty `after` at one of them",
                        first.id
                    )));
                }
            }
        }
        Ok(())
    }

    /// A brake at which something is going on may not be gone.
    fn check_beds_in_use(&self, base: &Base) -> Result<(), Refusal> {
        for brake in self.on_brake.keys() {
            if self.is_busy(brake) && base.shop().brake(brake).is_none() {
                return Err(Refusal::not_now(format!(
                    "something is going on at brake {brake}, which is no longer in brakes.toml; end \
                     it first, or put the brake back"
                )));
            }
        }
        Ok(())
    }

    /// Beds on which stations stand that the new files do not know so: without those.
    fn beds_that_fit(&self, base: &Base) -> Vec<Happening> {
        let mut all = Vec::new();
        for (brake, bed) in &self.beds {
            if base.shop().brake(brake).is_none() || base.check_bed("bed", brake, bed).is_empty() {
                continue;
            }
            let mut good = Vec::new();
            for station in bed {
                good.push(station.clone());
                if !base.check_bed("bed", brake, &good).is_empty() {
                    good.pop();
                }
            }
            all.push(Happening::BedDescribed {
                brake: brake.clone(),
                stations: good.iter().map(StationEntry::from).collect(),
            });
        }
        all
    }
}

/// Whether two shops have the same brakes, tools, parts, people and rules.
fn same_but_orders(one: &Shop, other: &Shop) -> bool {
    one.name == other.name
        && one.zone == other.zone
        && one.rules == other.rules
        && one.calendars == other.calendars
        && one.brakes == other.brakes
        && one.materials == other.materials
        && one.profiles == other.profiles
        && one.sections == other.sections
        && one.parts == other.parts
        && one.deductions == other.deductions
        && one.setups == other.setups
        && one.people == other.people
}

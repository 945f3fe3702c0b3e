//! Orders that somebody tied to a brake, and the places they gave them there.

use crate::state::{OrderState, State};
use model::WorkOrder;
use std::collections::BTreeMap;
use units::{BrakeId, OrderId};

/// Places of orders on a brake, as files can say them.
pub(crate) const MOST_PLACES: u32 = 999;

/// What somebody decided about where an order is bent. It goes before the order's row, and outlives
/// another row of the same order; it ends when the order is done or withdrawn.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Pin {
    /// The brake it must run on.
    pub brake: BrakeId,
    /// Its place there, counted from 1: its runs come before those of all orders without one.
    pub place: Option<u32>,
}

impl State {
    /// The pin of an order.
    #[must_use]
    pub fn pin(&self, order: &OrderId) -> Option<&Pin> {
        self.pins.get(order)
    }

    /// The pin of an order, when its brake is one of the shop's files.
    fn pin_in_force(&self, order: &OrderId) -> Option<&Pin> {
        let known = |pin: &&Pin| {
            let base = self.base();
            base.is_none_or(|base| base.shop().brake(&pin.brake).is_some())
        };
        self.pins.get(order).filter(known)
    }

    /// The brake an order is tied to: by its pin, or else by its row.
    pub(crate) fn tied_to<'s>(&'s self, order: &'s WorkOrder) -> Option<&'s BrakeId> {
        match self.pin_in_force(&order.id) {
            Some(pin) => Some(&pin.brake),
            None => order.brake.as_ref(),
        }
    }

    /// An order's brake and place, by its pin, or else by its row.
    fn place_of<'s>(&'s self, order: &'s WorkOrder) -> Option<(&'s BrakeId, u32)> {
        match self.pin_in_force(&order.id) {
            Some(pin) => Some((&pin.brake, pin.place?)),
            None => Some((order.brake.as_ref()?, order.place?)),
        }
    }

    /// The open orders with a place on a brake, the first first.
    #[must_use]
    pub fn line_of(&self, brake: &BrakeId) -> Vec<OrderId> {
        let place = |order: &&OrderState| {
            let place = self.place_of(&order.order);
            place.filter(|(on, _)| *on == brake).map(|(_, place)| place)
        };
        let open = self.arrived().filter(|order| order.is_open());
        let mut line: Vec<(u32, &OrderState)> = open
            .filter_map(|order| Some((place(&order)?, order)))
            .collect();
        // By arrival among equals.
        line.sort_by_key(|(place, _)| *place);
        let ids = line.into_iter().map(|(_, order)| order.order.id.clone());
        ids.collect()
    }

    /// Lays an order's pin over its row. A run under way is where it is, whatever was said of its
    /// order since.
    pub(crate) fn lay_pin(&self, order: &mut WorkOrder, bent_on: Option<&BrakeId>) {
        let pin = self.pin_in_force(&order.id);
        if let Some(pin) = pin.filter(|pin| bent_on.is_none_or(|brake| *brake == pin.brake)) {
            order.brake = Some(pin.brake.clone());
            order.place = pin.place;
        }
    }
}

/// Gives the orders of a brake new places, in the same order, when two have one: files know no such
/// thing, but rows and pins come from different people.
pub(crate) fn part_shared_places(orders: &mut [WorkOrder]) {
    let mut lines: BTreeMap<BrakeId, Vec<(u32, usize)>> = BTreeMap::new();
    for (at, order) in orders.iter().enumerate() {
        if let (Some(brake), Some(place)) = (&order.brake, order.place) {
            lines.entry(brake.clone()).or_default().push((place, at));
        }
    }
    for line in lines.values_mut() {
        line.sort_unstable();
        if line.windows(2).any(|pair| pair[0].0 == pair[1].0) {
            for (place, (_, at)) in (1..).zip(line) {
                orders[*at].place = (place <= MOST_PLACES).then_some(place);
            }
        }
    }
}

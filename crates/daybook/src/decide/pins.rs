//! Tying orders to brakes and places.

use crate::happening::Happening;
use crate::pins::{MOST_PLACES, Pin};
use crate::refusal::Refusal;
use crate::state::{OrderState, State};
use units::{BrakeId, OrderId};

impl State {
    /// `place` counts from 1 among the orders that have one on the brake; one beyond the last means
    /// behind them.
    pub(super) fn pin_order(
        &self,
        order: &OrderId,
        brake: &BrakeId,
        place: Option<u32>,
    ) -> Result<Vec<Happening>, Refusal> {
        if place.is_some_and(|place| !(1..=MOST_PLACES).contains(&place)) {
            return Err(Refusal::unusable(format!(
                "a place on a brake is from 1, the first, to {MOST_PLACES}; leave it out to name the \
                 brake alone"
            )));
        }
        self.known_brake(brake)?;
        self.loose_order(order)?;
        let mut line = Vec::new();
        if let Some(place) = place {
            line = self.line_of(brake);
            line.retain(|other| other != order);
            let before = usize::try_from(place - 1).unwrap_or(usize::MAX);
            line.insert(before.min(line.len()), order.clone());
            if u32::try_from(line.len()).is_ok_and(|orders| orders > MOST_PLACES) {
                return Err(Refusal::conflict(format!(
                    "{MOST_PLACES} orders have a place on {brake}; take the place of one away first"
                )));
            }
        }
        let wanted = |(place, id): (u32, &OrderId)| {
            let pin = self.pin(id);
            pin.is_some_and(|pin| pin.brake == *brake && pin.place == Some(place))
        };
        let same = if line.is_empty() {
            let (brake, place) = (brake.clone(), None);
            self.pin(order) == Some(&Pin { brake, place })
        } else {
            (1..).zip(&line).all(wanted)
        };
        if same {
            return Ok(Vec::new());
        }
        Ok(vec![Happening::OrderPinned {
            order: order.clone(),
            brake: brake.clone(),
            line,
        }])
    }

    pub(super) fn unpin_order(&self, order: &OrderId) -> Result<Vec<Happening>, Refusal> {
        let known = self.loose_order(order)?;
        if self.pin(order).is_some() {
            let order = order.clone();
            return Ok(vec![Happening::OrderUnpinned { order }]);
        }
        match &known.order.brake {
            Some(brake) => Err(Refusal::conflict(format!(
                "order {order} is tied to {brake} by its row; change its column brake there"
            ))),
            None => Ok(Vec::new()),
        }
    }

    /// An order of which nothing stands on a brake.
    fn loose_order(&self, id: &OrderId) -> Result<&OrderState, Refusal> {
        let Some(order) = self.orders.get(id) else {
            return Err(Refusal::missing(format!("no order {id}")));
        };
        if order.withdrawn {
            return Err(Refusal::conflict(format!(
                "order {id} was withdrawn; take it again first"
            )));
        }
        if !order.is_open() {
            return Err(Refusal::conflict(format!(
                "all pieces of order {id} are done; there is nothing to place"
            )));
        }
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
        Ok(order)
    }
}

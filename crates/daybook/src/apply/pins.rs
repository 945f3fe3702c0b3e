//! Orders tied to brakes and places.

use super::Stamp;
use crate::happening::Happening;
use crate::pins::Pin;
use crate::state::State;
use std::collections::BTreeMap;
use units::{BrakeId, OrderId};

impl State {
    pub(super) fn apply_pin(&mut self, happening: &Happening, stamp: Stamp<'_>) {
        match happening {
            Happening::OrderPinned { order, brake, line } => {
                self.set_pin(order, brake, None, stamp);
                for (place, id) in (1..).zip(line) {
                    self.set_pin(id, brake, Some(place), stamp);
                }
            }
            Happening::OrderUnpinned { order } => {
                self.pins.remove(order);
                self.touch_order(order, stamp);
            }
            _ => {}
        }
        self.wanted(stamp);
    }

    fn set_pin(&mut self, order: &OrderId, brake: &BrakeId, place: Option<u32>, stamp: Stamp<'_>) {
        let brake = brake.clone();
        let pin = Pin { brake, place };
        if self.pins.get(order) != Some(&pin) {
            self.pins.insert(order.clone(), pin);
            self.touch_order(order, stamp);
        }
    }

    /// Pins end with their orders, and the places of the others close up.
    pub(super) fn follow_pins(&mut self, stamp: Stamp<'_>) {
        let over = |id: &&OrderId| self.open_order(id).is_none();
        let over: Vec<OrderId> = self.pins.keys().filter(over).cloned().collect();
        for id in over {
            self.pins.remove(&id);
            self.touch_order(&id, stamp);
        }
        let mut lines: BTreeMap<&BrakeId, Vec<(u32, &OrderId)>> = BTreeMap::new();
        for (id, pin) in &self.pins {
            if let Some(place) = pin.place {
                lines.entry(&pin.brake).or_default().push((place, id));
            }
        }
        let mut moved = Vec::new();
        for (brake, line) in &mut lines {
            line.sort_unstable();
            for (now, &mut (place, id)) in (1..).zip(line) {
                if place != now {
                    moved.push((id.clone(), (*brake).clone(), now));
                }
            }
        }
        for (id, brake, place) in moved {
            self.set_pin(&id, &brake, Some(place), stamp);
        }
    }
}

//! A work order as JSON has it, exact both ways.

use crate::text::{maybe, one};
use model::{BlankLot, Delivery, WorkOrder};
use serde::{Deserialize, Serialize};
use std::sync::Arc;
use units::{BrakeId, KitId, Megapascals, Moment, OrderId, PartId};

/// The twin of [`WorkOrder`], field by field. Moments are RFC 3339 in UTC.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct OrderEntry {
    /// Order id.
    #[serde(with = "one")]
    pub order: OrderId,
    /// Part to bend.
    #[serde(with = "one")]
    pub part: PartId,
    /// Pieces ordered, 1 to 1 000 000.
    pub quantity: u32,
    /// Earliest moment bending may start.
    #[serde(with = "one")]
    pub ready: Moment,
    /// Due at bending.
    #[serde(with = "one")]
    pub due: Moment,
    /// How much an hour late matters, 1 to 99.
    pub weight: u32,
    /// Kit.
    #[serde(with = "maybe", default, skip_serializing_if = "Option::is_none")]
    pub kit: Option<KitId>,
    /// Order that must be finished first.
    #[serde(with = "maybe", default, skip_serializing_if = "Option::is_none")]
    pub after: Option<OrderId>,
    /// Brake it must run on.
    #[serde(with = "maybe", default, skip_serializing_if = "Option::is_none")]
    pub brake: Option<BrakeId>,
    /// Its place on that brake, 1 to 999.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub place: Option<u32>,
    /// Pieces in one run at most.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub run_pieces: Option<u32>,
    /// Tensile strength on the coil's certificate, MPa.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub certificate_mpa: Option<f64>,
    /// Heat or lot number.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub heat: String,
    /// Customer or job reference.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub reference: String,
    /// Deliveries, by due time.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub deliveries: Vec<ShareEntry>,
    /// Blank lots, by the time they are there.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub blanks: Vec<LotEntry>,
}

/// A share of an order that ships on its own.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ShareEntry {
    /// Pieces.
    pub quantity: u32,
    /// Due at bending.
    #[serde(with = "one")]
    pub due: Moment,
}

/// Blanks that arrive together.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct LotEntry {
    /// Pieces.
    pub quantity: u32,
    /// When they are there.
    #[serde(with = "one")]
    pub available: Moment,
}

impl From<&WorkOrder> for OrderEntry {
    fn from(order: &WorkOrder) -> OrderEntry {
        let share = |delivery: &Delivery| ShareEntry {
            quantity: delivery.quantity,
            due: delivery.due,
        };
        let lot = |lot: &BlankLot| LotEntry {
            quantity: lot.quantity,
            available: lot.available,
        };
        OrderEntry {
            order: order.id.clone(),
            part: order.part.clone(),
            quantity: order.quantity,
            ready: order.ready,
            due: order.due,
            weight: order.weight,
            kit: order.kit.clone(),
            after: order.after.clone(),
            brake: order.brake.clone(),
            place: order.place,
            run_pieces: order.run_pieces,
            certificate_mpa: order.certificate.map(Megapascals::get),
            heat: order.heat.clone(),
            reference: order.reference.clone(),
            deliveries: order.deliveries.iter().map(share).collect(),
            blanks: order.blanks.iter().map(lot).collect(),
        }
    }
}

impl From<&Arc<WorkOrder>> for OrderEntry {
    fn from(order: &Arc<WorkOrder>) -> OrderEntry {
        OrderEntry::from(order.as_ref())
    }
}

impl From<&OrderEntry> for WorkOrder {
    fn from(entry: &OrderEntry) -> WorkOrder {
        let share = |share: &ShareEntry| Delivery {
            quantity: share.quantity,
            due: share.due,
        };
        let lot = |lot: &LotEntry| BlankLot {
            quantity: lot.quantity,
            available: lot.available,
        };
        WorkOrder {
            id: entry.order.clone(),
            part: entry.part.clone(),
            quantity: entry.quantity,
            ready: entry.ready,
            due: entry.due,
            weight: entry.weight,
            kit: entry.kit.clone(),
            after: entry.after.clone(),
            brake: entry.brake.clone(),
            place: entry.place,
            run_pieces: entry.run_pieces,
            certificate: entry.certificate_mpa.map(Megapascals::of),
            heat: entry.heat.clone(),
            reference: entry.reference.clone(),
            deliveries: entry.deliveries.iter().map(share).collect(),
            blanks: entry.blanks.iter().map(lot).collect(),
        }
    }
}

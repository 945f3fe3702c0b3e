//! Work orders and their blanks.

use units::{BrakeId, KitId, Megapascals, Moment, OrderId, PartId};

/// A released work order.
#[derive(Clone, Debug, PartialEq)]
pub struct WorkOrder {
    /// Order id.
    pub id: OrderId,
    /// Part to bend.
    pub part: PartId,
    /// Pieces ordered.
    pub quantity: u32,
    /// Earliest moment bending may start, besides the blanks.
    pub ready: Moment,
    /// Due at bending: the ship date less the days of later work, at the shop's hour.
    pub due: Moment,
    /// How much an hour late matters, 1 (ordinary) to 99.
    pub weight: u32,
    /// Kit it belongs to: the kit is late when its last member is.
    pub kit: Option<KitId>,
    /// Order that must be finished first.
    pub after: Option<OrderId>,
    /// Brake it must run on.
    pub brake: Option<BrakeId>,
    /// Its place among the orders that have one on that brake, 1 to 999: their runs come before those
    /// of all others, the smallest number first. Only with `brake`.
    pub place: Option<u32>,
    /// Pieces in one run at most: a long order is cut into several runs, which may be bent on
    /// different brakes at once. Within a blank lot and a delivery.
    pub run_pieces: Option<u32>,
    /// Tensile strength on the coil's certificate; replaces the material's typical value.
    pub certificate: Option<Megapascals>,
    /// Heat or lot number, passed through.
    pub heat: String,
    /// Customer or job reference, passed through.
    pub reference: String,
    /// Deliveries when the order ships in parts, by due time; empty for one delivery of all.
    pub deliveries: Vec<Delivery>,
    /// Blanks, by the time they are there; empty when all are on hand.
    pub blanks: Vec<BlankLot>,
}

/// A share of an order that ships on its own.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Delivery {
    /// Pieces in it.
    pub quantity: u32,
    /// Due at bending.
    pub due: Moment,
}

/// Blanks that arrive together.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct BlankLot {
    /// Pieces in it.
    pub quantity: u32,
    /// When they are cut, denested and deburred.
    pub available: Moment,
}

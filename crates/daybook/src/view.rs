//! What a reader of the state is shown.

use crate::happening::Source;
use crate::pins::Pin;
use crate::state::{EventNumber, OrderState, State};
use units::{BrakeId, KitId, Moment, OrderId, PartId};

/// How an order stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum OrderStatus {
    /// It has pieces to bend, and none is being bent.
    Open,
    /// It is being bent.
    Running,
    /// All pieces are done.
    Done,
    /// It is not wanted any more.
    Withdrawn,
}

impl OrderStatus {
    /// The word for it.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            OrderStatus::Open => "open",
            OrderStatus::Running => "running",
            OrderStatus::Done => "done",
            OrderStatus::Withdrawn => "withdrawn",
        }
    }
}

/// One order in a list.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct OrderLine {
    /// Order id.
    pub id: OrderId,
    /// Part.
    pub part: PartId,
    /// Pieces ordered.
    pub quantity: u32,
    /// Good pieces, those of runs under way too.
    pub done: u32,
    /// Spoiled pieces, those of runs under way too.
    pub scrap: u32,
    /// How it stands.
    pub status: OrderStatus,
    /// Number of the event that last changed it.
    pub version: EventNumber,
    /// Due at bending.
    pub due: Moment,
    /// How much an hour late matters.
    pub weight: u32,
    /// Kit.
    pub kit: Option<KitId>,
    /// The brake somebody tied it to, and its place there.
    pub pin: Option<Pin>,
    /// Brakes it is being bent on.
    pub brakes: Vec<BrakeId>,
    /// Where it came from.
    pub source: Source,
    /// Customer or job reference.
    pub reference: String,
}

impl State {
    /// All orders by arrival.
    pub fn order_lines(&self) -> impl Iterator<Item = OrderLine> {
        self.arrived().map(|order| self.order_line(order))
    }

    /// One order.
    #[must_use]
    pub fn order_line(&self, order: &OrderState) -> OrderLine {
        let runs = self.runs_of(&order.order.id);
        let now: u32 = runs.iter().map(|(_, run)| run.scrap).sum();
        OrderLine {
            id: order.order.id.clone(),
            part: order.order.part.clone(),
            quantity: order.order.quantity,
            done: self.pieces_good(order),
            scrap: order.scrap.saturating_add(now),
            status: self.status(order),
            version: order.version,
            due: order.order.due,
            weight: order.order.weight,
            kit: order.order.kit.clone(),
            pin: self.pin(&order.order.id).cloned(),
            brakes: runs.iter().map(|(brake, _)| (*brake).clone()).collect(),
            source: order.source,
            reference: order.order.reference.clone(),
        }
    }

    /// Orders by arrival.
    pub fn arrived(&self) -> impl Iterator<Item = &OrderState> {
        self.queue.values().filter_map(|id| self.orders.get(id))
    }
}

//! What people and programs ask for.

use crate::happening::{Calibrated, Source};
use crate::policy::Policy;
use crate::state::EventNumber;
use documents::{Base, Cells, OrderRow};
use std::sync::Arc;
use units::{BrakeId, Moment, OrderId, SectionId};

/// A command: the verbs of the happenings, with what a person knows.
#[derive(Clone, Debug)]
#[allow(missing_docs)] // the fields are those of the happenings
pub enum Command {
    /// Takes orders, new ones or in the stead of earlier ones. Rows are read as the folder's tables
    /// are; places name `name` as the file. Orders that are already as the rows say change nothing.
    PutOrders {
        source: Source,
        name: String,
        rows: Vec<OrderRow>,
        /// Whether an order that is there already is a conflict.
        new_only: bool,
        /// The version an order must have; 0: it must not be there.
        expect: Option<(OrderId, EventNumber)>,
    },
    /// Withdraws orders that are not being bent.
    WithdrawOrders { orders: Vec<OrderId>, why: String },
    /// Ties an order to a brake, and gives it a place there: 1 comes first, and the orders with that
    /// place or a later one move up. Without a place it is tied to the brake alone.
    PinOrder {
        order: OrderId,
        brake: BrakeId,
        place: Option<u32>,
    },
    /// Takes that back; its row holds again.
    UnpinOrder { order: OrderId },
    /// Takes over the shop's files of a revision, with the orders that are new or have changed in
    /// the folder since they were taken last, without those that are gone from it and on which no
    /// work is recorded, and with its floor when the folder describes it otherwise than last time.
    TakeShopData { revision: u64, base: Arc<Base> },
    /// Says what stands on a bed; rows have the station cells of floor.csv.
    DescribeBed {
        brake: BrakeId,
        stations: Vec<Cells>,
    },
    /// Begins the changeover before a run of the published plan.
    StartChangeover { brake: BrakeId, run: String },
    /// Ends the changeover under way.
    FinishChangeover { brake: BrakeId },
    /// Reports a takedown of the published plan as done; they count from 1 on each brake.
    FinishTakedown { brake: BrakeId, takedown: u32 },
    /// Begins a run of the published plan. It ends the changeover before it, if that is under way.
    StartRun { brake: BrakeId, run: String },
    /// Stops the run for a while.
    PauseRun { brake: BrakeId, why: String },
    /// Goes on with it.
    ResumeRun { brake: BrakeId },
    /// Counts the pieces of the run so far; a later count goes before an earlier one.
    CountPieces {
        brake: BrakeId,
        good: u32,
        scrap: u32,
    },
    /// Reports more spoiled pieces of the run.
    Scrap { brake: BrakeId, pieces: u32 },
    /// Ends the run with these counts. When not all pieces are good, `short` must say that it ends
    /// all the same; the rest is planned again.
    FinishRun {
        brake: BrakeId,
        good: u32,
        scrap: u32,
        short: bool,
    },
    /// A brake cannot be used until a moment, from now or from a later one. A second report is the
    /// same down with a new end, and a new reason unless that is empty.
    BrakeDown {
        brake: BrakeId,
        from: Option<Moment>,
        until: Moment,
        why: String,
    },
    /// It can be used again.
    BrakeUp { brake: BrakeId },
    /// A section is out of service.
    SectionOut { section: SectionId, why: String },
    /// It is fit for use again.
    SectionBack { section: SectionId },
    /// Keeps that a plan was made and judged. With automatic publishing it is published at once,
    /// unless it is unfit.
    RecordProposal {
        plan: u64,
        made_from: EventNumber,
        cause: String,
        objective: i64,
    },
    /// Makes a proposal the plan of the floor. `expect_published` is the version of the plan it
    /// replaces, 0 for none.
    Publish {
        plan: u64,
        expect_published: Option<EventNumber>,
    },
    /// Sets the policy.
    ChangePolicy {
        policy: Policy,
        expect: Option<EventNumber>,
    },
    /// Works out what measured times suggest, and offers what is new.
    OfferCalibrations,
    /// Takes an offer.
    AcceptCalibration { brake: BrakeId, what: Calibrated },
    /// Turns an offer down.
    RefuseCalibration {
        brake: BrakeId,
        what: Calibrated,
        why: String,
    },
}

/// A version somebody decided on, checked by [`crate::State::expect`].
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Expectation {
    /// An order's; 0: it is not there.
    Order(OrderId, EventNumber),
    /// A brake's.
    Brake(BrakeId, EventNumber),
    /// The policy's.
    Policy(EventNumber),
    /// The published plan's; 0: none is published.
    Published(EventNumber),
    /// The revision of the shop's files; 0: none were taken yet.
    ShopData(u64),
}

//! A shop's memory without a disk: what happens, what people ask for, and what follows.
//!
//! A [`Happening`] is a thing that has happened; in the log each has a number, counted from 1. The
//! [`State`] is what follows from all of them. A [`Command`] is what somebody asks for:
//! [`State::decide`] answers it with happenings or a [`Refusal`], and [`State::apply`] takes
//! happenings in. [`State::shop`] is the shop to plan now. Read `happening.rs` first, then
//! `state.rs` and `decide.rs`.
//!
//! Beside them stand the [`differences`](mod@differences) between two plans and
//! [`calibration`] from what was measured on the floor.
//!
//! Invariant: pure; time is an argument. The same happenings give the same state, `apply` never
//! fails, and a state's shop keeps every promise of a shop that was read from files.

mod apply;
pub mod calibration;
mod checkpoint;
mod command;
mod decide;
pub mod differences;
mod floor_entry;
mod happening;
mod ledger;
mod order_entry;
mod pins;
mod policy;
mod refusal;
mod shop;
mod state;
mod text;
mod view;

pub use command::{Command, Expectation};
pub use floor_entry::{DownEntry, RunningEntry, StationEntry};
pub use happening::{
    Calibrated, Evidence, Happening, PEOPLE_KINDS, PlannedChange, Source, StepSeconds, Unreadable,
};
pub use order_entry::{LotEntry, OrderEntry, ShareEntry};
pub use pins::Pin;
pub use policy::Policy;
pub use refusal::{Refusal, RefusalKind};
pub use state::{
    ActualChange, ActualRun, Actuals, ChangeOn, Doing, EventNumber, Factor, Offer, OnBrake,
    OrderState, Pause, Proposal, Published, RunOn, SectionOut, State,
};
pub use view::{OrderLine, OrderStatus};

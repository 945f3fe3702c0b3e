//! The only SQL: what the shop folder held, the plans made from it, and what happened.
//!
//! A [`Store`] is a file. It keeps [revisions](Store::import) of the folder, [plans](Store::save_plan)
//! with the revision each was made from, and [events](Store::events). Nothing in it is ever changed
//! or removed, and a change that has been acknowledged outlives a power cut.
//!
//! Invariants: knows nothing of bending, planning or file formats; bytes and JSON text pass through
//! unread. Takes the time as an argument. Every change is one transaction that also writes its
//! event.

mod error;
mod events;
mod open;
mod plans;
mod shops;

pub use error::StoreError;
pub use events::{Event, EventKind};
pub use open::Store;
pub use plans::{NewPlan, PlanNumber, StoredPlan};
pub use shops::{Files, Revision};

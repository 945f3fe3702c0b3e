//! The only SQL: what each shop's folder held, what happened, and the plans made from it.
//!
//! A [`Store`] is a database, an SQLite file or one on a PostgreSQL server; both mean the same. A
//! [`Site`] is one shop in it. The truth about a site is its log of [events](Site::append), numbered
//! without gaps; beside it are [revisions](Site::import) of the folder, [plans](Site::save_plan)
//! with the event each was made from, [jobs](Store::take_job) for plans that are wanted, and
//! [accounts](Site::change_people). Events, revisions and plans are never changed or removed, and a
//! change that has been acknowledged outlives a power cut.
//!
//! Invariants: knows nothing of bending, planning or file formats; bytes and JSON text pass through
//! unread. Takes the time as an argument. Every change is one transaction. Nothing of one site can
//! be reached from another.

mod backup;
mod engine;
mod error;
mod events;
mod examine;
mod jobs;
mod news;
mod open;
mod people;
mod plans;
mod shops;
mod sites;
mod tables;

pub use backup::{BackupReport, RestoreReport};
pub use engine::Engine;
pub use error::StoreError;
pub use events::{Answer, Event, EventNumber, NewEvent};
pub use jobs::{Job, Outcome};
pub use news::News;
pub use open::Store;
pub use people::{Account, NewToken, PeopleChange, Session, Token, TokenId};
pub use plans::{NewPlan, PlanNumber, PlanSummary, StoredPlan};
pub use shops::{Files, Revision};
pub use sites::{Site, SiteId};

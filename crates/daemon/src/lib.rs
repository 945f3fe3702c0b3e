//! The daemon: takes what the folder, the inbox and the API bring, proposes plans, and serves them.
//!
//! [`serve`] runs until told to stop; [`bind`] and [`Daemon::run`] are its two halves, for callers
//! that want to know the address before it runs. Its parts know nothing of one another; each works
//! on the same offices, and what one of them writes the others see there.
//!
//! Invariants: holds no SQL, no HTTP and no rule of the trade. The time comes from the clock it is
//! given. Trouble that may pass, such as a file being written, never ends it.

mod config;
mod error;
mod folder;
mod host;
mod inbox;
mod listen;
mod look;
mod offices;
mod planner;

pub use config::{Ignore, Inbox, Limits, Listen, Planning, Settings};
pub use error::DaemonError;
pub use host::{Daemon, bind, serve};

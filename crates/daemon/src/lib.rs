//! Watches a shop folder, plans it again when it changes, and hosts the board.
//!
//! [`serve`] runs until told to stop; [`bind`] and [`Daemon::run`] are its two halves, for callers
//! that want to know the address before it runs. Each round goes one way: read the folder, keep it,
//! check it, plan it, have the plan judged, keep the plan, put it up. A round that fails anywhere
//! leaves the last good plan up and says why.
//!
//! Invariants: the only crate, besides the executable, that asks for the time of day. Holds no SQL,
//! no HTTP and no rule of the trade. A plan is put up only after it has been stored.

mod ask;
mod error;
mod host;
mod look;
mod rounds;

pub use ask::ServeAsk;
pub use error::DaemonError;
pub use host::{Daemon, bind, serve};

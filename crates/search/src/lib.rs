//! A general sequencing search.
//!
//! It knows jobs, machines, the places a job may take (a machine and one of its ways of doing the
//! job there), slots that must stay first, which jobs are alike, and one number to make small. What
//! a job is, what a changeover costs and who is on shift is the [`Problem`]'s business: beds, a
//! setup matrix or a tool magazine look the same from here.
//!
//! Reproducible: the same problem, start, seed and number of steps give the same answer. A time
//! limit is a [`Stop`] handed in from outside, and only decides after which step to stop.
//!
//! Invariant: no clock, no I/O, no global randomness.

mod anneal;
mod moves;
mod problem;
mod sequences;

pub use anneal::{Outcome, Progress, Stop, StopReason, solve};
pub use problem::{Place, Problem};
pub use sequences::{Sequences, Slot};

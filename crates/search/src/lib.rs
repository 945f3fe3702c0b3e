//! A general sequencing search.
//!
//! It knows jobs, machines, the places a job may take (a machine and one of its ways of doing the
//! job there), slots that must stay first, which jobs are alike, and one number to make small. What
//! a job is, what a changeover costs and who is on shift is the [`Problem`]'s business: beds, a
//! setup matrix or a tool magazine look the same from here.
//!
//! Reproducible: the same problem, start, [`Effort`] and number of steps give the same answer,
//! however many threads do the work. A time limit is a [`Stop`] handed in from outside, and only
//! decides after which step to stop.
//!
//! Invariant: no clock, no I/O, no global randomness.

mod breeding;
mod chain;
mod elite;
mod exchange;
mod heat;
mod insertion;
mod moves;
mod problem;
mod sequences;
mod solve;

pub use exchange::{Exchange, Row};
pub use insertion::insert_each;
pub use moves::{Mix, Move};
pub use problem::{Place, Problem, Touched};
pub use sequences::{Sequences, Slot};
pub use solve::{Effort, Habit, Outcome, Progress, Stop, StopReason, solve};

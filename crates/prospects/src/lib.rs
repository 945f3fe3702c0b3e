//! What a shop could buy or change, one thing at a time.
//!
//! A [`Change`] says what; [`Change::apply`] makes the shop as it would be; [`suggest`] names the
//! changes worth trying in a shop with a plan; [`compare`] holds the totals of plans with and without
//! a change against each other, seed by seed; [`rank`] puts the changes in order. The planning itself
//! is `workshop::what_if`.
//!
//! Invariant: pure; a shop with a change is as consistent as the one without, and nothing in it was
//! changed but what the change says. No money.

mod apply;
mod change;
mod compare;
mod suggest;
mod words;

pub use apply::ApplyError;
pub use change::{Change, GaugeAxis};
pub use compare::{Comparison, Pair, SEEDS_LEAST, Spread, Told, by_chance, compare, rank};
pub use suggest::{Candidate, Refused, suggest};
pub use words::WordsError;

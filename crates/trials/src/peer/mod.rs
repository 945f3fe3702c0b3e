//! Another solver on beds whose changes depend on two runs alone.
//!
//! [`pairs`] measures such a shop's setup matrix with the engine and makes sure that it says all;
//! [`solver`] hands it to the other solver, a program of its own in tests/peer; [`report`] compares.

pub mod pairs;
pub mod report;
pub mod solver;

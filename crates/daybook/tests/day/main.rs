//! A day in a small invented shop, step by step: what is taken, what is refused and with which
//! words, and what the shop to plan then is.

#![allow(clippy::expect_used, clippy::panic)] // helpers of tests fail by it

mod data;
mod host;
mod pins;
mod runs;

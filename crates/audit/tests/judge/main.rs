//! The judge against a small invented shop and plan worked out by hand.
// The lint lets tests unwrap but not the helpers that build what they test.
#![allow(clippy::unwrap_used)]

mod accepted;
mod blocks;
mod clocks;
mod collisions;
mod corrupted;
mod deductions;
mod earlier;
mod heights;
mod hems;
mod horns;
mod large;
mod lone;
mod malformed;
mod moves;
mod plan;
mod shop;
mod stepped;
mod way_round;

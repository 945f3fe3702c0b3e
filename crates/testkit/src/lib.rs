//! Invented shops by seed, for tests and benches.
//!
//! [`invent`] makes a whole shop from a [`Recipe`]: brakes, tools, parts that these can bend,
//! orders, people, calendars and a floor in the middle of its work. [`write_folder`] writes it as
//! the files of a shop folder, and [`random_sequences`] puts its jobs anywhere. Everything here is
//! invented; no rating stands for a real brake, tool or material.
//!
//! Invariant: pure; the same recipe gives the same shop. It does not use the engine, so that the
//! engine's tests do not inherit its mistakes.

// Ids, dates and quantities made here are constants or counted; one that is refused is a mistake
// in this crate, and its users are tests.
#![allow(clippy::expect_used)]

mod brakes;
mod calendars;
mod dice;
mod floor;
mod folder;
mod lines;
mod materials;
mod orders;
mod pairwise;
mod parts;
mod people;
mod recipe;
mod rules;
mod sequences;
mod shop;
mod stock;

pub use folder::write_folder;
pub use pairwise::pairwise;
pub use recipe::{Features, Recipe, Season, Sections, Tools};
pub use sequences::random_sequences;
pub use shop::invent;

//! Text in, text out: a shop folder's files and a plan's JSON against the nouns of `model`.
//!
//! [`read_shop`] turns a [`FileSet`] into a shop and everything there is to say about the files;
//! [`write_plan`] and [`read_plan`] carry a plan out and back without losing a nanometre or a
//! second. The serialisable twins stay private here: `model` knows no format.
//!
//! Invariant: no I/O, no clock, no randomness; bytes in, values out. No input makes it panic.

mod codes;
mod file_set;
mod limits;
mod moment;
mod plan;
mod shop;

pub use codes::{CODES, Code};
pub use file_set::{FileSet, KNOWN_FILES};
pub use moment::{local, parse_moment};
pub use plan::{REFUSAL_UNITS, read_plan, write_plan};
pub use shop::read_shop;

//! Formats in which other programs take and give: calendars (RFC 5545), and tables in CSV (RFC 4180)
//! and Office Open XML.
//!
//! Start at [`ical`] and [`table`]. The catalogue of findings is [`CODES`].
//!
//! Invariant: no I/O, no clock, no randomness; bytes in, bytes out. No input makes it panic, and what a
//! file may ask for is bounded.

mod codes;

pub mod ical;
pub mod table;

pub use codes::{CODES, Code};

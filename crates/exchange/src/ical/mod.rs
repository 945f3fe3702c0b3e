//! Calendars as RFC 5545 has them: run lists out, holidays in.

mod closed;
mod lines;
mod read;
mod write;

pub use closed::closed_with;
pub use read::{Holidays, days_off};
pub use write::{Issue, of_brake, of_person};

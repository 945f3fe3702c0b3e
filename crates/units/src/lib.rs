//! Quantities, typed ids, time and findings.
//!
//! The bottom layer: it knows no machine, no part and no plan. Lengths are whole nanometres, so
//! that 1/64 inch (396 875 nm) and every metric drawing dimension are exact and comparisons on the
//! bed never depend on floating point. Forces, stresses, angles and masses are engineering values
//! in `f64` behind checked constructors: finite, never NaN. Time inside the engine is whole
//! seconds; [`Seconds::from_estimate`] is the one place where a computed duration is rounded.
//!
//! Invariant: no I/O, no clock, no randomness, and no dependency on anything but the standard
//! library.

mod finding;
mod ids;
mod length;
mod parse;
mod quantity;
mod time;

pub use finding::{Finding, Place, Severity};
pub use ids::{
    BrakeId, CalendarId, IdError, KitId, MaterialId, OrderId, PartId, PersonId, ProfileId,
    SectionId,
};
pub use length::Length;
pub use parse::{LengthUnit, ParseError, parse_length};
pub use quantity::{
    Degrees, Kilograms, Kilonewtons, KilonewtonsPerMetre, Megapascals, MillimetresPerSecond,
    QuantityError,
};
pub use time::{Moment, Seconds, Window};

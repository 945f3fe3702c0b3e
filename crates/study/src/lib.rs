//! What an engineer wants to see of a part on a brake.
//!
//! [`part_study`] engineers one part on every brake of a shop: for each setup worth keeping
//! ([`OptionStudy`]) every hit with its loads, radius, angle, gauge and depth ([`HitStudy`]), the
//! stations with their sections, the flat pattern, what other V openings would do to the size, the
//! cycle and the work of setting up from an empty bed; for brakes that cannot bend it, why not, where
//! the part as bent so far would run into the tools ([`CollisionStudy`]) and whether another order of
//! the bends would do ([`OrderAdvice`]). [`formulas`] says which formulas the numbers rest on.
//!
//! The limits themselves are `tooling`'s and the formulas `bending`'s: here they are put side by
//! side, and what is only a warning is put into words ([`Warning`]).
//!
//! **Caution.** A press brake maims and kills. The figures advise; the manuals of the machine and the
//! tools, the local safety code, a trained person and a slow test bend decide.
//!
//! Invariant: pure functions of the shop; no file, no clock, no printing. Nothing here decides what a
//! plan may do.

mod part;

mod angle;
mod force;
mod gauge;
mod hit;
mod option;
mod radius;

mod flat;
mod lifting;
mod lines;
mod load;
mod openings;

mod order;
mod run_sections;
mod section;
mod stopped;

mod formulas;
mod warning;

pub use angle::AngleStudy;
pub use flat::{FlatPiece, FlatSection, LegCheck};
pub use force::{Exceeded, ForceStudy, Overload, SHARE_OF_PEAK};
pub use formulas::{Formula, Topic, formulas};
pub use gauge::{GaugeStudy, STOP_SHARE, stops_along_bed};
pub use hit::{Crowning, DeductionFrom, HitStudy};
pub use lifting::{LiftStudy, lift};
pub use load::{Load, Loaded, NEAR, closest_limit, load_at};
pub use openings::OpeningStudy;
pub use option::{OptionStudy, Setup, StationStudy};
pub use order::{ChangedBend, OrderAdvice, letter};
pub use part::{Ask, BrakeStudy, PartStudy, PassedOverStudy, part_study};
pub use radius::{RadiusBy, RadiusStudy};
pub use run_sections::{RunSection, run_sections};
pub use section::{CollisionStudy, SectionStudy};
pub use warning::Warning;

use units::BrakeId;

/// The name of the thing a sheet runs into.
#[must_use]
pub fn name_of(with: shape::With) -> &'static str {
    match with {
        shape::With::Punch => "punch",
        shape::With::Die => "die",
        shape::With::Ram => "ram",
        shape::With::Bed => "bed",
        shape::With::Gauge => "gauge",
    }
}

impl PartStudy {
    /// The study of one brake.
    #[must_use]
    pub fn brake(&self, id: &BrakeId) -> Option<&BrakeStudy> {
        self.brakes.iter().find(|study| study.brake == *id)
    }
}

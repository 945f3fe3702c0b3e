//! The nouns everyone shares.
//!
//! A [`Shop`] is the ground state: brakes, tooling stock, materials, parts, people, calendars,
//! rules, open orders and the floor as it is at one moment. A [`Plan`] is an answer to it, and a
//! [`Verdict`] is what the judge says of that answer. Data and invariants only: how a bend is
//! engineered, a bed changed or a sequence searched is nobody's business here, and nothing here can
//! be serialised; the file formats are twins in `documents`.
//!
//! Invariant: no formula lives here. The engine and the audit both read these nouns and must reach
//! their numbers separately.

mod brake;
mod calendar;
mod deduction;
mod floor;
mod material;
mod order;
mod part;
mod people;
mod plan;
mod rules;
mod setup;
mod shop;
mod tools;
mod verdict;

pub use brake::{Axis, Brake, ChangeTimes, Clamping, Gauge, Speeds, ZDrive};
pub use calendar::{Calendar, DayOverride, LocalSpan, Shift};
pub use deduction::Deduction;
pub use floor::{BedStation, BrakeDown, Floor, RunningOrder};
pub use material::{Family, Material};
pub use order::{BlankLot, Delivery, WorkOrder};
pub use part::{Approval, Bend, BendKind, Direction, Edge, Grain, Part};
pub use people::{Person, Role};
pub use plan::{
    Baselines, BendUse, Bound, BrakePlan, Changeover, Limit, Plan, Refusal, Run, Segment, Slid,
    Station, StationPiece, Step, StepKind, Takedown, Told, Totals, Turned, Unplaced,
};
pub use rules::{Chance, Rules, VRule};
pub use setup::{ProvenSetup, ProvenStation};
pub use shop::Shop;
pub use tools::{Die, Horn, Profile, Punch, Section, SectionStatus};
pub use verdict::{Verdict, Violation};

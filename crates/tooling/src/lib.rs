//! From a bend to a bed: tooling options, sections, bed layouts, changeovers and cycle times.
//!
//! Read in this order: [`Stock`] indexes the sections the shop owns; [`engineer`] checks one bend at
//! one punch and die against every limit of a brake; [`options`](options_for) finds the setups that
//! make all bends of a part; [`Composer`] makes stations out of physical sections; [`Bed`] holds
//! them; [`change`] takes one bed to the next and [`change_steps`] says what that costs. The search
//! minimises exactly what [`change_steps`] adds up, and the changeover sheet prints exactly its
//! steps.
//!
//! The rules are those of docs/rules.md.
//!
//! Invariant: pure functions of the shop; nothing here knows of orders, people, due dates or time
//! of day.

mod bed;
mod change;
mod clearance;
mod compose;
mod cycle;
mod engineer;
mod hits;
mod keep;
mod options;
mod outlines;
mod room;
mod standing;
mod stock;
mod strokes;

pub use bed::{Bed, Spot, Stand, free_depth};
pub use change::{
    BedChange, Custody, Previous, Request, Slid, StepTime, Turned, change, change_keeping,
    change_steps,
};
pub use clearance::{CrossSection, Placed, Ways, strip_mm};
pub use compose::{Composer, Composition, Span};
pub use cycle::{Cycle, crew_for, cycle, part_mass, run_time};
pub use engineer::{BendWork, Job, Miss, describe, engineer};
pub use hits::{Form, Hit, hits_of};
pub use keep::Keep;
pub use options::{Need, Options, PassedOver, ToolingOption, options_for};
pub use outlines::tool_section;
pub use stock::{Class, Stock};
pub use strokes::StrokeView;

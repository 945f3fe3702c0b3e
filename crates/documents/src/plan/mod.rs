//! Plan JSON: `"format": "brakewright.plan/1"`.
//!
//! Every figure of `model::Plan` is written so that it can be read back exactly; friendlier twins
//! beside it (minutes next to seconds, the union of a run's crew, the greatest force) are written
//! for people and programs that only look, and are checked for type alone when read. Field by
//! field: docs/reference/plan-json.md.

mod from_json;
mod json;
mod names;
mod read;
mod to_json;

pub use names::{REFUSAL_UNITS, limit_name, step_name, step_named};
pub use read::read_plan;
pub use to_json::write_plan;

/// The format's name and version.
pub(crate) const FORMAT: &str = "brakewright.plan/1";

//! Compiles a shop into a sequencing problem, times sequences on beds, and lifts an answer to a
//! plan.
//!
//! [`compile`] turns orders into jobs with tooling options; [`timing`](mod@timing) runs a set of
//! sequences through beds, sections, people and calendars and returns one integer cost, which is
//! what the search makes small; [`lift`] writes the same run down as a plan with reasons.
//! [`plan_day`] is the whole path.
//!
//! The rules are those of docs/rules.md.
//!
//! Invariant: pure; time, seed and "stop now" are arguments.

mod bound;
pub mod calendar;
mod carry_over;
mod dispatch;
mod followers;
mod forecast;
mod greedy;
mod insertion;
mod least_change;
mod lift;
mod objective;
mod placed;
mod planner;
mod problem;
mod replay;
mod roster;
mod running;
mod shares;
mod side_by_side;
pub mod timing;
mod told;
mod wording;

pub use bound::lower_bound;
pub use greedy::{due_date_order, grouped_by_die};
pub use insertion::{Inserted, Spot, insert_order};
pub use lift::lift;
pub use planner::{Ask, Begun, Earlier, Planned, begin, carried, effort, plan_day};
pub use problem::{JobShare, Means, Misfit, Problem, Promise, compile, compile_with};
pub use replay::{Floor, Planned as PlannedTimes, PlannedRun, Played, Replay, Rush};

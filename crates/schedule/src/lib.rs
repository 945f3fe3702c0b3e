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
mod greedy;
mod lift;
mod objective;
mod planner;
mod problem;
mod roster;
mod running;
mod shares;
pub mod timing;
mod window;
mod wording;

pub use lift::lift;
pub use planner::{Ask, Planned, plan_day};
pub use problem::{JobShare, Misfit, Problem, Promise, compile};

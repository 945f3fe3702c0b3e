//! Dates with odds for a job that is not in the shop yet.
//!
//! [`part_from`] makes a part of plain bends out of a rough description; [`with_order`] puts the job
//! into the shop; [`place`] tries it at every place of a plan that stands and says who has to wait for
//! it; [`simulate`] plays the plan with it a few thousand times, with spread, rush orders and brakes
//! that stop, and [`Odds`] reads off the dates. [`price_breaks`] spreads the changeover over the
//! pieces. [`queue`] has the closed forms that the simulation is checked against.
//!
//! Nothing here is money: the basis is minutes of brakes and people.
//!
//! Invariant: pure; the same plan, job and seed give the same odds on any number of threads.

mod breaks;
mod chance;
mod job;
mod odds;
mod place;
pub mod queue;
mod rough;

pub use breaks::{Breaks, PriceBreak, price_breaks};
pub use chance::{Day, rush_orders};
pub use job::{Job, JobError, Wanted, WithJob, with_order};
pub use odds::{Odds, Sampling, simulate};
pub use place::{AbleBrake, Answer, Later, Placed, Price, place};
pub use rough::{Rough, RoughError, part_from};

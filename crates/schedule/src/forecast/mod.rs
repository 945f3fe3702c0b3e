//! What a change of the lines would cost, guessed.
//!
//! Timing a plan takes some hundred microseconds, a guess one or two. The search draws several changes,
//! guesses, and times the one that promises most; a guess decides nothing else. It goes by the plan as
//! it was timed last. A run put elsewhere is changed to from the stations that stood after the run
//! before it; what comes after it on the brake moves by the difference, waiting for its blanks as
//! before; promises, kits and orders that wait become late or are kept by that. Left out are people,
//! sections on other beds, and nights but for the share of its hours in which a brake is staffed.

mod line;
mod record;
mod usual;

use crate::problem::Problem;
pub(crate) use line::{Line, WAITED};
pub(crate) use record::{Mark, Record, Run, late_of};
use search::{Sequences, Touched};
pub(crate) use usual::Usual;

/// What the lines would cost more than the recorded plan's, which are `before`.
pub(crate) fn forecast(
    problem: &Problem<'_>,
    record: &Record,
    before: &Sequences,
    after: &Sequences,
    touched: &Touched,
) -> i64 {
    let spots = touched.spots().iter().zip(touched.tails());
    let (mut change, mut late) = (0, 0);
    for (&(brake, from), &tail) in spots {
        let line = Line {
            problem,
            record,
            brake,
            old: &before.machines[brake],
            new: &after.machines[brake],
            from,
            tail,
        };
        let (more_change, later) = line.guess();
        change += more_change;
        late += later;
    }
    60 * change + late * i64::from(problem.shop.rules.late_hour_minutes)
}

#[allow(clippy::cast_precision_loss)] // seconds far below 2^52
pub(crate) fn real(seconds: i64) -> f64 {
    seconds as f64
}

#[allow(clippy::cast_possible_truncation)] // `as` saturates
pub(crate) fn whole(seconds: f64) -> i64 {
    seconds as i64
}

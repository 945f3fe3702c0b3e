//! Cycle and run times.

use super::{Rule, broken};
use crate::case::Case;
use crate::cycle::{cycles, run_seconds};
use model::Violation;

pub(super) const CYCLE: Rule = (
    "A164",
    "wrong-cycle",
    "a run's cycle is more than 2 ms from the one worked out",
);
pub(super) const RUN_TIME: Rule = (
    "A165",
    "wrong-run-time",
    "a run's time is not its pieces at its cycle plus checks",
);

/// How far a stated cycle may be from the judge's own, in milliseconds.
const CYCLE_MS: f64 = 2.0;

pub(super) fn check(case: &Case, out: &mut Vec<Violation>) {
    for run in &case.runs {
        #[allow(clippy::cast_precision_loss)] // compared to 2 ms; no cycle lasts 10⁵ years
        let stated = run.run.cycle_ms as f64;
        let cycles = cycles(case, run);
        let near = |cycle: &f64| (stated - cycle).abs() <= CYCLE_MS;
        // No cycle at all when bends or stations are missing: other rules tell that.
        if !cycles.is_empty() && !cycles.iter().any(near) {
            let text = format!("{} ms stated, {:?} ms worked out", run.run.cycle_ms, cycles);
            broken(out, &CYCLE, &run.run.name, text);
        }
        let seconds = run_seconds(case, run);
        if i128::from(run.run.run_time.0) != seconds {
            let text = format!(
                "{} s stated, {} pieces at {} ms with checks take {seconds} s",
                run.run.run_time.0, run.run.quantity, run.run.cycle_ms
            );
            broken(out, &RUN_TIME, &run.run.name, text);
        }
    }
}

//! Calibrations offered when enough has been measured, without anybody asking.

use super::error::OfficeError;
use super::{Office, PLANNER, Terms};
use daybook::{Command, State};
use std::sync::atomic::Ordering;
use tokio::task::spawn_blocking;

impl Office {
    /// Offers what the measured times suggest and was not offered before; whether there was anything.
    /// Looks only when a changeover or a run has been measured since it looked last. A person takes an
    /// offer or refuses it; nothing changes by it.
    ///
    /// # Errors
    /// As [`Office::submit`].
    pub async fn offer_calibrations(&self) -> Result<bool, OfficeError> {
        let state = self.state();
        let measured = last_measured(&state);
        if measured <= self.inner.looked_at.load(Ordering::Relaxed) || state.base().is_none() {
            return Ok(false);
        }
        // Worked out beside the writer first: mostly there is nothing new.
        let now = self.now();
        let found = spawn_blocking(move || state.decide(&Command::OfferCalibrations, now, None));
        let is_new = !found.await??.is_empty();
        let made = is_new && {
            let offer = self.submit(PLANNER, Command::OfferCalibrations, Terms::default());
            offer.await?.changed
        };
        self.inner.looked_at.fetch_max(measured, Ordering::Relaxed);
        Ok(made)
    }
}

/// Number of the event that ended what was measured last; 0 before the first.
fn last_measured(state: &State) -> u64 {
    let change = state.actuals.changes.back().map(|change| change.number);
    let run = state.actuals.runs.back().map(|run| run.number);
    change.max(run).unwrap_or(0)
}

//! Makes proposals: asks for a plan when something has happened, and works off what any daemon on this
//! database has asked for.
//!
//! A job is held for a while and the hold renewed as long as the search goes on. A daemon that dies
//! loses its hold, and another one takes the job over.

use crate::host::Stop;
use crate::offices::Offices;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::Duration;
use store::{Job, Outcome, Store};
use tokio::time::{MissedTickBehavior, interval};
use units::Seconds;
use workshop::{Effort, JobEnd, Office, OfficeError, Standing};

/// How often to look whether there is something to do.
const LOOK_EVERY: Duration = Duration::from_millis(500);

/// How long a job is held without a sign of life.
const HELD: Seconds = Seconds(30);

/// How often a hold is renewed; several times within it, so that one failure does no harm.
const RENEWED_EVERY: Duration = Duration::from_secs(8);

/// How long a question that could not be answered is left alone.
const TRY_AGAIN_AFTER: Seconds = Seconds(30);

/// Makes proposals until told to stop.
pub(crate) struct Planner {
    pub(crate) store: Store,
    pub(crate) offices: Offices,
    pub(crate) effort: Effort,
    pub(crate) stop: Stop,
    /// This daemon's name in the database's list of jobs; no other has it.
    pub(crate) worker: String,
}

impl Planner {
    /// Works until told to stop.
    pub(crate) async fn run(self) {
        let mut looks = interval(LOOK_EVERY);
        looks.set_missed_tick_behavior(MissedTickBehavior::Delay);
        while !self.stop.is_asked() {
            tokio::select! {
                _ = looks.tick() => {}
                () = self.stop.asked() => break,
            }
            for office in self.offices.own() {
                if let Err(error) = self.ask(&office).await {
                    tracing::warn!(%error, site = office.name(), "a plan could not be asked for");
                }
            }
            if let Err(error) = self.work().await {
                tracing::error!(%error, "no new proposal");
            }
        }
    }

    /// Asks for a plan of a site when it needs one and has been quiet for long enough.
    async fn ask(&self, office: &Office) -> Result<(), OfficeError> {
        let now = office.now();
        if office.plan_is_wanted() && office.is_quiet(now) && !office.resting(now) {
            office.want_plan("something has happened", None).await?;
        }
        Ok(())
    }

    /// Takes one job, if there is one, and does it.
    async fn work(&self) -> Result<(), OfficeError> {
        let Some(now) = self.offices.own().first().map(Office::now) else {
            return Ok(());
        };
        let Some(job) = self.store.take_job(&self.worker, now, HELD).await? else {
            return Ok(());
        };
        let office = self.offices.of(&job.site).await?;
        office.job_taken(job.attempt);
        office.stand(Standing::Planning);
        let interrupt = Arc::new(AtomicBool::new(false));
        let proposing = office.propose(self.effort, &job.why, &interrupt);
        tokio::pin!(proposing);
        let proposed = loop {
            tokio::select! {
                proposed = &mut proposing => break proposed,
                () = tokio::time::sleep(RENEWED_EVERY) => {
                    let held = self.store.renew_job(&job, office.now(), HELD).await;
                    if !held.unwrap_or(true) {
                        // Somebody else does it now; what was found here would be second.
                        interrupt.store(true, Ordering::Relaxed);
                    }
                }
                () = self.stop.asked(), if !interrupt.load(Ordering::Relaxed) => {
                    interrupt.store(true, Ordering::Relaxed);
                }
            }
        };
        let (outcome, standing) = told(&office, &job, &proposed);
        office.stand(standing);
        if let Outcome::Failed(_) = outcome {
            office.rest_until(office.now() + TRY_AGAIN_AFTER);
        }
        office.job_ended(match outcome {
            Outcome::Planned(_) => JobEnd::Planned,
            Outcome::Failed(_) => JobEnd::Failed,
            Outcome::Dropped => JobEnd::Dropped,
        });
        self.store.finish_job(&job, outcome, office.now()).await?;
        proposed.map(|_| ())
    }
}

/// What becomes of the job, and how the site stands.
fn told(
    office: &Office,
    job: &Job,
    proposed: &Result<Option<Arc<workshop::KeptPlan>>, OfficeError>,
) -> (Outcome, Standing) {
    match proposed {
        Ok(Some(kept)) => {
            tracing::info!(
                site = office.name(),
                plan = kept.number,
                made_from = kept.made_from,
                attempt = job.attempt,
                "a new proposal"
            );
            let number = store::PlanNumber(i64::try_from(kept.number).unwrap_or(i64::MAX));
            (Outcome::Planned(number), Standing::UpToDate)
        }
        Ok(None) => (Outcome::Dropped, Standing::Waiting),
        Err(error) => {
            let text = error.to_string();
            (Outcome::Failed(text.clone()), Standing::Trouble(text))
        }
    }
}

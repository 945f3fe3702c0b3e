//! Plans wanted, and who is making them.

use crate::engine::{Change, Engine, values};
use crate::{Answer, EventNumber, PlanNumber, Site, Store, StoreError};
use units::{Moment, Seconds};

/// A plan wanted, in the hands of the worker that took it.
#[derive(Clone, Debug)]
pub struct Job {
    /// Its number in its site.
    pub job: i64,
    /// The site a plan is wanted for.
    pub site: Site,
    /// The event the plan must take account of, or a later one.
    pub wanted: EventNumber,
    /// Why a plan is wanted.
    pub why: String,
    /// 1 the first time; raised each time another worker had to take the job over.
    pub attempt: i64,
    worker: String,
}

/// How a job ended.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Outcome {
    /// With this plan.
    Planned(PlanNumber),
    /// Without one, for this reason.
    Failed(String),
    /// Without one, because none was needed any more.
    Dropped,
}

impl Outcome {
    fn state(&self) -> &'static str {
        match self {
            Outcome::Planned(_) => "planned",
            Outcome::Failed(_) => "failed",
            Outcome::Dropped => "dropped",
        }
    }
}

impl Site {
    /// Asks for a plan that takes account of event `wanted`. At most one job of a site waits: a
    /// second wish raises what the first wants. `answer` is written with it.
    ///
    /// # Errors
    /// [`StoreError::KeyTaken`] when the answer's key has been answered before,
    /// [`StoreError::Database`] when the database cannot be written.
    pub async fn want_plan(
        &self,
        wanted: EventNumber,
        why: &str,
        now: Moment,
        answer: Option<&Answer>,
    ) -> Result<(), StoreError> {
        let mut change = self.store.change().await?;
        match self.want_in(&mut change, wanted, why, now, answer).await {
            Ok(()) => self.commit_with_news(change).await,
            Err(error) => {
                // What went wrong matters more than how it was taken back.
                let _ = change.undo().await;
                Err(error)
            }
        }
    }

    /// Removes the jobs that ended before `before`, and tells how many there were. The plans they
    /// led to stay.
    ///
    /// # Errors
    /// [`StoreError::Database`] when the database cannot be written.
    pub async fn forget_jobs(&self, before: Moment) -> Result<u64, StoreError> {
        let mut change = self.store.change().await?;
        let sql = "DELETE FROM job WHERE site = $1 AND finished_at < $2";
        let values = values![self.id.0, before.0];
        let forgotten = change.run("forget jobs", sql, values).await?;
        change.commit().await?;
        Ok(forgotten)
    }

    async fn want_in(
        &self,
        change: &mut Change,
        wanted: EventNumber,
        why: &str,
        now: Moment,
        answer: Option<&Answer>,
    ) -> Result<(), StoreError> {
        // Wishes of a site come one after the other from here on, so the question whether one
        // waits is answered for good. Only a worker can still take the waiting one; then the
        // update waits for it and touches nothing.
        self.hold(change).await?;
        if let Some(answer) = answer {
            self.add_answer(change, answer).await?;
        }
        let raised = change
            .run(
                "ask for a plan",
                "UPDATE job
                 SET why = CASE WHEN wanted < $2 THEN $3 ELSE why END,
                     wanted = CASE WHEN wanted < $2 THEN $2 ELSE wanted END
                 WHERE site = $1 AND state = 'waiting'",
                values![self.id.0, wanted.0, why],
            )
            .await?;
        if raised == 0 {
            let row: Option<(i64,)> = change
                .row(
                    "number a job",
                    "UPDATE site SET last_job = last_job + 1 WHERE site = $1 RETURNING last_job",
                    values![self.id.0],
                )
                .await?;
            let (job,) = row.ok_or(StoreError::Damaged("no such site"))?;
            change
                .run(
                    "ask for a plan",
                    "INSERT INTO job (site, job, wanted, why, asked_at, state)
                     VALUES ($1, $2, $3, $4, $5, 'waiting')",
                    values![self.id.0, job, wanted.0, why, now.0],
                )
                .await?;
        }
        Ok(())
    }
}

/// A job that may be taken: one whose worker's lease has run out, or one that waits while nobody
/// works for its site.
const FREE_JOB: &str = "SELECT job.site, job.job, site.name, job.wanted, job.why, job.attempt
    FROM job JOIN site ON site.site = job.site
    WHERE job.finished_at IS NULL
      AND ((job.state = 'taken' AND job.lease_until <= $1)
        OR (job.state = 'waiting' AND NOT EXISTS
               (SELECT 1 FROM job AS live WHERE live.site = job.site AND live.state = 'taken')))
    ORDER BY job.asked_at, job.site, job.job LIMIT 1";

/// The same, held; what another worker is just taking is passed over.
const HOLD_FREE_JOB: &str = "SELECT job.site, job.job, site.name, job.wanted, job.why, job.attempt
    FROM job JOIN site ON site.site = job.site
    WHERE job.finished_at IS NULL
      AND ((job.state = 'taken' AND job.lease_until <= $1)
        OR (job.state = 'waiting' AND NOT EXISTS
               (SELECT 1 FROM job AS live WHERE live.site = job.site AND live.state = 'taken')))
    ORDER BY job.asked_at, job.site, job.job LIMIT 1
    FOR UPDATE OF job SKIP LOCKED";

/// Site, job, the site's name, event wanted, why, attempts so far.
type FreeJob = (i64, i64, String, i64, String, i64);

impl Store {
    /// Takes a job of any site for `worker`, the one asked for first; `None` when there is none to
    /// take. It is the worker's for `lease`, counted from `now`; when that has run out, another may
    /// take it over. No two workers ever work for one site.
    ///
    /// # Errors
    /// [`StoreError::Database`] when the database cannot be written.
    pub async fn take_job(
        &self,
        worker: &str,
        now: Moment,
        lease: Seconds,
    ) -> Result<Option<Job>, StoreError> {
        // Workers ask again and again; mostly there is nothing, and finding that out must not hold
        // up those who write.
        let look: Option<FreeJob> = self.row("look for a job", FREE_JOB, values![now.0]).await?;
        if look.is_none() {
            return Ok(None);
        }
        let mut change = self.change().await?;
        let free = match self.engine() {
            // The whole file is held.
            Engine::Sqlite => FREE_JOB,
            Engine::Postgres => HOLD_FREE_JOB,
        };
        let row: Option<FreeJob> = change.row("find a job", free, values![now.0]).await?;
        let Some((site, job, name, wanted, why, attempt)) = row else {
            change.undo().await?;
            return Ok(None);
        };
        let attempt = attempt + 1;
        change
            .run(
                "take a job",
                "UPDATE job SET state = 'taken', worker = $3, lease_until = $4, attempt = $5
                 WHERE site = $1 AND job = $2",
                values![site, job, worker, until(now, lease), attempt],
            )
            .await?;
        change.commit().await?;
        Ok(Some(Job {
            job,
            site: Site::new(self.clone(), site, &name),
            wanted: EventNumber(wanted),
            why,
            attempt,
            worker: worker.to_owned(),
        }))
    }

    /// Keeps a job for another `lease` from `now` on. `false`: another worker has taken it over, or
    /// it has ended.
    ///
    /// # Errors
    /// [`StoreError::Database`] when the database cannot be written.
    pub async fn renew_job(
        &self,
        job: &Job,
        now: Moment,
        lease: Seconds,
    ) -> Result<bool, StoreError> {
        let mut change = self.change().await?;
        let renewed = change
            .run(
                "renew a job",
                "UPDATE job SET lease_until = $5
                 WHERE site = $1 AND job = $2 AND worker = $3 AND attempt = $4 AND state = 'taken'",
                values![
                    job.site.id.0,
                    job.job,
                    &job.worker,
                    job.attempt,
                    until(now, lease)
                ],
            )
            .await?;
        change.commit().await?;
        Ok(renewed == 1)
    }

    /// Ends a job. `false`: another worker has taken it over, or it has ended before; then nothing
    /// has changed.
    ///
    /// # Errors
    /// [`StoreError::Database`] when the database cannot be written or the site has no such plan.
    pub async fn finish_job(
        &self,
        job: &Job,
        outcome: Outcome,
        now: Moment,
    ) -> Result<bool, StoreError> {
        let (plan, failure) = match &outcome {
            Outcome::Planned(plan) => (Some(plan.0), None),
            Outcome::Failed(why) => (None, Some(why.as_str())),
            Outcome::Dropped => (None, None),
        };
        let mut change = self.change().await?;
        // In the order in which wishes lock: the site, then its job.
        job.site.hold(&mut change).await?;
        let finished = change
            .run(
                "end a job",
                "UPDATE job SET state = $5, finished_at = $6, plan = $7, failure = $8
                 WHERE site = $1 AND job = $2 AND worker = $3 AND attempt = $4 AND state = 'taken'",
                values![
                    job.site.id.0,
                    job.job,
                    &job.worker,
                    job.attempt,
                    outcome.state(),
                    now.0,
                    plan,
                    failure
                ],
            )
            .await?;
        if finished == 0 {
            change.undo().await?;
            return Ok(false);
        }
        job.site.commit_with_news(change).await?;
        Ok(true)
    }
}

fn until(now: Moment, lease: Seconds) -> i64 {
    now.0.saturating_add(lease.0)
}

//! Plans.

use crate::engine::values;
use crate::{EventNumber, Revision, Site, StoreError};
use std::fmt;
use units::Moment;

/// A plan to keep.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct NewPlan<'a> {
    /// The last event it takes account of.
    pub made_from: EventNumber,
    /// The revision of the shop folder it was made from.
    pub revision: Revision,
    /// The plan as its readers get it.
    pub json: &'a str,
    /// Its objective; see docs/rules.md for the unit.
    pub objective: i64,
    /// Whether the audit has accepted it.
    pub verified: bool,
}

/// The number of a stored plan in its site: 1, 2, 3...; greater is later.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct PlanNumber(pub i64);

impl PlanNumber {
    /// The bare number.
    #[must_use]
    pub const fn number(self) -> i64 {
        self.0
    }
}

impl fmt::Display for PlanNumber {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}", self.0)
    }
}

/// A plan that was kept. The audit had accepted it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct StoredPlan {
    /// Its number.
    pub plan: PlanNumber,
    /// The last event it takes account of.
    pub made_from: EventNumber,
    /// The revision it was made from.
    pub revision: Revision,
    /// The plan as its readers get it.
    pub json: String,
    /// Its objective.
    pub objective: i64,
    /// When it was kept.
    pub created_at: Moment,
}

/// A kept plan without its text.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct PlanSummary {
    /// Its number.
    pub plan: PlanNumber,
    /// The last event it takes account of.
    pub made_from: EventNumber,
    /// The revision it was made from.
    pub revision: Revision,
    /// Its objective.
    pub objective: i64,
    /// When it was kept.
    pub created_at: Moment,
}

type PlanRow = (i64, i64, i64, String, i64, i64);

fn stored((plan, made_from, revision, json, objective, created_at): PlanRow) -> StoredPlan {
    StoredPlan {
        plan: PlanNumber(plan),
        made_from: EventNumber(made_from),
        revision: Revision(revision),
        json,
        objective,
        created_at: Moment(created_at),
    }
}

impl Site {
    /// Keeps a plan. Whether it is still worth anything, events having gone on, is for the caller
    /// to say.
    ///
    /// # Errors
    /// [`StoreError::NotVerified`] when the audit has not accepted the plan,
    /// [`StoreError::FromTheFuture`] when the site has no event of the number it was made from,
    /// [`StoreError::Database`] when the database cannot be written, the site has no such revision
    /// or the text is not JSON. In each case nothing has changed.
    pub async fn save_plan(
        &self,
        plan: NewPlan<'_>,
        now: Moment,
    ) -> Result<PlanNumber, StoreError> {
        if !plan.verified {
            return Err(StoreError::NotVerified);
        }
        let mut change = self.store.change().await?;
        let row: Option<(i64, i64)> = change
            .row(
                "number a plan",
                "UPDATE site SET last_plan = last_plan + 1, changes = changes + 1 WHERE site = $1
                 RETURNING last_plan, last_event",
                values![self.id.0],
            )
            .await?;
        let (number, last) = row.ok_or(StoreError::Damaged("no such site"))?;
        if plan.made_from.0 > last {
            return Err(StoreError::FromTheFuture {
                made_from: plan.made_from,
                latest: EventNumber(last),
            });
        }
        change
            .run(
                "add a plan",
                "INSERT INTO plan
                     (site, plan, made_from, revision, json, objective, verified, created_at)
                 VALUES ($1, $2, $3, $4, $5, $6, $7, $8)",
                values![
                    self.id.0,
                    number,
                    plan.made_from.0,
                    plan.revision.0,
                    plan.json,
                    plan.objective,
                    plan.verified,
                    now.0
                ],
            )
            .await?;
        self.commit_with_news(change).await?;
        Ok(PlanNumber(number))
    }

    /// The plan of that number, if there is one.
    ///
    /// # Errors
    /// [`StoreError::Database`] when the database cannot be read.
    pub async fn plan(&self, plan: PlanNumber) -> Result<Option<StoredPlan>, StoreError> {
        let row = self
            .store
            .row(
                "read a plan",
                "SELECT plan, made_from, revision, json, objective, created_at
                 FROM plan WHERE site = $1 AND plan = $2",
                values![self.id.0, plan.0],
            )
            .await?;
        Ok(row.map(stored))
    }

    /// The plan kept last; `None` before the first.
    ///
    /// # Errors
    /// [`StoreError::Database`] when the database cannot be read.
    pub async fn latest_plan(&self) -> Result<Option<StoredPlan>, StoreError> {
        let row = self
            .store
            .row(
                "read the latest plan",
                "SELECT plan, made_from, revision, json, objective, created_at
                 FROM plan WHERE site = $1 ORDER BY plan DESC LIMIT 1",
                values![self.id.0],
            )
            .await?;
        Ok(row.map(stored))
    }

    /// The plans kept last, without their texts, the latest first, at most `limit`.
    ///
    /// # Errors
    /// [`StoreError::Database`] when the database cannot be read.
    pub async fn plans(&self, limit: u32) -> Result<Vec<PlanSummary>, StoreError> {
        let rows: Vec<(i64, i64, i64, i64, i64)> = self
            .store
            .rows(
                "list the plans",
                "SELECT plan, made_from, revision, objective, created_at
                 FROM plan WHERE site = $1 ORDER BY plan DESC LIMIT $2",
                values![self.id.0, i64::from(limit)],
            )
            .await?;
        let summary = |(plan, made_from, revision, objective, created_at)| PlanSummary {
            plan: PlanNumber(plan),
            made_from: EventNumber(made_from),
            revision: Revision(revision),
            objective,
            created_at: Moment(created_at),
        };
        Ok(rows.into_iter().map(summary).collect())
    }
}

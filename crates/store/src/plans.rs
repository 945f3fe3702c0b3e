//! Plans.

use crate::error::failed;
use crate::events::{EventKind, record};
use crate::shops::latest;
use crate::{Revision, Store, StoreError};
use std::fmt;
use units::Moment;

/// A plan to keep.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct NewPlan<'a> {
    /// The plan as its readers get it.
    pub json: &'a str,
    /// Its objective; see docs/rules.md for the unit.
    pub objective: i64,
    /// Whether the audit has accepted it.
    pub verified: bool,
}

/// The number of a stored plan; greater is later.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct PlanNumber(pub(crate) i64);

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
    /// The revision it was made from.
    pub revision: Revision,
    /// The plan as its readers get it.
    pub json: String,
    /// Its objective.
    pub objective: i64,
    /// When it was kept.
    pub created_at: Moment,
}

impl Store {
    /// Keeps a plan made from `revision`, if the shop is still at that revision.
    ///
    /// # Errors
    /// [`StoreError::ShopChanged`] when it is not, [`StoreError::NotVerified`] when the audit has
    /// not accepted the plan, [`StoreError::Database`] when the file cannot be written or the text
    /// is not JSON. In each case nothing has changed.
    pub async fn save_plan(
        &self,
        revision: Revision,
        plan: NewPlan<'_>,
        now: Moment,
    ) -> Result<PlanNumber, StoreError> {
        if !plan.verified {
            return Err(StoreError::NotVerified);
        }
        let mut change = self.change().await?;
        let latest = latest(&mut *change).await?;
        if latest != Some(revision) {
            return Err(StoreError::ShopChanged {
                made_from: revision,
                latest,
            });
        }
        let number = sqlx::query_scalar(
            "INSERT INTO plan (revision, json, objective, verified, created_at)
             VALUES ($1, $2, $3, 1, $4) RETURNING plan",
        )
        .bind(revision.0)
        .bind(plan.json)
        .bind(plan.objective)
        .bind(now.0)
        .fetch_one(&mut *change)
        .await
        .map_err(failed("add a plan"))?;
        let number = PlanNumber(number);
        record(
            &mut change,
            now,
            EventKind::PlanSaved,
            revision,
            Some(number),
        )
        .await?;
        change.commit().await.map_err(failed("keep the plan"))?;
        Ok(number)
    }

    /// The plan kept last; `None` before the first.
    ///
    /// # Errors
    /// [`StoreError::Database`] when the file cannot be read.
    pub async fn latest_plan(&self) -> Result<Option<StoredPlan>, StoreError> {
        let row: Option<(i64, i64, String, i64, i64)> = sqlx::query_as(
            "SELECT plan, revision, json, objective, created_at
             FROM plan ORDER BY plan DESC LIMIT 1",
        )
        .fetch_optional(self.readers())
        .await
        .map_err(failed("read the latest plan"))?;
        Ok(
            row.map(|(plan, revision, json, objective, created_at)| StoredPlan {
                plan: PlanNumber(plan),
                revision: Revision(revision),
                json,
                objective,
                created_at: Moment(created_at),
            }),
        )
    }
}

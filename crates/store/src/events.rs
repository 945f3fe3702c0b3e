//! What happened.

use crate::error::failed;
use crate::{PlanNumber, Revision, Store, StoreError};
use sqlx::SqliteConnection;
use units::Moment;

/// What kind of thing happened.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum EventKind {
    /// The folder's content became a new revision.
    ShopImported,
    /// A plan was kept.
    PlanSaved,
}

impl EventKind {
    fn name(self) -> &'static str {
        match self {
            EventKind::ShopImported => "shop-imported",
            EventKind::PlanSaved => "plan-saved",
        }
    }

    fn named(name: &str) -> Option<EventKind> {
        [EventKind::ShopImported, EventKind::PlanSaved]
            .into_iter()
            .find(|kind| kind.name() == name)
    }
}

/// Something that happened.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Event {
    /// Its place in the order of events; greater is later.
    pub number: i64,
    /// When.
    pub at: Moment,
    /// What.
    pub kind: EventKind,
    /// The revision it is about.
    pub revision: Revision,
    /// The plan it is about, when one was kept.
    pub plan: Option<PlanNumber>,
}

impl Store {
    /// The last `limit` events, the latest first.
    ///
    /// # Errors
    /// [`StoreError::Database`] when the file cannot be read, [`StoreError::UnknownEvent`] when it
    /// holds an event this program does not know.
    pub async fn events(&self, limit: u32) -> Result<Vec<Event>, StoreError> {
        let rows: Vec<(i64, i64, String, i64, Option<i64>)> = sqlx::query_as(
            "SELECT event, at, kind, revision, plan FROM event ORDER BY event DESC LIMIT $1",
        )
        .bind(limit)
        .fetch_all(self.readers())
        .await
        .map_err(failed("read the events"))?;
        rows.into_iter()
            .map(|(number, at, kind, revision, plan)| {
                let kind = EventKind::named(&kind).ok_or(StoreError::UnknownEvent(kind))?;
                Ok(Event {
                    number,
                    at: Moment(at),
                    kind,
                    revision: Revision(revision),
                    plan: plan.map(PlanNumber),
                })
            })
            .collect()
    }
}

/// Writes an event within the change it belongs to.
pub(crate) async fn record(
    change: &mut SqliteConnection,
    at: Moment,
    kind: EventKind,
    revision: Revision,
    plan: Option<PlanNumber>,
) -> Result<(), StoreError> {
    sqlx::query("INSERT INTO event (at, kind, revision, plan) VALUES ($1, $2, $3, $4)")
        .bind(at.0)
        .bind(kind.name())
        .bind(revision.0)
        .bind(plan.map(|plan| plan.0))
        .execute(change)
        .await
        .map_err(failed("add an event"))?;
    Ok(())
}

//! What followed from a log up to an event, kept so that it need not be worked out again.

use crate::engine::values;
use crate::{EventNumber, Site, StoreError};
use units::Moment;

/// What followed from a site's log up to an event.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Checkpoint {
    /// The last event it knows of; after the first.
    pub event: EventNumber,
    /// Who can read it; not empty.
    pub format: String,
    /// The rest, as JSON text. Not read here.
    pub json: String,
}

impl Site {
    /// Keeps a checkpoint in the stead of the one before. One of the same format that knows of later
    /// events stays; `false` then.
    ///
    /// # Errors
    /// [`StoreError::Database`] when the database cannot be written, there is no such event, or the
    /// text is not JSON.
    pub async fn keep_checkpoint(
        &self,
        checkpoint: &Checkpoint,
        now: Moment,
    ) -> Result<bool, StoreError> {
        let mut change = self.store.change().await?;
        let kept = change
            .run(
                "keep a checkpoint",
                "INSERT INTO checkpoint (site, event, format, json, at)
                 VALUES ($1, $2, $3, $4, $5)
                 ON CONFLICT (site) DO UPDATE
                 SET event = excluded.event, format = excluded.format, json = excluded.json,
                     at = excluded.at
                 WHERE checkpoint.event < excluded.event OR checkpoint.format <> excluded.format",
                values![
                    self.id.0,
                    checkpoint.event.0,
                    &checkpoint.format,
                    &checkpoint.json,
                    now.0
                ],
            )
            .await?;
        change.commit().await?;
        Ok(kept == 1)
    }

    /// The checkpoint of the site, if there is one.
    ///
    /// # Errors
    /// [`StoreError::Database`] when the database cannot be read.
    pub async fn checkpoint(&self) -> Result<Option<Checkpoint>, StoreError> {
        let row: Option<(i64, String, String)> = self
            .store
            .row(
                "read a checkpoint",
                "SELECT event, format, json FROM checkpoint WHERE site = $1",
                values![self.id.0],
            )
            .await?;
        Ok(row.map(|(event, format, json)| Checkpoint {
            event: EventNumber(event),
            format,
            json,
        }))
    }
}

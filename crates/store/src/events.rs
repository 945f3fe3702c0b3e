//! What happened.

use crate::engine::{Change, no_nul, values};
use crate::error::{failed, hash};
use crate::{Site, StoreError};
use std::fmt;
use units::Moment;

/// The number of an event in its site's log: 1, 2, 3... without gaps. 0 is before the first.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct EventNumber(pub i64);

impl EventNumber {
    /// Before the first event.
    pub const NONE: EventNumber = EventNumber(0);

    /// The bare number.
    #[must_use]
    pub const fn number(self) -> i64 {
        self.0
    }
}

impl fmt::Display for EventNumber {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}", self.0)
    }
}

/// Something that happened, to be written down.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct NewEvent {
    /// When.
    pub at: Moment,
    /// Who did it.
    pub who: String,
    /// What kind of thing it is; not empty.
    pub kind: String,
    /// The rest, as JSON text. Not read here.
    pub json: String,
}

/// Something that happened.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Event {
    /// Its place in the log; greater is later.
    pub number: EventNumber,
    /// When.
    pub at: Moment,
    /// Who did it.
    pub who: String,
    /// What kind of thing it is.
    pub kind: String,
    /// The rest, as JSON text.
    pub json: String,
}

/// What a caller was answered, by the key it sent with its request.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Answer {
    /// The key; not empty.
    pub key: String,
    /// A hash of the request: the same key with another request is a mistake of the caller's.
    pub request: [u8; 32],
    /// The status of the answer.
    pub status: u16,
    /// The body of the answer.
    pub body: String,
    /// When.
    pub at: Moment,
}

type EventRow = (i64, i64, String, String, String);

fn event((number, at, who, kind, json): EventRow) -> Event {
    Event {
        number: EventNumber(number),
        at: Moment(at),
        who,
        kind,
        json,
    }
}

fn column<'e, T>(events: &'e [NewEvent], of: impl Fn(&'e NewEvent) -> T) -> Vec<T> {
    events.iter().map(of).collect()
}

impl Site {
    /// Writes `events` and `answers` if `expected_last` is the number of the last event, and hands
    /// back the number of the last event then. All is written or nothing is.
    ///
    /// # Errors
    /// [`StoreError::Behind`] when another event was written first, [`StoreError::KeyTaken`] when
    /// an answer's key has been answered before, [`StoreError::Database`] when the database cannot
    /// be written, a payload is not JSON, or a kind or key is empty, [`StoreError::Nul`] when a text
    /// holds the character 0.
    pub async fn append(
        &self,
        expected_last: EventNumber,
        events: &[NewEvent],
        answers: &[Answer],
    ) -> Result<EventNumber, StoreError> {
        let mut change = self.store.change().await?;
        match self
            .append_in(&mut change, expected_last, events, answers)
            .await
        {
            Ok(last) => {
                self.commit_with_news(change).await?;
                Ok(last)
            }
            Err(error) => {
                // What went wrong matters more than how it was taken back.
                let _ = change.undo().await;
                Err(error)
            }
        }
    }

    pub(crate) async fn append_in(
        &self,
        change: &mut Change,
        expected_last: EventNumber,
        events: &[NewEvent],
        answers: &[Answer],
    ) -> Result<EventNumber, StoreError> {
        let added = i64::try_from(events.len()).unwrap_or(i64::MAX);
        let last = expected_last.0.saturating_add(added);
        // This row is held until the change is committed: whoever else appends to the site waits
        // here and then finds the number raised.
        let raised = change
            .run(
                "find the last event",
                "UPDATE site SET last_event = $3, changes = changes + 1
                 WHERE site = $1 AND last_event = $2",
                values![self.id.0, expected_last.0, last],
            )
            .await?;
        if raised == 0 {
            let latest = self.last_event_in(change).await?;
            return Err(StoreError::Behind { latest });
        }
        self.add_events(change, expected_last, events).await?;
        for answer in answers {
            self.add_answer(change, answer).await?;
        }
        Ok(EventNumber(last))
    }

    pub(crate) async fn last_event_in(
        &self,
        change: &mut Change,
    ) -> Result<EventNumber, StoreError> {
        let sql = "SELECT last_event FROM site WHERE site = $1";
        let row: Option<(i64,)> = change
            .row("find the last event", sql, values![self.id.0])
            .await?;
        Ok(EventNumber(row.map_or(0, |(last,)| last)))
    }

    pub(crate) async fn add_answer(
        &self,
        change: &mut Change,
        answer: &Answer,
    ) -> Result<(), StoreError> {
        let added = change
            .run(
                "add an answer",
                "INSERT INTO answer (site, key, request, status, body, at)
                 VALUES ($1, $2, $3, $4, $5, $6)
                 ON CONFLICT (site, key) DO NOTHING",
                values![
                    self.id.0,
                    &answer.key,
                    &answer.request,
                    i64::from(answer.status),
                    &answer.body,
                    answer.at.0
                ],
            )
            .await?;
        if added == 0 {
            let key = answer.key.clone();
            return Err(StoreError::KeyTaken { key });
        }
        Ok(())
    }

    async fn add_events(
        &self,
        change: &mut Change,
        last: EventNumber,
        events: &[NewEvent],
    ) -> Result<(), StoreError> {
        for event in events {
            no_nul(values![&event.who, &event.kind, &event.json])?;
        }
        if let Change::Postgres(change) = change {
            // Each statement is a journey to the server and back, so all go in one.
            sqlx::query(
                "INSERT INTO event (site, event, at, who, kind, json)
                 SELECT $1, $2 + place, at, who, kind, json
                 FROM unnest($3::bigint[], $4::text[], $5::text[], $6::text[])
                      WITH ORDINALITY AS new (at, who, kind, json, place)",
            )
            .bind(self.id.0)
            .bind(last.0)
            .bind(column(events, |event| event.at.0))
            .bind(column(events, |event| event.who.as_str()))
            .bind(column(events, |event| event.kind.as_str()))
            .bind(column(events, |event| event.json.as_str()))
            .execute(&mut **change)
            .await
            .map_err(failed("add events"))?;
            return Ok(());
        }
        for (number, event) in (last.0 + 1..).zip(events) {
            change
                .run(
                    "add an event",
                    "INSERT INTO event (site, event, at, who, kind, json)
                     VALUES ($1, $2, $3, $4, $5, $6)",
                    values![
                        self.id.0,
                        number,
                        event.at.0,
                        &event.who,
                        &event.kind,
                        &event.json
                    ],
                )
                .await?;
        }
        Ok(())
    }

    /// The events after `number`, the earliest first, at most `limit`.
    ///
    /// # Errors
    /// [`StoreError::Database`] when the database cannot be read.
    pub async fn events_after(
        &self,
        number: EventNumber,
        limit: u32,
    ) -> Result<Vec<Event>, StoreError> {
        let rows = self
            .store
            .rows(
                "read the events",
                "SELECT event, at, who, kind, json FROM event
                 WHERE site = $1 AND event > $2 ORDER BY event LIMIT $3",
                values![self.id.0, number.0, i64::from(limit)],
            )
            .await?;
        Ok(rows.into_iter().map(event).collect())
    }

    /// The events before `number`, the latest first, at most `limit`.
    ///
    /// # Errors
    /// [`StoreError::Database`] when the database cannot be read.
    pub async fn events_before(
        &self,
        number: EventNumber,
        limit: u32,
    ) -> Result<Vec<Event>, StoreError> {
        let rows = self
            .store
            .rows(
                "read the events",
                "SELECT event, at, who, kind, json FROM event
                 WHERE site = $1 AND event < $2 ORDER BY event DESC LIMIT $3",
                values![self.id.0, number.0, i64::from(limit)],
            )
            .await?;
        Ok(rows.into_iter().map(event).collect())
    }

    /// The number of the last event; 0 before the first.
    ///
    /// # Errors
    /// [`StoreError::Database`] when the database cannot be read.
    pub async fn last_event(&self) -> Result<EventNumber, StoreError> {
        let sql = "SELECT last_event FROM site WHERE site = $1";
        let row: Option<(i64,)> = self
            .store
            .row("find the last event", sql, values![self.id.0])
            .await?;
        Ok(EventNumber(row.map_or(0, |(last,)| last)))
    }

    /// What the caller with that key was answered; `None` when it was not, or so long ago that it
    /// has been forgotten.
    ///
    /// # Errors
    /// [`StoreError::Database`] when the database cannot be read.
    pub async fn answer(&self, key: &str) -> Result<Option<Answer>, StoreError> {
        let row: Option<(Vec<u8>, i64, String, i64)> = self
            .store
            .row(
                "find an answer",
                "SELECT request, status, body, at FROM answer WHERE site = $1 AND key = $2",
                values![self.id.0, key],
            )
            .await?;
        row.map(|(request, status, body, at)| {
            Ok(Answer {
                key: key.to_owned(),
                request: hash(request)?,
                status: u16::try_from(status)
                    .map_err(|_| StoreError::Damaged("an answer with an impossible status"))?,
                body,
                at: Moment(at),
            })
        })
        .transpose()
    }

    /// Forgets the answers given before `before`, and tells how many there were.
    ///
    /// # Errors
    /// [`StoreError::Database`] when the database cannot be written.
    pub async fn forget_answers(&self, before: Moment) -> Result<u64, StoreError> {
        let mut change = self.store.change().await?;
        let sql = "DELETE FROM answer WHERE site = $1 AND at < $2";
        let values = values![self.id.0, before.0];
        let forgotten = change.run("forget answers", sql, values).await?;
        change.commit().await?;
        Ok(forgotten)
    }
}

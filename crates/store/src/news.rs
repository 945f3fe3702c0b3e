//! Who waits for changes hears of them.

use crate::engine::{Change, Pools, values};
use crate::error::failed;
use crate::{Site, Store, StoreError};
use sqlx::postgres::{PgListener, PgPoolOptions};
use std::collections::{BTreeMap, VecDeque};
use std::time::Duration;
use tokio::sync::watch;

/// The name under which a PostgreSQL server passes word of changes; its migrations name it too.
const CHANNEL: &str = "brakewright_news";

/// How often an SQLite file is looked at for another program's changes.
const LOOK_SQLITE: Duration = Duration::from_secs(1);

/// How often a PostgreSQL database is looked at although no word has come: word may be lost while
/// a connection is down.
const LOOK_POSTGRES: Duration = Duration::from_secs(15);

/// Word of changes, by this program or another.
///
/// A signal only says that it is time to look. What has changed is read from the sites' counters,
/// so a signal lost or doubled does no harm, and several changes of a site may be told as one.
#[derive(Debug)]
pub struct News {
    store: Store,
    here: watch::Receiver<u64>,
    elsewhere: Option<PgListener>,
    seen: BTreeMap<String, i64>,
    untold: VecDeque<String>,
}

impl Store {
    /// Word of every change from now on. One for a program is enough: each holds a connection to a
    /// PostgreSQL server for as long as it lives.
    ///
    /// # Errors
    /// [`StoreError::Database`] when the database cannot be read.
    pub async fn news(&self) -> Result<News, StoreError> {
        let here = self.changed.subscribe();
        let elsewhere = match self.pools() {
            Pools::Sqlite { .. } => None,
            Pools::Postgres(pool) => {
                // A connection of its own: whoever waits must not keep one from those who work.
                let own = PgPoolOptions::new()
                    .max_connections(1)
                    .max_lifetime(None)
                    .idle_timeout(None)
                    .connect_lazy_with(pool.connect_options().as_ref().clone());
                let mut listener = PgListener::connect_with(&own)
                    .await
                    .map_err(failed("listen for changes"))?;
                listener
                    .listen(CHANNEL)
                    .await
                    .map_err(failed("listen for changes"))?;
                Some(listener)
            }
        };
        // Read after listening has begun: what changes in between is told twice, not never.
        let seen = self.marks().await?;
        Ok(News {
            store: self.clone(),
            here,
            elsewhere,
            seen,
            untold: VecDeque::new(),
        })
    }

    /// Each site's count of changes.
    async fn marks(&self) -> Result<BTreeMap<String, i64>, StoreError> {
        let rows: Vec<(String, i64)> = self
            .rows("look for changes", "SELECT name, changes FROM site", &[])
            .await?;
        Ok(rows.into_iter().collect())
    }

    /// Wakes those who wait for news within this program.
    pub(crate) fn heard(&self) {
        self.changed
            .send_modify(|count| *count = count.wrapping_add(1));
    }
}

impl Site {
    /// Counts a change of the site. Until the change ends no other that counts can begin: this is
    /// how the changes of a site come one after the other.
    pub(crate) async fn hold(&self, change: &mut Change) -> Result<(), StoreError> {
        let sql = "UPDATE site SET changes = changes + 1 WHERE site = $1";
        match change
            .run("begin a change", sql, values![self.id.0])
            .await?
        {
            0 => Err(StoreError::Damaged("no such site")),
            _ => Ok(()),
        }
    }

    /// Commits a counted change and passes word of it within this program. A PostgreSQL server
    /// passes it to others by itself, from a trigger.
    pub(crate) async fn commit_with_news(&self, change: Change) -> Result<(), StoreError> {
        change.commit().await?;
        self.store.heard();
        Ok(())
    }
}

impl News {
    /// Waits for the next change and names the site it is about. May be given up at any time
    /// without losing anything.
    ///
    /// # Errors
    /// [`StoreError::Database`] when the database cannot be read. Asking again is all there is to
    /// do; a lost connection is made anew by itself.
    pub async fn next(&mut self) -> Result<String, StoreError> {
        loop {
            if let Some(name) = self.untold.pop_front() {
                return Ok(name);
            }
            self.look().await?;
            if self.untold.is_empty() {
                self.signal().await?;
            }
        }
    }

    async fn look(&mut self) -> Result<(), StoreError> {
        // Marked as seen before the counters are read: a change in between signals again.
        self.here.mark_unchanged();
        let marks = self.store.marks().await?;
        let changed = marks
            .iter()
            .filter(|(name, count)| self.seen.get(*name) != Some(count))
            .map(|(name, _)| name.clone());
        self.untold.extend(changed);
        self.seen = marks;
        Ok(())
    }

    async fn signal(&mut self) -> Result<(), StoreError> {
        match &mut self.elsewhere {
            None => tokio::select! {
                // The sender lives in `store`, so this cannot end.
                _ = self.here.changed() => {}
                () = tokio::time::sleep(LOOK_SQLITE) => {}
            },
            Some(listener) => tokio::select! {
                _ = self.here.changed() => {}
                () = tokio::time::sleep(LOOK_POSTGRES) => {}
                // `None` after a lost connection: word may have been missed, so look.
                word = listener.try_recv() => {
                    word.map_err(failed("listen for changes"))?;
                }
            },
        }
        Ok(())
    }
}

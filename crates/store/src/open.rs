//! Opening the file.

use crate::StoreError;
use crate::error::failed;
use sqlx::migrate::Migrator;
use sqlx::sqlite::{
    SqliteConnectOptions, SqliteJournalMode, SqlitePool, SqlitePoolOptions, SqliteSynchronous,
};
use sqlx::{Sqlite, Transaction};
use std::str::FromStr;
use std::time::Duration;

static MIGRATIONS: Migrator = sqlx::migrate!("../../migrations/sqlite");

/// How long a connection waits for another program's write to end. A write here takes
/// milliseconds; whoever holds the file this long hangs, and saying so is better than waiting on.
const BUSY_LONGEST: Duration = Duration::from_secs(10);

/// Readers beside the one writer. In WAL mode they neither wait for it nor hold it up.
const READERS: u32 = 4;

/// A shop's database. Clones share its connections.
#[derive(Clone, Debug)]
pub struct Store {
    writer: SqlitePool,
    readers: SqlitePool,
}

impl Store {
    /// Opens the file that `url` (`sqlite:FILE`) names, creates it when there is none and brings its
    /// tables up to date.
    ///
    /// # Errors
    /// [`StoreError`] when `url` does not name an SQLite file, or the file cannot be opened, is no
    /// database, or was written by a newer program.
    pub async fn open(url: &str) -> Result<Store, StoreError> {
        let options = options(url)?;
        let writer = SqlitePoolOptions::new()
            .max_connections(1)
            .connect_with(options.clone().create_if_missing(true))
            .await
            .map_err(failed("be opened"))?;
        MIGRATIONS.run(&writer).await?;
        let readers = SqlitePoolOptions::new()
            .max_connections(READERS)
            .connect_with(options.read_only(true))
            .await
            .map_err(failed("be opened for reading"))?;
        Ok(Store { writer, readers })
    }

    /// Closes every connection. Dropping the store does so too, but does not wait for it.
    pub async fn close(self) {
        self.readers.close().await;
        self.writer.close().await;
    }

    pub(crate) fn readers(&self) -> &SqlitePool {
        &self.readers
    }

    /// A transaction that may write. It takes the file's write lock at once: one that reads first
    /// and asks for the lock later is refused when another program has written in between.
    pub(crate) async fn change(&self) -> Result<Transaction<'static, Sqlite>, StoreError> {
        self.writer
            .begin_with("BEGIN IMMEDIATE")
            .await
            .map_err(failed("begin a change"))
    }
}

fn options(url: &str) -> Result<SqliteConnectOptions, StoreError> {
    let rest = url.strip_prefix("sqlite:").ok_or(StoreError::NotSqlite)?;
    let (file, settings) = rest.split_once('?').unwrap_or((rest, ""));
    let file = file.trim_start_matches("//");
    if file.is_empty() || file == ":memory:" || settings.contains("mode=memory") {
        return Err(StoreError::InMemory);
    }
    let options = SqliteConnectOptions::from_str(url).map_err(StoreError::Address)?;
    Ok(options
        .journal_mode(SqliteJournalMode::Wal)
        // NORMAL would lose the last commits of a WAL file in a power cut.
        .synchronous(SqliteSynchronous::Full)
        .foreign_keys(true)
        .busy_timeout(BUSY_LONGEST))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[tokio::test]
    async fn an_acknowledged_change_outlives_a_power_cut() {
        let file = std::env::temp_dir().join(format!("store-open-{}.db", std::process::id()));
        let store = Store::open(&format!("sqlite:{}", file.display()))
            .await
            .unwrap();
        let setting = |name: &'static str| sqlx::query_scalar::<_, i64>(name);
        let full: i64 = setting("PRAGMA synchronous")
            .fetch_one(&store.writer)
            .await
            .unwrap();
        assert_eq!(full, 2, "2 is FULL");
        let keys: i64 = setting("PRAGMA foreign_keys")
            .fetch_one(&store.writer)
            .await
            .unwrap();
        assert_eq!(keys, 1);
        let mode: String = sqlx::query_scalar("PRAGMA journal_mode")
            .fetch_one(&store.writer)
            .await
            .unwrap();
        assert_eq!(mode, "wal");
        let written = sqlx::query("CREATE TABLE t (a INTEGER)")
            .execute(store.readers())
            .await;
        assert!(written.is_err(), "readers cannot write");
        store.close().await;
        std::fs::remove_file(&file).unwrap();
    }
}

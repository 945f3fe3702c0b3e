//! Opening a database.

use crate::StoreError;
use crate::engine::{Change, Engine, Pools, Row, Value};
use crate::error::failed;
use sqlx::migrate::Migrator;
use sqlx::postgres::{PgConnectOptions, PgConnection, PgPoolOptions};
use sqlx::sqlite::{
    SqliteConnectOptions, SqliteConnection, SqliteJournalMode, SqlitePoolOptions, SqliteSynchronous,
};
use sqlx::{ConnectOptions, Connection};
use std::str::FromStr;
use std::sync::Arc;
use std::time::{Duration, Instant};
use tokio::sync::watch;

static SQLITE: Migrator = sqlx::migrate!("../../migrations/sqlite");
static POSTGRES: Migrator = sqlx::migrate!("../../migrations/postgres");

/// How long a connection waits for another program's write to end. A write here takes
/// milliseconds; whoever holds the file this long hangs, and saying so is better than waiting on.
const BUSY_LONGEST: Duration = Duration::from_millis(BUSY_LONGEST_MS);
const BUSY_LONGEST_MS: u64 = 10_000;

/// How long to wait before a busy file is tried again.
const BUSY_PAUSE: Duration = Duration::from_millis(5);

/// What SQLite answers when another connection holds the lock it needs.
const SQLITE_BUSY: u32 = 5;

/// Readers beside the one writer of an SQLite file.
const READERS: u32 = 4;

/// Connections to a PostgreSQL server. A change holds one for milliseconds.
const CONNECTIONS: u32 = 8;

/// What a PostgreSQL server must do whatever it has been set up for: acknowledge only what is
/// written to its disk, let a change that has waited for another see what that one left, and let go
/// of what a program holds that hangs or has gone with its machine.
const SETTINGS: [(&str, &str); 3] = [
    ("synchronous_commit", "on"),
    ("default_transaction_isolation", "read committed"),
    ("idle_in_transaction_session_timeout", "60s"),
];

/// A database of sites. Clones share its connections.
#[derive(Clone, Debug)]
pub struct Store {
    pools: Pools,
    /// Tells those who wait for news within this program that there may be some.
    pub(crate) changed: Arc<watch::Sender<u64>>,
}

impl Store {
    /// Opens the database that `url` names (`sqlite:FILE` or `postgres://USER@HOST/NAME`) and
    /// brings its tables up to date. Makes an SQLite file when there is none; a PostgreSQL database
    /// must exist. Programs that start together wait for each other. A server that is reached over a
    /// network should be asked for TLS: `?sslmode=verify-full&sslrootcert=FILE`.
    ///
    /// # Errors
    /// [`StoreError`] when `url` makes no sense, or the database cannot be opened, is no database,
    /// or was written by a newer program.
    pub async fn open(url: &str) -> Result<Store, StoreError> {
        match address(url)? {
            Address::Sqlite(options) => migrate_sqlite(options).await?,
            Address::Postgres(options) => migrate_postgres(options).await?,
        }
        Store::open_as_is(url).await
    }

    /// Opens the database that `url` names and leaves its tables as they are. Makes nothing.
    ///
    /// # Errors
    /// [`StoreError`] when `url` makes no sense or the database cannot be opened.
    pub async fn open_as_is(url: &str) -> Result<Store, StoreError> {
        let pools = match address(url)? {
            Address::Sqlite(options) => Pools::Sqlite {
                writer: patiently(|| {
                    SqlitePoolOptions::new()
                        .max_connections(1)
                        .connect_with(options.clone())
                })
                .await
                .map_err(failed("be opened"))?,
                readers: patiently(|| {
                    SqlitePoolOptions::new()
                        .max_connections(READERS)
                        .connect_with(options.clone().read_only(true))
                })
                .await
                .map_err(failed("be opened for reading"))?,
            },
            Address::Postgres(options) => Pools::Postgres(
                PgPoolOptions::new()
                    .max_connections(CONNECTIONS)
                    .acquire_timeout(BUSY_LONGEST)
                    // Not while migrating: another program may be at that for longer.
                    .connect_with(options.options([("lock_timeout", BUSY_LONGEST_MS)]))
                    .await
                    .map_err(failed("be reached"))?,
            ),
        };
        Ok(Store {
            pools,
            changed: Arc::new(watch::Sender::new(0)),
        })
    }

    /// Which engine keeps the database.
    #[must_use]
    pub fn engine(&self) -> Engine {
        self.pools.engine()
    }

    /// Closes every connection. Dropping the store does so too, but does not wait for it.
    pub async fn close(self) {
        match self.pools {
            Pools::Sqlite { writer, readers } => {
                readers.close().await;
                writer.close().await;
            }
            Pools::Postgres(pool) => pool.close().await,
        }
    }

    /// Asks the database for a sign of life.
    ///
    /// # Errors
    /// [`StoreError::Database`] when it gives none.
    pub async fn ping(&self) -> Result<(), StoreError> {
        self.rows::<(i64,)>("answer", "SELECT count(*) FROM site WHERE site = 0", &[])
            .await?;
        Ok(())
    }

    pub(crate) fn pools(&self) -> &Pools {
        &self.pools
    }

    pub(crate) async fn rows<T: Row>(
        &self,
        doing: &'static str,
        sql: &'static str,
        values: &[Value<'_>],
    ) -> Result<Vec<T>, StoreError> {
        self.pools.rows(doing, sql, values).await
    }

    pub(crate) async fn row<T: Row>(
        &self,
        doing: &'static str,
        sql: &'static str,
        values: &[Value<'_>],
    ) -> Result<Option<T>, StoreError> {
        self.pools.row(doing, sql, values).await
    }

    pub(crate) async fn change(&self) -> Result<Change, StoreError> {
        self.pools.change().await
    }

    /// The newest migration this program knows.
    pub(crate) fn known_schema(&self) -> i64 {
        match self.engine() {
            Engine::Sqlite => known_sqlite(),
            Engine::Postgres => newest(&POSTGRES),
        }
    }
}

/// The newest migration of SQLite files this program knows.
pub(crate) fn known_sqlite() -> i64 {
    newest(&SQLITE)
}

fn newest(migrations: &Migrator) -> i64 {
    migrations.iter().map(|one| one.version).max().unwrap_or(0)
}

enum Address {
    Sqlite(SqliteConnectOptions),
    Postgres(PgConnectOptions),
}

fn address(url: &str) -> Result<Address, StoreError> {
    if url.starts_with("postgres:") || url.starts_with("postgresql:") {
        let options = PgConnectOptions::from_str(url).map_err(StoreError::Address)?;
        let options = options.application_name("brakewright").options(SETTINGS);
        return Ok(Address::Postgres(options));
    }
    let rest = url
        .strip_prefix("sqlite:")
        .ok_or(StoreError::UnknownEngine)?;
    let (file, settings) = rest.split_once('?').unwrap_or((rest, ""));
    let file = file.trim_start_matches("//");
    if file.is_empty() || file == ":memory:" || settings.contains("mode=memory") {
        return Err(StoreError::InMemory);
    }
    let options = SqliteConnectOptions::from_str(url).map_err(StoreError::Address)?;
    let options = options
        .journal_mode(SqliteJournalMode::Wal)
        // NORMAL would lose the last commits of a WAL file in a power cut.
        .synchronous(SqliteSynchronous::Full)
        .foreign_keys(true)
        .busy_timeout(BUSY_LONGEST);
    Ok(Address::Sqlite(options))
}

/// Connects to an SQLite file, again and again while another program is at it. SQLite waits for a
/// lock by itself, but says at once that a file is busy when two programs turn a new one to
/// write-ahead logging together, and when another program's last connection is just clearing up its
/// log (the latter: SQLite, "Write-Ahead Logging", on `SQLITE_BUSY`).
async fn patiently<T, F>(connect: impl Fn() -> F) -> Result<T, sqlx::Error>
where
    F: Future<Output = Result<T, sqlx::Error>>,
{
    let given_up = Instant::now() + BUSY_LONGEST;
    loop {
        match connect().await {
            Err(error) if is_busy(&error) && Instant::now() < given_up => {
                tokio::time::sleep(BUSY_PAUSE).await;
            }
            done => return done,
        }
    }
}

/// Whether SQLite says `SQLITE_BUSY`. The lowest byte of its code tells; the others tell why.
fn is_busy(error: &sqlx::Error) -> bool {
    let code = error.as_database_error().and_then(|error| error.code());
    let code = code.and_then(|code| code.parse::<u32>().ok());
    code.is_some_and(|code| code & 0xff == SQLITE_BUSY)
}

/// All migrations are one transaction that holds the file's write lock from its beginning: a
/// second program waits, then finds nothing left to do.
pub(crate) async fn migrate_sqlite(options: SqliteConnectOptions) -> Result<(), StoreError> {
    let options = options.create_if_missing(true);
    let mut connection: SqliteConnection = patiently(|| options.connect())
        .await
        .map_err(failed("be opened"))?;
    let mut change = connection
        .begin_with("BEGIN EXCLUSIVE")
        .await
        .map_err(failed("be locked"))?;
    // Not `run`: its future cannot be handed from thread to thread.
    SQLITE.run_direct(None, &mut *change, false).await?;
    change
        .commit()
        .await
        .map_err(failed("be brought up to date"))?;
    connection.close().await.map_err(failed("be let go"))
}

/// Each migration is a transaction; an advisory lock of the server keeps other programs out from
/// the first to the last. It goes with the connection, however that ends.
async fn migrate_postgres(options: PgConnectOptions) -> Result<(), StoreError> {
    let mut connection: PgConnection = options.connect().await.map_err(failed("be reached"))?;
    POSTGRES.run_direct(None, &mut connection, false).await?;
    connection.close().await.map_err(failed("be let go"))
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
        let Pools::Sqlite { writer, readers } = store.pools() else {
            panic!("opened another engine");
        };
        let setting = |name: &'static str| sqlx::query_scalar::<_, i64>(name);
        let full: i64 = setting("PRAGMA synchronous")
            .fetch_one(writer)
            .await
            .unwrap();
        assert_eq!(full, 2, "2 is FULL");
        let keys: i64 = setting("PRAGMA foreign_keys")
            .fetch_one(writer)
            .await
            .unwrap();
        assert_eq!(keys, 1);
        let mode: String = sqlx::query_scalar("PRAGMA journal_mode")
            .fetch_one(writer)
            .await
            .unwrap();
        assert_eq!(mode, "wal");
        let written = sqlx::query("CREATE TABLE t (a INTEGER)")
            .execute(readers)
            .await;
        assert!(written.is_err(), "readers cannot write");
        store.close().await;
        std::fs::remove_file(&file).unwrap();
    }
}

//! Copies of a whole database.

use crate::engine::{Change, Engine, Pools};
use crate::error::{failed, file_failed};
use crate::open::{known_sqlite, migrate_sqlite};
use crate::tables::{copy, counts};
use crate::{Store, StoreError};
use sqlx::sqlite::{SqliteConnectOptions, SqlitePool, SqlitePoolOptions};
use sqlx::{ConnectOptions, Connection};
use std::collections::BTreeMap;
use std::ffi::OsString;
use std::path::{Path, PathBuf};
use tokio::fs;

/// What a backup holds.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct BackupReport {
    /// Rows of each table.
    pub rows: BTreeMap<&'static str, u64>,
    /// Length of the file, in bytes.
    pub bytes: u64,
}

/// What was restored.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct RestoreReport {
    /// Rows of each table.
    pub rows: BTreeMap<&'static str, u64>,
}

impl Store {
    /// Copies the whole database, as it is at one moment, into a new SQLite file; work goes on
    /// meanwhile. The file is written beside `to` and gets its name when it is whole and on the
    /// disk. It holds the hashes of passwords: on Unix only its owner may read it.
    ///
    /// # Errors
    /// [`StoreError::Exists`] when there is something at `to`, [`StoreError::File`] when the file
    /// cannot be written, [`StoreError::Database`] when the database cannot be read.
    pub async fn backup(&self, to: &Path) -> Result<BackupReport, StoreError> {
        if fs::try_exists(to)
            .await
            .map_err(file_failed("look for", to))?
        {
            return Err(StoreError::Exists(to.to_owned()));
        }
        let beside = beside(to, "part");
        let written = self.backup_into(&beside, to).await;
        remove(&beside).await;
        written
    }

    async fn backup_into(&self, beside: &Path, to: &Path) -> Result<BackupReport, StoreError> {
        new_private_file(beside).await?;
        let rows = match self.pools() {
            Pools::Sqlite { writer, .. } => {
                // Reading a whole file must not hold up the one writer, so it goes over a
                // connection of its own.
                vacuum_into(&writer.connect_options(), beside).await?;
                let file = plain(beside, true).await?;
                let mut at = Change::Sqlite(file.begin().await.map_err(failed("be read"))?);
                let rows = counts(&mut at).await?;
                at.undo().await?;
                file.close().await;
                rows
            }
            Pools::Postgres(pool) => {
                migrate_sqlite(plain_options(beside)).await?;
                let file = plain(beside, false).await?;
                let begun = "BEGIN ISOLATION LEVEL REPEATABLE READ READ ONLY";
                let from = pool.begin_with(begun).await;
                let mut from = Change::Postgres(from.map_err(failed("begin a copy"))?);
                let mut into = Change::Sqlite(file.begin().await.map_err(failed("be written"))?);
                let rows = copy(&mut from, &mut into).await?;
                into.commit().await?;
                from.undo().await?;
                file.close().await;
                rows
            }
        };
        let bytes = give_name(beside, to).await?;
        Ok(BackupReport { rows, bytes })
    }

    /// Fills the database that `url` names, which must hold no site, from a backup. The backup may
    /// come from either engine and from an older program. All is restored or nothing is.
    ///
    /// # Errors
    /// [`StoreError::NotEmpty`] when the database holds a site, [`StoreError::Schema`] when `from`
    /// was written by a newer program or is no backup, [`StoreError`] when `from` cannot be read or
    /// the database cannot be written.
    pub async fn restore(from: &Path, url: &str) -> Result<RestoreReport, StoreError> {
        if !fs::try_exists(from)
            .await
            .map_err(file_failed("look for", from))?
        {
            let cause = std::io::Error::from(std::io::ErrorKind::NotFound);
            return Err(file_failed("read", from)(cause));
        }
        let older = beside(from, "restoring");
        let restored = restore_from(from, &older, url).await;
        remove(&older).await;
        restored
    }
}

async fn restore_from(from: &Path, older: &Path, url: &str) -> Result<RestoreReport, StoreError> {
    let mut file = plain(from, true).await?;
    let (found, known) = (schema_of(&file).await?, known_sqlite());
    if found == 0 || found > known {
        file.close().await;
        return Err(StoreError::Schema { found, known });
    }
    if found < known {
        // A backup is never written to: a copy of it is brought up to date.
        file.close().await;
        new_private_file(older).await?;
        vacuum_into(&plain_options(from).read_only(true), older).await?;
        migrate_sqlite(plain_options(older)).await?;
        file = plain(older, true).await?;
    }
    let store = Store::open(url).await?;
    let mut from = Change::Sqlite(file.begin().await.map_err(failed("be read"))?);
    let mut into = store.change().await?;
    if into.engine() == Engine::Postgres {
        // Nobody may add the first site meanwhile.
        let lock = "LOCK TABLE site IN SHARE ROW EXCLUSIVE MODE";
        into.run("lock the sites", lock, &[]).await?;
    }
    let sites: Vec<(i64,)> = into
        .rows("look for sites", "SELECT site FROM site LIMIT 1", &[])
        .await?;
    if !sites.is_empty() {
        return Err(StoreError::NotEmpty);
    }
    let rows = copy(&mut from, &mut into).await?;
    into.commit().await?;
    from.undo().await?;
    file.close().await;
    store.close().await;
    Ok(RestoreReport { rows })
}

/// The newest migration a file has; 0 when it is none of this program's.
async fn schema_of(file: &SqlitePool) -> Result<i64, StoreError> {
    let sql = "SELECT count(*) FROM sqlite_schema WHERE name = '_sqlx_migrations'";
    let ours: i64 = sqlx::query_scalar(sql)
        .fetch_one(file)
        .await
        .map_err(failed("read the backup"))?;
    if ours == 0 {
        return Ok(0);
    }
    let sql = "SELECT coalesce(max(version), 0) FROM _sqlx_migrations";
    let version = sqlx::query_scalar(sql).fetch_one(file).await;
    version.map_err(failed("read the backup"))
}

/// A single file, without the side files of WAL mode.
fn plain_options(file: &Path) -> SqliteConnectOptions {
    SqliteConnectOptions::new()
        .filename(file)
        .foreign_keys(true)
}

async fn plain(file: &Path, read_only: bool) -> Result<SqlitePool, StoreError> {
    SqlitePoolOptions::new()
        .max_connections(1)
        .connect_with(plain_options(file).read_only(read_only))
        .await
        .map_err(failed("open the copy"))
}

async fn vacuum_into(from: &SqliteConnectOptions, to: &Path) -> Result<(), StoreError> {
    let mut connection = from.connect().await.map_err(failed("be opened"))?;
    let name = to.to_str().ok_or_else(|| {
        let cause = std::io::Error::from(std::io::ErrorKind::InvalidFilename);
        file_failed("write", to)(cause)
    })?;
    sqlx::query("VACUUM INTO $1")
        .bind(name)
        .execute(&mut connection)
        .await
        .map_err(failed("be copied"))?;
    connection.close().await.map_err(failed("be let go"))
}

/// The name of a file beside `path`, for this process alone.
fn beside(path: &Path, end: &str) -> PathBuf {
    let mut name = OsString::from(".");
    name.push(path.file_name().unwrap_or_default());
    name.push(format!(".{}.{end}", std::process::id()));
    path.with_file_name(name)
}

async fn new_private_file(path: &Path) -> Result<(), StoreError> {
    let mut options = fs::OpenOptions::new();
    options.write(true).create_new(true);
    #[cfg(unix)]
    options.mode(0o600);
    options
        .open(path)
        .await
        .map_err(file_failed("make", path))?;
    Ok(())
}

/// Removes a file and those SQLite may have put beside it; they may be gone already.
async fn remove(path: &Path) {
    for end in ["", "-journal", "-wal", "-shm"] {
        let mut name = path.as_os_str().to_owned();
        name.push(end);
        let _ = fs::remove_file(name).await;
    }
}

/// Puts a finished file on the disk for good and gives it its name, and tells its length in bytes.
async fn give_name(beside: &Path, to: &Path) -> Result<u64, StoreError> {
    let opened = fs::OpenOptions::new().write(true).open(beside).await;
    let file = opened.map_err(file_failed("open", beside))?;
    file.sync_all()
        .await
        .map_err(file_failed("write", beside))?;
    let about = file.metadata().await.map_err(file_failed("read", beside))?;
    // A link, unlike a renamed file, never takes the place of another.
    fs::hard_link(beside, to).await.map_err(|cause| {
        if cause.kind() == std::io::ErrorKind::AlreadyExists {
            StoreError::Exists(to.to_owned())
        } else {
            file_failed("write", to)(cause)
        }
    })?;
    #[cfg(unix)]
    {
        let folder = to.parent().filter(|folder| !folder.as_os_str().is_empty());
        let folder = folder.unwrap_or(Path::new("."));
        let opened = fs::File::open(folder).await;
        let opened = opened.map_err(file_failed("open", folder))?;
        opened
            .sync_all()
            .await
            .map_err(file_failed("write", folder))?;
    }
    Ok(about.len())
}

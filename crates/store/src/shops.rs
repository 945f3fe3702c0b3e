//! Revisions of the shop folder.

use crate::error::failed;
use crate::events::{EventKind, record};
use crate::{Store, StoreError};
use sqlx::{Executor, Sqlite, SqliteConnection};
use std::collections::BTreeMap;
use std::fmt;
use units::Moment;

/// A folder's files: name, relative to the folder, and bytes.
pub type Files = BTreeMap<String, Vec<u8>>;

/// The number of one state of the shop folder; greater is later.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Revision(pub(crate) i64);

impl Revision {
    /// The bare number.
    #[must_use]
    pub const fn number(self) -> i64 {
        self.0
    }
}

impl fmt::Display for Revision {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}", self.0)
    }
}

impl Store {
    /// Makes `files` the latest revision. When the latest holds the very same names and bytes it is
    /// handed back and nothing is written. Going back to earlier content is a change like any other
    /// and gets a new number.
    ///
    /// # Errors
    /// [`StoreError::Database`] when the file cannot be read or written; then nothing has changed.
    pub async fn import(&self, files: &Files, now: Moment) -> Result<Revision, StoreError> {
        let mut change = self.change().await?;
        let latest = latest(&mut *change).await?;
        let before = match latest {
            Some(revision) => contents(&mut *change, revision).await?,
            None => BTreeMap::new(),
        };
        if let Some(revision) = latest
            && same(&before, files)
        {
            return Ok(revision);
        }
        let revision = insert_revision(&mut change, files, &before, now).await?;
        record(&mut change, now, EventKind::ShopImported, revision, None).await?;
        change.commit().await.map_err(failed("keep the shop"))?;
        Ok(revision)
    }

    /// The latest revision; `None` before the first import.
    ///
    /// # Errors
    /// [`StoreError::Database`] when the file cannot be read.
    pub async fn latest_revision(&self) -> Result<Option<Revision>, StoreError> {
        latest(self.readers()).await
    }

    /// The files of a revision. Empty only when the folder was.
    ///
    /// # Errors
    /// [`StoreError::Database`] when the file cannot be read.
    pub async fn files(&self, revision: Revision) -> Result<Files, StoreError> {
        let files = contents(self.readers(), revision).await?;
        let named = files
            .into_iter()
            .map(|(name, content)| (name, content.bytes));
        Ok(named.collect())
    }
}

/// Bytes with the number under which they are kept.
struct Content {
    number: i64,
    bytes: Vec<u8>,
}

/// The latest revision, as `at` sees it: a transaction or the readers.
pub(crate) async fn latest<'e>(
    at: impl Executor<'e, Database = Sqlite>,
) -> Result<Option<Revision>, StoreError> {
    let number: Option<i64> = sqlx::query_scalar("SELECT max(revision) FROM shop_revision")
        .fetch_one(at)
        .await
        .map_err(failed("find the latest revision"))?;
    Ok(number.map(Revision))
}

async fn contents<'e>(
    at: impl Executor<'e, Database = Sqlite>,
    revision: Revision,
) -> Result<BTreeMap<String, Content>, StoreError> {
    let rows: Vec<(String, i64, Vec<u8>)> = sqlx::query_as(
        "SELECT name, content, bytes
         FROM shop_file JOIN file_content USING (content)
         WHERE revision = $1",
    )
    .bind(revision.0)
    .fetch_all(at)
    .await
    .map_err(failed("read the files of a revision"))?;
    let named = rows
        .into_iter()
        .map(|(name, number, bytes)| (name, Content { number, bytes }));
    Ok(named.collect())
}

fn same(before: &BTreeMap<String, Content>, files: &Files) -> bool {
    let pairs = before.iter().map(|(name, content)| (name, &content.bytes));
    pairs.eq(files)
}

async fn insert_revision(
    change: &mut SqliteConnection,
    files: &Files,
    before: &BTreeMap<String, Content>,
    now: Moment,
) -> Result<Revision, StoreError> {
    let number = sqlx::query_scalar(
        "INSERT INTO shop_revision (imported_at) VALUES ($1) RETURNING revision",
    )
    .bind(now.0)
    .fetch_one(&mut *change)
    .await
    .map_err(failed("add a revision"))?;
    for (name, bytes) in files {
        let content = match before.get(name) {
            Some(kept) if kept.bytes == *bytes => kept.number,
            _ => insert_content(change, bytes).await?,
        };
        sqlx::query("INSERT INTO shop_file (revision, name, content) VALUES ($1, $2, $3)")
            .bind(number)
            .bind(name)
            .bind(content)
            .execute(&mut *change)
            .await
            .map_err(failed("add a file"))?;
    }
    Ok(Revision(number))
}

async fn insert_content(change: &mut SqliteConnection, bytes: &[u8]) -> Result<i64, StoreError> {
    sqlx::query_scalar("INSERT INTO file_content (bytes) VALUES ($1) RETURNING content")
        .bind(bytes)
        .fetch_one(change)
        .await
        .map_err(failed("add a file's content"))
}

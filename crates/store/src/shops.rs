//! Revisions of the shop folder.

use crate::engine::{Change, values};
use crate::{Site, StoreError};
use std::collections::BTreeMap;
use std::fmt;
use units::Moment;

/// A folder's files: name, relative to the folder, and bytes.
pub type Files = BTreeMap<String, Vec<u8>>;

/// The number of one state of a site's shop folder: 1, 2, 3...; greater is later.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Revision(pub i64);

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

const CONTENTS: &str = "SELECT shop_file.name, file_content.content, file_content.bytes
    FROM shop_file JOIN file_content
      ON file_content.site = shop_file.site AND file_content.content = shop_file.content
    WHERE shop_file.site = $1 AND shop_file.revision = $2";

type ContentRow = (String, i64, Vec<u8>);

impl Site {
    /// Makes `files` the latest revision. When the latest holds the very same names and bytes it is
    /// handed back and nothing is written. Going back to earlier content is a change like any other
    /// and gets a new number. Writes no event: what the import means is the caller's to tell.
    ///
    /// # Errors
    /// [`StoreError::Database`] when the database cannot be read or written; then nothing has
    /// changed.
    pub async fn import(&self, files: &Files, now: Moment) -> Result<Revision, StoreError> {
        let mut change = self.store.change().await?;
        self.hold(&mut change).await?;
        let sql = "SELECT last_revision, last_content FROM site WHERE site = $1";
        let row: Option<(i64, i64)> = change
            .row("find the latest revision", sql, values![self.id.0])
            .await?;
        let (latest, mut content) = row.ok_or(StoreError::Damaged("no such site"))?;
        let rows: Vec<ContentRow> = change
            .rows(
                "read the files of a revision",
                CONTENTS,
                values![self.id.0, latest],
            )
            .await?;
        let before: BTreeMap<String, Content> = rows
            .into_iter()
            .map(|(name, number, bytes)| (name, Content { number, bytes }))
            .collect();
        if latest > 0 && same(&before, files) {
            change.undo().await?;
            return Ok(Revision(latest));
        }
        let revision = latest + 1;
        change
            .run(
                "add a revision",
                "INSERT INTO shop_revision (site, revision, imported_at) VALUES ($1, $2, $3)",
                values![self.id.0, revision, now.0],
            )
            .await?;
        for (name, bytes) in files {
            let number = match before.get(name) {
                Some(kept) if kept.bytes == *bytes => kept.number,
                _ => {
                    content += 1;
                    self.add_content(&mut change, content, bytes).await?;
                    content
                }
            };
            change
                .run(
                    "add a file",
                    "INSERT INTO shop_file (site, revision, name, content)
                     VALUES ($1, $2, $3, $4)",
                    values![self.id.0, revision, name, number],
                )
                .await?;
        }
        change
            .run(
                "add a revision",
                "UPDATE site SET last_revision = $2, last_content = $3 WHERE site = $1",
                values![self.id.0, revision, content],
            )
            .await?;
        self.commit_with_news(change).await?;
        Ok(Revision(revision))
    }

    async fn add_content(
        &self,
        change: &mut Change,
        number: i64,
        bytes: &[u8],
    ) -> Result<(), StoreError> {
        let sql = "INSERT INTO file_content (site, content, bytes) VALUES ($1, $2, $3)";
        let values = values![self.id.0, number, bytes];
        change.run("add a file's content", sql, values).await?;
        Ok(())
    }

    /// The latest revision; `None` before the first import.
    ///
    /// # Errors
    /// [`StoreError::Database`] when the database cannot be read.
    pub async fn latest_revision(&self) -> Result<Option<Revision>, StoreError> {
        let sql = "SELECT last_revision FROM site WHERE site = $1 AND last_revision > 0";
        let row: Option<(i64,)> = self
            .store
            .row("find the latest revision", sql, values![self.id.0])
            .await?;
        Ok(row.map(|(number,)| Revision(number)))
    }

    /// The files of a revision. Empty when the folder was, or the site has no such revision.
    ///
    /// # Errors
    /// [`StoreError::Database`] when the database cannot be read.
    pub async fn files(&self, revision: Revision) -> Result<Files, StoreError> {
        let rows: Vec<ContentRow> = self
            .store
            .rows(
                "read the files of a revision",
                CONTENTS,
                values![self.id.0, revision.0],
            )
            .await?;
        let named = rows.into_iter().map(|(name, _, bytes)| (name, bytes));
        Ok(named.collect())
    }
}

/// Bytes with the number under which they are kept.
struct Content {
    number: i64,
    bytes: Vec<u8>,
}

fn same(before: &BTreeMap<String, Content>, files: &Files) -> bool {
    let pairs = before.iter().map(|(name, content)| (name, &content.bytes));
    pairs.eq(files)
}

//! Sites.

use crate::engine::{Change, values};
use crate::{Store, StoreError};
use std::fmt;
use std::sync::Arc;
use units::Moment;

/// The number of a site in its database.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct SiteId(pub(crate) i64);

impl fmt::Display for SiteId {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}", self.0)
    }
}

/// One shop in a database. Clones are cheap and share the store's connections.
///
/// Everything a shop has is read and written through this: a query that forgets the site cannot be
/// asked for.
#[derive(Clone, Debug)]
pub struct Site {
    pub(crate) store: Store,
    pub(crate) id: SiteId,
    name: Arc<str>,
}

impl Site {
    pub(crate) fn new(store: Store, id: i64, name: &str) -> Site {
        Site {
            store,
            id: SiteId(id),
            name: Arc::from(name),
        }
    }

    /// Its name.
    #[must_use]
    pub fn name(&self) -> &str {
        &self.name
    }

    /// Its number in the database.
    #[must_use]
    pub fn id(&self) -> SiteId {
        self.id
    }

    /// The database it is in.
    #[must_use]
    pub fn store(&self) -> &Store {
        &self.store
    }
}

impl Store {
    /// The site of that name; makes it when there is none.
    ///
    /// # Errors
    /// [`StoreError::NoSiteName`] when the name is empty, [`StoreError::Database`] when the
    /// database cannot be read or written.
    pub async fn site(&self, name: &str, now: Moment) -> Result<Site, StoreError> {
        if name.is_empty() {
            return Err(StoreError::NoSiteName);
        }
        if let Some(site) = self.site_named(name).await? {
            return Ok(site);
        }
        let mut change = self.change().await?;
        match &mut change {
            Change::Sqlite(_) => {}
            // Two new sites at once would be given the same number.
            Change::Postgres(_) => {
                let lock = "LOCK TABLE site IN SHARE ROW EXCLUSIVE MODE";
                change.run("lock the sites", lock, &[]).await?;
            }
        }
        change
            .run(
                "add a site",
                "INSERT INTO site (site, name, created_at)
                 SELECT coalesce(max(site), 0) + 1, $1, $2 FROM site
                 HAVING NOT EXISTS (SELECT 1 FROM site WHERE name = $1)",
                values![name, now.0],
            )
            .await?;
        change.commit().await?;
        self.heard();
        let site = self.site_named(name).await?;
        site.ok_or(StoreError::Damaged("no site just after one was added"))
    }

    /// The names of all sites, in order of their making.
    ///
    /// # Errors
    /// [`StoreError::Database`] when the database cannot be read.
    pub async fn sites(&self) -> Result<Vec<String>, StoreError> {
        let sql = "SELECT name FROM site ORDER BY site";
        let names: Vec<(String,)> = self.rows("list the sites", sql, &[]).await?;
        Ok(names.into_iter().map(|(name,)| name).collect())
    }

    async fn site_named(&self, name: &str) -> Result<Option<Site>, StoreError> {
        let sql = "SELECT site FROM site WHERE name = $1";
        let row: Option<(i64,)> = self.row("find a site", sql, values![name]).await?;
        Ok(row.map(|(id,)| Site::new(self.clone(), id, name)))
    }
}

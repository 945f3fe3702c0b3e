//! What can go wrong in the store.

use crate::Revision;
use sqlx::migrate::MigrateError;

/// Why the store could not do what was asked.
#[derive(Debug, thiserror::Error)]
pub enum StoreError {
    /// The address names another engine or none. The address itself is not repeated: it may hold a
    /// password.
    #[error("the database must be given as sqlite:FILE, for example sqlite:shop.db")]
    NotSqlite,
    /// The address does not name a file.
    #[error("a database in memory loses every plan when the program ends; name a file")]
    InMemory,
    /// The rest of the address does not make sense.
    #[error("cannot read the database's address: {0}")]
    Address(sqlx::Error),
    /// The file's tables could not be brought up to date.
    #[error("cannot bring the database up to date: {0}")]
    Migration(#[from] MigrateError),
    /// The plan was made from a revision that is no longer the latest.
    #[error("the shop has changed: the plan was made from revision {made_from}, now it is at {}",
        .latest.map_or_else(|| "none".to_owned(), |latest| latest.to_string()))]
    ShopChanged {
        /// What the plan was made from.
        made_from: Revision,
        /// What the shop is at now.
        latest: Option<Revision>,
    },
    /// The judge has not accepted the plan.
    #[error("a plan is stored only when the audit has accepted it")]
    NotVerified,
    /// The file holds something this program never writes.
    #[error("the database holds an event of the unknown kind {0:?}; a newer program wrote it")]
    UnknownEvent(String),
    /// The engine failed.
    #[error("the database could not {doing}: {cause}")]
    Database {
        /// What was being done.
        doing: &'static str,
        /// What the engine said.
        cause: sqlx::Error,
    },
}

/// Turns the engine's error into ours, with what was being done.
pub(crate) fn failed(doing: &'static str) -> impl Fn(sqlx::Error) -> StoreError {
    move |cause| StoreError::Database { doing, cause }
}

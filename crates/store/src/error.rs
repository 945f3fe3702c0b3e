//! What can go wrong in the store.

use crate::EventNumber;
use sqlx::migrate::MigrateError;
use std::path::PathBuf;

/// Why the store could not do what was asked.
#[derive(Debug, thiserror::Error)]
pub enum StoreError {
    /// The address names another engine or none. The address itself is not repeated: it may hold a
    /// password.
    #[error(
        "the database must be given as sqlite:FILE or postgres://HOST/NAME, for example sqlite:shop.db"
    )]
    UnknownEngine,
    /// The address does not name a file.
    #[error("a database in memory loses every plan when the program ends; name a file")]
    InMemory,
    /// The rest of the address does not make sense.
    #[error("cannot read the database's address: {0}")]
    Address(sqlx::Error),
    /// The tables could not be brought up to date.
    #[error("cannot bring the database up to date: {0}")]
    Migration(#[from] MigrateError),
    /// A site without a name.
    #[error("a site must have a name")]
    NoSiteName,
    /// Another change was faster: the number expected to be the last is not.
    #[error("the shop has changed: the last event is {latest} now")]
    Behind {
        /// The last event.
        latest: EventNumber,
    },
    /// The key has been answered before.
    #[error("the request with the key {key:?} has been answered before")]
    KeyTaken {
        /// The key.
        key: String,
    },
    /// A plan said to be made from an event that is not there.
    #[error("the plan was made from event {made_from}, but the last event is {latest}")]
    FromTheFuture {
        /// What the plan says.
        made_from: EventNumber,
        /// The last event.
        latest: EventNumber,
    },
    /// The judge has not accepted the plan.
    #[error("a plan is stored only when the audit has accepted it")]
    NotVerified,
    /// A text holds the character 0, which a PostgreSQL server cannot keep.
    #[error("a text holds the character 0")]
    Nul,
    /// There is no account of that name.
    #[error("there is no account {0:?}")]
    NoSuchAccount(String),
    /// There is no token of that number in force.
    #[error("there is no token {0} in force")]
    NoSuchToken(i64),
    /// A backup is never written over something.
    #[error("{} exists already; a backup is never written over it", .0.display())]
    Exists(PathBuf),
    /// A database that holds a site is never restored into.
    #[error("the database to restore into holds a shop already")]
    NotEmpty,
    /// The file to restore from is not of this program's schema.
    #[error("the backup's tables are of version {found}, this program reads {known}")]
    Schema {
        /// The file's; 0 when it holds none of this program's tables.
        found: i64,
        /// This program's.
        known: i64,
    },
    /// A file could not be written or read.
    #[error("cannot {doing} {}: {cause}", .path.display())]
    File {
        /// What was being done.
        doing: &'static str,
        /// With which file.
        path: PathBuf,
        /// What the system said.
        cause: std::io::Error,
    },
    /// The database holds something this program never writes.
    #[error("the database holds {0}; another program must have written it")]
    Damaged(&'static str),
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

/// Turns the system's error into ours, with what was being done.
pub(crate) fn file_failed(
    doing: &'static str,
    path: &std::path::Path,
) -> impl Fn(std::io::Error) -> StoreError {
    move |cause| StoreError::File {
        doing,
        path: path.to_owned(),
        cause,
    }
}

/// A hash of 32 bytes out of the database.
pub(crate) fn hash(bytes: Vec<u8>) -> Result<[u8; 32], StoreError> {
    bytes
        .try_into()
        .map_err(|_| StoreError::Damaged("a hash that is not 32 bytes long"))
}

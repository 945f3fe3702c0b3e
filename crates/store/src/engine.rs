//! One way to speak to both engines.
//!
//! A query is written once, with `$1`, `$2`... for its values, and runs on either engine. Where the
//! engines differ the caller asks for the [`Engine`] and chooses the words.

use crate::StoreError;
use crate::error::failed;
use sqlx::postgres::{PgArguments, PgPool, PgRow};
use sqlx::query::Query;
use sqlx::sqlite::{SqliteArguments, SqlitePool, SqliteRow};
use sqlx::{FromRow, Postgres, Sqlite, Transaction};
use std::fmt;

/// A program that keeps databases.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Engine {
    /// SQLite, built into this program: one file.
    Sqlite,
    /// A PostgreSQL server.
    Postgres,
}

impl fmt::Display for Engine {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Engine::Sqlite => "SQLite",
            Engine::Postgres => "PostgreSQL",
        })
    }
}

/// A value handed to a query.
#[derive(Clone, Copy, Debug)]
pub(crate) enum Value<'v> {
    Int(Option<i64>),
    Text(Option<&'v str>),
    Bytes(Option<&'v [u8]>),
    Flag(bool),
}

impl From<i64> for Value<'_> {
    fn from(value: i64) -> Self {
        Value::Int(Some(value))
    }
}

impl From<Option<i64>> for Value<'_> {
    fn from(value: Option<i64>) -> Self {
        Value::Int(value)
    }
}

impl<'v> From<&'v str> for Value<'v> {
    fn from(value: &'v str) -> Self {
        Value::Text(Some(value))
    }
}

impl<'v> From<&'v String> for Value<'v> {
    fn from(value: &'v String) -> Self {
        Value::Text(Some(value))
    }
}

impl<'v> From<Option<&'v str>> for Value<'v> {
    fn from(value: Option<&'v str>) -> Self {
        Value::Text(value)
    }
}

impl<'v> From<&'v [u8]> for Value<'v> {
    fn from(value: &'v [u8]) -> Self {
        Value::Bytes(Some(value))
    }
}

impl<'v> From<&'v [u8; 32]> for Value<'v> {
    fn from(value: &'v [u8; 32]) -> Self {
        Value::Bytes(Some(value))
    }
}

impl From<bool> for Value<'_> {
    fn from(value: bool) -> Self {
        Value::Flag(value)
    }
}

/// The values of a query, in the order of their numbers.
macro_rules! values {
    ($($value:expr),* $(,)?) => { &[$($crate::engine::Value::from($value)),*] };
}
pub(crate) use values;

/// Refuses text with the character 0, which only one of the engines can hold. Read or written, both
/// must say the same to it.
pub(crate) fn no_nul(values: &[Value<'_>]) -> Result<(), StoreError> {
    let has_nul =
        |value: &Value<'_>| matches!(value, Value::Text(Some(text)) if text.contains('\0'));
    if values.iter().any(has_nul) {
        return Err(StoreError::Nul);
    }
    Ok(())
}

/// A row both engines can give.
pub(crate) trait Row:
    for<'r> FromRow<'r, SqliteRow> + for<'r> FromRow<'r, PgRow> + Send + Unpin
{
}

impl<T> Row for T where T: for<'r> FromRow<'r, SqliteRow> + for<'r> FromRow<'r, PgRow> + Send + Unpin
{}

/// A query with its values, for one engine. The two functions differ in nothing but the engine.
pub(crate) fn for_sqlite(
    sql: &'static str,
    values: &[Value<'_>],
) -> Query<'static, Sqlite, SqliteArguments> {
    let mut query = sqlx::query(sql);
    for value in values {
        query = match *value {
            Value::Int(value) => query.bind(value),
            Value::Text(value) => query.bind(value),
            Value::Bytes(value) => query.bind(value),
            Value::Flag(value) => query.bind(value),
        };
    }
    query
}

pub(crate) fn for_postgres(
    sql: &'static str,
    values: &[Value<'_>],
) -> Query<'static, Postgres, PgArguments> {
    let mut query = sqlx::query(sql);
    for value in values {
        query = match *value {
            Value::Int(value) => query.bind(value),
            Value::Text(value) => query.bind(value),
            Value::Bytes(value) => query.bind(value),
            Value::Flag(value) => query.bind(value),
        };
    }
    query
}

fn read<'r, R: sqlx::Row, T: FromRow<'r, R>>(rows: &'r [R]) -> Result<Vec<T>, sqlx::Error> {
    rows.iter().map(T::from_row).collect()
}

/// The connections of a store.
#[derive(Clone, Debug)]
pub(crate) enum Pools {
    /// SQLite has one writer at a time; in WAL mode readers neither wait for it nor hold it up.
    Sqlite {
        writer: SqlitePool,
        readers: SqlitePool,
    },
    Postgres(PgPool),
}

impl Pools {
    pub(crate) fn engine(&self) -> Engine {
        match self {
            Pools::Sqlite { .. } => Engine::Sqlite,
            Pools::Postgres(_) => Engine::Postgres,
        }
    }

    /// Reads rows. `doing` goes into the error.
    pub(crate) async fn rows<T: Row>(
        &self,
        doing: &'static str,
        sql: &'static str,
        values: &[Value<'_>],
    ) -> Result<Vec<T>, StoreError> {
        no_nul(values)?;
        let rows = match self {
            Pools::Sqlite { readers, .. } => for_sqlite(sql, values)
                .fetch_all(readers)
                .await
                .and_then(|rows| read(&rows)),
            Pools::Postgres(pool) => for_postgres(sql, values)
                .fetch_all(pool)
                .await
                .and_then(|rows| read(&rows)),
        };
        rows.map_err(failed(doing))
    }

    /// Reads the first row, if there is one.
    pub(crate) async fn row<T: Row>(
        &self,
        doing: &'static str,
        sql: &'static str,
        values: &[Value<'_>],
    ) -> Result<Option<T>, StoreError> {
        let rows = self.rows(doing, sql, values).await?;
        Ok(rows.into_iter().next())
    }

    /// A transaction that may write.
    pub(crate) async fn change(&self) -> Result<Change, StoreError> {
        let begun = match self {
            // It takes the file's write lock at once: one that reads first and asks for the lock
            // later is refused when another program has written in between.
            Pools::Sqlite { writer, .. } => writer
                .begin_with("BEGIN IMMEDIATE")
                .await
                .map(Change::Sqlite),
            Pools::Postgres(pool) => pool.begin().await.map(Change::Postgres),
        };
        begun.map_err(failed("begin a change"))
    }
}

/// A transaction. Dropped before it is committed, it has changed nothing.
pub(crate) enum Change {
    Sqlite(Transaction<'static, Sqlite>),
    Postgres(Transaction<'static, Postgres>),
}

impl Change {
    pub(crate) fn engine(&self) -> Engine {
        match self {
            Change::Sqlite(_) => Engine::Sqlite,
            Change::Postgres(_) => Engine::Postgres,
        }
    }

    /// Reads rows. `doing` goes into the error.
    pub(crate) async fn rows<T: Row>(
        &mut self,
        doing: &'static str,
        sql: &'static str,
        values: &[Value<'_>],
    ) -> Result<Vec<T>, StoreError> {
        no_nul(values)?;
        let rows = match self {
            Change::Sqlite(change) => for_sqlite(sql, values)
                .fetch_all(&mut **change)
                .await
                .and_then(|rows| read(&rows)),
            Change::Postgres(change) => for_postgres(sql, values)
                .fetch_all(&mut **change)
                .await
                .and_then(|rows| read(&rows)),
        };
        rows.map_err(failed(doing))
    }

    /// Reads the first row, if there is one.
    pub(crate) async fn row<T: Row>(
        &mut self,
        doing: &'static str,
        sql: &'static str,
        values: &[Value<'_>],
    ) -> Result<Option<T>, StoreError> {
        let rows = self.rows(doing, sql, values).await?;
        Ok(rows.into_iter().next())
    }

    /// Writes, and tells how many rows it touched.
    pub(crate) async fn run(
        &mut self,
        doing: &'static str,
        sql: &'static str,
        values: &[Value<'_>],
    ) -> Result<u64, StoreError> {
        no_nul(values)?;
        let touched = match self {
            Change::Sqlite(change) => for_sqlite(sql, values)
                .execute(&mut **change)
                .await
                .map(|done| done.rows_affected()),
            Change::Postgres(change) => for_postgres(sql, values)
                .execute(&mut **change)
                .await
                .map(|done| done.rows_affected()),
        };
        touched.map_err(failed(doing))
    }

    /// Makes the change last.
    pub(crate) async fn commit(self) -> Result<(), StoreError> {
        let done = match self {
            Change::Sqlite(change) => change.commit().await,
            Change::Postgres(change) => change.commit().await,
        };
        done.map_err(failed("keep the change"))
    }

    /// Takes the change back. Dropping it does so too, but only when the connection is next used.
    pub(crate) async fn undo(self) -> Result<(), StoreError> {
        let done = match self {
            Change::Sqlite(change) => change.rollback().await,
            Change::Postgres(change) => change.rollback().await,
        };
        done.map_err(failed("take a change back"))
    }
}

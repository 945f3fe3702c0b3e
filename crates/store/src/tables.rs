//! Every table, and how its rows are carried from one database to another.

use crate::StoreError;
use crate::engine::{Change, Value, for_postgres, for_sqlite};
use crate::error::failed;
use futures_util::TryStreamExt;
use sqlx::{ColumnIndex, Decode, Row, Type};
use std::collections::BTreeMap;

/// What a column holds.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Holds {
    Int,
    Text,
    Bytes,
    Flag,
}

/// A table, with the words that read and write all of its columns.
pub(crate) struct Table {
    pub(crate) name: &'static str,
    columns: &'static [Holds],
    read: &'static str,
    write: &'static str,
    pub(crate) count: &'static str,
}

macro_rules! table {
    ($name:literal, $keys:literal, $places:literal, [$(($column:literal, $holds:ident)),+ $(,)?]) => {
        Table {
            name: $name,
            columns: &[$(Holds::$holds),+],
            read: concat!("SELECT ", table!(@names $($column),+), " FROM ", $name, " ORDER BY ", $keys),
            write: concat!("INSERT INTO ", $name, " (", table!(@names $($column),+), ") VALUES (", $places, ")"),
            count: concat!("SELECT count(*) FROM ", $name),
        }
    };
    (@names $first:literal $(, $rest:literal)*) => { concat!($first $(, ", ", $rest)*) };
}

/// In an order in which each table refers to earlier ones only.
pub(crate) const TABLES: [Table; 12] = [
    table!(
        "site",
        "site",
        "$1, $2, $3, $4, $5, $6, $7, $8, $9, $10",
        [
            ("site", Int),
            ("name", Text),
            ("created_at", Int),
            ("last_content", Int),
            ("last_revision", Int),
            ("last_event", Int),
            ("last_plan", Int),
            ("last_job", Int),
            ("last_token", Int),
            ("changes", Int),
        ]
    ),
    table!(
        "file_content",
        "site, content",
        "$1, $2, $3",
        [("site", Int), ("content", Int), ("bytes", Bytes)]
    ),
    table!(
        "shop_revision",
        "site, revision",
        "$1, $2, $3",
        [("site", Int), ("revision", Int), ("imported_at", Int)]
    ),
    table!(
        "shop_file",
        "site, revision, name",
        "$1, $2, $3, $4",
        [
            ("site", Int),
            ("revision", Int),
            ("name", Text),
            ("content", Int)
        ]
    ),
    table!(
        "event",
        "site, event",
        "$1, $2, $3, $4, $5, $6",
        [
            ("site", Int),
            ("event", Int),
            ("at", Int),
            ("who", Text),
            ("kind", Text),
            ("json", Text),
        ]
    ),
    table!(
        "checkpoint",
        "site",
        "$1, $2, $3, $4, $5",
        [
            ("site", Int),
            ("event", Int),
            ("format", Text),
            ("json", Text),
            ("at", Int),
        ]
    ),
    table!(
        "plan",
        "site, plan",
        "$1, $2, $3, $4, $5, $6, $7, $8",
        [
            ("site", Int),
            ("plan", Int),
            ("made_from", Int),
            ("revision", Int),
            ("json", Text),
            ("objective", Int),
            ("verified", Flag),
            ("created_at", Int),
        ]
    ),
    table!(
        "answer",
        "site, key",
        "$1, $2, $3, $4, $5, $6",
        [
            ("site", Int),
            ("key", Text),
            ("request", Bytes),
            ("status", Int),
            ("body", Text),
            ("at", Int),
        ]
    ),
    table!(
        "job",
        "site, job",
        "$1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12",
        [
            ("site", Int),
            ("job", Int),
            ("wanted", Int),
            ("why", Text),
            ("asked_at", Int),
            ("state", Text),
            ("attempt", Int),
            ("worker", Text),
            ("lease_until", Int),
            ("finished_at", Int),
            ("plan", Int),
            ("failure", Text),
        ]
    ),
    table!(
        "account",
        "site, name",
        "$1, $2, $3, $4, $5, $6, $7",
        [
            ("site", Int),
            ("name", Text),
            ("role", Text),
            ("password", Text),
            ("disabled", Flag),
            ("created_at", Int),
            ("changed_at", Int),
        ]
    ),
    table!(
        "token",
        "site, token",
        "$1, $2, $3, $4, $5, $6, $7, $8",
        [
            ("site", Int),
            ("token", Int),
            ("hash", Bytes),
            ("account", Text),
            ("label", Text),
            ("created_at", Int),
            ("expires", Int),
            ("revoked_at", Int),
        ]
    ),
    table!(
        "session",
        "site, hash",
        "$1, $2, $3, $4, $5, $6",
        [
            ("site", Int),
            ("hash", Bytes),
            ("account", Text),
            ("csrf", Bytes),
            ("created_at", Int),
            ("expires", Int),
        ]
    ),
];

/// A value out of a row.
enum Cell {
    Int(Option<i64>),
    Text(Option<String>),
    Bytes(Option<Vec<u8>>),
    Flag(bool),
}

impl Cell {
    fn value(&self) -> Value<'_> {
        match self {
            Cell::Int(value) => Value::Int(*value),
            Cell::Text(value) => Value::Text(value.as_deref()),
            Cell::Bytes(value) => Value::Bytes(value.as_deref()),
            Cell::Flag(value) => Value::Flag(*value),
        }
    }
}

fn cells<'r, R: Row>(row: &'r R, columns: &[Holds]) -> Result<Vec<Cell>, sqlx::Error>
where
    usize: ColumnIndex<R>,
    Option<i64>: Decode<'r, R::Database> + Type<R::Database>,
    Option<String>: Decode<'r, R::Database> + Type<R::Database>,
    Option<Vec<u8>>: Decode<'r, R::Database> + Type<R::Database>,
    bool: Decode<'r, R::Database> + Type<R::Database>,
{
    let cell = |(at, holds): (usize, &Holds)| {
        Ok(match holds {
            Holds::Int => Cell::Int(row.try_get(at)?),
            Holds::Text => Cell::Text(row.try_get(at)?),
            Holds::Bytes => Cell::Bytes(row.try_get(at)?),
            Holds::Flag => Cell::Flag(row.try_get(at)?),
        })
    };
    columns.iter().enumerate().map(cell).collect()
}

/// The rows of each table.
pub(crate) async fn counts(at: &mut Change) -> Result<BTreeMap<&'static str, u64>, StoreError> {
    let mut counts = BTreeMap::new();
    for table in &TABLES {
        let row: Option<(i64,)> = at.row("count rows", table.count, &[]).await?;
        let count = row.map_or(0, |(count,)| count);
        counts.insert(table.name, u64::try_from(count).unwrap_or(0));
    }
    Ok(counts)
}

/// Carries every row of every table over, and tells how many of each. Rows go one by one: a
/// database may be larger than the memory.
pub(crate) async fn copy(
    from: &mut Change,
    to: &mut Change,
) -> Result<BTreeMap<&'static str, u64>, StoreError> {
    let mut copied = BTreeMap::new();
    for table in &TABLES {
        copied.insert(table.name, copy_table(table, from, to).await?);
    }
    Ok(copied)
}

async fn copy_table(table: &Table, from: &mut Change, to: &mut Change) -> Result<u64, StoreError> {
    let mut count = 0;
    match from {
        Change::Sqlite(from) => {
            let mut rows = for_sqlite(table.read, &[]).fetch(&mut **from);
            while let Some(row) = rows.try_next().await.map_err(failed("read a table"))? {
                let row = cells(&row, table.columns).map_err(failed("read a row"))?;
                write_row(table, &row, to).await?;
                count += 1;
            }
        }
        Change::Postgres(from) => {
            let mut rows = for_postgres(table.read, &[]).fetch(&mut **from);
            while let Some(row) = rows.try_next().await.map_err(failed("read a table"))? {
                let row = cells(&row, table.columns).map_err(failed("read a row"))?;
                write_row(table, &row, to).await?;
                count += 1;
            }
        }
    }
    Ok(count)
}

async fn write_row(table: &Table, row: &[Cell], to: &mut Change) -> Result<(), StoreError> {
    let values: Vec<Value<'_>> = row.iter().map(Cell::value).collect();
    to.run("write a row", table.write, &values).await?;
    Ok(())
}

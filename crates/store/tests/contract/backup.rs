//! Copies of a whole database, and what is made from them.

use crate::{add_token, files, fresh, happened, on_both, plan, put_account, revoke_token};
use scratch::Database;
use sqlx::Connection;
use std::path::Path;
use store::{Account, Answer, EventNumber, Outcome, Site, Store, StoreError};
use units::{Moment, Seconds};

on_both!(
    a_backup_is_restored_into_either_engine,
    nothing_is_overwritten,
    a_database_that_holds_a_shop_is_not_restored_into,
    what_is_no_backup_is_refused,
);

/// Puts something into every table, every column that may be empty both ways.
async fn fill(site: &Site) {
    let store = site.store();
    site.import(&files("a"), Moment(1)).await.unwrap();
    let revision = site.import(&files("b"), Moment(2)).await.unwrap();
    let answer = Answer {
        key: "ä key".to_owned(),
        request: [255; 32],
        status: 409,
        body: "a 'body' \"with\" quotes\n".to_owned(),
        at: Moment(-3),
    };
    let events = [
        happened("a", "{ \"n\" : 1.50 }"),
        happened("b", "\"\\u0000\""),
    ];
    let last = site
        .append(EventNumber(0), &events, &[answer])
        .await
        .unwrap();
    let made = site
        .save_plan(plan(last, revision, "[ ]"), Moment(4))
        .await
        .unwrap();
    for (number, outcome) in [
        Some(Outcome::Planned(made)),
        Some(Outcome::Failed("no time".to_owned())),
        Some(Outcome::Dropped),
        None,
    ]
    .into_iter()
    .enumerate()
    {
        let now = Moment(i64::try_from(number).unwrap());
        site.want_plan(last, "a wish", now, None).await.unwrap();
        let job = store.take_job("w", now, Seconds(5)).await.unwrap().unwrap();
        if let Some(outcome) = outcome {
            assert!(store.finish_job(&job, outcome, now).await.unwrap());
        }
    }
    site.want_plan(last, "another", Moment(9), None)
        .await
        .unwrap();
    for (name, password, disabled) in [("ida", Some("$argon2id$x"), false), ("zoe", None, true)] {
        let account = Account {
            name: name.to_owned(),
            role: "lead".to_owned(),
            password: password.map(str::to_owned),
            disabled,
        };
        put_account(site, &account, Moment(5)).await.unwrap();
    }
    add_token(site, &[1; 32], "ida", "scanner", Moment(6), None)
        .await
        .unwrap();
    let short = add_token(site, &[2; 32], "zoe", "visit", Moment(7), Some(Moment(8)))
        .await
        .unwrap();
    revoke_token(site, short, Moment(9)).await.unwrap();
    site.add_session(&[3; 32], "ida", &[4; 32], Moment(10), Moment(11))
        .await
        .unwrap();
}

/// Every row of every table of this program's, as the command-line tool of SQLite would write it.
async fn content(file: &Path) -> Vec<(String, Vec<String>)> {
    let options = sqlx::sqlite::SqliteConnectOptions::new()
        .filename(file)
        .read_only(true);
    let mut connection = sqlx::SqliteConnection::connect_with(&options)
        .await
        .unwrap();
    let tables: Vec<(String,)> = sqlx::query_as(
        "SELECT name FROM sqlite_schema
         WHERE type = 'table' AND name NOT LIKE 'sqlite_%' AND name NOT LIKE '_sqlx%'
         ORDER BY name",
    )
    .fetch_all(&mut connection)
    .await
    .unwrap();
    let mut content = Vec::new();
    for (table,) in tables {
        let columns: Vec<(String,)> =
            sqlx::query_as("SELECT 'quote(\"' || name || '\")' FROM pragma_table_info($1)")
                .bind(&table)
                .fetch_all(&mut connection)
                .await
                .unwrap();
        let columns: Vec<String> = columns.into_iter().map(|(column,)| column).collect();
        let row = columns.join(" || ', ' || ");
        let sql = format!("SELECT {row} FROM \"{table}\" ORDER BY 1");
        let rows: Vec<(String,)> = sqlx::query_as(sqlx::AssertSqlSafe(sql))
            .fetch_all(&mut connection)
            .await
            .unwrap();
        let rows: Vec<String> = rows.into_iter().map(|(row,)| row).collect();
        content.push((table, rows));
    }
    connection.close().await.unwrap();
    content
}

async fn a_backup_is_restored_into_either_engine(database: &Database) {
    let site = fresh(database).await;
    fill(&site).await;
    let second = site.store().site("second", Moment(1)).await.unwrap();
    // Its waiting job is the only one that may be taken: the first site's is held.
    fill(&second).await;
    let file = database.folder().join("backup.db");
    let report = site.store().backup(&file).await.unwrap();
    let wanted = content(&file).await;
    assert_eq!(wanted.len(), 11);
    for (table, rows) in &wanted {
        assert!(!rows.is_empty(), "{table} is not tried");
        assert_eq!(report.rows[table.as_str()], rows.len() as u64, "{table}");
    }
    assert_eq!(report.bytes, std::fs::metadata(&file).unwrap().len());
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt;
        let mode = std::fs::metadata(&file).unwrap().permissions().mode();
        assert_eq!(mode & 0o777, 0o600, "it holds hashes of passwords");
    }

    for into in [Database::sqlite().unwrap(), Database::postgres().unwrap()] {
        let restored = Store::restore(&file, into.url()).await.unwrap();
        assert_eq!(restored.rows, report.rows);
        let store = Store::open(into.url()).await.unwrap();
        assert_eq!(store.sites().await.unwrap(), ["first", "second"]);
        let again = into.folder().join("again.db");
        store.backup(&again).await.unwrap();
        assert_eq!(content(&again).await, wanted, "{}", into.url());
        // Work goes on where it was: numbers, keys and all.
        let site = store.site("first", Moment(20)).await.unwrap();
        let last = site
            .append(EventNumber(2), &[happened("c", "3")], &[])
            .await;
        assert_eq!(last.unwrap(), EventNumber(3));
        site.import(&files("c"), Moment(21)).await.unwrap();
        let token = add_token(&site, &[9; 32], "ida", "new", Moment(22), None).await;
        token.unwrap();
        store.site("third", Moment(23)).await.unwrap();
        let wrong = store.examine(Moment(0)).await.unwrap();
        assert_eq!(wrong, [""; 0]);
    }
    let left: Vec<_> = std::fs::read_dir(database.folder())
        .unwrap()
        .map(|entry| entry.unwrap().file_name().into_string().unwrap())
        .filter(|name| name.starts_with('.'))
        .collect();
    assert_eq!(left, [""; 0], "nothing is left beside it");
}

async fn nothing_is_overwritten(database: &Database) {
    let site = fresh(database).await;
    let file = database.folder().join("letter");
    std::fs::write(&file, "a letter").unwrap();
    let refused = site.store().backup(&file).await;
    assert!(matches!(refused, Err(StoreError::Exists(_))), "{refused:?}");
    assert_eq!(std::fs::read(&file).unwrap(), b"a letter");
    let nowhere = database.folder().join("no folder").join("backup.db");
    let refused = site.store().backup(&nowhere).await;
    assert!(
        matches!(refused, Err(StoreError::File { .. })),
        "{refused:?}"
    );

    // Of many at once to the same place, one gets it.
    let place = database.folder().join("backup.db");
    let first = site.store().backup(&place).await;
    let second = site.store().backup(&place).await;
    assert!(first.is_ok());
    assert!(matches!(second, Err(StoreError::Exists(_))), "{second:?}");
}

async fn a_database_that_holds_a_shop_is_not_restored_into(database: &Database) {
    let site = fresh(database).await;
    let file = database.folder().join("backup.db");
    site.store().backup(&file).await.unwrap();
    let refused = Store::restore(&file, database.url()).await;
    assert!(matches!(refused, Err(StoreError::NotEmpty)), "{refused:?}");
    assert_eq!(site.store().sites().await.unwrap(), ["first"]);
}

async fn what_is_no_backup_is_refused(database: &Database) {
    let missing = database.folder().join("missing.db");
    let refused = Store::restore(&missing, database.url()).await;
    assert!(
        matches!(refused, Err(StoreError::File { .. })),
        "{refused:?}"
    );
    let letter = database.folder().join("letter");
    std::fs::write(&letter, "a letter, not a database").unwrap();
    assert!(Store::restore(&letter, database.url()).await.is_err());
    let empty = database.folder().join("empty.db");
    std::fs::write(&empty, "").unwrap();
    let refused = Store::restore(&empty, database.url()).await;
    assert!(
        matches!(refused, Err(StoreError::Schema { found: 0, known: 2 })),
        "{refused:?}"
    );
    // Nothing has been begun.
    let store = Store::open(database.url()).await.unwrap();
    assert_eq!(store.sites().await.unwrap(), [""; 0]);
}

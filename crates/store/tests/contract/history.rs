//! Nobody rewrites history, not even with the database opened by other means.

use crate::{files, fresh, happened, on_both, plan};
use scratch::Database;
use sqlx::Connection;
use store::EventNumber;
use units::Moment;

on_both!(history_cannot_be_rewritten);

/// Runs a statement as another program would, and tells what the engine said to it.
async fn run(database: &Database, sql: &'static str) -> Result<(), String> {
    if database.url().starts_with("sqlite:") {
        let mut connection = sqlx::SqliteConnection::connect(database.url())
            .await
            .unwrap();
        let done = sqlx::query(sql).execute(&mut connection).await;
        connection.close().await.unwrap();
        done.map(drop).map_err(|error| error.to_string())
    } else {
        let mut connection = sqlx::PgConnection::connect(database.url()).await.unwrap();
        let done = sqlx::query(sql).execute(&mut connection).await;
        connection.close().await.unwrap();
        done.map(drop).map_err(|error| error.to_string())
    }
}

async fn history_cannot_be_rewritten(database: &Database) {
    let site = fresh(database).await;
    let revision = site.import(&files("a"), Moment(1)).await.unwrap();
    let last = site
        .append(EventNumber(0), &[happened("a", "1")], &[])
        .await
        .unwrap();
    site.save_plan(plan(last, revision, "{}"), Moment(2))
        .await
        .unwrap();
    for change in [
        "UPDATE plan SET objective = 1",
        "DELETE FROM plan",
        "UPDATE event SET at = 0",
        "DELETE FROM event",
        "UPDATE file_content SET bytes = bytes",
        "DELETE FROM file_content",
        "UPDATE shop_file SET name = 'other'",
        "DELETE FROM shop_file",
        "UPDATE shop_revision SET imported_at = 0",
        "DELETE FROM shop_revision",
    ] {
        let said = run(database, change).await.unwrap_err();
        assert!(said.contains("never"), "{change}: {said}");
    }
    let unverified = if database.url().starts_with("sqlite:") {
        "INSERT INTO plan (site, plan, made_from, revision, json, objective, verified, created_at)
         VALUES (1, 2, 0, 1, '{}', 0, 0, 0)"
    } else {
        "INSERT INTO plan (site, plan, made_from, revision, json, objective, verified, created_at)
         VALUES (1, 2, 0, 1, '{}', 0, false, 0)"
    };
    let said = run(database, unverified).await.unwrap_err();
    assert!(said.to_lowercase().contains("check"), "{said}");
    // The statement is refused for that alone.
    let verified = if database.url().starts_with("sqlite:") {
        "INSERT INTO plan (site, plan, made_from, revision, json, objective, verified, created_at)
         VALUES (1, 2, 0, 1, '{}', 0, 1, 0)"
    } else {
        "INSERT INTO plan (site, plan, made_from, revision, json, objective, verified, created_at)
         VALUES (1, 2, 0, 1, '{}', 0, true, 0)"
    };
    assert_eq!(run(database, verified).await, Ok(()));
}

//! Nobody rewrites history, not even with the file opened by other means.

use sqlx::sqlite::SqlitePoolOptions;
use std::path::PathBuf;
use store::{Files, NewPlan, Store};
use units::Moment;

#[tokio::test]
async fn history_cannot_be_rewritten() {
    let name = format!("append-only-{}", std::process::id());
    let folder = PathBuf::from(env!("CARGO_TARGET_TMPDIR")).join(name);
    std::fs::create_dir_all(&folder).unwrap();
    let url = format!("sqlite:{}", folder.join("shop.db").display());
    let store = Store::open(&url).await.unwrap();
    let files = Files::from([("shop.toml".to_owned(), Vec::new())]);
    let revision = store.import(&files, Moment(1)).await.unwrap();
    let plan = NewPlan {
        json: "{}",
        objective: 0,
        verified: true,
    };
    store.save_plan(revision, plan, Moment(2)).await.unwrap();

    let other = SqlitePoolOptions::new().connect(&url).await.unwrap();
    for change in [
        "UPDATE plan SET objective = 1",
        "DELETE FROM plan",
        "UPDATE event SET at = 0",
        "DELETE FROM event",
        "UPDATE file_content SET bytes = x'00'",
        "DELETE FROM file_content",
        "UPDATE shop_file SET name = 'other'",
        "DELETE FROM shop_file",
        "UPDATE shop_revision SET imported_at = 0",
        "DELETE FROM shop_revision",
    ] {
        let error = sqlx::query(change).execute(&other).await.unwrap_err();
        assert!(error.to_string().contains("never"), "{change}: {error}");
    }
    let unverified = "INSERT INTO plan (revision, json, objective, verified, created_at)
                      VALUES (1, '{}', 0, 0, 0)";
    assert!(sqlx::query(unverified).execute(&other).await.is_err());
    other.close().await;
    std::fs::remove_dir_all(&folder).unwrap();
}

//! Who waits for changes hears of them.

use crate::{files, fresh, happened, on_both};
use scratch::Database;
use sqlx::Connection;
use std::time::Duration;
use store::{EventNumber, News, Store};
use units::Moment;

on_both!(
    news_within_one_program,
    news_from_another_program,
    nothing_new_is_no_news,
);

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn news_go_on_after_a_lost_connection() {
    let database = Database::postgres().unwrap();
    let site = fresh(&database).await;
    let mut news = site.store().news().await.unwrap();
    let waiting = tokio::spawn(async move { heard(&mut news).await });
    tokio::time::sleep(Duration::from_millis(100)).await;
    let mut other = sqlx::PgConnection::connect(database.url()).await.unwrap();
    let ended: i64 = sqlx::query_scalar(
        "SELECT count(pg_terminate_backend(pid)) FROM pg_stat_activity
         WHERE datname = current_database() AND pid <> pg_backend_pid()",
    )
    .fetch_one(&mut other)
    .await
    .unwrap();
    assert!(ended >= 2, "the listener's and one that works");
    tokio::time::sleep(Duration::from_millis(100)).await;
    let elsewhere = Store::open(database.url()).await.unwrap();
    let theirs = elsewhere.site("first", Moment(1)).await.unwrap();
    theirs
        .append(EventNumber(0), &[happened("a", "1")], &[])
        .await
        .unwrap();
    let begun = std::time::Instant::now();
    assert_eq!(waiting.await.unwrap(), "first");
    assert!(
        begun.elapsed() < Duration::from_secs(5),
        "was not listening again"
    );
    // Those who work go on too.
    assert_eq!(site.last_event().await.unwrap(), EventNumber(1));
}

/// Who waits does not keep connections from who works.
#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn many_may_wait() {
    let database = Database::postgres().unwrap();
    let site = fresh(&database).await;
    let mut waiting = Vec::new();
    for _ in 0..12 {
        waiting.push(site.store().news().await.unwrap());
    }
    site.append(EventNumber(0), &[happened("a", "1")], &[])
        .await
        .unwrap();
    for news in &mut waiting {
        assert_eq!(heard(news).await, "first");
    }
}

/// More than the longest time between two looks, less than a test may take.
const LONG: Duration = Duration::from_secs(20);

async fn heard(news: &mut News) -> String {
    tokio::time::timeout(LONG, news.next())
        .await
        .expect("nothing was heard")
        .unwrap()
}

async fn news_within_one_program(database: &Database) {
    let site = fresh(database).await;
    let mut news = site.store().news().await.unwrap();
    // What has been written before is heard although nobody was waiting just then.
    site.append(EventNumber(0), &[happened("a", "1")], &[])
        .await
        .unwrap();
    let at_once = tokio::time::timeout(Duration::from_millis(500), news.next()).await;
    assert_eq!(at_once.expect("not at once").unwrap(), "first");
    site.want_plan(EventNumber(1), "a", Moment(1), None)
        .await
        .unwrap();
    assert_eq!(heard(&mut news).await, "first");
    site.import(&files("a"), Moment(2)).await.unwrap();
    assert_eq!(heard(&mut news).await, "first");
}

async fn news_from_another_program(database: &Database) {
    let site = fresh(database).await;
    let mut news = site.store().news().await.unwrap();
    // Another store shares nothing with the first but the database.
    let other = Store::open(database.url()).await.unwrap();
    let waiting = tokio::spawn(async move {
        let name = heard(&mut news).await;
        (name, news)
    });
    tokio::time::sleep(Duration::from_millis(100)).await;
    let theirs = other.site("first", Moment(1)).await.unwrap();
    theirs
        .append(EventNumber(0), &[happened("a", "1")], &[])
        .await
        .unwrap();
    let written = std::time::Instant::now();
    let (name, mut news) = waiting.await.unwrap();
    assert_eq!(name, "first");
    assert!(
        written.elapsed() < Duration::from_secs(5),
        "took {:?}",
        written.elapsed()
    );
    // A site made elsewhere is news too.
    other.site("second", Moment(2)).await.unwrap();
    assert_eq!(heard(&mut news).await, "second");
}

async fn nothing_new_is_no_news(database: &Database) {
    let site = fresh(database).await;
    let mut news = site.store().news().await.unwrap();
    site.append(EventNumber(0), &[happened("a", "1")], &[])
        .await
        .unwrap();
    assert_eq!(heard(&mut news).await, "first");
    site.last_event().await.unwrap();
    // A refused change changes nothing.
    let refused = site
        .append(EventNumber(0), &[happened("b", "2")], &[])
        .await;
    assert!(refused.is_err());
    let silence = tokio::time::timeout(Duration::from_millis(2500), news.next()).await;
    assert!(silence.is_err(), "{silence:?}");
}

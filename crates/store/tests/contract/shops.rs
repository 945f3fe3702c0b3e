//! Revisions of the shop folder.

use crate::{files, fresh, on_both};
use scratch::Database;
use store::{Files, Revision, Store};
use units::Moment;

on_both!(
    the_same_content_is_the_same_revision,
    reopening_keeps_everything,
    many_imports_at_once_are_numbered_without_gaps,
    content_is_kept_once,
);

async fn the_same_content_is_the_same_revision(database: &Database) {
    let site = fresh(database).await;
    assert_eq!(site.latest_revision().await.unwrap(), None);
    let first = site.import(&files("a"), Moment(1)).await.unwrap();
    assert_eq!(first, Revision(1));
    assert_eq!(site.import(&files("a"), Moment(2)).await.unwrap(), first);

    let second = site.import(&files("b"), Moment(3)).await.unwrap();
    let mut fewer = files("b");
    fewer.remove("floor.csv");
    let third = site.import(&fewer, Moment(4)).await.unwrap();
    let back = site.import(&files("a"), Moment(5)).await.unwrap();
    let numbers = [second, third, back].map(Revision::number);
    assert_eq!(numbers, [2, 3, 4], "going back is a change too");

    assert_eq!(site.latest_revision().await.unwrap(), Some(back));
    assert_eq!(site.files(first).await.unwrap(), files("a"));
    assert_eq!(site.files(second).await.unwrap(), files("b"));
    assert_eq!(site.files(third).await.unwrap(), fewer);
    assert_eq!(site.files(back).await.unwrap(), files("a"));
    assert_eq!(site.files(Revision(9)).await.unwrap(), Files::new());
}

async fn reopening_keeps_everything(database: &Database) {
    let site = fresh(database).await;
    let first = site.import(&files("a"), Moment(1)).await.unwrap();
    site.store().clone().close().await;

    let store = Store::open(database.url()).await.unwrap();
    let site = store.site("first", Moment(9)).await.unwrap();
    assert_eq!(site.latest_revision().await.unwrap(), Some(first));
    assert_eq!(site.files(first).await.unwrap(), files("a"));
    assert_eq!(site.import(&files("a"), Moment(4)).await.unwrap(), first);
    // An empty folder is a state of it too.
    let empty = site.import(&Files::new(), Moment(5)).await.unwrap();
    assert!(empty > first);
    assert_eq!(site.import(&Files::new(), Moment(6)).await.unwrap(), empty);
}

async fn many_imports_at_once_are_numbered_without_gaps(database: &Database) {
    let first = fresh(database).await;
    let other = Store::open(database.url()).await.unwrap();
    let second = other.site("first", Moment(1)).await.unwrap();
    let tasks: Vec<_> = (0..20)
        .map(|task| {
            let site = if task % 2 == 0 { &first } else { &second }.clone();
            tokio::spawn(async move {
                let content = files(&task.to_string());
                let revision = site.import(&content, Moment(2)).await.unwrap();
                assert_eq!(site.files(revision).await.unwrap(), content);
                revision.number()
            })
        })
        .collect();
    let mut numbers = Vec::new();
    for task in tasks {
        numbers.push(task.await.unwrap());
    }
    numbers.sort_unstable();
    assert_eq!(numbers, (1..=20).collect::<Vec<_>>());
}

async fn content_is_kept_once(database: &Database) {
    let site = fresh(database).await;
    for orders in ["a", "b", "c"] {
        site.import(&files(orders), Moment(1)).await.unwrap();
    }
    let backup = database.folder().join("copy.db");
    let report = site.store().backup(&backup).await.unwrap();
    assert_eq!(report.rows["shop_file"], 9);
    assert_eq!(report.rows["file_content"], 3 + 2, "only the orders differ");
}

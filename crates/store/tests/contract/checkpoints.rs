//! Checkpoints of the log.

use crate::{fresh, happened, on_both};
use scratch::Database;
use store::{Checkpoint, EventNumber, StoreError};
use units::Moment;

on_both!(the_latest_checkpoint_is_kept);

async fn the_latest_checkpoint_is_kept(database: &Database) {
    let site = fresh(database).await;
    assert_eq!(site.checkpoint().await.unwrap(), None);
    let events = [happened("a", "{}"), happened("b", "{}")];
    site.append(EventNumber(0), &events, &[]).await.unwrap();
    let checkpoint = |event: i64, format: &str, json: &str| Checkpoint {
        event: EventNumber(event),
        format: format.to_owned(),
        json: json.to_owned(),
    };
    for (one, kept) in [
        (checkpoint(1, "f", "{\"n\":1}"), true),
        (checkpoint(2, "f", "{\"n\":2}"), true),
        (checkpoint(1, "f", "{\"n\":1}"), false),
        (checkpoint(2, "f", "{\"n\":2}"), false),
        // Another program's: an older one may be the only one that can be read.
        (checkpoint(1, "g", "{}"), true),
        (checkpoint(2, "g", "{\"n\":3}"), true),
    ] {
        let done = site.keep_checkpoint(&one, Moment(5)).await.unwrap();
        assert_eq!(done, kept, "{one:?}");
        if kept {
            assert_eq!(site.checkpoint().await.unwrap(), Some(one));
        }
    }
    for wrong in [
        checkpoint(3, "f", "{}"),
        checkpoint(0, "f", "{}"),
        checkpoint(2, "f", "no JSON"),
        checkpoint(2, "", "{}"),
    ] {
        let refused = site.keep_checkpoint(&wrong, Moment(5)).await;
        assert!(
            matches!(refused, Err(StoreError::Database { .. })),
            "{wrong:?}: {refused:?}"
        );
    }
    assert_eq!(
        site.checkpoint().await.unwrap(),
        Some(checkpoint(2, "g", "{\"n\":3}"))
    );
    assert_eq!(site.last_event().await.unwrap(), EventNumber(2));
}

//! Plans.

use crate::{files, fresh, happened, on_both, plan};
use scratch::Database;
use store::{EventNumber, NewPlan, PlanNumber, PlanSummary, Revision, StoreError, StoredPlan};
use units::Moment;

on_both!(
    plans_are_kept_with_what_they_were_made_from,
    only_accepted_json_is_kept,
    many_plans_at_once_are_numbered_without_gaps,
);

async fn plans_are_kept_with_what_they_were_made_from(database: &Database) {
    let site = fresh(database).await;
    assert_eq!(site.latest_plan().await.unwrap(), None);
    assert_eq!(site.plan(PlanNumber(1)).await.unwrap(), None);
    assert_eq!(site.plans(9).await.unwrap(), []);

    let revision = site.import(&files("a"), Moment(2)).await.unwrap();
    let before = plan(EventNumber(0), revision, "{ \"n\": 1 }");
    let first = site.save_plan(before, Moment(3)).await.unwrap();
    let last = site
        .append(EventNumber(0), &[happened("a", "1")], &[])
        .await
        .unwrap();
    let second = site
        .save_plan(plan(last, revision, "[2]"), Moment(4))
        .await
        .unwrap();
    assert_eq!((first, second), (PlanNumber(1), PlanNumber(2)));

    let stored = |plan, made_from, json: &str, at| StoredPlan {
        plan,
        made_from,
        revision,
        json: json.to_owned(),
        objective: -7,
        created_at: Moment(at),
    };
    let wanted = stored(first, EventNumber(0), "{ \"n\": 1 }", 3);
    assert_eq!(site.plan(first).await.unwrap(), Some(wanted));
    let wanted = stored(second, EventNumber(1), "[2]", 4);
    assert_eq!(site.plan(second).await.unwrap(), Some(wanted.clone()));
    assert_eq!(site.latest_plan().await.unwrap(), Some(wanted));
    let summary = |plan, made_from, at| PlanSummary {
        plan,
        made_from,
        revision,
        objective: -7,
        created_at: Moment(at),
    };
    let wanted = [
        summary(second, EventNumber(1), 4),
        summary(first, EventNumber(0), 3),
    ];
    assert_eq!(site.plans(9).await.unwrap(), wanted);
    assert_eq!(site.plans(1).await.unwrap(), wanted[..1]);
}

async fn only_accepted_json_is_kept(database: &Database) {
    let site = fresh(database).await;
    let revision = site.import(&files("a"), Moment(1)).await.unwrap();
    let sound = plan(EventNumber(0), revision, "{}");

    let unverified = NewPlan {
        verified: false,
        ..sound
    };
    let refused = site.save_plan(unverified, Moment(2)).await.unwrap_err();
    assert!(matches!(refused, StoreError::NotVerified), "{refused}");
    let half = NewPlan {
        json: "{\"half",
        ..sound
    };
    let refused = site.save_plan(half, Moment(2)).await.unwrap_err();
    assert!(matches!(refused, StoreError::Database { .. }), "{refused}");
    let unknown = NewPlan {
        revision: Revision(9),
        ..sound
    };
    let refused = site.save_plan(unknown, Moment(2)).await.unwrap_err();
    assert!(matches!(refused, StoreError::Database { .. }), "{refused}");
    let early = NewPlan {
        made_from: EventNumber(1),
        ..sound
    };
    let refused = site.save_plan(early, Moment(2)).await.unwrap_err();
    assert!(
        matches!(refused, StoreError::FromTheFuture { made_from, latest }
            if made_from == EventNumber(1) && latest == EventNumber(0)),
        "{refused}"
    );
    assert_eq!(site.latest_plan().await.unwrap(), None);
    // A refused plan has used up no number.
    let first = site.save_plan(sound, Moment(3)).await.unwrap();
    assert_eq!(first, PlanNumber(1));
}

async fn many_plans_at_once_are_numbered_without_gaps(database: &Database) {
    let site = fresh(database).await;
    let revision = site.import(&files("a"), Moment(1)).await.unwrap();
    let tasks: Vec<_> = (0..20)
        .map(|_| {
            let site = site.clone();
            tokio::spawn(async move {
                site.save_plan(plan(EventNumber(0), revision, "{}"), Moment(2))
                    .await
            })
        })
        .collect();
    let mut numbers = Vec::new();
    for task in tasks {
        numbers.push(task.await.unwrap().unwrap().number());
    }
    numbers.sort_unstable();
    assert_eq!(numbers, (1..=20).collect::<Vec<_>>());
}

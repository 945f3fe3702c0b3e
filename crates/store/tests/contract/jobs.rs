//! Plans wanted, and who is making them.

use crate::{files, fresh, on_both, plan};
use scratch::Database;
use std::collections::BTreeMap;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, Mutex};
use std::time::Duration;
use store::{EventNumber, Outcome, PlanNumber, Store, StoreError};
use units::{Moment, Seconds};

on_both!(
    a_wish_is_taken_and_ended,
    a_second_wish_raises_the_first,
    a_wish_while_one_works_waits,
    a_lost_worker_is_replaced,
    a_lease_is_renewed,
    a_plan_of_the_job_must_be_there,
    no_two_workers_hold_a_site,
    jobs_that_have_ended_are_forgotten_in_time,
);

const LEASE: Seconds = Seconds(10);

async fn a_wish_is_taken_and_ended(database: &Database) {
    let site = fresh(database).await;
    let store = site.store();
    assert!(
        store
            .take_job("w", Moment(1), LEASE)
            .await
            .unwrap()
            .is_none()
    );
    site.want_plan(EventNumber(3), "an order", Moment(1), None)
        .await
        .unwrap();
    let job = store
        .take_job("w", Moment(2), LEASE)
        .await
        .unwrap()
        .unwrap();
    assert_eq!((job.job, job.attempt), (1, 1));
    assert_eq!((job.wanted, job.why.as_str()), (EventNumber(3), "an order"));
    assert_eq!((job.site.name(), job.site.id()), ("first", site.id()));
    assert!(
        store
            .take_job("v", Moment(2), LEASE)
            .await
            .unwrap()
            .is_none()
    );

    let revision = site.import(&files("a"), Moment(2)).await.unwrap();
    let made = site
        .save_plan(plan(EventNumber(0), revision, "{}"), Moment(3))
        .await
        .unwrap();
    assert!(
        store
            .finish_job(&job, Outcome::Planned(made), Moment(3))
            .await
            .unwrap()
    );
    let again = store.finish_job(&job, Outcome::Dropped, Moment(4)).await;
    assert!(!again.unwrap(), "it has ended");
    assert!(!store.renew_job(&job, Moment(4), LEASE).await.unwrap());
    assert!(
        store
            .take_job("w", Moment(99), LEASE)
            .await
            .unwrap()
            .is_none()
    );

    for (wanted, outcome) in [
        (4, Outcome::Failed("no time".to_owned())),
        (5, Outcome::Dropped),
    ] {
        site.want_plan(EventNumber(wanted), "again", Moment(5), None)
            .await
            .unwrap();
        let job = store
            .take_job("w", Moment(5), LEASE)
            .await
            .unwrap()
            .unwrap();
        assert_eq!(job.wanted, EventNumber(wanted));
        assert!(store.finish_job(&job, outcome, Moment(6)).await.unwrap());
    }
}

async fn a_second_wish_raises_the_first(database: &Database) {
    let site = fresh(database).await;
    for (wanted, why) in [(3, "three"), (5, "five"), (4, "four")] {
        site.want_plan(EventNumber(wanted), why, Moment(1), None)
            .await
            .unwrap();
    }
    let job = site.store().take_job("w", Moment(2), LEASE).await.unwrap();
    let job = job.unwrap();
    assert_eq!((job.wanted, job.why.as_str()), (EventNumber(5), "five"));
    let store = site.store();
    assert!(
        store
            .finish_job(&job, Outcome::Dropped, Moment(3))
            .await
            .unwrap()
    );
    assert!(
        store
            .take_job("w", Moment(3), LEASE)
            .await
            .unwrap()
            .is_none()
    );

    // Many at once make one job that wants the most.
    let tasks: Vec<_> = (1..=16)
        .map(|wanted| {
            let site = site.clone();
            tokio::spawn(async move {
                site.want_plan(EventNumber(wanted), "many", Moment(4), None)
                    .await
            })
        })
        .collect();
    for task in tasks {
        task.await.unwrap().unwrap();
    }
    let job = store
        .take_job("w", Moment(5), LEASE)
        .await
        .unwrap()
        .unwrap();
    assert_eq!((job.job, job.wanted), (2, EventNumber(16)));
}

async fn a_wish_while_one_works_waits(database: &Database) {
    let site = fresh(database).await;
    let store = site.store();
    site.want_plan(EventNumber(1), "a", Moment(1), None)
        .await
        .unwrap();
    let first = store
        .take_job("w", Moment(1), LEASE)
        .await
        .unwrap()
        .unwrap();
    site.want_plan(EventNumber(2), "b", Moment(2), None)
        .await
        .unwrap();
    assert!(
        store
            .take_job("v", Moment(3), LEASE)
            .await
            .unwrap()
            .is_none()
    );
    // Another site is not held up.
    let other = store.site("second", Moment(1)).await.unwrap();
    other
        .want_plan(EventNumber(7), "c", Moment(3), None)
        .await
        .unwrap();
    let theirs = store
        .take_job("v", Moment(3), LEASE)
        .await
        .unwrap()
        .unwrap();
    assert_eq!(theirs.site.name(), "second");

    assert!(
        store
            .finish_job(&first, Outcome::Dropped, Moment(4))
            .await
            .unwrap()
    );
    let second = store
        .take_job("v", Moment(4), LEASE)
        .await
        .unwrap()
        .unwrap();
    assert_eq!((second.wanted, second.attempt), (EventNumber(2), 1));
}

async fn a_lost_worker_is_replaced(database: &Database) {
    let site = fresh(database).await;
    let store = site.store();
    let other = Store::open(database.url()).await.unwrap();
    site.want_plan(EventNumber(1), "a", Moment(0), None)
        .await
        .unwrap();
    let lost = store
        .take_job("w", Moment(100), LEASE)
        .await
        .unwrap()
        .unwrap();
    assert!(
        other
            .take_job("v", Moment(109), LEASE)
            .await
            .unwrap()
            .is_none()
    );
    // Even under the same name it is another worker.
    let taken = other
        .take_job("w", Moment(110), LEASE)
        .await
        .unwrap()
        .unwrap();
    assert_eq!((taken.job, taken.attempt), (lost.job, 2));
    assert_eq!(taken.wanted, EventNumber(1));

    assert!(!store.renew_job(&lost, Moment(111), LEASE).await.unwrap());
    let late = store.finish_job(&lost, Outcome::Dropped, Moment(111)).await;
    assert!(!late.unwrap(), "the job is another's by now");
    assert!(
        other
            .finish_job(&taken, Outcome::Dropped, Moment(112))
            .await
            .unwrap()
    );
}

async fn a_lease_is_renewed(database: &Database) {
    let site = fresh(database).await;
    let store = site.store();
    site.want_plan(EventNumber(1), "a", Moment(0), None)
        .await
        .unwrap();
    let job = store
        .take_job("w", Moment(0), LEASE)
        .await
        .unwrap()
        .unwrap();
    assert!(store.renew_job(&job, Moment(9), LEASE).await.unwrap());
    assert!(
        store
            .take_job("v", Moment(18), LEASE)
            .await
            .unwrap()
            .is_none()
    );
    // A lease that has run out is still renewed as long as nobody has taken the job over.
    assert!(store.renew_job(&job, Moment(30), LEASE).await.unwrap());
    assert!(
        store
            .take_job("v", Moment(39), LEASE)
            .await
            .unwrap()
            .is_none()
    );
    assert!(
        store
            .take_job("v", Moment(40), LEASE)
            .await
            .unwrap()
            .is_some()
    );
}

async fn a_plan_of_the_job_must_be_there(database: &Database) {
    let site = fresh(database).await;
    let store = site.store();
    site.want_plan(EventNumber(1), "a", Moment(0), None)
        .await
        .unwrap();
    let job = store
        .take_job("w", Moment(0), LEASE)
        .await
        .unwrap()
        .unwrap();
    let refused = store
        .finish_job(&job, Outcome::Planned(PlanNumber(1)), Moment(1))
        .await;
    assert!(
        matches!(refused, Err(StoreError::Database { .. })),
        "{refused:?}"
    );
    assert!(store.renew_job(&job, Moment(1), LEASE).await.unwrap());
}

async fn no_two_workers_hold_a_site(database: &Database) {
    const WORKERS: usize = 6;
    const WISHES: i64 = 40;
    let first = fresh(database).await;
    let mut sites = Vec::new();
    for name in ["one", "two", "three"] {
        sites.push(first.store().site(name, Moment(1)).await.unwrap());
    }
    // Who works for which site, and up to which event there have been plans.
    let held = Arc::new(Mutex::new(BTreeMap::<String, usize>::new()));
    let done = Arc::new(Mutex::new(BTreeMap::<String, EventNumber>::new()));
    let wishing = Arc::new(AtomicBool::new(true));
    let mut workers = Vec::new();
    for worker in 0..WORKERS {
        // Half of them as another program would.
        let store = if worker % 2 == 0 {
            first.store().clone()
        } else {
            Store::open(database.url()).await.unwrap()
        };
        let (held, done, wishing) = (held.clone(), done.clone(), wishing.clone());
        workers.push(tokio::spawn(async move {
            let name = format!("worker {worker}");
            loop {
                let more = wishing.load(Ordering::SeqCst) || !held.lock().unwrap().is_empty();
                let job = store.take_job(&name, Moment(5), LEASE).await.unwrap();
                let Some(job) = job else {
                    if !more {
                        return;
                    }
                    tokio::time::sleep(Duration::from_millis(2)).await;
                    continue;
                };
                let site = job.site.name().to_owned();
                let before = held.lock().unwrap().insert(site.clone(), worker);
                assert_eq!(before, None, "{site} is held twice");
                tokio::time::sleep(Duration::from_millis(5)).await;
                done.lock().unwrap().insert(site.clone(), job.wanted);
                held.lock().unwrap().remove(&site);
                let ended = store.finish_job(&job, Outcome::Dropped, Moment(6)).await;
                assert!(ended.unwrap());
            }
        }));
    }
    // A wish comes while the last one is waiting or being seen to.
    for wanted in 1..=WISHES {
        for site in &sites {
            site.want_plan(EventNumber(wanted), "again", Moment(2), None)
                .await
                .unwrap();
        }
    }
    wishing.store(false, Ordering::SeqCst);
    for worker in workers {
        worker.await.unwrap();
    }
    let done = done.lock().unwrap();
    assert_eq!(done.len(), sites.len());
    for (site, wanted) in done.iter() {
        assert_eq!(*wanted, EventNumber(WISHES), "the last wish of {site}");
    }
}

async fn jobs_that_have_ended_are_forgotten_in_time(database: &Database) {
    let site = fresh(database).await;
    let store = site.store();
    let revision = site.import(&files("a"), Moment(2)).await.unwrap();
    let new = plan(EventNumber(0), revision, "{}");
    let made = site.save_plan(new, Moment(3)).await.unwrap();
    let outcomes = [
        Outcome::Planned(made),
        Outcome::Failed("no time".to_owned()),
        Outcome::Dropped,
    ];
    for (at, outcome) in (10..).zip(outcomes) {
        let now = Moment(at);
        site.want_plan(EventNumber(0), "a", now, None)
            .await
            .unwrap();
        let job = store.take_job("w", now, LEASE).await.unwrap().unwrap();
        assert!(store.finish_job(&job, outcome, now).await.unwrap());
    }
    // One that is worked on and one that waits, both asked for long ago.
    let early = Moment(1);
    site.want_plan(EventNumber(0), "b", early, None)
        .await
        .unwrap();
    let held = store.take_job("w", early, LEASE).await.unwrap().unwrap();
    site.want_plan(EventNumber(0), "c", early, None)
        .await
        .unwrap();

    assert_eq!(site.forget_jobs(Moment(10)).await.unwrap(), 0);
    assert_eq!(site.forget_jobs(Moment(12)).await.unwrap(), 2);
    assert_eq!(site.forget_jobs(Moment(12)).await.unwrap(), 0);
    assert_eq!(site.forget_jobs(Moment(999)).await.unwrap(), 1);
    assert!(site.plan(made).await.unwrap().is_some(), "plans stay");
    let ended = store.finish_job(&held, Outcome::Dropped, Moment(20));
    assert!(ended.await.unwrap(), "it was not forgotten");
    let waiting = store.take_job("w", Moment(21), LEASE).await.unwrap();
    assert_eq!(waiting.unwrap().job, 5, "numbers go on");
    assert_eq!(store.examine(Moment(22)).await.unwrap(), [""; 0]);
}

//! The log of events, and what callers were answered.

use crate::{fresh, happened, on_both};
use scratch::Database;
use store::{Answer, Event, EventNumber, NewEvent, Store, StoreError};
use units::Moment;

on_both!(
    what_is_appended_is_read_back,
    a_wrong_number_is_refused,
    all_or_nothing,
    a_key_is_answered_once,
    answers_are_forgotten_in_time,
    one_of_many_appends_wins,
    everyone_gets_through_in_the_end,
    a_page_of_events,
    the_character_0_is_refused,
);

fn answer(key: &str, at: i64) -> Answer {
    Answer {
        key: key.to_owned(),
        request: [7; 32],
        status: 201,
        body: "{\"order\":\"W-1\"}".to_owned(),
        at: Moment(at),
    }
}

async fn what_is_appended_is_read_back(database: &Database) {
    let site = fresh(database).await;
    assert_eq!(site.last_event().await.unwrap(), EventNumber::NONE);
    assert_eq!(site.events_after(EventNumber::NONE, 9).await.unwrap(), []);

    // The text comes back as it went in, blanks, order of names and all.
    let json = "{ \"b\": 1.50, \"a\": \"ü\\u0000\", \"a\": [] }";
    let new = [happened("order-added", json), happened("order-held", "[1]")];
    let last = site.append(EventNumber::NONE, &new, &[]).await.unwrap();
    assert_eq!(last, EventNumber(2));
    assert_eq!(site.last_event().await.unwrap(), last);
    let seen = site.events_after(EventNumber::NONE, 9).await.unwrap();
    let wanted: Vec<Event> = (1..)
        .zip(new)
        .map(|(number, new)| Event {
            number: EventNumber(number),
            at: new.at,
            who: new.who,
            kind: new.kind,
            json: new.json,
        })
        .collect();
    assert_eq!(seen, wanted);
}

async fn a_wrong_number_is_refused(database: &Database) {
    let site = fresh(database).await;
    site.append(EventNumber(0), &[happened("a", "1")], &[])
        .await
        .unwrap();
    for wrong in [-1, 0, 2, i64::MAX] {
        let refused = site
            .append(EventNumber(wrong), &[happened("b", "2")], &[])
            .await;
        assert!(
            matches!(refused, Err(StoreError::Behind { latest }) if latest == EventNumber(1)),
            "{wrong}: {refused:?}"
        );
    }
    assert_eq!(site.last_event().await.unwrap(), EventNumber(1));
}

async fn all_or_nothing(database: &Database) {
    let site = fresh(database).await;
    let cases = [
        vec![happened("a", "{}"), happened("b", "{half")],
        vec![happened("a", "{}"), happened("", "{}")],
    ];
    for events in cases {
        let refused = site
            .append(EventNumber(0), &events, &[answer("k", 1)])
            .await;
        assert!(
            matches!(refused, Err(StoreError::Database { .. })),
            "{refused:?}"
        );
        assert_eq!(site.last_event().await.unwrap(), EventNumber(0));
        assert_eq!(site.events_after(EventNumber(0), 9).await.unwrap(), []);
        assert_eq!(site.answer("k").await.unwrap(), None);
    }
    // The refused change has let go of the site.
    site.append(EventNumber(0), &[happened("a", "{}")], &[])
        .await
        .unwrap();
}

async fn a_key_is_answered_once(database: &Database) {
    let site = fresh(database).await;
    assert_eq!(site.answer("k").await.unwrap(), None);
    let first = answer("k", 5);
    site.append(
        EventNumber(0),
        &[happened("a", "1")],
        std::slice::from_ref(&first),
    )
    .await
    .unwrap();
    assert_eq!(site.answer("k").await.unwrap(), Some(first.clone()));

    let again = Answer {
        body: "other".to_owned(),
        ..first.clone()
    };
    let refused = site
        .append(
            EventNumber(1),
            &[happened("b", "2")],
            &[answer("new", 6), again],
        )
        .await;
    assert!(
        matches!(&refused, Err(StoreError::KeyTaken { key }) if key == "k"),
        "{refused:?}"
    );
    assert_eq!(site.last_event().await.unwrap(), EventNumber(1));
    assert_eq!(site.answer("k").await.unwrap(), Some(first));
    assert_eq!(site.answer("new").await.unwrap(), None);
    // A request that changes nothing has an answer too.
    let last = site.append(EventNumber(1), &[], &[answer("new", 6)]).await;
    assert_eq!(last.unwrap(), EventNumber(1));
    assert_eq!(site.answer("new").await.unwrap(), Some(answer("new", 6)));
}

async fn answers_are_forgotten_in_time(database: &Database) {
    let site = fresh(database).await;
    let answers = [answer("old", 9), answer("young", 10)];
    site.append(EventNumber(0), &[], &answers).await.unwrap();
    assert_eq!(site.forget_answers(Moment(10)).await.unwrap(), 1);
    assert_eq!(site.answer("old").await.unwrap(), None);
    assert_eq!(
        site.answer("young").await.unwrap(),
        Some(answer("young", 10))
    );
    // A forgotten key is a new one.
    site.append(EventNumber(0), &[], &[answer("old", 11)])
        .await
        .unwrap();
}

async fn one_of_many_appends_wins(database: &Database) {
    const TASKS: i64 = 32;
    let first = fresh(database).await;
    let other = Store::open(database.url()).await.unwrap();
    let second = other.site("first", Moment(1)).await.unwrap();
    for round in 0..5 {
        let tasks: Vec<_> = (0..TASKS)
            .map(|task| {
                let site = if task % 2 == 0 { &first } else { &second }.clone();
                tokio::spawn(async move {
                    let event = happened("a", &task.to_string());
                    site.append(EventNumber(round), &[event], &[]).await
                })
            })
            .collect();
        let mut won = 0;
        for task in tasks {
            match task.await.unwrap() {
                Ok(last) => {
                    assert_eq!(last, EventNumber(round + 1));
                    won += 1;
                }
                Err(StoreError::Behind { latest }) => assert_eq!(latest, EventNumber(round + 1)),
                Err(error) => panic!("{error}"),
            }
        }
        assert_eq!(won, 1, "round {round}");
    }
    assert_eq!(
        first.events_after(EventNumber(0), 99).await.unwrap().len(),
        5
    );
}

pub(crate) async fn everyone_gets_through_in_the_end(database: &Database) {
    const TASKS: usize = 8;
    const EACH: usize = 10;
    let first = fresh(database).await;
    let other = Store::open(database.url()).await.unwrap();
    let second = other.site("first", Moment(1)).await.unwrap();
    let tasks: Vec<_> = (0..TASKS)
        .map(|task| {
            let site = if task % 2 == 0 { &first } else { &second }.clone();
            tokio::spawn(async move {
                let mut last = EventNumber(0);
                for number in 0..EACH {
                    let event = NewEvent {
                        who: task.to_string(),
                        ..happened("a", &number.to_string())
                    };
                    loop {
                        match site.append(last, std::slice::from_ref(&event), &[]).await {
                            Ok(now) => break last = now,
                            Err(StoreError::Behind { latest }) => last = latest,
                            Err(error) => panic!("{error}"),
                        }
                    }
                }
            })
        })
        .collect();
    for task in tasks {
        task.await.unwrap();
    }
    let events = first.events_after(EventNumber(0), 1000).await.unwrap();
    let numbers: Vec<i64> = events.iter().map(|event| event.number.0).collect();
    assert_eq!(numbers, (1..=80).collect::<Vec<_>>());
    for task in 0..TASKS {
        let who = task.to_string();
        let own = events.iter().filter(|event| event.who == who);
        let told: Vec<&str> = own.map(|event| event.json.as_str()).collect();
        let wanted: Vec<String> = (0..EACH).map(|number| number.to_string()).collect();
        assert_eq!(told, wanted, "all there, in their order");
    }
}

async fn a_page_of_events(database: &Database) {
    let site = fresh(database).await;
    let events: Vec<NewEvent> = (1..=7)
        .map(|number: i32| happened("a", &number.to_string()))
        .collect();
    site.append(EventNumber(0), &events, &[]).await.unwrap();
    let numbers = |events: Vec<Event>| -> Vec<i64> {
        events.into_iter().map(|event| event.number.0).collect()
    };
    let after = site.events_after(EventNumber(2), 3).await.unwrap();
    assert_eq!(numbers(after), [3, 4, 5]);
    let before = site.events_before(EventNumber(6), 3).await.unwrap();
    assert_eq!(numbers(before), [5, 4, 3]);
    let latest = site.events_before(EventNumber(i64::MAX), 2).await.unwrap();
    assert_eq!(numbers(latest), [7, 6]);
    assert_eq!(site.events_after(EventNumber(7), 3).await.unwrap(), []);
    assert_eq!(site.events_before(EventNumber(1), 3).await.unwrap(), []);
}

/// Alike on both engines, though one of them could hold it.
async fn the_character_0_is_refused(database: &Database) {
    let site = fresh(database).await;
    let who = NewEvent {
        who: "lead\0".to_owned(),
        ..happened("a", "1")
    };
    for event in [who, happened("a\0", "1"), happened("a", "\"\0\"")] {
        let refused = site.append(EventNumber(0), &[event], &[]).await;
        assert!(matches!(refused, Err(StoreError::Nul)), "{refused:?}");
    }
    let refused = site.append(EventNumber(0), &[], &[answer("\0", 1)]).await;
    assert!(matches!(refused, Err(StoreError::Nul)), "{refused:?}");
    let refused = site.answer("\0").await;
    assert!(matches!(refused, Err(StoreError::Nul)), "{refused:?}");
    let refused = site.account("\0").await;
    assert!(matches!(refused, Err(StoreError::Nul)), "{refused:?}");
    assert_eq!(site.last_event().await.unwrap(), EventNumber(0));
}

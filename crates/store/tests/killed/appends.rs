//! Killed while it appends.

use crate::{Program, database};
use scratch::Database;
use std::time::Duration;
use store::{Answer, EventNumber, NewEvent, Store};
use units::Moment;

const ROUNDS: u64 = 50;

/// Events of the append that follows event `last`: one to three.
fn events(last: i64) -> Vec<NewEvent> {
    (1..=1 + last % 3)
        .map(|one| NewEvent {
            at: Moment(last),
            who: "lead operator".to_owned(),
            kind: "counted".to_owned(),
            json: format!("{{\"after\":{last},\"one\":{one}}}"),
        })
        .collect()
}

/// Not a test by itself: what the tests below start and kill. Says `kept N` only once event N has
/// been acknowledged, and never ends.
#[tokio::test]
#[ignore = "started by the tests that also end it"]
async fn append_until_killed() {
    let store = Store::open(&database()).await.unwrap();
    let site = store.site("first", Moment(1)).await.unwrap();
    let mut last = site.last_event().await.unwrap();
    println!("begun");
    loop {
        let answer = Answer {
            key: last.to_string(),
            request: [1; 32],
            status: 200,
            body: last.to_string(),
            at: Moment(last.0),
        };
        last = site.append(last, &events(last.0), &[answer]).await.unwrap();
        println!("kept {last}");
    }
}

async fn killing_loses_nothing_acknowledged(url: &str) {
    let mut checked = EventNumber(0);
    // Each round goes on with the database the killed program left behind.
    for round in 0..ROUNDS {
        let mut program = Program::start("appends::append_until_killed", url);
        program.wait_for("begun");
        let mut said: Vec<String> = (0..round % 4).map(|_| program.line()).collect();
        std::thread::sleep(Duration::from_micros(round * 937 % 20_000));
        said.extend(program.kill());
        let kept = |line: &String| line.strip_prefix("kept ")?.parse::<i64>().ok();
        let acknowledged = said.iter().filter_map(kept).max().unwrap_or(checked.0);

        let store = Store::open(url).await.unwrap();
        let site = store.site("first", Moment(1)).await.unwrap();
        // The server may still be busy with the last words of the killed program, so this comes
        // before the events are read: what is added in between is read too.
        let last = site.last_event().await.unwrap();
        assert!(
            last.0 >= acknowledged,
            "round {round}: {last} < {acknowledged}"
        );
        let seen = site.events_after(checked, 1_000_000).await.unwrap();
        assert!(seen.len() as i64 >= last.0 - checked.0, "round {round}");
        // Whole appends only, with their answers, without gaps.
        let mut number = checked.0;
        while number - checked.0 < seen.len() as i64 {
            let wanted = events(number);
            let from = usize::try_from(number - checked.0).unwrap();
            let part = &seen[from..from + wanted.len()];
            for (event, (wanted, place)) in part.iter().zip(wanted.iter().zip(number + 1..)) {
                assert_eq!(event.number, EventNumber(place), "round {round}");
                assert_eq!(event.json, wanted.json, "round {round}");
            }
            assert!(site.answer(&number.to_string()).await.unwrap().is_some());
            number += wanted.len() as i64;
        }
        checked = EventNumber(number);
        // No answer without its events; both may have come since the events were read.
        if site.answer(&number.to_string()).await.unwrap().is_some() {
            let since = site.events_after(checked, 1).await.unwrap();
            assert!(!since.is_empty(), "round {round}: an answer alone");
        }
        store.close().await;
    }
    let store = Store::open(url).await.unwrap();
    assert_eq!(store.examine(Moment(0)).await.unwrap(), [""; 0]);
    assert!(
        checked.0 > i64::try_from(ROUNDS).unwrap(),
        "hardly anything was written"
    );
}

#[tokio::test]
async fn killing_loses_nothing_acknowledged_sqlite() {
    let database = Database::sqlite().unwrap();
    killing_loses_nothing_acknowledged(database.url()).await;
}

#[tokio::test]
async fn killing_loses_nothing_acknowledged_postgres() {
    let database = Database::postgres().unwrap();
    killing_loses_nothing_acknowledged(database.url()).await;
}

//! How fast it is. Not a test: `cargo test -p store --test contract speed -- --ignored --nocapture`.

use crate::{fresh, happened};
use scratch::Database;
use std::time::{Duration, Instant};
use store::{EventNumber, NewEvent};

/// How long each way of appending is watched.
const WATCHED: Duration = Duration::from_secs(3);

/// Appends one after the other, each acknowledged before the next, and counts them per second.
async fn appends_a_second(database: &Database, batch: usize) -> f64 {
    let site = fresh(database).await;
    let json = format!("{{\"order\":\"W-1\",\"note\":\"{}\"}}", "x".repeat(150));
    let events: Vec<NewEvent> = (0..batch).map(|_| happened("order-moved", &json)).collect();
    let mut last = EventNumber(0);
    let (begun, mut count) = (Instant::now(), 0u32);
    while begun.elapsed() < WATCHED {
        last = site.append(last, &events, &[]).await.unwrap();
        count += 1;
    }
    f64::from(count) / begun.elapsed().as_secs_f64()
}

#[tokio::test]
#[ignore = "measures, checks nothing"]
async fn speed() {
    for batch in [1, 16] {
        let sqlite = appends_a_second(&Database::sqlite().unwrap(), batch).await;
        let postgres = appends_a_second(&Database::postgres().unwrap(), batch).await;
        println!("{batch} events an append: SQLite {sqlite:.0}/s, PostgreSQL {postgres:.0}/s");
    }
}

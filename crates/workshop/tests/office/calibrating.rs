//! Calibrations offered without anybody asking for them.

use crate::{open, with_shop};
use daybook::{Calibrated, Happening};
use store::{EventNumber, NewEvent, Store};
use units::{BrakeId, Moment, OrderId};
use workshop::Office;

on_both!(an_offer_is_made_once_when_enough_has_been_measured);

/// Appends runs of order T-1 on B1 that took half as long again as planned, as another daemon would.
async fn run(office: &Office, database: &scratch::Database, runs: u32) {
    let store = Store::open(database.url()).await.unwrap();
    let site = store.site("tiny", Moment(0)).await.unwrap();
    let brake = BrakeId::new("B1").unwrap();
    for _ in 0..runs {
        let last = site.last_event().await.unwrap();
        let began = Moment(1_812_300_000 + last.0 * 600);
        let started = Happening::RunStarted {
            brake: brake.clone(),
            plan: 1,
            run: format!("B1-{}", last.0),
            order: OrderId::new("T-1").unwrap(),
            quantity: 20,
            bed: Vec::new(),
            uses: Vec::new(),
            planned_cycle_ms: 10_000,
            planned_pause_seconds: 0,
            planned_end: Moment(began.0 + 200),
            as_planned: true,
        };
        let finished = Happening::RunFinished {
            brake: brake.clone(),
            good: 20,
            scrap: 0,
            short: false,
            planned_cycle_ms: 10_000,
            as_planned: true,
        };
        let event = |happening: Happening, at: i64| NewEvent {
            at: Moment(at),
            who: "L-1".to_owned(),
            kind: happening.kind().to_owned(),
            json: happening.to_json().unwrap(),
        };
        let events = [event(started, began.0), event(finished, began.0 + 300)];
        site.append(last, &events, &[]).await.unwrap();
    }
    store.close().await;
    office.catch_up().await.unwrap();
}

async fn offers(office: &Office) -> Vec<Happening> {
    let events = office.events_after(0, 1_000).await.unwrap();
    let offers = events
        .iter()
        .filter(|event| event.kind == "calibration-offered");
    offers
        .map(|event| Happening::from_json(&event.json).unwrap())
        .collect()
}

async fn an_offer_is_made_once_when_enough_has_been_measured(database: &scratch::Database) {
    let office = with_shop(database).await;
    assert!(!office.offer_calibrations().await.unwrap());
    run(&office, database, 5).await;
    assert!(!office.offer_calibrations().await.unwrap(), "too few runs");
    run(&office, database, 4).await;
    assert!(office.offer_calibrations().await.unwrap());
    let made = offers(&office).await;
    let [Happening::CalibrationOffered { what, factor, .. }] = made.as_slice() else {
        panic!("{made:?}");
    };
    assert!(matches!(what, Calibrated::Part(part) if part.as_str() == "A-1"));
    assert!((factor - 15.0).abs() < 0.1, "{factor} seconds a piece");
    // More of the same is no news, here or in another daemon.
    assert!(!office.offer_calibrations().await.unwrap());
    run(&office, database, 3).await;
    assert!(!office.offer_calibrations().await.unwrap());
    assert!(!open(database).await.offer_calibrations().await.unwrap());
    assert_eq!(offers(&office).await.len(), 1);
    let last = office.events_before(None, 1).await.unwrap();
    assert_eq!(
        last[0].number,
        EventNumber(office.state().number.try_into().unwrap())
    );
}

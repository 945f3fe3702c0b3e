//! Starting from a checkpoint of the log.

use crate::{AFTERNOON, open, order, with_shop};
use store::{Checkpoint, EventNumber, Store};
use tokio::task::JoinSet;
use workshop::{Office, Terms, examine};

on_both!(a_start_from_a_checkpoint_is_a_start_from_the_log);

/// Reads a site anew, as another start of the daemon does.
async fn opened_again(office: &Office, database: &scratch::Database) -> Office {
    let again = open(database).await;
    assert_eq!(again.state().number, office.state().number);
    assert!(again.state().base().is_some(), "the files are there");
    again
}

async fn a_start_from_a_checkpoint_is_a_start_from_the_log(database: &scratch::Database) {
    let office = with_shop(database).await;
    let put = |number: u32| {
        let (office, order) = (office.clone(), order(&format!("N-{number}"), number));
        async move { office.submit("m", order, Terms::default()).await.unwrap() }
    };
    for number in 1..20 {
        put(number).await;
    }
    assert_eq!(office.since_checkpoint(), office.state().number);
    office.keep_checkpoint().await.unwrap();
    assert_eq!(office.since_checkpoint(), 0);
    for number in 10..30 {
        put(number).await;
    }
    let again = opened_again(&office, database).await;
    assert_eq!(again.state(), office.state());
    assert_eq!(
        again.since_checkpoint(),
        10,
        "orders sent twice change nothing"
    );
    let text = office.state().to_checkpoint().unwrap();
    assert_eq!(again.state().to_checkpoint().unwrap(), text);

    let store = Store::open(database.url()).await.unwrap();
    let site = store.site("tiny", AFTERNOON).await.unwrap();
    let sound = examine(&store, "tiny", AFTERNOON).await.unwrap();
    assert_eq!(sound.troubles, [""; 0]);
    let keep = |format: &str, json: &str| {
        let (site, event) = (&site, again.state().number);
        let checkpoint = Checkpoint {
            event: EventNumber(event.try_into().unwrap()),
            format: format.to_owned(),
            json: json.to_owned(),
        };
        async move { site.keep_checkpoint(&checkpoint, AFTERNOON).await.unwrap() }
    };
    // Another program's is passed over.
    let wrong = text.replace("\"steps\":200", "\"steps\":201");
    assert_ne!(wrong, text);
    assert!(keep("another program's", &wrong).await);
    assert_eq!(
        opened_again(&office, database).await.state(),
        office.state()
    );
    let sound = examine(&store, "tiny", AFTERNOON).await.unwrap();
    assert_eq!(sound.troubles, [""; 0]);
    // A wrong one is believed, and found when it is looked for.
    assert!(keep(daybook::State::CHECKPOINT_FORMAT, &wrong).await);
    let misled = opened_again(&office, database).await;
    assert_eq!(misled.state().policy.steps, 201);
    let found = examine(&store, "tiny", AFTERNOON).await.unwrap();
    assert!(
        found.troubles.iter().any(|one| one.contains("checkpoint")),
        "{found:?}"
    );
    // One that cannot be read is passed over, and found.
    assert!(keep("another program's", "{}").await);
    assert!(keep(daybook::State::CHECKPOINT_FORMAT, "{}").await);
    assert_eq!(
        opened_again(&office, database).await.state(),
        office.state()
    );
    let found = examine(&store, "tiny", AFTERNOON).await.unwrap();
    assert!(!found.troubles.is_empty());
    store.close().await;
}

/// How long a start takes with fifty thousand events, from the log and from a checkpoint.
#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
#[ignore = "measures, checks nothing"]
#[allow(clippy::print_stdout)] // how a measurement is told
async fn starting_with_many_events() {
    let database = scratch::Database::sqlite().unwrap();
    let office = with_shop(&database).await;
    let mut sending = JoinSet::new();
    for number in 0..50_000_u32 {
        let office = office.clone();
        // One in five is a new order, the others change one.
        let order = order(&format!("N-{}", number % 10_000), 1 + number / 10_000);
        sending.spawn(async move {
            office
                .submit("m", order, Terms::default())
                .await
                .map(|_| ())
        });
        if sending.len() >= 256 {
            sending.join_next().await.unwrap().unwrap().unwrap();
        }
    }
    while let Some(sent) = sending.join_next().await {
        sent.unwrap().unwrap();
    }
    for kept in [false, true] {
        if kept {
            let began = std::time::Instant::now();
            office.keep_checkpoint().await.unwrap();
            let bytes = office.state().to_checkpoint().unwrap().len();
            println!("kept in {:?}, {bytes} bytes", began.elapsed());
        }
        for _ in 0..3 {
            let began = std::time::Instant::now();
            let again = open(&database).await;
            let took = began.elapsed();
            assert_eq!(again.state().number, office.state().number);
            println!(
                "{} events, checkpoint {kept}: {took:?}",
                again.state().number
            );
        }
    }
}

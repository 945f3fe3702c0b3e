//! An office from its first shop data to a published plan, on both engines, alone and beside another.

#![allow(clippy::expect_used, clippy::panic, clippy::unwrap_used)] // helpers of tests are not tests to the lint

use documents::{FileSet, OrderRow};
use std::collections::BTreeSet;
use std::path::Path;
use std::sync::Arc;
use std::sync::atomic::AtomicBool;
use store::Store;
use tokio::task::JoinSet;
use units::{Moment, OrderId, PartId};
use workshop::{
    Account, Base, CONSOLE, Clock, Command, Effort, Enquiry, Expectation, IdempotencyKey, Office,
    OfficeError, PLANNER, PeopleWish, RefusalKind, Source, Terms, Wanted, examine, read_folder,
    verify,
};

/// Friday, 4 June 2027, 15:30 in Berlin.
const AFTERNOON: Moment = Moment(1_812_202_200);

const EFFORT: Effort = Effort {
    seconds: 20,
    seed: 1,
};

fn clock() -> Clock {
    Arc::new(|| AFTERNOON)
}

async fn open(database: &scratch::Database) -> Office {
    let store = Store::open(database.url()).await.unwrap();
    let site = store.site("tiny", AFTERNOON).await.unwrap();
    Office::open(site, clock()).await.unwrap()
}

/// The files of the tiny shop, with a line more in its settings.
fn tiny_shop(more: &str) -> FileSet {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../tests/tiny-shop");
    let mut files = read_folder(&folder).unwrap();
    let mut settings = more.as_bytes().to_vec();
    settings.push(b'\n');
    settings.extend_from_slice(files.get("shop.toml").unwrap());
    files.insert("shop.toml", settings);
    files
}

async fn with_shop(database: &scratch::Database) -> Office {
    let office = open(database).await;
    let files = tiny_shop("");
    let base = Arc::new(Base::read(&files).0.unwrap());
    let took = office.take_files("folder", &files, base, Terms::default());
    assert!(took.await.unwrap().done.is_some());
    let policy = daybook::Policy {
        steps: 200,
        quiet_seconds: 0,
        ..daybook::Policy::default()
    };
    let expect = None;
    let command = Command::ChangePolicy { policy, expect };
    office.submit("m", command, Terms::default()).await.unwrap();
    office
}

fn order(id: &str, quantity: u32) -> Command {
    let cells = [
        ("order", id.to_owned()),
        ("part", "A-1".to_owned()),
        ("quantity", quantity.to_string()),
        ("due", "2027-06-09T12:00".to_owned()),
    ];
    let row = OrderRow {
        cells: cells.map(|(name, text)| (name.to_owned(), text)).into(),
        ..OrderRow::default()
    };
    Command::PutOrders {
        source: Source::Request,
        name: "request".to_owned(),
        rows: vec![row],
        new_only: false,
        expect: None,
    }
}

async fn propose(office: &Office) -> u64 {
    let going_on = Arc::new(AtomicBool::new(false));
    let kept = office.propose(EFFORT, "test", &going_on).await.unwrap();
    kept.unwrap().number
}

/// Makes each function, which takes a `scratch::Database`, a test on either engine.
macro_rules! on_both {
    ($($name:ident),+ $(,)?) => {
        mod sqlite {
            $(#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
            async fn $name() {
                super::$name(&scratch::Database::sqlite().unwrap()).await;
            })+
        }
        mod postgres {
            $(#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
            async fn $name() {
                super::$name(&scratch::Database::postgres().unwrap()).await;
            })+
        }
    };
}

on_both!(
    a_plan_is_proposed_published_and_read_back,
    commands_at_once_are_all_there,
    the_same_key_happens_once,
    two_offices_have_one_winner,
    a_rush_order_is_weighed_and_not_taken,
    quotes_are_told_from_the_plan_that_stands,
    tokens_of_two_offices_are_all_in_the_log,
    of_two_who_take_shop_data_one_is_late,
);

/// From nothing to a published plan; another program reads it back and its audit accepts it.
async fn a_plan_is_proposed_published_and_read_back(database: &scratch::Database) {
    let office = with_shop(database).await;
    assert!(office.plan_is_wanted());
    let first = propose(&office).await;
    assert!(!office.plan_is_wanted(), "the proposal knows of everything");
    let publish = |plan, expect_published| Command::Publish {
        plan,
        expect_published,
    };
    let done = office
        .submit("manager", publish(first, Some(0)), Terms::default())
        .await
        .unwrap();
    office
        .submit("manager", order("N-1", 5), Terms::default())
        .await
        .unwrap();
    assert!(office.plan_is_wanted());
    let second = propose(&office).await;
    assert!(second > first);
    let still = office.published().await.unwrap().unwrap();
    assert_eq!(
        still.number, first,
        "a proposal changes nothing on the floor"
    );

    let again = open(database).await;
    assert_eq!(*again.state(), *office.state(), "replayed from the store");
    let kept = again.published().await.unwrap().unwrap();
    assert_eq!(kept.number, first);
    assert!(kept.plan.verified);
    assert!(verify(&kept.shop, &kept.plan).violations.is_empty());
    let with_new = again.plan(second).await.unwrap().unwrap();
    let placed = |order: &str| {
        let runs = with_new.plan.brakes.iter().flat_map(|brake| &brake.runs);
        runs.filter(|run| run.order.as_str() == order).count()
    };
    assert_eq!(placed("N-1"), 1);
    let events = again.events_after(done.number - 1, 1).await.unwrap();
    assert_eq!(
        (events[0].kind.as_str(), events[0].who.as_str()),
        ("published", "manager")
    );
    let store = Store::open(database.url()).await.unwrap();
    let health = examine(&store, "tiny", AFTERNOON).await.unwrap();
    assert_eq!(health.troubles, Vec::<String>::new());
    assert!(again.plan(99).await.unwrap().is_none());
}

/// Many commands at once, good and bad: the good ones are all there, in one gapless log.
async fn commands_at_once_are_all_there(database: &scratch::Database) {
    let office = with_shop(database).await;
    let mut tasks = JoinSet::new();
    for number in 0..60 {
        let office = office.clone();
        tasks.spawn(async move {
            let quantity = if number % 5 == 0 { 0 } else { 1 + number };
            let command = order(&format!("C-{number}"), quantity);
            (
                number,
                office.submit("lead", command, Terms::default()).await,
            )
        });
    }
    let mut numbers = BTreeSet::new();
    while let Some(told) = tasks.join_next().await {
        let (number, done) = told.unwrap();
        match done {
            Ok(done) => {
                assert!(number % 5 != 0, "no pieces are no order");
                numbers.insert(done.number);
            }
            Err(OfficeError::Refused(refusal)) => {
                assert_eq!(number % 5, 0, "{refusal}");
                assert!(matches!(refusal.kind, RefusalKind::Invalid(_)));
            }
            Err(error) => panic!("{number}: {error}"),
        }
    }
    assert_eq!(numbers.len(), 48, "each change has its own number");
    assert_eq!(numbers.last().unwrap() - numbers.first().unwrap(), 47);
    assert_eq!(*open(database).await.state(), *office.state());
}

/// A request sent again with its key is answered as before; another request with that key is not.
async fn the_same_key_happens_once(database: &scratch::Database) {
    let office = with_shop(database).await;
    let terms = |request: u8| Terms {
        expect: None,
        key: Some(IdempotencyKey {
            key: "caller-1".to_owned(),
            request: [request; 32],
        }),
    };
    let once = office
        .submit("lead", order("I-1", 5), terms(1))
        .await
        .unwrap();
    // Somebody else changes the order in between: sending the first request again must not undo it.
    office
        .submit("lead", order("I-1", 9), Terms::default())
        .await
        .unwrap();
    let again = open(database)
        .await
        .submit("lead", order("I-1", 5), terms(1))
        .await;
    let again = again.unwrap();
    assert_eq!((again.number, again.repeated), (once.number, true));
    let id = OrderId::new("I-1").unwrap();
    let quantity = |office: &Office| office.state().orders[&id].order.quantity;
    office.catch_up().await.unwrap();
    assert_eq!(quantity(&office), 9);
    // A request that changed nothing is answered as before too, whatever has happened since.
    let kept = |request: u8| Terms {
        expect: None,
        key: Some(IdempotencyKey {
            key: "caller-2".to_owned(),
            request: [request; 32],
        }),
    };
    let nothing = office
        .submit("lead", order("I-1", 9), kept(1))
        .await
        .unwrap();
    assert!(nothing.happenings.is_empty() && !nothing.repeated);
    office
        .submit("lead", order("I-1", 4), Terms::default())
        .await
        .unwrap();
    let again = office
        .submit("lead", order("I-1", 9), kept(1))
        .await
        .unwrap();
    assert!(again.repeated);
    assert_eq!(quantity(&office), 4);
    let other = office.submit("lead", order("I-1", 7), terms(2)).await;
    assert!(matches!(other, Err(OfficeError::KeyUsed)), "{other:?}");
}

/// Two daemons on one database: of two that publish on the same version one wins and the other hears
/// of it; and what one writes the other knows.
async fn two_offices_have_one_winner(database: &scratch::Database) {
    let here = with_shop(database).await;
    let first = propose(&here).await;
    let there = open(database).await;
    there
        .submit("x", order("N-1", 5), Terms::default())
        .await
        .unwrap();
    let second = propose(&there).await;
    assert_ne!(first, second);
    for _ in 0..10 {
        here.catch_up().await.unwrap();
        let version = here.state().published.as_ref().map_or(0, |now| now.number);
        let terms = || Terms {
            expect: Some(Expectation::Published(version)),
            key: None,
        };
        let publish = |plan| Command::Publish {
            plan,
            expect_published: None,
        };
        let now = here.state().published.as_ref().map(|now| now.plan);
        // Publishing what is published already is no change, so it cannot lose.
        let (one, two) = match now {
            None => (first, second),
            Some(now) if now == first => (second, second),
            Some(_) => (first, first),
        };
        let (mine, yours) = tokio::join!(
            here.submit("here", publish(one), terms()),
            there.submit("there", publish(two), terms()),
        );
        let won = [&mine, &yours].iter().filter(|told| told.is_ok()).count();
        assert_eq!(won, 1, "{mine:?} {yours:?}");
        let lost = mine.err().or(yours.err()).unwrap();
        let OfficeError::Refused(refusal) = lost else {
            panic!("{lost}");
        };
        assert!(
            matches!(refusal.kind, RefusalKind::Stale { .. }),
            "{refusal}"
        );
    }
    here.catch_up().await.unwrap();
    there.catch_up().await.unwrap();
    assert_eq!(*here.state(), *there.state());
    assert!(PLANNER != "here");
}

/// What a rush order would cost is told, and nothing is kept.
async fn a_rush_order_is_weighed_and_not_taken(database: &scratch::Database) {
    let office = with_shop(database).await;
    let before = office.state();
    let going_on = Arc::new(AtomicBool::new(false));
    let command = order("RUSH", 200);
    let rush = office.rush(&command, EFFORT, &going_on).await.unwrap();
    let runs = |plan: &model::Plan| {
        let runs = plan.brakes.iter().flat_map(|brake| &brake.runs);
        runs.filter(|run| run.order.as_str() == "RUSH").count()
    };
    assert_eq!((runs(&rush.without), runs(&rush.with)), (0, 1));
    let rushed = rush
        .differences
        .orders
        .iter()
        .find(|change| change.order.as_str() == "RUSH");
    assert!(rushed.is_some());
    assert!(rush.with.totals.objective >= rush.without.totals.objective);
    assert_eq!(*office.state(), *before, "nothing has happened");
    let none = order("RUSH", 0);
    let refused = office.rush(&none, EFFORT, &going_on).await;
    assert!(matches!(refused, Err(OfficeError::Refused(_))));
}

/// The proposal while nothing is published, then the published plan; many at once, all alike.
async fn quotes_are_told_from_the_plan_that_stands(database: &scratch::Database) {
    let office = with_shop(database).await;
    let enquiry = Enquiry {
        wanted: Wanted::Known(PartId::new("A-1").unwrap()),
        quantity: 10,
        ready: None,
        due: None,
        weight: 1,
        samples: 200,
        seed: 1,
    };
    let early = office.quote(enquiry.clone()).await.unwrap_err();
    assert!(matches!(early, OfficeError::NoPlan), "{early}");
    let first = propose(&office).await;
    let quoted = office.quote(enquiry.clone()).await.unwrap();
    assert!((quoted.before.number, quoted.published) == (first, false));
    let publish = Command::Publish {
        plan: first,
        expect_published: Some(0),
    };
    office
        .submit("manager", publish, Terms::default())
        .await
        .unwrap();
    let put = office.submit("lead", order("N-1", 5), Terms::default());
    put.await.unwrap();
    propose(&office).await;
    let number = office.state().number;
    let mut asked = JoinSet::new();
    for _ in 0..6 {
        let (office, enquiry) = (office.clone(), enquiry.clone());
        asked.spawn(async move { office.quote(enquiry).await.unwrap() });
    }
    let told = asked.join_all().await;
    for quoted in &told {
        assert!((quoted.before.number, quoted.published) == (first, true));
        assert_eq!(quoted.json(), told[0].json());
        assert!(quoted.quote.odds.is_some());
    }
    assert_eq!(office.state().number, number, "nothing is kept");
    let nothing = Enquiry {
        wanted: Wanted::Known(PartId::new("Z-9").unwrap()),
        ..enquiry
    };
    let refused = office.quote(nothing).await.unwrap_err();
    assert!(matches!(refused, OfficeError::Job(_)), "{refused}");
}

/// Two daemons make tokens at once, while orders come in: each has its number, and the log tells of each.
async fn tokens_of_two_offices_are_all_in_the_log(database: &scratch::Database) {
    let first = with_shop(database).await;
    let second = open(database).await;
    let account = Account {
        name: "erp".to_owned(),
        role: "lead".to_owned(),
        password: None,
        disabled: false,
    };
    let put = PeopleWish::Put {
        account: &account,
        new_password: false,
    };
    first.change_people(CONSOLE, put, None).await.unwrap();
    let mut making = JoinSet::new();
    for number in 0..12_u8 {
        let office = if number % 2 == 0 { &first } else { &second };
        let office = office.clone();
        making.spawn(async move {
            let wish = PeopleWish::MakeToken {
                hash: &[number; 32],
                account: "erp",
                label: "test",
                expires: None,
            };
            let made = office.change_people("m", wish, None).await.unwrap();
            let order = order(&format!("N-{number}"), 1);
            office.submit("m", order, Terms::default()).await.unwrap();
            made.token.unwrap().0
        });
    }
    let mut numbers = making.join_all().await;
    numbers.sort_unstable();
    assert_eq!(numbers, (1..=12).collect::<Vec<i64>>());
    let log = first.events_after(0, 1_000).await.unwrap();
    let told = log.iter().filter(|event| event.kind == "token-made");
    assert_eq!(told.count(), 12);
    for office in [&first, &second] {
        office.catch_up().await.unwrap();
        assert_eq!(office.state().number, u64::try_from(log.len()).unwrap());
    }
    assert_eq!(first.state(), second.state());
    let nobodys = PeopleWish::MakeToken {
        hash: &[99; 32],
        account: "nobody there",
        label: "test",
        expires: None,
    };
    let refused = first.change_people("m", nobodys, None).await.unwrap_err();
    assert!(matches!(refused, OfficeError::Nobody(_)), "{refused}");
}

/// Two write shop data at once, decided on the same revision, through two daemons: one wins, the other
/// hears of it, and a request sent again is told its own revision.
async fn of_two_who_take_shop_data_one_is_late(database: &scratch::Database) {
    let first = with_shop(database).await;
    let second = open(database).await;
    for round in 0..5_u8 {
        let before = first.state().revision.unwrap();
        first.catch_up().await.unwrap();
        second.catch_up().await.unwrap();
        let take = |office: &Office, name: &str| {
            let (office, name) = (office.clone(), format!("{name} {round}"));
            async move {
                let files = tiny_shop(&format!("# {name}"));
                let base = Arc::new(Base::read(&files).0.unwrap());
                let terms = Terms {
                    expect: Some(Expectation::ShopData(before)),
                    key: Some(IdempotencyKey {
                        key: name.clone(),
                        request: [round; 32],
                    }),
                };
                office.take_files(&name, &files, base, terms).await
            }
        };
        let (one, other) = tokio::join!(take(&first, "one"), take(&second, "other"));
        let (name, won, lost) = match (one, other) {
            (Ok(won), Err(lost)) => ("one", won, lost),
            (Err(lost), Ok(won)) => ("other", won, lost),
            both => panic!("one of them must win: {both:?}"),
        };
        let OfficeError::Refused(refusal) = lost else {
            panic!("{lost}");
        };
        let kind = RefusalKind::Stale {
            current: won.revision,
        };
        assert_eq!(refusal.kind, kind);
        for office in [&first, &second] {
            office.catch_up().await.unwrap();
            assert_eq!(office.state().revision, Some(won.revision));
        }
        let files = first.files(won.revision).await.unwrap();
        let text = String::from_utf8(files.get("shop.toml").unwrap().to_vec());
        let head = format!("# {name} {round}\n");
        assert!(text.unwrap().starts_with(&head), "the winner's files");
        // Somebody changes them once more; the winner's request, sent again, is still its own.
        let files = tiny_shop(&format!("# later {round}"));
        let base = Arc::new(Base::read(&files).0.unwrap());
        let later = first.take_files("m", &files, base, Terms::default());
        assert!(later.await.unwrap().revision > won.revision);
        let again = take(&second, name).await.unwrap();
        assert_eq!(again.revision, won.revision);
        assert!(again.done.unwrap().repeated);
    }
}

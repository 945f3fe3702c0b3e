//! Nothing of one site is seen from another.

use crate::{files, happened, on_both, plan};
use scratch::Database;
use std::collections::BTreeSet;
use store::{
    Account, Answer, EventNumber, NewToken, Outcome, PeopleChange, PlanNumber, Revision, Site,
    Store, StoreError, TokenId,
};
use units::{Moment, Seconds};

on_both!(
    a_site_is_found_again,
    many_new_sites_at_once,
    a_site_sees_nothing_of_another,
);

async fn a_site_is_found_again(database: &Database) {
    let store = Store::open(database.url()).await.unwrap();
    assert_eq!(store.sites().await.unwrap(), [""; 0]);
    let first = store.site("zeta", Moment(1)).await.unwrap();
    let second = store.site("alpha", Moment(2)).await.unwrap();
    assert_ne!(first.id(), second.id());
    let again = store.site("zeta", Moment(3)).await.unwrap();
    assert_eq!((again.id(), again.name()), (first.id(), "zeta"));
    assert_eq!(store.sites().await.unwrap(), ["zeta", "alpha"]);
    let nameless = store.site("", Moment(1)).await;
    assert!(matches!(nameless, Err(StoreError::NoSiteName)));
}

async fn many_new_sites_at_once(database: &Database) {
    let one = Store::open(database.url()).await.unwrap();
    let two = Store::open(database.url()).await.unwrap();
    let tasks: Vec<_> = (0..24)
        .map(|task| {
            let store = if task % 2 == 0 { &one } else { &two }.clone();
            let name = format!("site {}", task / 4);
            tokio::spawn(async move { store.site(&name, Moment(1)).await.unwrap().id() })
        })
        .collect();
    let mut ids = BTreeSet::new();
    for task in tasks {
        ids.insert(task.await.unwrap());
    }
    assert_eq!(ids.len(), 6);
    assert_eq!(one.sites().await.unwrap().len(), 6);
}

/// The 32 bytes of `flavour` number `number`.
fn hash(flavour: u8, number: u8) -> [u8; 32] {
    let mut hash = [flavour; 32];
    hash[0] = number;
    hash
}

/// Writes everything a site can hold, `rounds` times, through every method that writes, and tells
/// what each said.
async fn write(site: &Site, flavour: u8, rounds: u8) -> Vec<(&'static str, String)> {
    let mut said = Vec::new();
    macro_rules! say {
        ($name:ident ($($with:expr),*)) => {{
            let answer = site.$name($($with),*).await;
            said.push((stringify!($name), format!("{answer:?}")));
            answer
        }};
    }
    let name = format!("name {flavour}");
    for round in 1..=rounds {
        let now = Moment(i64::from(round));
        let account = Account {
            name: name.clone(),
            role: "lead".to_owned(),
            password: None,
            disabled: false,
        };
        let content = files(&format!("{flavour} {round}"));
        let revision = say!(import(&content, now)).unwrap();
        let answer = Answer {
            key: format!("key {round}"),
            request: hash(flavour, round),
            status: 200,
            body: format!("{flavour}"),
            at: now,
        };
        let last = EventNumber(i64::from(round) - 1);
        let event = happened("a", &flavour.to_string());
        let last = say!(append(last, &[event], &[answer])).unwrap();
        let json = flavour.to_string();
        let made = say!(save_plan(plan(last, revision, &json), now)).unwrap();
        say!(want_plan(last, &json, now, None)).unwrap();
        if round < rounds {
            // The last wish is left waiting.
            let job = site.store().take_job(&json, now, Seconds(9)).await.unwrap();
            let job = job.filter(|job| job.site.id() == site.id());
            if let Some(job) = job {
                let done = site
                    .store()
                    .finish_job(&job, Outcome::Planned(made), now)
                    .await;
                said.push(("finish_job", format!("{} {done:?}", job.job)));
            }
        }
        let put = PeopleChange::PutAccount {
            account: &account,
            sessions_end: round == rounds,
        };
        say!(change_people(last, &[], &[], &put, now)).unwrap();
        let later = Moment(1000);
        let token = PeopleChange::AddToken(NewToken {
            token: TokenId(round.into()),
            hash: &hash(flavour, round),
            account: &name,
            label: &json,
            expires: Some(later),
        });
        say!(change_people(last, &[], &[], &token, now)).unwrap();
        let csrf = hash(flavour, 200);
        say!(add_session(&hash(flavour, round), &name, &csrf, now, later)).unwrap();
    }
    said
}

/// Reads everything a site can tell, through every method that reads.
async fn read(site: &Site) -> Vec<(&'static str, String)> {
    let mut said = Vec::new();
    macro_rules! say {
        ($name:ident ($($with:expr),*)) => {
            said.push((stringify!($name), format!("{:?}", site.$name($($with),*).await)));
        };
    }
    let now = Moment(5);
    say!(latest_revision());
    say!(last_event());
    say!(events_after(EventNumber(0), 99));
    say!(events_before(EventNumber(99), 99));
    say!(latest_plan());
    say!(plans(99));
    say!(accounts());
    say!(tokens());
    say!(last_token());
    for number in 1..9 {
        say!(files(Revision(number.into())));
        say!(plan(PlanNumber(number.into())));
        say!(answer(&format!("key {number}")));
        for flavour in 1..4 {
            say!(account_of_token(&hash(flavour, number), now));
            say!(session(&hash(flavour, number), now));
        }
    }
    for flavour in 1..4 {
        say!(account(&format!("name {flavour}")));
    }
    said
}

/// Takes away everything a site lets go of, whosever it is, through every method that does so.
async fn take_away(site: &Site) -> Vec<(&'static str, String)> {
    let mut said = Vec::new();
    macro_rules! say {
        ($name:ident ($($with:expr),*)) => {
            said.push((stringify!($name), format!("{:?}", site.$name($($with),*).await)));
        };
    }
    for flavour in 1..4 {
        for number in 1..9 {
            if number % 2 == 0 {
                say!(end_session(&hash(flavour, number)));
            }
        }
    }
    for number in 1..9 {
        let last = site.last_event().await.unwrap();
        let end = PeopleChange::RevokeToken(TokenId(number));
        say!(change_people(last, &[], &[], &end, Moment(6)));
    }
    say!(forget_answers(Moment(1000)));
    say!(forget_jobs(Moment(1000)));
    said
}

/// Every asynchronous method of `Site` that others may call, from the source.
fn methods() -> BTreeSet<String> {
    let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/src");
    let mut found = BTreeSet::new();
    for entry in std::fs::read_dir(folder).unwrap() {
        let text = std::fs::read_to_string(entry.unwrap().path()).unwrap();
        // A block ends at the first line that is nothing but its brace.
        for block in text.split("\nimpl Site {").skip(1) {
            let block = block.split("\n}").next().unwrap();
            for method in block.split("pub async fn ").skip(1) {
                found.insert(method.split('(').next().unwrap().to_owned());
            }
        }
    }
    assert!(found.len() > 20, "read from the wrong place: {found:?}");
    found
}

/// A site beside a full one says and sees the very same as one that is alone, and the full one
/// does not notice. The hashes, keys, names and numbers asked for are those of both.
async fn a_site_sees_nothing_of_another(database: &Database) {
    let alone_in = Database::sqlite().unwrap();
    let alone = Store::open(alone_in.url()).await.unwrap();
    let alone = alone.site("b", Moment(1)).await.unwrap();
    let store = Store::open(database.url()).await.unwrap();
    let full = store.site("a", Moment(1)).await.unwrap();
    let beside = store.site("b", Moment(1)).await.unwrap();

    let mut called: BTreeSet<String> = BTreeSet::new();
    write(&full, 1, 6).await;
    let before = read(&full).await;
    // The full site's waiting job would be the one a worker takes first.
    let job = store
        .take_job("other", Moment(1), Seconds(999))
        .await
        .unwrap();
    assert_eq!(job.unwrap().site.id(), full.id());

    assert_eq!(read(&beside).await, read(&alone).await, "still empty");
    let (theirs, ours) = (write(&beside, 2, 3).await, write(&alone, 2, 3).await);
    assert_eq!(theirs, ours);
    called.extend(theirs.iter().map(|(name, _)| (*name).to_owned()));
    let (theirs, ours) = (read(&beside).await, read(&alone).await);
    assert_eq!(theirs, ours);
    called.extend(theirs.iter().map(|(name, _)| (*name).to_owned()));
    let (theirs, ours) = (take_away(&beside).await, take_away(&alone).await);
    assert_eq!(theirs, ours);
    called.extend(theirs.iter().map(|(name, _)| (*name).to_owned()));
    assert_eq!(read(&beside).await, read(&alone).await);
    assert_eq!(read(&full).await, before, "the full site has not noticed");

    let missing: Vec<String> = methods().difference(&called).cloned().collect();
    assert!(
        missing.is_empty(),
        "this test must also call {missing:?} of Site"
    );
}

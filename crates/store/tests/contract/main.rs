//! What the store promises, tried on both engines from one source.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)] // what cannot go on has failed
#![allow(clippy::print_stdout)] // how a measurement is told

mod backup;
mod events;
mod history;
mod jobs;
mod news;
mod opening;
mod people;
mod plans;
mod shops;
mod sites;
mod speed;

use store::{
    Account, EventNumber, Files, NewEvent, NewPlan, NewToken, PeopleChange, Revision, Site, Store,
    StoreError, TokenId,
};
use units::Moment;

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
pub(crate) use on_both;

/// A site of a database that is opened for the first time.
async fn fresh(database: &scratch::Database) -> Site {
    let store = Store::open(database.url()).await.unwrap();
    store.site("first", Moment(1)).await.unwrap()
}

fn files(orders: &str) -> Files {
    Files::from([
        ("shop.toml".to_owned(), b"name = \"Test shop\"".to_vec()),
        ("work-orders.csv".to_owned(), orders.as_bytes().to_vec()),
        ("floor.csv".to_owned(), vec![0, 255, 10]),
    ])
}

fn happened(kind: &str, json: &str) -> NewEvent {
    NewEvent {
        at: Moment(100),
        who: "lead operator".to_owned(),
        kind: kind.to_owned(),
        json: json.to_owned(),
    }
}

fn plan(made_from: EventNumber, revision: Revision, json: &str) -> NewPlan<'_> {
    NewPlan {
        made_from,
        revision,
        json,
        objective: -7,
        verified: true,
    }
}

async fn change(site: &Site, what: &PeopleChange<'_>, now: Moment) -> Result<(), StoreError> {
    let last = site.last_event().await?;
    let changed = site.change_people(last, &[], &[], what, now).await?;
    assert_eq!(changed, last, "no event came with it");
    Ok(())
}

async fn put_account(site: &Site, account: &Account, now: Moment) -> Result<(), StoreError> {
    let what = PeopleChange::PutAccount {
        account,
        sessions_end: false,
    };
    change(site, &what, now).await
}

async fn add_token(
    site: &Site,
    hash: &[u8; 32],
    account: &str,
    label: &str,
    now: Moment,
    expires: Option<Moment>,
) -> Result<TokenId, StoreError> {
    let token = TokenId(site.last_token().await?.0 + 1);
    let what = PeopleChange::AddToken(NewToken {
        token,
        hash,
        account,
        label,
        expires,
    });
    change(site, &what, now).await?;
    Ok(token)
}

async fn revoke_token(site: &Site, token: TokenId, now: Moment) -> Result<(), StoreError> {
    change(site, &PeopleChange::RevokeToken(token), now).await
}

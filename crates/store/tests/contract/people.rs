//! Accounts, tokens and sessions.

use crate::{fresh, on_both};
use scratch::Database;
use store::{Account, Session, StoreError, Token, TokenId};
use units::Moment;

on_both!(
    accounts_are_kept_and_changed,
    a_token_lets_in_until_it_ends,
    a_session_lets_in_until_it_ends,
    nobody_gets_in_without_an_account,
);

fn account(name: &str, disabled: bool) -> Account {
    Account {
        name: name.to_owned(),
        role: "estimator".to_owned(),
        password: Some("$argon2id$v=19$m=1,t=1,p=1$c2FsdHNhbHQ$aGFzaA".to_owned()),
        disabled,
    }
}

async fn accounts_are_kept_and_changed(database: &Database) {
    let site = fresh(database).await;
    assert_eq!(site.accounts().await.unwrap(), []);
    assert_eq!(site.account("ida").await.unwrap(), None);
    for name in ["ida", "Zoe", "ärna"] {
        site.put_account(&account(name, false), Moment(1))
            .await
            .unwrap();
    }
    assert_eq!(
        site.account("ida").await.unwrap(),
        Some(account("ida", false))
    );
    let names = || async {
        let accounts = site.accounts().await.unwrap();
        accounts.into_iter().map(|one| one.name).collect::<Vec<_>>()
    };
    assert_eq!(
        names().await,
        ["Zoe", "ida", "ärna"],
        "the same order on both"
    );

    let changed = Account {
        role: "lead".to_owned(),
        password: None,
        ..account("ida", true)
    };
    site.put_account(&changed, Moment(2)).await.unwrap();
    assert_eq!(site.account("ida").await.unwrap(), Some(changed.clone()));
    assert_eq!(names().await.len(), 3);
    let shown = format!("{:?}", account("ida", false));
    assert!(!shown.contains("argon2"), "{shown}");
    let nameless = site.put_account(&account("", false), Moment(3)).await;
    assert!(nameless.is_err());
}

async fn a_token_lets_in_until_it_ends(database: &Database) {
    let site = fresh(database).await;
    let ida = account("ida", false);
    site.put_account(&ida, Moment(1)).await.unwrap();
    let lasting = site.add_token(&[1; 32], "ida", "scanner", Moment(2), None);
    let lasting = lasting.await.unwrap();
    let short = site.add_token(&[2; 32], "ida", "visit", Moment(3), Some(Moment(10)));
    let short = short.await.unwrap();
    assert_eq!((lasting, short), (TokenId(1), TokenId(2)));
    let twice = site
        .add_token(&[1; 32], "ida", "again", Moment(3), None)
        .await;
    assert!(
        matches!(twice, Err(StoreError::Database { .. })),
        "{twice:?}"
    );

    let who = |hash: u8, at: i64| {
        let site = site.clone();
        async move {
            site.account_of_token(&[hash; 32], Moment(at))
                .await
                .unwrap()
        }
    };
    assert_eq!(who(1, 9).await, Some(ida.clone()));
    assert_eq!(who(2, 9).await, Some(ida.clone()));
    assert_eq!(who(2, 10).await, None, "expired");
    assert_eq!(who(3, 9).await, None, "nobody's");

    site.put_account(&account("ida", true), Moment(4))
        .await
        .unwrap();
    assert_eq!(who(1, 9).await, None, "disabled");
    site.put_account(&ida, Moment(5)).await.unwrap();
    assert_eq!(who(1, 9).await, Some(ida));
    assert!(site.revoke_token(lasting, Moment(6)).await.unwrap());
    assert!(!site.revoke_token(lasting, Moment(7)).await.unwrap());
    assert!(!site.revoke_token(TokenId(9), Moment(7)).await.unwrap());
    assert_eq!(who(1, 9).await, None, "revoked");

    let token = |id, label: &str, created_at, expires, revoked_at| Token {
        id,
        account: "ida".to_owned(),
        label: label.to_owned(),
        created_at,
        expires,
        revoked_at,
    };
    let wanted = [
        token(lasting, "scanner", Moment(2), None, Some(Moment(6))),
        token(short, "visit", Moment(3), Some(Moment(10)), None),
    ];
    assert_eq!(site.tokens().await.unwrap(), wanted);
}

async fn a_session_lets_in_until_it_ends(database: &Database) {
    let site = fresh(database).await;
    for name in ["ida", "zoe"] {
        site.put_account(&account(name, false), Moment(1))
            .await
            .unwrap();
    }
    for (hash, name) in [(1, "ida"), (2, "ida"), (3, "zoe"), (4, "zoe")] {
        site.add_session(&[hash; 32], name, &[hash + 100; 32], Moment(2), Moment(50))
            .await
            .unwrap();
    }
    let session = |hash: u8, at: i64| {
        let site = site.clone();
        async move { site.session(&[hash; 32], Moment(at)).await.unwrap() }
    };
    let wanted = Session {
        account: "ida".to_owned(),
        csrf: [101; 32],
        expires: Moment(50),
    };
    assert_eq!(session(1, 49).await, Some(wanted));
    assert_eq!(session(1, 50).await, None, "expired");
    assert_eq!(session(9, 49).await, None, "nobody's");

    assert!(site.end_session(&[1; 32]).await.unwrap());
    assert!(!site.end_session(&[1; 32]).await.unwrap());
    assert_eq!(session(1, 49).await, None);
    assert!(session(2, 49).await.is_some());
    assert_eq!(site.end_sessions_of("zoe").await.unwrap(), 2);
    assert_eq!(session(3, 49).await, None);
    assert!(session(2, 49).await.is_some());
    site.put_account(&account("ida", true), Moment(3))
        .await
        .unwrap();
    assert_eq!(session(2, 49).await, None, "disabled");

    // Those that have expired go when another begins.
    site.add_session(&[5; 32], "zoe", &[0; 32], Moment(60), Moment(70))
        .await
        .unwrap();
    assert_eq!(site.end_sessions_of("ida").await.unwrap(), 0);
}

async fn nobody_gets_in_without_an_account(database: &Database) {
    let site = fresh(database).await;
    let token = site
        .add_token(&[1; 32], "ida", "scanner", Moment(2), None)
        .await;
    assert!(
        matches!(&token, Err(StoreError::NoSuchAccount(name)) if name == "ida"),
        "{token:?}"
    );
    let session = site
        .add_session(&[1; 32], "ida", &[0; 32], Moment(1), Moment(2))
        .await;
    assert!(
        matches!(&session, Err(StoreError::NoSuchAccount(name)) if name == "ida"),
        "{session:?}"
    );
    assert_eq!(site.tokens().await.unwrap(), []);
}

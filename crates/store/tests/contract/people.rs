//! Accounts, tokens and sessions.

use crate::{add_token, change, fresh, happened, on_both, put_account, revoke_token};
use scratch::Database;
use store::{
    Account, Answer, EventNumber, NewToken, PeopleChange, Session, StoreError, Token, TokenId,
};
use units::Moment;

on_both!(
    accounts_are_kept_and_changed,
    a_token_lets_in_until_it_ends,
    a_session_lets_in_until_it_ends,
    nobody_gets_in_without_an_account,
    a_change_and_its_event_are_written_together_or_not_at_all,
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
        put_account(&site, &account(name, false), Moment(1))
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
    put_account(&site, &changed, Moment(2)).await.unwrap();
    assert_eq!(site.account("ida").await.unwrap(), Some(changed.clone()));
    assert_eq!(names().await.len(), 3);
    let shown = format!("{:?}", account("ida", false));
    assert!(!shown.contains("argon2"), "{shown}");
    let nameless = put_account(&site, &account("", false), Moment(3)).await;
    assert!(nameless.is_err());
}

async fn a_token_lets_in_until_it_ends(database: &Database) {
    let site = fresh(database).await;
    let ida = account("ida", false);
    put_account(&site, &ida, Moment(1)).await.unwrap();
    let lasting = add_token(&site, &[1; 32], "ida", "scanner", Moment(2), None);
    let lasting = lasting.await.unwrap();
    let short = add_token(&site, &[2; 32], "ida", "visit", Moment(3), Some(Moment(10)));
    let short = short.await.unwrap();
    assert_eq!((lasting, short), (TokenId(1), TokenId(2)));
    let twice = add_token(&site, &[1; 32], "ida", "again", Moment(3), None).await;
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

    put_account(&site, &account("ida", true), Moment(4))
        .await
        .unwrap();
    assert_eq!(who(1, 9).await, None, "disabled");
    put_account(&site, &ida, Moment(5)).await.unwrap();
    assert_eq!(who(1, 9).await, Some(ida));
    revoke_token(&site, lasting, Moment(6)).await.unwrap();
    for nothing in [lasting, TokenId(9)] {
        let again = revoke_token(&site, nothing, Moment(7)).await;
        assert!(
            matches!(again, Err(StoreError::NoSuchToken(number)) if number == nothing.0),
            "{again:?}"
        );
    }
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
        put_account(&site, &account(name, false), Moment(1))
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
    let zoe = account("zoe", false);
    let signed_out = PeopleChange::PutAccount {
        account: &zoe,
        sessions_end: true,
    };
    change(&site, &signed_out, Moment(3)).await.unwrap();
    assert_eq!(session(3, 49).await, None);
    assert_eq!(session(4, 49).await, None);
    assert!(session(2, 49).await.is_some());
    put_account(&site, &account("ida", true), Moment(3))
        .await
        .unwrap();
    assert_eq!(session(2, 49).await, None, "disabled");

    // Those that have expired go when another begins.
    site.add_session(&[5; 32], "zoe", &[0; 32], Moment(60), Moment(70))
        .await
        .unwrap();
    put_account(&site, &account("ida", false), Moment(61))
        .await
        .unwrap();
    assert_eq!(session(2, 49).await, None, "gone, not only refused");
}

async fn nobody_gets_in_without_an_account(database: &Database) {
    let site = fresh(database).await;
    let token = add_token(&site, &[1; 32], "ida", "scanner", Moment(2), None).await;
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

fn answer() -> Answer {
    Answer {
        key: "k".to_owned(),
        request: [7; 32],
        status: 200,
        body: String::new(),
        at: Moment(1),
    }
}

async fn a_change_and_its_event_are_written_together_or_not_at_all(database: &Database) {
    let site = fresh(database).await;
    let ida = account("ida", false);
    let put = PeopleChange::PutAccount {
        account: &ida,
        sessions_end: false,
    };
    let told = [happened("account-put", "{}")];
    let answers = [answer()];
    let site = &site;
    let told = &told;
    let send = |last: i64, answers: Vec<Answer>, what: PeopleChange<'static>| async move {
        site.change_people(EventNumber(last), told, &answers, &what, Moment(1))
            .await
    };
    let token = |token: i64, account: &'static str| {
        PeopleChange::AddToken(NewToken {
            token: TokenId(token),
            hash: &[1; 32],
            account,
            label: "scanner",
            expires: None,
        })
    };
    let nothing = || async {
        assert_eq!(site.last_event().await.unwrap(), EventNumber(0));
        assert_eq!(site.accounts().await.unwrap(), []);
        assert_eq!(site.answer("k").await.unwrap(), None);
    };
    let late = site
        .change_people(EventNumber(3), told, &answers, &put, Moment(1))
        .await;
    assert!(matches!(late, Err(StoreError::Behind { .. })), "{late:?}");
    nothing().await;
    let nobodys = send(0, answers.to_vec(), token(1, "ida")).await;
    assert!(matches!(nobodys, Err(StoreError::NoSuchAccount(_))));
    nothing().await;
    let none = send(0, answers.to_vec(), PeopleChange::RevokeToken(TokenId(1))).await;
    assert!(matches!(none, Err(StoreError::NoSuchToken(1))));
    nothing().await;

    let done = site.change_people(EventNumber(0), told, &answers, &put, Moment(1));
    assert_eq!(done.await.unwrap(), EventNumber(1));
    assert_eq!(site.accounts().await.unwrap(), std::slice::from_ref(&ida));
    assert_eq!(site.answer("k").await.unwrap().as_ref(), answers.first());
    let again = send(1, answers.to_vec(), token(1, "ida")).await;
    assert!(
        matches!(again, Err(StoreError::KeyTaken { .. })),
        "{again:?}"
    );
    assert_eq!(
        site.tokens().await.unwrap(),
        [],
        "the key was answered before"
    );
    let wrong = send(1, Vec::new(), token(2, "ida")).await;
    assert!(
        matches!(wrong, Err(StoreError::Behind { latest }) if latest == EventNumber(1)),
        "not the next number: {wrong:?}"
    );
    assert_eq!(site.last_event().await.unwrap(), EventNumber(1));
    let made = send(1, Vec::new(), token(1, "ida")).await;
    assert_eq!(made.unwrap(), EventNumber(2));
    assert_eq!(site.last_token().await.unwrap(), TokenId(1));
}

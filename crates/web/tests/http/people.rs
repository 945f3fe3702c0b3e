//! Changes of accounts and tokens: in the log, done once for each key, and never with a secret.

use crate::support::{Call, PASSWORD, Shop};
use serde_json::{Value, json};
use web::Role;

/// What the log says since event `after`, and who said it.
async fn told(shop: &Shop, token: &str, after: u64) -> Vec<(String, Value)> {
    let path = format!("/api/v1/events?after={after}");
    let events = shop.send(Call::new("GET", &path).token(token)).await;
    events.is(200, "");
    assert!(!events.body.contains("argon2") && !events.body.contains("bw_"));
    let events = events.json()["events"].as_array().unwrap().clone();
    let one = |event: Value| {
        (
            event["who"].as_str().unwrap().to_owned(),
            event["what"].clone(),
        )
    };
    events.into_iter().map(one).collect()
}

#[tokio::test]
async fn the_log_tells_who_let_whom_in() {
    let shop = Shop::new().await;
    let token = shop.token(Role::Manager).await;
    let viewer = shop.token(Role::Viewer).await;
    let start = shop.office.state().number;
    let send = |call: Call| {
        let (shop, token) = (&shop, &token);
        async move { shop.send(call.token(token)).await }
    };
    let put = |body: Value| Call::put("/api/v1/accounts/E-7", &body);
    send(put(json!({"role": "estimator", "password": PASSWORD})))
        .await
        .is(200, "");
    send(put(json!({"role": "estimator"}))).await.is(200, "");
    send(put(json!({"role": "lead"}))).await.is(200, "");
    let made = json!({"label": "office", "days": 1});
    let made = send(Call::post("/api/v1/accounts/E-7/tokens", &made)).await;
    made.is(201, "");
    let number = made.json()["token"].as_u64().unwrap();
    let path = format!("/api/v1/tokens/{number}");
    send(Call::new("DELETE", &path)).await.is(204, "");
    send(Call::new("DELETE", &path)).await.is(404, "missing");
    send(put(json!({"role": "lead", "disabled": true})))
        .await
        .is(200, "");
    send(put(json!({"role": "viewer", "disabled": true})))
        .await
        .is(200, "");

    let wanted = [
        json!({"kind": "account-put", "account": "E-7", "role": "estimator", "new_password": true}),
        json!({"kind": "account-put", "account": "E-7", "role": "lead", "new_password": false}),
        json!({"kind": "token-made", "account": "E-7", "token": number, "label": "office",
               "expires": "2027-06-08T03:00:00Z"}),
        json!({"kind": "token-ended", "account": "E-7", "token": number}),
        json!({"kind": "account-disabled", "account": "E-7"}),
        json!({"kind": "account-put", "account": "E-7", "role": "viewer", "new_password": false,
               "disabled": true}),
    ];
    let log = told(&shop, &token, start).await;
    let expected: Vec<_> = wanted
        .iter()
        .map(|what| ("manager-1".to_owned(), what.clone()))
        .collect();
    assert_eq!(log, expected, "what changed nothing is not there");

    let seen = told(&shop, &viewer, start).await;
    for ((who, what), (_, whole)) in seen.iter().zip(&log) {
        assert_eq!(
            (who.as_str(), what),
            ("manager-1", &json!({"kind": whole["kind"]}))
        );
    }
    assert_eq!(seen.len(), log.len());
    let before = told(&shop, &token, 0).await;
    let console = before.iter().filter(|(who, _)| who == "console");
    assert_eq!(console.count(), 4, "two accounts and two tokens");
}

#[tokio::test]
async fn an_account_put_twice_with_a_key_is_put_once() {
    let shop = Shop::new().await;
    let token = shop.token(Role::Manager).await;
    let put = |role: &str, password: &str| {
        let body = json!({"role": role, "password": password});
        let call = Call::put("/api/v1/accounts/E-7", &body);
        call.token(&token).with("idempotency-key", "one")
    };
    let first = shop.send(put("estimator", PASSWORD)).await;
    first.is(200, "");
    let number = shop.office.state().number;
    let again = shop.send(put("estimator", PASSWORD)).await;
    again.is(200, "");
    assert_eq!(again.body, first.body);
    assert_eq!(shop.office.state().number, number);
    shop.send(put("lead", PASSWORD)).await.is(422, "key-used");
    shop.send(put("estimator", "another set of chisels"))
        .await
        .is(422, "key-used");
    assert_eq!(shop.office.state().number, number);
    let account = shop.office.account("E-7").await.unwrap().unwrap();
    assert_eq!(account.role, "estimator");
}

#[tokio::test]
async fn a_token_made_twice_with_a_key_is_made_once_and_shown_once() {
    let shop = Shop::new().await;
    let token = shop.token(Role::Manager).await;
    let make = |label: &str| {
        let body = json!({"label": label});
        let call = Call::post("/api/v1/accounts/manager-1/tokens", &body);
        call.token(&token).with("idempotency-key", "one")
    };
    let first = shop.send(make("terminal")).await;
    first.is(201, "");
    let secret = first.json()["secret"].as_str().unwrap().to_owned();
    let again = shop.send(make("terminal")).await;
    again.is(409, "made-before");
    let name = format!("token {}", first.json()["token"]);
    assert!(again.body.contains(&name), "{}", again.body);
    assert!(!again.body.contains("bw_") && !again.body.contains(&secret));
    shop.send(make("another")).await.is(422, "key-used");
    assert_eq!(shop.office.tokens().await.unwrap().len(), 2);

    let lead = shop.token(Role::Lead).await;
    let path = format!(
        "/api/v1/tokens/{}",
        shop.office.tokens().await.unwrap().len()
    );
    let end = |key: &str| {
        let call = Call::new("DELETE", &path).token(&token);
        call.with("idempotency-key", key)
    };
    shop.send(end("two")).await.is(204, "");
    shop.send(end("two")).await.is(204, "");
    shop.send(end("three")).await.is(404, "missing");
    shop.send(Call::new("GET", "/api/v1/me").token(&lead))
        .await
        .is(401, "unknown-caller");
}

#[tokio::test]
async fn a_proposal_asked_for_twice_with_a_key_is_asked_for_once() {
    let shop = Shop::new().await;
    let ask = |key: &str| Call::new("POST", "/api/v1/plans/proposal").with("idempotency-key", key);
    let first = shop.send(ask("one")).await;
    first.is(202, "");
    let order = json!({"cells": {"part": "A-1", "quantity": "5", "due": "2027-06-09"}});
    let order = Call::put("/api/v1/orders/N-1", &order).new_thing();
    shop.send(order).await.is(200, "");
    let again = shop.send(ask("one")).await;
    again.is(202, "");
    assert_eq!(again.body, first.body);
    let other = shop.send(ask("two")).await;
    other.is(202, "");
    assert_ne!(other.body, first.body);
    let publish = Call::put("/api/v1/plans/published", &json!({"plan": 1})).if_match(0);
    shop.send(publish.with("idempotency-key", "one"))
        .await
        .is(422, "key-used");
}

#[tokio::test]
async fn nobody_is_called_like_a_part_of_the_program() {
    let shop = Shop::new().await;
    let body = json!({"role": "manager", "password": PASSWORD});
    for name in ["console", "planner", "local", "folder", "inbox", "nobody"] {
        let put = Call::put(&format!("/api/v1/accounts/{name}"), &body);
        shop.send(put).await.is(422, "invalid");
    }
}

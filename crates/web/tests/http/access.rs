//! Tokens, sessions, limits, hosts and origins.

use crate::support::{Call, PASSWORD, Shop, files};
use axum::http::StatusCode;
use serde_json::json;
use std::time::Duration;
use web::{Limits, Rate, Role};

fn sign_in(account: &str, password: &str) -> Call {
    Call::post(
        "/api/v1/session",
        &json!({"account": account, "password": password}),
    )
}

/// Signs in; the cookie and the word for writes.
async fn signed_in(shop: &Shop, account: &str) -> (String, String) {
    let answer = shop.send(sign_in(account, PASSWORD)).await;
    answer.is(200, "");
    let cookie = answer.header("set-cookie").to_owned();
    for part in ["HttpOnly", "SameSite=Strict", "Path=/", "Max-Age=43200"] {
        assert!(cookie.contains(part), "{cookie}");
    }
    let pair = cookie.split(';').next().unwrap().to_owned();
    (pair, answer.json()["csrf"].as_str().unwrap().to_owned())
}

#[tokio::test]
async fn a_fresh_shop_is_open_to_its_machine_until_the_first_account() {
    let shop = Shop::new().await;
    let me = shop.get("/api/v1/me").await.json();
    assert_eq!(
        (&me["account"], &me["role"]),
        (&json!("local"), &json!("manager"))
    );
    let away = Call::new("GET", "/api/v1/me").from([10, 0, 0, 7]);
    shop.send(away).await.is(401, "unknown-caller");

    let lead = Call::put(
        "/api/v1/accounts/L-1",
        &json!({"role": "lead", "password": PASSWORD}),
    );
    shop.send(lead.clone()).await.is(409, "conflict");
    let manager = json!({"role": "manager", "password": PASSWORD});
    shop.send(Call::put("/api/v1/accounts/M-1", &manager))
        .await
        .is(200, "");
    shop.get("/api/v1/me").await.is(401, "unknown-caller");
    shop.send(lead).await.is(401, "unknown-caller");
    let page = shop.get("/").await;
    assert_eq!(
        (page.status, page.header("location")),
        (StatusCode::SEE_OTHER, "/sign-in")
    );
}

#[tokio::test]
async fn a_daemon_that_others_reach_is_never_open() {
    let shop = Shop::hosted(&files(&[]), |hosting| hosting.loopback = false).await;
    shop.get("/api/v1/me").await.is(401, "unknown-caller");
}

#[tokio::test]
async fn a_session_reads_with_its_cookie_and_writes_with_its_word() {
    let shop = Shop::new().await;
    shop.account("M-1", Role::Manager).await;
    let (cookie, word) = signed_in(&shop, "M-1").await;
    let me = shop
        .send(Call::new("GET", "/api/v1/me").with("cookie", &cookie))
        .await;
    me.is(200, "");
    assert_eq!(me.json()["csrf"], word, "the word can be asked for again");
    let page = shop
        .send(Call::new("GET", "/").with("cookie", &cookie))
        .await;
    page.is(200, "");

    let look = Call::post("/api/v1/calibrations/look", &json!({})).with("cookie", &cookie);
    shop.send(look.clone()).await.is(403, "forbidden");
    shop.send(look.clone().with("x-csrf-token", "0"))
        .await
        .is(403, "forbidden");
    shop.send(look.clone().with("x-csrf-token", &word))
        .await
        .is(200, "");

    let out = Call::new("DELETE", "/api/v1/session").with("cookie", &cookie);
    let out = shop.send(out.with("x-csrf-token", &word)).await;
    out.is(204, "");
    assert!(out.header("set-cookie").contains("Max-Age=0"));
    shop.send(look.with("x-csrf-token", &word))
        .await
        .is(401, "unknown-caller");
}

#[tokio::test]
async fn a_session_ends_by_itself_and_with_its_account() {
    let shop = Shop::new().await;
    shop.account("M-1", Role::Manager).await;
    shop.account("V-1", Role::Viewer).await;
    let (cookie, _) = signed_in(&shop, "V-1").await;
    let me = Call::new("GET", "/api/v1/me").with("cookie", &cookie);
    shop.pass(12 * 3_600 - 1);
    shop.send(me.clone()).await.is(200, "");
    shop.pass(1);
    shop.send(me).await.is(401, "unknown-caller");

    let (cookie, _) = signed_in(&shop, "V-1").await;
    let token = shop.token(Role::Manager).await;
    let disable = json!({"role": "viewer", "disabled": true});
    let disable = Call::put("/api/v1/accounts/V-1", &disable).token(&token);
    shop.send(disable).await.is(200, "");
    let me = Call::new("GET", "/api/v1/me").with("cookie", &cookie);
    shop.send(me).await.is(401, "unknown-caller");
    shop.send(sign_in("V-1", PASSWORD))
        .await
        .is(401, "unknown-caller");
}

#[tokio::test]
async fn with_tls_the_cookie_belongs_to_this_host_alone() {
    let shop = Shop::hosted(&files(&[]), |hosting| hosting.encrypted = true).await;
    shop.account("M-1", Role::Manager).await;
    let (cookie, _) = signed_in(&shop, "M-1").await;
    assert!(cookie.starts_with("__Host-brakewright-"), "{cookie}");
    let answer = shop.send(sign_in("M-1", PASSWORD)).await;
    assert!(answer.header("set-cookie").ends_with("; Secure"));
}

#[tokio::test]
async fn a_revoked_token_opens_nothing() {
    let shop = Shop::new().await;
    let manager = shop.token(Role::Manager).await;
    shop.account("V-1", Role::Viewer).await;
    let make = Call::post(
        "/api/v1/accounts/V-1/tokens",
        &json!({"label": "wall board", "days": 2}),
    );
    let made = shop.send(make.token(&manager)).await;
    made.is(201, "");
    let (number, secret) = (made.json()["token"].clone(), made.json()["secret"].clone());
    let me = Call::new("GET", "/api/v1/me").token(secret.as_str().unwrap());
    assert_eq!(shop.send(me.clone()).await.json()["role"], "viewer");
    let tokens = shop
        .send(Call::new("GET", "/api/v1/tokens").token(&manager))
        .await;
    assert!(
        !tokens.body.contains(secret.as_str().unwrap()),
        "shown once"
    );

    let revoke = Call::new("DELETE", &format!("/api/v1/tokens/{number}")).token(&manager);
    shop.send(revoke.clone()).await.is(204, "");
    shop.send(me).await.is(401, "unknown-caller");
    shop.send(revoke).await.is(404, "missing");

    let make = Call::post(
        "/api/v1/accounts/V-1/tokens",
        &json!({"label": "x", "days": 2}),
    );
    let made = shop.send(make.token(&manager)).await.json();
    let me = Call::new("GET", "/api/v1/me").token(made["secret"].as_str().unwrap());
    shop.pass(2 * 86_400);
    shop.send(me).await.is(401, "unknown-caller");
}

#[tokio::test]
async fn nobody_locks_themselves_out() {
    let shop = Shop::new().await;
    let manager = shop.token(Role::Manager).await;
    let demote = json!({"role": "viewer"});
    let demote = Call::put("/api/v1/accounts/manager-1", &demote).token(&manager);
    shop.send(demote).await.is(409, "conflict");
    let local = json!({"role": "viewer", "password": PASSWORD});
    let local = Call::put("/api/v1/accounts/local", &local).token(&manager);
    shop.send(local).await.is(422, "invalid");
}

#[tokio::test]
async fn wrong_passwords_are_slowed_down() {
    let shop = Shop::hosted(&files(&[]), |hosting| {
        hosting.limits.sign_ins_of_account = Rate {
            at_once: 2,
            every: Duration::from_secs(60),
        };
    })
    .await;
    shop.account("M-1", Role::Manager).await;
    for _ in 0..2 {
        shop.send(sign_in("M-1", "wrong wrong wrong"))
            .await
            .is(401, "unknown-caller");
    }
    let third = shop.send(sign_in("M-1", PASSWORD)).await;
    third.is(429, "too-many-requests");
    assert!(third.header("retry-after").parse::<u64>().unwrap() > 50);
    shop.send(sign_in("M-2", PASSWORD))
        .await
        .is(401, "unknown-caller");
}

#[tokio::test]
async fn too_many_requests_and_too_large_ones_are_refused() {
    let limits = |limits: &mut Limits| {
        limits.body_most = 200;
        limits.requests = Rate {
            at_once: 6,
            every: Duration::from_secs(3_600),
        };
    };
    let shop = Shop::hosted(&files(&[]), |hosting| limits(&mut hosting.limits)).await;
    let large = json!({"orders": [], "why": "x".repeat(200)});
    let large = Call::post("/api/v1/withdrawals", &large);
    shop.send(large).await.is(413, "too-large");
    for _ in 0..5 {
        shop.get("/api/v1/me").await.is(200, "");
    }
    let refused = shop.get("/api/v1/me").await;
    refused.is(429, "too-many-requests");
    assert!(refused.header("retry-after").parse::<u64>().unwrap() > 3_000);
}

#[tokio::test]
async fn other_hosts_and_other_origins_are_refused() {
    let shop = Shop::new().await;
    let asked = |host: &str| Call::new("GET", "/api/v1/me").with("host", host);
    for host in [
        "localhost",
        "LOCALHOST:8077",
        "127.0.0.1",
        "127.8.8.8:80",
        "[::1]:80",
        "board.example",
    ] {
        assert_eq!(shop.send(asked(host)).await.status, 200, "{host}");
    }
    for host in [
        "evil.example",
        "localhost.evil.example:80",
        "127.0.0.1.evil.example",
        "10.0.0.1:80",
        "[fe80::1]:80",
        "x@localhost",
        "localhost:80:evil.example",
    ] {
        shop.send(asked(host)).await.is(421, "wrong-host");
    }
    let look = Call::post("/api/v1/calibrations/look", &json!({}));
    for origin in [
        "http://evil.example",
        "null",
        "https://127.0.0.1:7000",
        "http://127.0.0.1:7001",
    ] {
        shop.send(look.clone().with("origin", origin))
            .await
            .is(403, "forbidden");
    }
    let fetched = look.clone().with("sec-fetch-site", "cross-site");
    shop.send(fetched).await.is(403, "forbidden");
    shop.send(look.with("origin", "http://127.0.0.1:7000"))
        .await
        .is(200, "");
}

#[tokio::test]
async fn others_may_use_a_number_when_they_can_reach_it() {
    let shop = Shop::hosted(&files(&[]), |hosting| hosting.loopback = false).await;
    let asked = |host: &str| Call::new("GET", "/healthz").with("host", host);
    assert_eq!(shop.send(asked("10.0.0.1:8077")).await.status, 200);
    assert_eq!(shop.send(asked("evil.example")).await.status, 421);
}

#[tokio::test]
async fn people_sign_in_on_a_page() {
    let shop = Shop::new().await;
    shop.account("M-1", Role::Manager).await;
    let page = shop.get("/sign-in").await;
    assert!(page.body.contains("action=\"/sign-in\""));
    let form = |password: &str| {
        let text = format!("account=M-1&password={}", password.replace(' ', "+"));
        let call = Call::new("POST", "/sign-in").text(&text);
        call.with("content-type", "application/x-www-form-urlencoded")
    };
    let refused = shop.send(form("<script>alert(1)</script>")).await;
    assert_eq!(refused.status, 403);
    assert!(!refused.body.contains("<script"));
    let begun = shop.send(form(PASSWORD)).await;
    assert_eq!(
        (begun.status.as_u16(), begun.header("location")),
        (303, "/")
    );
    assert!(begun.header("set-cookie").contains("HttpOnly"));
    let foreign = form(PASSWORD).with("origin", "http://evil.example");
    shop.send(foreign).await.is(403, "forbidden");
}

#[tokio::test]
async fn nothing_of_one_site_opens_another() {
    let other = Shop::named("other", &files(&[]), |_| {}).await;
    let office = other.office.clone();
    let shop = Shop::hosted(&files(&[]), |hosting| hosting.offices.push(office)).await;
    let (here, there) = (
        shop.token(Role::Manager).await,
        other.token(Role::Manager).await,
    );
    let me = |site: &str, token: &str| {
        Call::new("GET", &format!("/api/v1/sites/{site}/me")).token(token)
    };
    shop.send(me("shop", &here)).await.is(200, "");
    shop.send(me("other", &there)).await.is(200, "");
    shop.send(me("shop", &there))
        .await
        .is(401, "unknown-caller");
    shop.send(me("other", &here))
        .await
        .is(401, "unknown-caller");
    let unnamed = Call::new("GET", "/api/v1/me").token(&here);
    shop.send(unnamed).await.is(404, "missing");

    shop.account("M-1", Role::Manager).await;
    let call = Call::post(
        "/api/v1/sites/shop/session",
        &json!({"account": "M-1", "password": PASSWORD}),
    );
    let begun = shop.send(call).await;
    let cookie = begun
        .header("set-cookie")
        .split(';')
        .next()
        .unwrap()
        .to_owned();
    let (_, session) = cookie.split_once('=').unwrap();
    let at = |site: &str, cookie: &str| {
        Call::new("GET", &format!("/api/v1/sites/{site}/me")).with("cookie", cookie)
    };
    shop.send(at("shop", &cookie)).await.is(200, "");
    shop.send(at("other", &cookie))
        .await
        .is(401, "unknown-caller");
    // Nor under any other name of a cookie.
    let others = shop
        .send(at("other", &format!("brakewright-00000000={session}")))
        .await;
    others.is(401, "unknown-caller");

    let described = shop.get("/api/v1/openapi.json").await.json();
    let paths = described["paths"].as_object().unwrap();
    assert!(paths.contains_key("/api/v1/sites/{site}/orders"));
    assert!(!paths.contains_key("/api/v1/orders"));
    let parameter = &paths["/api/v1/sites/{site}/orders"]["parameters"][0];
    assert_eq!(
        (&parameter["name"], &parameter["in"]),
        (&json!("site"), &json!("path"))
    );
}

/// Browsers leave the origin of a form out when the page asks for no referrer; they still say that it is
/// the same.
#[tokio::test]
async fn a_form_of_our_own_page_is_taken_also_without_its_origin() {
    let shop = Shop::new().await;
    shop.account("M-7", Role::Manager).await;
    let text = format!("account=M-7&password={}", PASSWORD.replace(' ', "+"));
    let form = Call::new("POST", "/sign-in")
        .text(&text)
        .with("content-type", "application/x-www-form-urlencoded")
        .with("origin", "null");
    shop.send(form.clone()).await.is(403, "forbidden");
    let own = form.clone().with("sec-fetch-site", "same-origin");
    assert_eq!(shop.send(own).await.status, StatusCode::SEE_OTHER);
    for other in ["cross-site", "same-site"] {
        let form = form.clone().with("sec-fetch-site", other);
        shop.send(form).await.is(403, "forbidden");
    }
    let page = shop.get("/sign-in").await;
    assert_eq!(page.header("referrer-policy"), "same-origin");
}

//! The board, and what every answer carries.

use crate::support::{Call, Shop, files};
use axum::http::header;
use serde_json::json;
use std::fmt::Write;
use workshop::Standing;

#[tokio::test]
async fn without_a_plan_the_program_lives_and_says_so() {
    let shop = Shop::new().await;
    assert_eq!(shop.get("/healthz").await.body, "ok");
    assert_eq!(shop.get("/readyz").await.body, "ready");
    let page = shop.get("/").await;
    assert!(page.body.contains("Bending can maim"));
    assert!(page.body.contains("No plan yet"));
    shop.get("/nowhere").await.is(404, "missing");
}

#[tokio::test]
async fn a_proposal_is_shown_as_one_and_a_published_plan_as_the_plan() {
    let shop = Shop::new().await;
    shop.propose().await;
    let page = shop.get("/").await;
    assert!(page.body.contains("No plan is published"), "{}", page.body);
    shop.publish().await;
    let page = shop.get("/").await;
    assert!(!page.body.contains("No plan is published"), "{}", page.body);
    for wanted in [
        "Tiny shop",
        "T-1",
        "the only brake",
        "Late orders",
        "By due date",
    ] {
        assert!(page.body.contains(wanted), "no {wanted:?} in {}", page.body);
    }
}

#[tokio::test]
async fn text_from_the_shop_cannot_become_a_script() {
    let attack = "<script>alert(1)</script><img src=x onerror=alert(2)>";
    let set = files(&[
        ("shop.toml", "Tiny shop", attack),
        ("brakes.toml", "the only brake", attack),
    ]);
    let shop = Shop::hosted(&set, |_| {}).await;
    shop.publish().await;
    shop.office.stand(Standing::Trouble(attack.to_owned()));
    let page = shop.get("/").await;
    assert!(!page.body.contains("<script>"), "{}", page.body);
    assert!(!page.body.contains("<img"), "{}", page.body);
    let inert = "&lt;script&gt;alert(1)&lt;/script&gt;&lt;img src=x onerror=alert(2)&gt;";
    // Title, heading and trouble; the brake's name is cut short in the chart.
    assert_eq!(page.body.matches(inert).count(), 3, "{}", page.body);
    assert!(page.body.matches("&lt;script&gt;al").count() >= 4);
}

#[tokio::test]
async fn every_answer_keeps_browsers_tame_and_has_a_number() {
    let shop = Shop::new().await;
    for path in [
        "/",
        "/board.css",
        "/sign-in",
        "/api/v1/orders",
        "/nowhere",
        "/metrics",
    ] {
        let answer = shop.get(path).await;
        let policy = answer.header("content-security-policy");
        assert!(
            policy.starts_with("default-src 'self';"),
            "{path}: {policy}"
        );
        assert_eq!(
            answer.headers[header::X_CONTENT_TYPE_OPTIONS],
            "nosniff",
            "{path}"
        );
        assert_eq!(answer.header("x-request-id").len(), 16, "{path}");
    }
    let named = Call::new("GET", "/healthz").with("x-request-id", "trial-7");
    assert_eq!(shop.send(named).await.header("x-request-id"), "trial-7");
    let odd = Call::new("GET", "/healthz").with("x-request-id", "a b<c>");
    assert_ne!(shop.send(odd).await.header("x-request-id"), "a b<c>");
    // The policy would block what stands inline, so none may.
    let page = shop.get("/").await.body;
    assert!(!page.contains("style=") && !page.contains("<style") && !page.contains("<script>"));
    assert!(
        shop.get("/board.css")
            .await
            .header("content-type")
            .starts_with("text/css")
    );
}

#[tokio::test]
async fn what_was_answered_is_counted() {
    let shop = Shop::new().await;
    shop.get("/api/v1/orders/T-1").await.is(200, "");
    shop.get("/api/v1/orders/T-2").await.is(200, "");
    shop.get("/nowhere").await.is(404, "missing");
    let text = shop.get("/metrics").await.body;
    let mut wanted = String::new();
    write!(
        wanted,
        "brakewright_requests_total{{site=\"shop\",method=\"GET\",route=\"/api/v1/orders/{{order}}\",status=\"200\"}} 2"
    )
    .unwrap();
    assert!(text.contains(&wanted), "{text}");
    assert!(text.contains("route=\"none\",status=\"404\"} 1"), "{text}");
    shop.propose().await;
    let quote = json!({"part": "A-1", "quantity": 10, "plays": 100});
    shop.send(Call::post("/api/v1/quotes", &quote))
        .await
        .is(200, "");
    shop.send(Call::new("POST", "/api/v1/plans/proposal"))
        .await
        .is(202, "");
    let text = shop.get("/metrics").await.body;
    for line in [
        "plan_jobs_asked_total{site=\"shop\"} 1",
        "plan_jobs_taken_total{site=\"shop\"} 0",
        "search_seconds_count{site=\"shop\"} 1",
        "search_seconds_bucket{site=\"shop\",le=\"+Inf\"} 1",
        "quote_seconds_count{site=\"shop\"} 1",
        "rush_plans_total{site=\"shop\"} 0",
    ] {
        let line = format!("brakewright_{line}");
        assert!(text.lines().any(|told| told == line), "{line}: {text}");
    }
    let events = shop.office.state().number;
    let wanted = format!("brakewright_events_total{{site=\"shop\"}} {events}");
    assert!(text.contains(&wanted), "{text}");
}

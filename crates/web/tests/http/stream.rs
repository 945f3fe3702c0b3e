//! Events as they happen.

use crate::support::{Call, Shop, files};
use axum::body::BodyDataStream;
use futures_util::StreamExt;
use serde_json::json;
use std::time::Duration;
use tower::ServiceExt;
use web::Role;

/// Longer than anything here takes on a slow machine.
const PATIENCE: Duration = Duration::from_secs(30);

struct Listener {
    body: BodyDataStream,
    text: String,
}

impl Listener {
    async fn new(shop: &Shop, call: Call) -> Listener {
        let response = shop.router.clone().oneshot(call.request()).await.unwrap();
        assert_eq!(response.status(), 200);
        assert_eq!(response.headers()["content-type"], "text/event-stream");
        Listener {
            body: response.into_body().into_data_stream(),
            text: String::new(),
        }
    }

    /// The next event; `None` when the stream has ended.
    async fn next(&mut self) -> Option<String> {
        loop {
            if let Some((event, rest)) = self.text.split_once("\n\n") {
                let (event, rest) = (event.to_owned(), rest.to_owned());
                self.text = rest;
                if event.starts_with(':') {
                    continue;
                }
                return Some(event);
            }
            let chunk = tokio::time::timeout(PATIENCE, self.body.next()).await;
            let chunk = chunk.expect("an event comes")?.unwrap();
            self.text.push_str(std::str::from_utf8(&chunk).unwrap());
        }
    }
}

fn withdraw(order: &str) -> Call {
    Call::post(
        "/api/v1/withdrawals",
        &json!({"orders": [order], "why": "test\nline"}),
    )
}

fn id(event: &str) -> u64 {
    let line = event.lines().find_map(|line| line.strip_prefix("id: "));
    line.unwrap().parse().unwrap()
}

#[tokio::test]
async fn a_reader_that_comes_again_misses_nothing() {
    let shop = Shop::new().await;
    let mut listener = Listener::new(&shop, Call::new("GET", "/api/v1/stream")).await;
    let plain = |order: &str| Call::post("/api/v1/withdrawals", &json!({"orders": [order]}));
    shop.send(plain("T-1")).await.is(200, "");
    let first = listener.next().await.unwrap();
    assert_eq!(id(&first), shop.office.state().number);
    assert!(first.contains("event: orders-withdrawn"), "{first}");
    let data = first
        .lines()
        .find_map(|line| line.strip_prefix("data: "))
        .unwrap();
    let data: serde_json::Value = serde_json::from_str(data).unwrap();
    assert_eq!(
        (&data["who"], &data["what"]["orders"][0]),
        (&json!("local"), &json!("T-1"))
    );
    drop(listener);

    shop.send(plain("T-2")).await.is(200, "");
    shop.send(plain("T-3")).await.is(200, "");
    let again = Call::new("GET", "/api/v1/stream").with("last-event-id", &id(&first).to_string());
    let mut listener = Listener::new(&shop, again).await;
    let (second, third) = (
        listener.next().await.unwrap(),
        listener.next().await.unwrap(),
    );
    assert_eq!((id(&second), id(&third)), (id(&first) + 1, id(&first) + 2));
    assert!(second.contains("T-2") && third.contains("T-3"));

    let odd = Call::new("GET", "/api/v1/stream").with("last-event-id", "x");
    shop.send(odd).await.is(400, "malformed");
    shop.send(withdraw("T-4")).await.is(422, "invalid");
}

#[tokio::test]
async fn a_stream_ends_after_its_time_and_with_its_access() {
    let short = |hosting: &mut web::Hosting| hosting.limits.stream = Duration::from_millis(300);
    let shop = Shop::hosted(&files(&[]), short).await;
    let mut listener = Listener::new(&shop, Call::new("GET", "/api/v1/stream")).await;
    assert_eq!(listener.next().await, None);

    let shop = Shop::new().await;
    let (manager, viewer) = (
        shop.token(Role::Manager).await,
        shop.token(Role::Viewer).await,
    );
    let stream = Call::new("GET", "/api/v1/stream").token(&viewer);
    let mut listener = Listener::new(&shop, stream).await;
    let disable = json!({"role": "viewer", "disabled": true});
    let disable = Call::put("/api/v1/accounts/viewer-1", &disable).token(&manager);
    shop.send(disable).await.is(200, "");
    let change = Call::post("/api/v1/withdrawals", &json!({"orders": ["T-1"]})).token(&manager);
    shop.send(change).await.is(200, "");
    assert_eq!(listener.next().await, None, "nothing more is told");
}

/// Beside what happens, a reader hears that a search has begun or ended; that has no number.
#[tokio::test]
async fn a_search_that_begins_or_ends_is_told_without_a_number() {
    let shop = Shop::new().await;
    let mut listener = Listener::new(&shop, Call::new("GET", "/api/v1/stream")).await;
    shop.office.stand(workshop::Standing::Planning);
    let told = listener.next().await.unwrap();
    assert_eq!(told, "event: standing\ndata: planning");
    let body = json!({"orders": ["T-6"], "why": "test"});
    let call = Call::post("/api/v1/withdrawals", &body);
    shop.send(call).await.is(200, "");
    let told = listener.next().await.unwrap();
    assert_eq!(id(&told), shop.office.state().number);
    assert!(told.contains("event: orders-withdrawn"), "{told}");
}

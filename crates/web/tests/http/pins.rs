//! Orders tied to a brake and a place, over HTTP.

use crate::support::{Answer, Call, Shop};
use serde_json::{Value, json};
use web::Role;

fn pin_path(order: &str) -> String {
    format!("/api/v1/orders/{order}/pin")
}

impl Shop {
    async fn version_of(&self, order: &str) -> u64 {
        self.get(&format!("/api/v1/orders/{order}")).await.version()
    }

    /// Pins an order on the version it has.
    async fn pin(&self, order: &str, place: Option<u32>) -> Answer {
        let mut body = json!({"brake": "B1"});
        if let Some(place) = place {
            body["place"] = json!(place);
        }
        let version = self.version_of(order).await;
        let call = Call::put(&pin_path(order), &body).if_match(version);
        self.send(call).await
    }

    async fn pin_of(&self, order: &str) -> Value {
        let told = self.get(&format!("/api/v1/orders/{order}")).await.json();
        told["pin"].clone()
    }

    /// The orders of the published plan's only brake, in order, those fixed before left out.
    async fn line(&self) -> Vec<String> {
        let plan = self.get("/api/v1/plans/published").await.json();
        let runs = plan["brakes"][0]["runs"].as_array().unwrap().clone();
        let loose = runs.iter().filter(|run| run["pinned"] == false);
        loose
            .map(|run| run["order"].as_str().unwrap().to_owned())
            .collect()
    }
}

#[tokio::test]
async fn a_manager_pins_orders_and_the_next_plan_follows() {
    let shop = Shop::new().await;
    shop.publish().await;
    assert_eq!(shop.pin_of("T-6").await, Value::Null);
    let before = shop.version_of("T-5").await;
    let answer = shop.pin("T-5", Some(1)).await;
    answer.is(200, "");
    assert_eq!(answer.version(), shop.version_of("T-5").await);
    assert!(answer.version() > before);
    assert!(shop.get("/api/v1/standing").await.json()["plan_wanted"] == true);
    // The one that had the place moves up, and so does its version.
    shop.pin("T-6", Some(1)).await.is(200, "");
    assert_eq!(shop.pin_of("T-6").await, json!({"brake": "B1", "place": 1}));
    assert_eq!(shop.pin_of("T-5").await, json!({"brake": "B1", "place": 2}));
    assert!(shop.version_of("T-5").await > answer.version());
    let listed = shop.get("/api/v1/orders").await.json();
    assert_eq!(listed["orders"][5]["pin"]["place"], 1);
    shop.publish().await;
    assert_eq!(shop.line().await[..2], ["T-6", "T-5"]);

    let version = shop.version_of("T-6").await;
    let gone = Call::new("DELETE", &pin_path("T-6")).if_match(version);
    let key = |call: Call| call.with("idempotency-key", "k-1");
    let first = shop.send(key(gone.clone())).await;
    first.is(200, "");
    let number = shop.office.state().number;
    let second = shop.send(key(gone)).await;
    assert_eq!((second.status, second.body), (first.status, first.body));
    assert_eq!(shop.office.state().number, number);
    assert_eq!(shop.pin_of("T-6").await, Value::Null);
    assert_eq!(shop.pin_of("T-5").await, json!({"brake": "B1", "place": 1}));
    shop.pin("T-5", None).await.is(200, "");
    assert_eq!(shop.pin_of("T-5").await, json!({"brake": "B1"}));
}

#[tokio::test]
async fn a_pin_is_decided_on_a_version_by_a_manager() {
    let shop = Shop::new().await;
    let pin = Call::put(&pin_path("T-2"), &json!({"brake": "B1", "place": 1}));
    shop.send(pin.clone()).await.is(428, "no-condition");
    let version = shop.version_of("T-2").await;
    let stale = pin.clone().if_match(version + 1);
    shop.send(stale).await.is(412, "stale");
    let gone = Call::new("DELETE", &pin_path("T-2"));
    shop.send(gone).await.is(428, "no-condition");
    let lead = shop.token(Role::Lead).await;
    let manager = shop.token(Role::Manager).await;
    let pin = pin.if_match(version);
    shop.send(pin.clone().token(&lead))
        .await
        .is(403, "forbidden");
    shop.send(pin.token(&manager)).await.is(200, "");
}

#[tokio::test]
async fn what_cannot_be_pinned_is_refused() {
    let shop = Shop::new().await;
    let version = shop.version_of("T-2").await;
    let put = |order: &str, body: Value| Call::put(&pin_path(order), &body).if_match(version);
    for (order, body, status, kind) in [
        ("T-2", json!({"brake": "B9"}), 404, "missing"),
        ("T-2", json!({"brake": "B1", "place": 0}), 422, "invalid"),
        ("T-2", json!({"brake": "B1", "place": 1000}), 422, "invalid"),
        ("T-2", json!({"brake": "B 1"}), 422, "invalid"),
        ("T-2", json!({"place": 1}), 422, "invalid"),
        ("T-2", json!({"brake": "B1", "at": 1}), 422, "invalid"),
    ] {
        let answer = shop.send(put(order, body)).await;
        answer.is(status, kind);
    }
    let nobody = Call::put(&pin_path("N-9"), &json!({"brake": "B1"})).new_thing();
    shop.send(nobody).await.is(404, "missing");
    // What is on a brake stays there.
    shop.publish().await;
    let runs = shop.get("/api/v1/plans/published").await.json()["brakes"][0]["runs"].clone();
    let (run, order) = (&runs[0]["run"], runs[0]["order"].as_str().unwrap());
    let start = Call::post("/api/v1/brakes/B1/run/start", &json!({"run": run}));
    shop.send(start).await.is(200, "");
    shop.pin(order, Some(1)).await.is(409, "not-now");
}

#[tokio::test]
async fn the_effect_of_a_pin_is_told_before_it_is_made() {
    let shop = Shop::new().await;
    shop.publish().await;
    let before = shop.office.state().number;
    let path = format!("{}/effect", pin_path("T-6"));
    let asked = json!({"brake": "B1", "place": 1});
    let told = shop.send(Call::post(&path, &asked)).await;
    told.is(200, "");
    let told = told.json();
    assert_eq!(told["orders"][0]["order"], "T-6");
    assert_eq!(told["orders"][0]["unplaced"], json!([]));
    // The order due last comes first: it is done sooner, and the others wait for it.
    let all = told["differences"]["orders"].as_array().unwrap().clone();
    let sooner = all.iter().find(|one| one["order"] == "T-6").unwrap();
    assert!(
        sooner["ends_later_seconds"].as_i64().unwrap() < 0,
        "{sooner}"
    );
    let later = all
        .iter()
        .filter(|one| one["ends_later_seconds"].as_i64() > Some(0));
    assert!(later.count() > 0, "{told}");
    let after = &told["differences"]["after"];
    assert!(after["objective"].as_i64() > told["differences"]["before"]["objective"].as_i64());
    assert_eq!(shop.office.state().number, before);
    assert_eq!(shop.pin_of("T-6").await, Value::Null);
    let nowhere = Call::post(&path, &json!({"brake": "B9"}));
    shop.send(nowhere).await.is(404, "missing");
}

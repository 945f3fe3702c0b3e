//! Dates with odds over HTTP: the same answer as of the command `quote`, and clear refusals.

use crate::support::{Answer, Call, Shop};
use serde_json::{Value, json};
use web::Role;

async fn ask(shop: &Shop, body: &Value) -> Answer {
    shop.send(Call::post("/api/v1/quotes", body)).await
}

fn described() -> Value {
    json!({"bends": 4, "length": "400", "width": "200", "thickness": "1 mm", "material": "S235",
           "quantity": 30, "plays": 400, "due": "2027-06-09T14:00"})
}

#[tokio::test]
async fn a_part_of_the_shop_gets_dates_with_odds_from_the_published_plan() {
    let shop = Shop::new().await;
    shop.publish().await;
    let before = shop.office.state().number;
    let part = json!({"part": "A-1", "quantity": 10, "plays": 400});
    let answer = ask(&shop, &part).await;
    answer.is(200, "");
    let quote = answer.json();
    assert_eq!(quote["format"], "brakewright.quote/1");
    assert_eq!(quote["into"], "plan-that-stands");
    assert_eq!(quote["invented"], true);
    assert_eq!(quote["part"]["described"], false);
    assert_eq!(quote["odds"]["plays"], 400);
    let by = quote["odds"]["by"].as_array().unwrap();
    let dates: Vec<&str> = by
        .iter()
        .map(|by| by["done_by"].as_str().unwrap())
        .collect();
    assert_eq!(dates.len(), 3);
    assert!(dates.is_sorted(), "surer is later: {dates:?}");
    let end = quote["place"]["end"].as_str().unwrap();
    assert!(quote["from"].as_str().unwrap() < end && end.ends_with("+02:00"));
    assert_eq!(ask(&shop, &part).await.body, answer.body, "the same again");
    assert_eq!(shop.office.state().number, before, "nothing is kept");
}

#[tokio::test]
async fn a_described_part_gets_what_was_assumed_and_the_odds_of_its_due_date() {
    let shop = Shop::new().await;
    shop.propose().await;
    let quote = ask(&shop, &described()).await;
    quote.is(200, "");
    let quote = quote.json();
    assert_eq!(quote["part"]["described"], true);
    assert!(quote["assumed"].as_array().unwrap().len() > 3);
    let odds = quote["odds"]["due"]["odds"].as_f64().unwrap();
    assert!((0.0..=1.0).contains(&odds));
    assert_eq!(quote["odds"]["due"]["moment"], "2027-06-09T14:00:00+02:00");
    let surer = {
        let mut later = described();
        later["due"] = json!("2027-06-30T14:00");
        ask(&shop, &later).await.json()["odds"]["due"]["odds"].clone()
    };
    assert!(surer.as_f64().unwrap() >= odds);
}

#[tokio::test]
async fn a_job_no_brake_can_bend_is_told_why() {
    let shop = Shop::new().await;
    shop.propose().await;
    let mut thick = described();
    thick["thickness"] = json!("20");
    let quote = ask(&shop, &thick).await;
    quote.is(200, "");
    assert_eq!(quote.json()["place"], Value::Null);
    assert_eq!(quote.json()["odds"], Value::Null);
    assert!(!quote.json()["refusals"].as_array().unwrap().is_empty());
}

#[tokio::test]
async fn before_there_is_a_plan_that_is_said() {
    let shop = Shop::new().await;
    let answer = ask(&shop, &json!({"part": "A-1", "quantity": 10})).await;
    answer.is(409, "not-now");
    assert!(answer.body.contains("proposal"), "{}", answer.body);
}

#[tokio::test]
async fn what_cannot_be_asked_is_refused_with_the_field() {
    let shop = Shop::new().await;
    shop.propose().await;
    let without = |field: &str| {
        let mut body = described();
        body.as_object_mut().unwrap().remove(field);
        body
    };
    let with = |field: &str, value: Value| {
        let mut body = described();
        body[field] = value;
        body
    };
    for (body, said) in [
        (json!({"part": "Z-9", "quantity": 10}), "Z-9"),
        (json!({"quantity": 10}), "describe"),
        (with("part", json!("A-1")), "not both"),
        (without("bends"), "bends"),
        (without("length"), "length"),
        (without("width"), "width"),
        (without("thickness"), "thickness"),
        (without("material"), "material"),
        (without("quantity"), "quantity"),
        (with("material", json!("gold")), "gold"),
        (with("thickness", json!("thin")), "thickness"),
        (with("thickness", json!("0")), "thickness"),
        (with("flange", json!("90")), "flanges"),
        (with("bends", json!(0)), "0"),
        (with("quantity", json!(0)), "0"),
        (with("weight", json!(100)), "100"),
        (with("plays", json!(99)), "99"),
        (with("due", json!("next week")), "due"),
        (with("ready", json!("2027-13-01")), "ready"),
        (with("colour", json!("red")), "colour"),
    ] {
        let answer = ask(&shop, &body).await;
        answer.is(422, "invalid");
        assert!(answer.body.contains(said), "{body}: {}", answer.body);
    }
}

#[tokio::test]
async fn estimators_and_managers_ask_and_no_one_else() {
    let shop = Shop::new().await;
    shop.propose().await;
    let body = json!({"part": "A-1", "quantity": 10, "plays": 100});
    for (role, status) in [
        (Role::Manager, 200),
        (Role::Estimator, 200),
        (Role::Lead, 403),
        (Role::Viewer, 403),
    ] {
        let token = shop.token(role).await;
        let call = Call::post("/api/v1/quotes", &body).token(&token);
        assert_eq!(shop.send(call).await.status, status, "{}", role.word());
    }
}

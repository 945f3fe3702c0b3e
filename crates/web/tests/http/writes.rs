//! Writes: versions, callers' keys, paging, and a day on the floor.

use crate::support::{Call, Shop, files};
use serde_json::{Value, json};
use web::Role;

fn order(quantity: u32) -> Value {
    let quantity = quantity.to_string();
    json!({"cells": {"part": "A-1", "quantity": quantity, "due": "2027-06-08"}})
}

#[tokio::test]
async fn two_people_who_change_an_order_get_one_winner() {
    let shop = Shop::new().await;
    let path = "/api/v1/orders/N-1";
    shop.send(Call::put(path, &order(5)))
        .await
        .is(428, "no-condition");
    let made = shop.send(Call::put(path, &order(5)).new_thing()).await;
    made.is(200, "");
    let read = shop.get(path).await;
    assert_eq!(read.version(), made.version());
    assert_eq!(
        (&read.json()["quantity"], &read.json()["status"]),
        (&json!(5), &json!("open"))
    );
    let again = shop.send(Call::put(path, &order(6)).new_thing()).await;
    again.is(412, "stale");

    let first = shop
        .send(Call::put(path, &order(7)).if_match(read.version()))
        .await;
    first.is(200, "");
    assert!(first.version() > read.version());
    let second = shop
        .send(Call::put(path, &order(8)).if_match(read.version()))
        .await;
    second.is(412, "stale");
    assert_eq!(second.json()["current"], first.version());
    assert_eq!(second.version(), first.version(), "the ETag says the same");
    assert_eq!(shop.get(path).await.json()["quantity"], 7);

    let same = shop
        .send(Call::put(path, &order(7)).if_match(first.version()))
        .await;
    assert_eq!(
        same.version(),
        first.version(),
        "nothing changed, nor did its version"
    );
    let both = Call::put(path, &order(9)).if_match(1).new_thing();
    shop.send(both).await.is(400, "malformed");
    let withdraw = Call::post("/api/v1/orders/N-1/withdraw", &json!({"why": "not wanted"}));
    shop.send(withdraw.clone()).await.is(428, "no-condition");
    shop.send(withdraw.if_match(first.version()))
        .await
        .is(200, "");
    assert_eq!(shop.get(path).await.json()["status"], "withdrawn");
}

#[tokio::test]
async fn a_request_sent_twice_with_its_key_is_done_once() {
    let shop = Shop::new().await;
    let before = shop.office.state().number;
    let call = Call::put("/api/v1/orders/N-1", &order(5))
        .new_thing()
        .with("idempotency-key", "k-1");
    let first = shop.send(call.clone()).await;
    first.is(200, "");
    let second = shop.send(call.clone()).await;
    second.is(200, "");
    assert_eq!(
        (second.body, second.headers.get("etag")),
        (first.body, first.headers.get("etag"))
    );
    assert_eq!(shop.office.state().number, before + 1);

    let other = Call::put("/api/v1/orders/N-1", &order(6)).new_thing();
    shop.send(other.with("idempotency-key", "k-1"))
        .await
        .is(422, "key-used");
    let odd = call.with("idempotency-key", "k 1");
    shop.send(odd).await.is(400, "malformed");

    // A key is its caller's own.
    let (lead, manager) = (
        shop.token(Role::Lead).await,
        shop.token(Role::Manager).await,
    );
    for (token, order_name) in [(lead, "N-2"), (manager, "N-3")] {
        let call = Call::put(&format!("/api/v1/orders/{order_name}"), &order(5)).new_thing();
        shop.send(call.token(&token).with("idempotency-key", "k-9"))
            .await
            .is(200, "");
    }
}

#[tokio::test]
async fn faulty_orders_come_back_with_findings_and_nothing_is_taken() {
    let shop = Shop::new().await;
    let before = shop.office.state().number;
    let orders = json!({"orders": [
        {"cells": {"order": "N-1", "part": "A-1", "quantity": "5", "due": "2027-06-08"}},
        {"cells": {"order": "N-2", "part": "<b>", "quantity": "many", "due": "2027-06-08"}},
    ]});
    let refused = shop.send(Call::post("/api/v1/orders", &orders)).await;
    refused.is(422, "invalid");
    let findings = refused.json()["findings"].clone();
    let of = |field: &str| {
        let found = findings
            .as_array()
            .unwrap()
            .iter()
            .find(|one| one["field"] == field);
        found.unwrap_or_else(|| panic!("{findings}")).clone()
    };
    let finding = of("quantity");
    assert_eq!(
        (&finding["file"], &finding["line"]),
        (&json!("request"), &json!(2))
    );
    assert!(!finding["action"].as_str().unwrap().is_empty());
    of("part");
    assert_eq!(shop.office.state().number, before);
    for (body, kind, status) in [
        ("{", "malformed", 400),
        ("{\"orders\": 1}", "invalid", 422),
        ("{\"orders\": [], \"more\": 1}", "invalid", 422),
        ("{\"orders\": []}", "invalid", 422),
    ] {
        let call = Call::post("/api/v1/orders", &json!({})).text(body);
        shop.send(call).await.is(status, kind);
    }
    let form = Call::post("/api/v1/orders", &orders).with("content-type", "text/plain");
    shop.send(form).await.is(415, "other-format");
}

#[tokio::test]
async fn lists_come_page_by_page_without_gaps() {
    let shop = Shop::new().await;
    let (mut seen, mut path) = (Vec::new(), "/api/v1/orders?limit=4".to_owned());
    loop {
        let page = shop.get(&path).await.json();
        let orders = page["orders"].as_array().unwrap();
        assert!(!orders.is_empty() && orders.len() <= 4);
        seen.extend(
            orders
                .iter()
                .map(|one| one["order"].as_str().unwrap().to_owned()),
        );
        match page["next"].as_str() {
            Some(next) => path = format!("/api/v1/orders?limit=4&after={next}"),
            None => break,
        }
    }
    let all = shop.office.state().order_lines().count();
    assert_eq!(seen.len(), all);
    seen.dedup();
    assert_eq!(seen.len(), all);
    let some = shop.get("/api/v1/orders?part=A-1").await.json();
    assert!(
        some["orders"]
            .as_array()
            .unwrap()
            .iter()
            .all(|one| one["part"] == "A-1")
    );
    for query in [
        "limit=0",
        "limit=1001",
        "limit=x",
        "colour=red",
        "status=lost",
    ] {
        shop.get(&format!("/api/v1/orders?{query}"))
            .await
            .is(400, "malformed");
    }

    let last = shop.office.state().number;
    let events = shop.get("/api/v1/events?limit=2").await.json();
    assert_eq!(
        (&events["last"], &events["events"][0]["number"]),
        (&json!(last), &json!(last))
    );
    let before = shop
        .get(&format!("/api/v1/events?before={last}&limit=1"))
        .await
        .json();
    assert_eq!(before["events"][0]["number"], last - 1);
    let after = shop.get("/api/v1/events?after=0&limit=1").await.json();
    assert_eq!(after["events"][0]["kind"], "shop-data-taken");
    let between = shop.get("/api/v1/events?after=0&before=2").await.json();
    assert_eq!(between["events"].as_array().unwrap().len(), 1);
}

#[tokio::test]
async fn a_proposal_becomes_the_plan_of_the_floor() {
    let shop = Shop::new().await;
    shop.get("/api/v1/plans/published").await.is(404, "missing");
    let plan = shop.propose().await;
    assert_eq!(
        shop.get("/api/v1/plans/proposal").await.header("x-plan"),
        plan.to_string()
    );
    let publish = Call::put("/api/v1/plans/published", &json!({"plan": plan}));
    shop.send(publish.clone()).await.is(428, "no-condition");
    let published = shop.send(publish.clone().new_thing()).await;
    published.is(200, "");
    shop.send(publish.if_match(9_999)).await.is(412, "stale");
    let read = shop.get("/api/v1/plans/published").await;
    assert_eq!(read.version(), published.version());
    assert_eq!(
        read.body,
        shop.get(&format!("/api/v1/plans/{plan}")).await.body
    );
}

#[tokio::test]
async fn a_run_is_reported_from_its_changeover_to_its_last_piece() {
    let shop = Shop::new().await;
    shop.publish().await;
    let read = shop.get("/api/v1/plans/published").await;
    let line = &read.json()["brakes"][0];
    let (brake, run) = (line["brake"].as_str().unwrap(), &line["runs"][0]);
    let (name, pieces) = (
        run["run"].as_str().or(run["name"].as_str()).unwrap(),
        &run["quantity"],
    );
    let sheet = shop
        .get(&format!("/api/v1/brakes/{brake}/changeovers/{name}"))
        .await
        .json();
    assert!(sheet["caution"].as_str().unwrap().contains("maim"));
    assert!(!sheet["steps"].as_array().unwrap().is_empty());

    let at = |what: &str| format!("/api/v1/brakes/{brake}/{what}");
    let named = json!({"run": name});
    let count = json!({"good": 1});
    shop.send(Call::post(&at("run/count"), &count))
        .await
        .is(409, "");
    shop.send(Call::post(&at("changeover/start"), &named))
        .await
        .is(200, "");
    let doing = shop.get(at("").trim_end_matches('/')).await;
    assert_eq!(doing.json()["work"]["doing"], "changing-over");
    let stale = Call::new("POST", &at("changeover/finish")).if_match(doing.version() + 1);
    shop.send(stale).await.is(412, "stale");
    let finish = Call::new("POST", &at("changeover/finish")).if_match(doing.version());
    shop.send(finish).await.is(200, "");
    shop.send(Call::post(&at("run/start"), &named))
        .await
        .is(200, "");
    shop.send(Call::post(&at("run/start"), &named))
        .await
        .is(409, "");
    shop.send(Call::post(&at("run/count"), &count))
        .await
        .is(200, "");
    shop.send(Call::post(
        &at("run/pause"),
        &json!({"why": "gauge finger loose"}),
    ))
    .await
    .is(200, "");
    let paused = shop.get("/api/v1/brakes").await.json();
    assert_eq!(paused["brakes"][0]["work"]["doing"], "paused");
    shop.send(Call::new("POST", &at("run/resume")))
        .await
        .is(200, "");
    shop.send(Call::post(&at("run/scrap"), &json!({"pieces": 1})))
        .await
        .is(200, "");
    let end = json!({"good": pieces, "scrap": 1});
    shop.send(Call::post(&at("run/finish"), &end))
        .await
        .is(200, "");
    let order = run["order"].as_str().unwrap();
    let done = shop.get(&format!("/api/v1/orders/{order}")).await.json();
    assert_eq!((&done["done"], &done["scrap"]), (pieces, &json!(1)));
}

#[tokio::test]
async fn a_brake_goes_down_and_comes_up() {
    let shop = Shop::new().await;
    let at = |what: &str| format!("/api/v1/brakes/B1/{what}");
    let down = json!({"until": "2027-06-07T12:00:00Z", "why": "ram drive"});
    shop.send(Call::post(&at("down"), &down)).await.is(200, "");
    let view = shop.get("/api/v1/brakes").await.json();
    assert_eq!(
        view["brakes"][0]["down"][0]["until"],
        "2027-06-07T12:00:00Z"
    );
    shop.send(Call::new("POST", &at("up"))).await.is(200, "");
    shop.send(Call::post("/api/v1/brakes/B9/down", &down))
        .await
        .is(404, "missing");
}

#[tokio::test]
async fn what_orders_would_cost_is_told_and_nothing_is_kept() {
    let shop = Shop::new().await;
    let before = shop.office.state().number;
    let rush = json!({"orders": [
        {"cells": {"order": "N-1", "part": "A-1", "quantity": "20", "due": "2027-06-07T07:00"}}]});
    let rush = shop.send(Call::post("/api/v1/rush", &rush)).await;
    rush.is(200, "");
    assert_eq!(rush.json()["orders"][0]["runs"][0]["quantity"], 20);
    assert!(
        rush.json()["differences"]["after"]["runs"]
            .as_u64()
            .unwrap()
            > 0
    );
    assert_eq!(shop.office.state().number, before);
}

#[tokio::test]
async fn two_plans_are_compared() {
    let shop = Shop::new().await;
    let first = shop.propose().await;
    shop.send(Call::put("/api/v1/orders/N-1", &order(5)).new_thing())
        .await
        .is(200, "");
    let second = shop.propose().await;
    let path = format!("/api/v1/plans/{first}/differences/{second}");
    let told = shop.get(&path).await.json();
    let new = told["orders"]
        .as_array()
        .unwrap()
        .iter()
        .find(|one| one["order"] == "N-1")
        .unwrap();
    assert_eq!(
        (&new["known_before"], &new["known_after"]),
        (&json!(false), &json!(true))
    );
    shop.get(&format!("/api/v1/plans/{first}/differences/99"))
        .await
        .is(404, "missing");
    let listed = shop.get("/api/v1/plans?limit=1").await.json();
    assert_eq!(listed["plans"][0]["plan"], second);
}

fn as_json(replace: &[(&str, &str, &str)]) -> Value {
    let set = files(replace);
    let text = |name: &str| String::from_utf8(set.get(name).unwrap().to_vec()).unwrap();
    let files: serde_json::Map<String, Value> = set
        .names()
        .map(|name| (name.to_owned(), json!(text(name))))
        .collect();
    json!({"files": files})
}

#[tokio::test]
async fn shop_data_are_taken_whole_or_not_at_all() {
    let shop = Shop::new().await;
    let read = shop.get("/api/v1/shop-data").await;
    let revision = read.version();
    let changed = as_json(&[("work-orders.csv", "T-1,A-1,20", "T-1,A-1,22")]);
    let put = Call::put("/api/v1/shop-data", &changed);
    shop.send(put.clone()).await.is(428, "no-condition");
    shop.send(put.clone().if_match(revision + 7))
        .await
        .is(412, "stale");
    let taken = shop.send(put.clone().if_match(revision)).await;
    taken.is(200, "");
    assert!(taken.version() > revision);
    assert_eq!(shop.get("/api/v1/orders/T-1").await.json()["quantity"], 22);
    // Sent again because the answer was lost.
    let again = shop.send(put.if_match(revision)).await;
    assert_eq!(again.body, taken.body);

    let faulty = as_json(&[("work-orders.csv", "T-1,A-1,20", "T-1,A-1,<b>")]);
    let refused = Call::put("/api/v1/shop-data", &faulty).if_match(taken.version());
    let refused = shop.send(refused).await;
    refused.is(422, "invalid");
    assert!(refused.body.contains("work-orders.csv"));
    let checked = shop
        .send(Call::post("/api/v1/shop-data/check", &faulty))
        .await;
    checked.is(200, "");
    assert_eq!(checked.json()["usable"], false);
    assert_eq!(
        shop.get("/api/v1/shop-data").await.version(),
        taken.version()
    );
    let file = shop.get("/api/v1/shop-data/work-orders.csv").await;
    assert!(file.body.contains("T-1,A-1,22"));
    assert!(file.header("content-type").starts_with("text/plain"));
    shop.get("/api/v1/shop-data/..%2Fshop.db")
        .await
        .is(404, "missing");
    let other = json!({"files": {"../evil": "x"}});
    shop.send(Call::post("/api/v1/shop-data/check", &other))
        .await
        .is(422, "invalid");
}

#[tokio::test]
async fn the_policy_goes_from_version_to_version() {
    let shop = Shop::new().await;
    let read = shop.get("/api/v1/policy").await;
    let new = json!({"publish_automatically": true, "steps": 100, "quiet_seconds": 5, "drift_seconds": 60});
    let put = Call::put("/api/v1/policy", &new);
    shop.send(put.clone()).await.is(428, "no-condition");
    shop.send(put.clone().if_match(read.version()))
        .await
        .is(200, "");
    shop.send(put.if_match(read.version()))
        .await
        .is(412, "stale");
    let read = shop.get("/api/v1/policy").await;
    assert_eq!(read.json(), new);
    let odd =
        json!({"publish_automatically": true, "steps": 0, "quiet_seconds": 5, "drift_seconds": 60});
    shop.send(Call::put("/api/v1/policy", &odd).if_match(read.version()))
        .await
        .is(422, "invalid");
}

#[tokio::test]
async fn sections_go_out_and_come_back() {
    let shop = Shop::new().await;
    let state = shop.office.state();
    let section = state.base().unwrap().shop().sections[0].id.to_string();
    let why = json!({"why": "chipped <i>edge</i>"});
    shop.send(Call::post(&format!("/api/v1/sections/{section}/out"), &why))
        .await
        .is(200, "");
    let out = shop.get("/api/v1/sections/out").await.json();
    assert_eq!(out["sections"][0]["section"], section);
    shop.send(Call::new(
        "POST",
        &format!("/api/v1/sections/{section}/back"),
    ))
    .await
    .is(200, "");
    shop.send(Call::post("/api/v1/sections/none/out", &why))
        .await
        .is(404, "missing");
}

#[tokio::test]
async fn paths_may_name_the_site() {
    let shop = Shop::new().await;
    shop.get("/api/v1/sites/shop/orders?limit=1")
        .await
        .is(200, "");
    shop.get("/api/v1/sites/other/orders")
        .await
        .is(404, "missing");
    shop.get("/api/v1/sites/shop").await.is(404, "missing");
    let put = Call::put("/api/v1/sites/shop/orders/N-1", &order(3)).new_thing();
    shop.send(put).await.is(200, "");
    let other = Call::new("TRACE", "/api/v1/orders");
    let refused = shop.send(other).await;
    refused.is(405, "other-method");
    assert!(
        refused.header("allow").contains("GET"),
        "{:?}",
        refused.headers
    );
}

//! Pinning on the manager's page, searches that go on, and two weeks of load.

use crate::support::{Call, Shop};
use serde_json::json;
use web::Role;
use workshop::Standing;

#[tokio::test]
async fn a_manager_finds_the_form_and_pinned_orders_are_marked() {
    let shop = Shop::new().await;
    shop.publish().await;
    let page = shop.get("/").await.body;
    assert!(page.contains("No order is pinned"), "{page}");
    assert!(
        page.contains("data-order=\"T-5\"") && page.contains("data-brake=\"B1\""),
        "{page}"
    );
    assert!(page.contains("aria-label=\"Pin T-5\""), "{page}");
    assert!(
        !page.contains("class=\"pin-mark\"></path></svg> <strong>"),
        "{page}"
    );
    let page = shop.get("/?pin=T-5&to=B1&place=2").await.body;
    for wanted in [
        "Tie order T-5 to a brake",
        "data-path=\"/api/v1/orders/T-5/pin/effect\"",
        "data-method=\"PUT\" data-path=\"/api/v1/orders/T-5/pin\"",
        "max=\"999\" value=\"2\"",
        "It is not pinned.",
    ] {
        assert!(page.contains(wanted), "no {wanted:?} in {page}");
    }
    assert!(!page.contains("Take the pin away"), "{page}");
    // The form says a version that the API takes.
    let (_, form) = page
        .split_once("data-path=\"/api/v1/orders/T-5/pin\" data-match=\"&quot;")
        .unwrap();
    let version: u64 = form.split('&').next().unwrap().parse().unwrap();
    let body = json!({ "brake": "B1", "place": 1 });
    let put = Call::put("/api/v1/orders/T-5/pin", &body).if_match(version);
    shop.send(put).await.is(200, "");
    let page = shop.get("/?pin=T-5").await.body;
    for wanted in [
        "It is pinned to <strong>B1</strong>, place <strong>1</strong>",
        "Take the pin away",
        "class=\"pin-mark\"",
        ", pinned to B1, place 1",
        "(pinned)",
        "Change the pin of T-5",
    ] {
        assert!(page.contains(wanted), "no {wanted:?} in {page}");
    }
    for (address, said) in [
        ("/?pin=T-99", "No such order"),
        ("/?pin=%3Cscript%3Ealert(1)%3C/script%3E", "No such order"),
        (
            "/?pin=T-5&to=%3Cscript%3E&place=%22%3E%3Cscript%3E",
            "Tie order T-5",
        ),
    ] {
        let page = shop.get(address).await.body;
        assert!(page.contains(said), "{address}");
        assert_eq!(page.matches("<script").count(), 1, "{address}");
    }
    for role in [Role::Viewer, Role::Lead] {
        let token = shop.token(role).await;
        let page = shop
            .send(Call::new("GET", "/?pin=T-5").token(&token))
            .await
            .body;
        assert!(page.contains("Pinned orders"), "{page}");
        for unwanted in ["Tie order", "data-order=", "Order to pin", ">pin</a>"] {
            assert!(!page.contains(unwanted), "{unwanted:?} for {role:?}");
        }
    }
}

#[tokio::test]
async fn a_search_says_since_when_it_goes_on() {
    let shop = Shop::new().await;
    shop.publish().await;
    shop.office.stand(Standing::Planning);
    shop.pass(90);
    let page = shop.get("/").await.body;
    assert!(page.contains("A proposal is being made since "), "{page}");
    assert!(page.contains("data-seconds=\"90\""), "{page}");
    // Said again it goes on; said otherwise it is over.
    shop.office.stand(Standing::Planning);
    assert!(shop.get("/").await.body.contains("data-seconds=\"90\""));
    shop.office.stand(Standing::UpToDate);
    assert!(!shop.get("/").await.body.contains("data-seconds"));
}

#[tokio::test]
async fn load_is_shown_for_two_weeks_and_what_is_not_planned_says_so() {
    let shop = Shop::new().await;
    shop.publish().await;
    let page = shop.get("/").await.body;
    let (_, load) = page.split_once("id=\"load\"").unwrap();
    let (load, _) = load.split_once("</section>").unwrap();
    let (_, table) = load.split_once("<table").unwrap();
    // The brake's column and fourteen days.
    assert_eq!(table.matches("scope=\"col\"").count(), 15, "{load}");
    assert!(
        table.contains("Tue 8 Jun") && table.contains("Mon 21 Jun"),
        "{load}"
    );
    assert!(
        table.contains(" h, not planned") && load.contains("The plan ends "),
        "{load}"
    );
    // What stands in the drawing stands in the table: hours of the first day, to a tenth.
    let plan = shop.get("/api/v1/plans/published").await.json();
    let runs = plan["brakes"][0]["runs"].as_array().unwrap();
    let run: i64 = runs
        .iter()
        .map(|run| run["run_seconds"].as_i64().unwrap_or(0))
        .sum();
    assert!(run > 0, "{}", runs[0]);
    let hours: f64 = table
        .split("<td>")
        .skip(1)
        .filter_map(|cell| cell.split(" of ").next()?.parse::<f64>().ok())
        .sum();
    assert!(hours > 0.0 && hours < 24.0, "{hours}");
}

//! The pages for people.

use crate::support::{Answer, Call, Shop, files};
use axum::http::header;
use documents::FileSet;
use serde_json::{Value, json};
use std::fmt::Write;
use std::path::Path;
use testkit::{Recipe, Sections, invent, write_folder};
use web::Role;

const ATTACK: &str = "<script>alert(1)</script>";

async fn post(shop: &Shop, path: &str, body: Value) -> Answer {
    shop.send(Call::post(path, &body)).await
}

/// The values of an attribute, in order.
fn attributes<'a>(page: &'a str, name: &str) -> Vec<&'a str> {
    let head = format!("{name}=\"");
    let after = page.split(head.as_str()).skip(1);
    after.filter_map(|rest| rest.split('"').next()).collect()
}

#[tokio::test]
async fn the_drawing_of_a_bed_has_the_plans_millimetres() {
    let shop = Shop::new().await;
    shop.publish().await;
    let plan = shop.get("/api/v1/plans/published").await.json();
    let runs = plan["brakes"][0]["runs"].as_array().unwrap();
    let mut drawn = 0;
    for run in runs {
        let name = run["run"].as_str().unwrap();
        let page = shop.get(&format!("/brakes/B1?run={name}")).await.body;
        let svg = page.split("<svg class=\"bed\"").nth(1).unwrap();
        let svg = svg.split("</svg>").next().unwrap();
        let view = attributes(svg, "viewBox")[0];
        let view: Vec<f64> = view.split(' ').map(|part| part.parse().unwrap()).collect();
        // The bed of the tiny shop's brake is 600 mm long.
        assert_eq!(view[..3], [0.0, 0.0, 600.0]);
        let number = |text: &str| text.parse::<f64>().unwrap();
        let (before, after) = svg.split_once(">After<").unwrap();
        let stations = |part: &str| -> Vec<(f64, f64)> {
            let groups = part.split("<g class=\"station\"").skip(1);
            groups
                .map(|group| {
                    let rect = group.split("<rect").nth(1).unwrap();
                    let (x, width) = (attributes(rect, "x")[0], attributes(rect, "width")[0]);
                    (number(x), number(width))
                })
                .collect()
        };
        let planned = |list: &Value| -> Vec<(f64, f64)> {
            let list = list.as_array().unwrap().iter();
            let place = |one: &Value| {
                let mm = |key: &str| one[key].as_f64().unwrap();
                (mm("left_mm"), mm("length_mm"))
            };
            list.map(place).collect()
        };
        assert_eq!(stations(after), planned(&run["bed"]), "{name}");
        let change = &run["changeover"];
        let mut stood = planned(&change["remove"]);
        stood.extend(planned(&change["keep"]));
        stood.sort_by(|a, b| a.0.total_cmp(&b.0));
        assert_eq!(stations(before), stood, "{name}");
        drawn += stations(after).len();
    }
    assert!(drawn >= 6, "{drawn}");
}

#[tokio::test]
async fn a_brakes_page_says_what_to_set_up_and_what_to_bend() {
    let shop = Shop::new().await;
    shop.publish().await;
    let page = shop.get("/brakes/B1").await.body;
    for wanted in [
        "Bending can maim",
        "Next changeover",
        "Goes on",
        "ST88-R1-120 over",
        "drawer P1",
        "Start changeover",
        "Start run",
        "Steps",
        "90°",
        "No cross section is known",
        "Problem: report the brake down",
    ] {
        assert!(page.contains(wanted), "no {wanted:?} in {page}");
    }
    let plan = shop.get("/api/v1/plans/published").await.json();
    let run = &plan["brakes"][0]["runs"][0];
    let bend = &run["bends"][0];
    let x = format!("X <strong>{:.2}</strong>", bend["x_mm"].as_f64().unwrap());
    assert!(page.contains(&x), "no {x} in {page}");
}

/// The ten parts say where their bend lines lie, so their sections can be drawn.
#[tokio::test]
async fn the_section_after_each_bend_is_drawn_without_a_style_of_its_own() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../tests/ten_parts");
    let set = workshop::read_folder(&folder).unwrap();
    let shop = Shop::hosted(&set, |_| {}).await;
    shop.publish().await;
    let plan = shop.get("/api/v1/plans/published").await.json();
    let mut drawn = 0;
    for line in plan["brakes"].as_array().unwrap() {
        let brake = line["brake"].as_str().unwrap();
        for run in line["runs"].as_array().unwrap() {
            let run = run["run"].as_str().unwrap();
            let page = shop.get(&format!("/brakes/{brake}?run={run}")).await.body;
            drawn += page.matches("class=\"section-sheet\"").count();
            assert!(!page.contains("<style"), "{page}");
        }
    }
    assert!(drawn > 10, "{drawn}");
}

/// Checks what the brake's page says, and what it does not.
async fn has(shop: &Shop, wanted: &[&str], unwanted: &[&str]) {
    let page = shop.get("/brakes/B1").await.body;
    for text in wanted {
        assert!(page.contains(text), "no {text:?} in {page}");
    }
    for text in unwanted {
        assert!(!page.contains(text), "{text:?} in {page}");
    }
}

/// What starts the plan's first run, and its order.
async fn first_run(shop: &Shop) -> (Value, String) {
    let plan = shop.get("/api/v1/plans/published").await.json();
    let run = &plan["brakes"][0]["runs"][0];
    let order = run["order"].as_str().unwrap().to_owned();
    (json!({ "run": run["run"] }), order)
}

#[tokio::test]
async fn the_buttons_of_a_brake_follow_what_it_does() {
    let shop = Shop::new().await;
    shop.publish().await;
    let (start, order) = first_run(&shop).await;
    post(&shop, "/api/v1/brakes/B1/changeover/start", start.clone())
        .await
        .is(200, "");
    has(
        &shop,
        &["Changeover done", "Changing over for"],
        &["Start changeover"],
    )
    .await;
    post(&shop, "/api/v1/brakes/B1/changeover/finish", json!({}))
        .await
        .is(200, "");
    has(
        &shop,
        &["The tools of this run stand on the bed", "Start run"],
        &["Start changeover"],
    )
    .await;
    post(&shop, "/api/v1/brakes/B1/run/start", start)
        .await
        .is(200, "");
    let bending = format!("Bending {order}");
    has(
        &shop,
        &[&bending, "Pause", "Count so far", "End short"],
        &["Go on"],
    )
    .await;
}

#[tokio::test]
async fn pauses_counts_and_a_brake_down_are_shown() {
    let shop = Shop::new().await;
    shop.publish().await;
    let (start, order) = first_run(&shop).await;
    post(&shop, "/api/v1/brakes/B1/run/start", start)
        .await
        .is(200, "");
    let why = json!({ "why": ATTACK });
    post(&shop, "/api/v1/brakes/B1/run/pause", why)
        .await
        .is(200, "");
    has(
        &shop,
        &["Go on", "is paused", "&lt;script&gt;"],
        &["<script>"],
    )
    .await;
    post(
        &shop,
        "/api/v1/brakes/B1/run/count",
        json!({ "good": 3, "scrap": 1 }),
    )
    .await
    .is(200, "");
    has(&shop, &["3 of ", "1 spoiled"], &[]).await;
    let wall = shop.get("/wall").await.body;
    assert!(wall.contains("Paused") && wall.contains(&order), "{wall}");
    assert!(!wall.contains("<script>"), "{wall}");
    post(
        &shop,
        "/api/v1/brakes/B1/run/finish",
        json!({ "good": 3, "scrap": 1, "short": true }),
    )
    .await
    .is(200, "");
    has(&shop, &["Nothing runs"], &["End short"]).await;
    let down = json!({ "until": "2027-06-07T20:00:00Z", "why": ATTACK });
    post(&shop, "/api/v1/brakes/B1/down", down)
        .await
        .is(200, "");
    has(
        &shop,
        &["Can be used again", "Down until", "&lt;script&gt;"],
        &["Start changeover", "<script>"],
    )
    .await;
}

/// Every form of a page says a path and a version that the API takes.
#[tokio::test]
async fn what_a_button_says_is_what_the_api_takes() {
    let shop = Shop::new().await;
    shop.publish().await;
    let page = shop.get("/brakes/B1").await.body;
    let form = page.split("<form class=\"send press\"").nth(1).unwrap();
    let path = attributes(form, "data-path")[0];
    assert_eq!(path, "/api/v1/brakes/B1/changeover/start");
    let body = attributes(form, "data-with")[0].replace("&quot;", "\"");
    let tag = attributes(form, "data-match")[0].replace("&quot;", "\"");
    let body: Value = serde_json::from_str(&body).unwrap();
    let call = Call::post(path, &body).with("if-match", &tag);
    shop.send(call.clone()).await.is(200, "");
    // The page is older than that now, and so is refused.
    shop.send(call).await.is(412, "stale");
}

#[tokio::test]
async fn a_proposal_stands_against_the_published_plan() {
    let shop = Shop::new().await;
    let first = shop.propose().await;
    let page = shop.get("/").await.body;
    assert!(
        page.contains(&format!("Publish proposal {first}")),
        "{page}"
    );
    assert!(page.contains("data-none"), "{page}");
    shop.publish().await;
    let order = json!({ "cells": { "part": "A-1", "quantity": "12", "due": "2027-06-07T07:30" } });
    let put = Call::put("/api/v1/orders/T-9", &order).new_thing();
    let put = shop.send(put).await;
    assert!(put.status.is_success(), "{}", put.body);
    let second = shop.propose().await;
    let page = shop.get("/").await.body;
    for wanted in [
        format!("Publish proposal {second}"),
        "1 order new in the plan".to_owned(),
        "Weighted late minutes".to_owned(),
        "Load against staffed hours".to_owned(),
    ] {
        assert!(page.contains(&wanted), "no {wanted:?} in {page}");
    }
    let version = shop.get("/api/v1/plans/published").await.version();
    assert!(
        page.contains(&format!("data-match=\"&quot;{version}&quot;\"")),
        "{page}"
    );
    let page = shop.get("/?plan=proposal").await.body;
    assert!(page.contains("The day below is the proposal"), "{page}");
}

#[tokio::test]
async fn the_search_finds_by_what_people_say_and_says_when_nothing_is_like_it() {
    let shop = Shop::new().await;
    shop.publish().await;
    let found = shop.get("/?q=thick+angle").await.body;
    assert!(found.contains("2 runs found"), "{found}");
    let none = shop.get("/?q=%3Cscript%3Ealert(1)%3C/script%3E").await.body;
    assert!(none.contains("No run of this plan is like that"), "{none}");
    assert!(!none.contains("<script>"), "{none}");
    let other = shop.get("/?day=2027-06-09").await.body;
    assert!(other.contains("Wed 9 Jun 2027"), "{other}");
    for odd in [
        "/?day=yesterday",
        "/?day=9999-99-99",
        "/?brake=B9",
        "/?q=a&q=b",
        "/?day=-262143-01-01",
        "/?day=%2B262142-12-31",
    ] {
        assert_eq!(shop.get(odd).await.status, 200, "{odd}");
    }
    let missing = shop.get("/brakes/B9").await;
    assert_eq!(missing.status, 404);
    assert!(missing.body.contains("No such brake"), "{}", missing.body);
}

#[tokio::test]
async fn who_may_not_write_sees_no_buttons_and_a_session_carries_its_word() {
    let shop = Shop::new().await;
    shop.publish().await;
    let viewer = shop.token(Role::Viewer).await;
    for path in ["/", "/brakes/B1"] {
        let page = shop.send(Call::new("GET", path).token(&viewer)).await.body;
        assert!(!page.contains("class=\"send"), "{page}");
    }
    for path in ["/wall", "/brakes/B1"] {
        let sent = shop.get(path).await;
        let to = format!("/sign-in?next={}", path.replace('/', "%2F"));
        assert_eq!(
            (sent.status.as_u16(), sent.header("location")),
            (303, to.as_str())
        );
    }
    shop.account("M-7", Role::Manager).await;
    let text = format!(
        "account=M-7&password={}",
        crate::support::PASSWORD.replace(' ', "+")
    );
    let sign_in = |next: &str| {
        Call::new("POST", &format!("/sign-in?next={next}"))
            .text(&text)
            .with("content-type", "application/x-www-form-urlencoded")
    };
    for (next, to) in [
        ("/brakes/B1", "/brakes/B1"),
        ("%2Fwall", "/wall"),
        ("//elsewhere.example", "/"),
        ("/brakes/../../x:y", "/"),
        ("https://elsewhere.example/", "/"),
    ] {
        let signed = shop.send(sign_in(next)).await;
        assert_eq!(
            (signed.status.as_u16(), signed.header("location")),
            (303, to),
            "{next}"
        );
    }
    let signed = shop.send(sign_in("/wall")).await;
    let cookie = signed.headers[header::SET_COOKIE].to_str().unwrap();
    let cookie = cookie.split(';').next().unwrap().to_owned();
    let page = shop
        .send(Call::new("GET", "/").with("cookie", &cookie))
        .await
        .body;
    let me = shop
        .send(Call::new("GET", "/api/v1/me").with("cookie", &cookie))
        .await
        .json();
    assert_eq!(me["csrf"].as_str().unwrap().len(), 64);
    let word = "<meta name=\"csrf\" content=\"";
    assert!(page.contains(word) && page.contains("Sign out"), "{page}");
}

#[tokio::test]
async fn pages_can_be_used_without_a_mouse_and_hold_nothing_inline() {
    let shop = Shop::new().await;
    shop.publish().await;
    for path in [
        "/",
        "/wall",
        "/brakes/B1",
        "/?pin=T-5",
        "/quote",
        "/quote?part=A-1&quantity=10",
    ] {
        let page = shop.get(path).await.body;
        for wanted in [
            "<html lang=\"en\">",
            "class=\"skip\" href=\"#main\"",
            "<main id=\"main\"",
            "<nav aria-label=",
            "<h1>",
        ] {
            assert!(page.contains(wanted), "no {wanted:?} in {path}");
        }
        for unwanted in [" style=", "<style", "<script>", " onclick=", "http-equiv"] {
            assert!(!page.contains(unwanted), "{unwanted:?} in {path}");
        }
        assert_eq!(page.matches("<script").count(), 1, "{path}");
        // Every field has a label, and every id is there once.
        let ids = attributes(&page, " id");
        for id in &ids {
            assert_eq!(
                ids.iter().filter(|other| *other == id).count(),
                1,
                "{id} in {path}"
            );
        }
        for label in attributes(&page, "<label for") {
            assert!(ids.contains(&label), "{label} in {path}");
        }
        for region in attributes(&page, "aria-labelledby") {
            assert!(ids.contains(&region), "{region} in {path}");
        }
        let outside = page.replace("http://www.w3.org/2000/svg", "");
        assert!(
            !outside.contains("http://") && !outside.contains("https://"),
            "{path}"
        );
    }
    let script = shop.get("/board.js").await;
    assert!(script.header("content-type").starts_with("text/javascript"));
    assert!(!script.body.contains("http://") && !script.body.contains("https://"));
    assert!(!script.body.contains("innerHTML"));
}

#[tokio::test]
async fn text_in_every_field_is_inert() {
    let mut set = files(&[
        ("shop.toml", "Tiny shop", ATTACK),
        ("brakes.toml", "the only brake", ATTACK),
        ("parts.csv", "thin angle with short legs", ATTACK),
        ("sections.csv", ",P1,", &format!(",{ATTACK},")),
        ("setups.csv", "A-1,B1,A-1,", &format!("A-1,B1,{ATTACK},")),
    ]);
    let orders = String::from_utf8(set.get("work-orders.csv").unwrap().to_vec()).unwrap();
    let mut with_references = String::new();
    for (index, line) in orders.lines().enumerate() {
        let end = if index == 0 {
            "reference,heat"
        } else {
            "<script>alert(1)</script>,<script>alert(1)</script>"
        };
        writeln!(with_references, "{line},{end}").unwrap();
    }
    set.insert("work-orders.csv", with_references.into_bytes());
    let shop = Shop::hosted(&set, |_| {}).await;
    shop.publish().await;
    let found = shop.get("/?q=script").await.body;
    assert!(found.contains("runs found"), "{found}");
    for path in [
        "/",
        "/wall",
        "/brakes/B1",
        "/?q=script",
        "/?pin=T-5",
        "/quote?part=A-1&quantity=10",
    ] {
        let page = shop.get(path).await.body;
        assert!(page.contains("&lt;script&gt;"), "{path}: {page}");
        assert!(!page.contains("<script>"), "{path}: {page}");
        assert_eq!(page.matches("<script").count(), 1, "{path}: {page}");
    }
}

/// A browser on a phone gets the page of a large plan in a second or two.
#[tokio::test]
async fn a_plan_of_a_thousand_orders_is_a_small_page() {
    let recipe = Recipe::bed(1_000, 0.0, Sections::Ample, 1);
    let mut set = FileSet::new();
    for (name, text) in write_folder(&invent(&recipe)) {
        set.insert(name, text.into_bytes());
    }
    let shop = Shop::hosted(&set, |_| {}).await;
    shop.pass(-crate::support::NOW);
    shop.pass(invent(&recipe).as_of.unwrap().0);
    let began = std::time::Instant::now();
    shop.publish().await;
    println!("planned in {:?}", began.elapsed());
    let began = std::time::Instant::now();
    let page = shop.get("/").await;
    let took = began.elapsed();
    assert_eq!(page.status, 200);
    let plan = shop.get("/api/v1/plans/published").await.json();
    let brakes = plan["brakes"].as_array().unwrap();
    let runs: usize = brakes
        .iter()
        .map(|brake| brake["runs"].as_array().unwrap().len())
        .sum();
    assert!(runs > 500, "{runs} runs");
    println!("page of {runs} runs: {} bytes in {took:?}", page.body.len());
    if let Ok(to) = std::env::var("PAGE_TO") {
        std::fs::write(to, &page.body).unwrap();
    }
    assert!(page.body.len() < 400_000, "{} bytes", page.body.len());
    let packed = Call::new("GET", "/").with("accept-encoding", "gzip");
    let (_, bytes) = crate::packed::raw(&shop, packed).await;
    println!("packed: {} bytes", bytes.len());
    assert_eq!(crate::packed::unpacked(&bytes), page.body);
    assert!(bytes.len() < 200_000, "{} bytes packed", bytes.len());
}

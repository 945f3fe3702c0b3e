//! The estimator's page.

use crate::support::{Call, Shop, files};
use web::Role;

const ATTACK: &str = "%3Cscript%3Ealert(1)%3C/script%3E%22%3E%3Cimg+src=x%3E";

#[tokio::test]
async fn a_question_in_the_address_is_answered_on_the_page_without_script() {
    let shop = Shop::new().await;
    let page = shop.get("/quote?part=A-1&quantity=10").await.body;
    assert!(page.contains("No answer."), "{page}");
    let number = shop.propose().await;
    let page = shop.get("/quote?part=A-1&quantity=10").await.body;
    assert!(page.contains("No plan is published"), "{page}");
    shop.publish().await;
    assert!(number > 0);
    let before = shop.office.state().number;
    let page = shop.get("/quote").await.body;
    assert!(page.contains("Nothing is kept of a question"), "{page}");
    let address = "/quote?part=A-1&quantity=10&due=2027-06-09T14:00&ready=&bends=&length=";
    let page = shop.get(address).await.body;
    for wanted in [
        "Bending can maim",
        "<th scope=\"row\">50 %</th>",
        "<th scope=\"row\">80 %</th>",
        "<th scope=\"row\">95 %</th>",
        "the end as planned",
        "as wished for",
        "Odds that bending is finished: 50 % by ",
        "Changeover",
        "The brake, both",
        "Who has to wait",
        "Can bend it",
        "What drives it",
        "Rush orders",
        "Price breaks",
        "10 (asked)",
        "value=\"A-1\"",
    ] {
        assert!(page.contains(wanted), "no {wanted:?} in {page}");
    }
    assert!(page.matches("class=\"marker\"").count() > 5);
    // The three dates are those of the API.
    let body = serde_json::json!({"part": "A-1", "quantity": 10, "due": "2027-06-09T14:00"});
    let told = shop.send(Call::post("/api/v1/quotes", &body)).await.json();
    for by in told["odds"]["by"].as_array().unwrap() {
        let time = &by["done_by"].as_str().unwrap()[11..16];
        assert!(
            page.contains(&format!("{time}</strong>")),
            "{time} in {page}"
        );
    }
    assert_eq!(shop.office.state().number, before, "nothing is kept");
}

#[tokio::test]
async fn a_description_says_what_was_assumed_and_takes_inches() {
    let shop = Shop::new().await;
    shop.publish().await;
    let described = "/quote?bends=4&length=400&width=200&thickness=1&material=S235&quantity=30";
    let page = shop.get(described).await.body;
    assert!(page.contains("Assumed, as there is no drawing"), "{page}");
    assert!(page.contains("S235 1 mm"), "{page}");
    let inches = "/quote?bends=4&length=15.7480315&width=7.8740157&thickness=0.0393701&material=S235&quantity=30";
    let call = Call::new("GET", inches).with("cookie", "brakewright-lengths=inch");
    let page = shop.send(call).await.body;
    assert!(page.contains("S235 0.039 in"), "{page}");
    assert!(page.contains("Thickness, in"), "{page}");
    // No brake can: every one says why.
    let thick = "/quote?bends=2&length=400&width=200&thickness=20&material=S235&quantity=3";
    let page = shop.get(thick).await.body;
    assert!(
        page.contains("No date") && page.contains("Cannot, and why"),
        "{page}"
    );
}

#[tokio::test]
async fn what_cannot_be_asked_is_said_and_nothing_typed_becomes_a_script() {
    let shop = Shop::new().await;
    shop.publish().await;
    for query in [
        "part=A-9&quantity=10".to_owned(),
        "part=A-1&quantity=many".to_owned(),
        "part=A-1&quantity=0".to_owned(),
        "part=A-1&bends=3&quantity=10".to_owned(),
        "quantity=10".to_owned(),
        format!("part={ATTACK}&quantity=1"),
        format!("part=A-1&quantity={ATTACK}"),
        format!("part=A-1&quantity=1&due={ATTACK}"),
        format!("bends=4&length={ATTACK}&width=2&thickness=1&material={ATTACK}&quantity=1"),
        format!("part={ATTACK}&ready={ATTACK}&flange={ATTACK}"),
    ] {
        let page = shop.get(&format!("/quote?{query}")).await;
        assert_eq!(page.status, 200, "{query}");
        let asked = query.contains("quantity=");
        assert_eq!(page.body.contains("No answer."), asked, "{query}");
        assert_eq!(page.body.matches("<script").count(), 1, "{query}");
        assert!(!page.body.contains("<img"), "{query}");
    }
    let attack = "<script>alert(1)</script>";
    let set = files(&[("parts.csv", "thin angle with short legs", attack)]);
    let shop = Shop::hosted(&set, |_| {}).await;
    shop.publish().await;
    let page = shop.get("/quote?part=A-1&quantity=10").await.body;
    assert!(page.contains("&lt;script&gt;"), "{page}");
    assert_eq!(page.matches("<script").count(), 1, "{page}");
}

#[tokio::test]
async fn estimators_and_managers_ask_and_other_sites_cannot_make_them() {
    let shop = Shop::new().await;
    shop.publish().await;
    let foreign =
        Call::new("GET", "/quote?part=A-1&quantity=10").with("sec-fetch-site", "cross-site");
    let page = shop.send(foreign).await.body;
    assert!(
        !page.contains("What drives it") && page.contains("value=\"A-1\""),
        "{page}"
    );
    for (role, may) in [
        (Role::Estimator, true),
        (Role::Manager, true),
        (Role::Lead, false),
        (Role::Viewer, false),
    ] {
        let token = shop.token(role).await;
        let page = shop.send(Call::new("GET", "/quote").token(&token)).await;
        assert_eq!(page.status == 200, may, "{role:?}");
        let desk = shop.send(Call::new("GET", "/").token(&token)).await.body;
        assert_eq!(desk.contains("href=\"/quote\""), may, "{role:?}");
    }
    let sent = shop.get("/quote").await;
    assert_eq!(sent.header("location"), "/sign-in?next=%2Fquote");
}

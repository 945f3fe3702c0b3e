//! Several sites in one daemon, and lengths as a reader wants them.

use crate::support::{Call, PASSWORD, Shop, files};
use axum::http::header;
use web::Role;

fn form(path: &str, text: &str) -> Call {
    Call::new("POST", path)
        .text(text)
        .with("content-type", "application/x-www-form-urlencoded")
}

/// The first shop's router, with both shops' sites.
async fn two() -> (Shop, Shop) {
    let east = Shop::named(
        "east",
        &files(&[("shop.toml", "Tiny shop", "East shop")]),
        |_| {},
    )
    .await;
    let office = east.office.clone();
    let west = Shop::named(
        "west bay",
        &files(&[("shop.toml", "Tiny shop", "West shop")]),
        |hosting| hosting.offices.push(office),
    )
    .await;
    east.publish().await;
    west.publish().await;
    (west, east)
}

async fn signed_in(shop: &Shop, path: &str, account: &str) -> String {
    let text = format!("account={account}&password={}", PASSWORD.replace(' ', "+"));
    let signed = shop.send(form(path, &text)).await;
    assert_eq!(signed.status, 303, "{}", signed.body);
    let cookie = signed.headers[header::SET_COOKIE].to_str().unwrap();
    cookie.split(';').next().unwrap().to_owned()
}

#[tokio::test]
async fn pages_of_a_site_lead_to_that_site_alone() {
    let (shop, _east) = two().await;
    for path in ["", "wall", "brakes/B1", "quote"] {
        let page = shop.get(&format!("/sites/west%20bay/{path}")).await;
        assert_eq!(page.status, 200, "{path}");
        let body = page.body;
        for name in ["href", "action", "src", "data-path"] {
            for part in body.split(&format!(" {name}=\"/")).skip(1) {
                let to = part.split('"').next().unwrap();
                let ours = to.starts_with("sites/west%20bay/")
                    || to.starts_with("api/v1/sites/west%20bay/")
                    || to == "sites/east/";
                assert!(ours, "{name} {to} in {path}");
            }
        }
        assert!(body.contains("data-head=\"/sites/west%20bay\""), "{path}");
    }
    let page = shop.get("/sites/west%20bay/").await.body;
    assert!(
        page.contains("West shop") && !page.contains("East shop"),
        "{page}"
    );
    let page = shop.get("/sites/east/").await.body;
    assert!(
        page.contains("East shop") && !page.contains("West shop"),
        "{page}"
    );
    assert!(page.contains("href=\"/sites/west%20bay/\""), "{page}");
}

#[tokio::test]
async fn who_may_not_see_a_site_is_not_told_of_it() {
    let (shop, east) = two().await;
    shop.account("M-7", Role::Manager).await;
    east.account("E-1", Role::Manager).await;
    let page = shop.get("/").await.body;
    assert!(page.contains("Which site?"), "{page}");
    assert!(!page.contains("east") && !page.contains("west"), "{page}");
    let sent = shop.get("/sites/east/wall").await;
    assert_eq!(sent.header("location"), "/sites/east/sign-in?next=%2Fwall");
    let page = shop.get("/sites/east/sign-in?next=%2Fwall").await.body;
    assert!(
        page.contains("action=\"/sites/east/sign-in?next="),
        "{page}"
    );
    let east_cookie = signed_in(&shop, "/sites/east/sign-in", "E-1").await;
    let with = |path: &str| Call::new("GET", path).with("cookie", &east_cookie);
    assert_eq!(shop.send(with("/sites/east/")).await.status, 200);
    // The session of one site opens no other.
    let other = shop.send(with("/sites/west%20bay/")).await;
    assert_eq!(other.header("location"), "/sites/west%20bay/sign-in");
    shop.send(with("/api/v1/sites/west%20bay/orders"))
        .await
        .is(401, "unknown-caller");
    let page = shop.send(with("/sites/east/")).await.body;
    assert!(!page.contains("west"), "{page}");
    let page = shop.send(with("/")).await.body;
    assert!(
        page.contains("/sites/east/") && !page.contains("west"),
        "{page}"
    );
    // Who may see both is offered both.
    let west_cookie = signed_in(&shop, "/sites/west%20bay/sign-in", "M-7").await;
    let both = format!("{east_cookie}; {west_cookie}");
    let page = shop
        .send(Call::new("GET", "/sites/east/wall").with("cookie", &both))
        .await;
    assert!(
        page.body.contains("href=\"/sites/west%20bay/\""),
        "{}",
        page.body
    );
}

#[tokio::test]
async fn a_site_is_found_by_its_name_and_none_is_made_up() {
    let (shop, _east) = two().await;
    let found = shop.get("/sites?site=west+bay").await;
    assert_eq!(found.header("location"), "/sites/west%20bay/");
    for path in [
        "/sites/north/",
        "/sites/north",
        "/sites?site=%3Cscript%3E",
        "/sites/a/b?c=d",
    ] {
        let page = shop.get(path).await;
        assert_eq!(page.status, 404, "{path}");
        assert!(page.body.contains("There is no such site"), "{path}");
        assert!(!page.body.contains("<script"), "{path}");
    }
    assert_eq!(shop.get("/sites/east/api/v1/orders").await.status, 404);
    // With one site nothing of this shows.
    let one = Shop::new().await;
    let page = one.get("/").await.body;
    assert!(
        !page.contains("/sites/") && !page.contains("aria-label=\"Sites\""),
        "{page}"
    );
    assert_eq!(one.get("/sites/shop/wall").await.status, 200);
}

#[tokio::test]
async fn lengths_are_in_inches_for_who_wants_them_and_never_in_the_api() {
    let shop = Shop::new().await;
    shop.publish().await;
    let chosen = form("/lengths", "lengths=inch&next=%2Fbrakes%2FB1%3Frun%3DB1-01");
    let answer = shop.send(chosen).await;
    assert_eq!(answer.header("location"), "/brakes/B1?run=B1-01");
    let cookie = answer
        .header("set-cookie")
        .split(';')
        .next()
        .unwrap()
        .to_owned();
    let inches = Call::new("GET", "/brakes/B1").with("cookie", &cookie);
    let page = shop.send(inches).await.body;
    // The bed of the tiny shop's brake is 600 mm long.
    for wanted in [
        "Bed of B1, 23.622 in",
        "Show lengths in millimetres",
        " in</strong>",
    ] {
        assert!(page.contains(wanted), "no {wanted:?} in {page}");
    }
    assert!(!page.contains(" mm"), "{page}");
    let plain = shop.get("/brakes/B1").await.body;
    assert!(plain.contains("Bed of B1, 600 mm") && plain.contains("Show lengths in inches"));
    let api = |call: Call| async { shop.send(call).await.body };
    let path = "/api/v1/plans/published";
    let with = api(Call::new("GET", path).with("cookie", &cookie)).await;
    assert_eq!(with, api(Call::new("GET", path)).await);
    // Back to a page of ours, or to the first.
    for next in [
        "https%3A%2F%2Felsewhere.example",
        "%2F%2Felsewhere.example",
        "%2Fapi%2Fv1%2Fme",
    ] {
        let answer = shop
            .send(form("/lengths", &format!("lengths=mm&next={next}")))
            .await;
        assert_eq!(answer.header("location"), "/", "{next}");
    }
    let foreign = form("/lengths", "lengths=inch").with("sec-fetch-site", "cross-site");
    shop.send(foreign).await.is(403, "forbidden");
}

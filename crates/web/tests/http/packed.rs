//! Compressed answers, and what keeps their length from telling secrets.

use crate::support::{Call, PASSWORD, Shop, files};
use axum::body::to_bytes;
use axum::http::HeaderMap;
use serde_json::json;
use tower::ServiceExt;
use web::Role;

/// The headers and the bytes as they go over the line.
pub(crate) async fn raw(shop: &Shop, call: Call) -> (HeaderMap, Vec<u8>) {
    let response = shop.router.clone().oneshot(call.request()).await.unwrap();
    let (parts, body) = response.into_parts();
    (
        parts.headers,
        to_bytes(body, usize::MAX).await.unwrap().to_vec(),
    )
}

/// A gzip file without a name or extra fields (RFC 1952): 10 bytes before, 8 after.
pub(crate) fn unpacked(bytes: &[u8]) -> String {
    assert_eq!(bytes[..4], [0x1f, 0x8b, 8, 0]);
    let inside = &bytes[10..bytes.len() - 8];
    String::from_utf8(miniz_oxide::inflate::decompress_to_vec(inside).unwrap()).unwrap()
}

fn gzip(path: &str) -> Call {
    Call::new("GET", path).with("accept-encoding", "gzip")
}

#[tokio::test]
async fn pages_and_json_are_packed_for_whoever_takes_it() {
    let shop = Shop::new().await;
    shop.publish().await;
    for path in ["/", "/board.css", "/board.js", "/api/v1/plans/published"] {
        let plain = shop.get(path).await;
        assert_eq!(plain.header("content-encoding"), "", "{path}");
        let (headers, bytes) = raw(&shop, gzip(path)).await;
        assert_eq!(headers["content-encoding"], "gzip", "{path}");
        assert_eq!(headers["vary"], "accept-encoding", "{path}");
        assert!(bytes.len() * 2 < plain.body.len(), "{path}");
        assert_eq!(unpacked(&bytes), plain.body, "{path}");
    }
    // A few bytes, a PDF, and the stream, which must not wait to be packed.
    for path in [
        "/healthz",
        "/api/v1/plans/published/paper?brake=B1",
        "/api/v1/stream",
    ] {
        let response = shop.router.clone().oneshot(gzip(path).request()).await;
        let response = response.unwrap();
        assert_eq!(response.status(), 200, "{path}");
        assert!(
            !response.headers().contains_key("content-encoding"),
            "{path}"
        );
    }
}

/// A page that shows what was asked for beside a secret must not let its length tell the secret.
#[tokio::test]
async fn the_length_of_a_page_tells_nothing_to_other_sites() {
    let shop = Shop::new().await;
    shop.publish().await;
    for from in ["cross-site", "same-site"] {
        let call = gzip("/?q=guess").with("sec-fetch-site", from);
        let (headers, _) = raw(&shop, call).await;
        assert!(!headers.contains_key("content-encoding"), "{from}");
    }
    for from in ["same-origin", "none"] {
        let call = gzip("/?q=guess").with("sec-fetch-site", from);
        let (headers, _) = raw(&shop, call).await;
        assert_eq!(headers["content-encoding"], "gzip", "{from}");
    }
    // The word that writes carry has other digits on each page, and each of them is taken.
    shop.account("M-7", Role::Manager).await;
    let body = json!({ "account": "M-7", "password": PASSWORD });
    let signed = shop.send(Call::post("/api/v1/session", &body)).await;
    let cookie = signed.header("set-cookie").split(';').next().unwrap();
    let word = signed.json()["csrf"].as_str().unwrap().to_owned();
    let mut seen = Vec::new();
    for _ in 0..2 {
        let page = shop
            .send(Call::new("GET", "/").with("cookie", cookie))
            .await;
        assert!(!page.body.contains(&word));
        let (_, rest) = page
            .body
            .split_once("<meta name=\"csrf\" content=\"")
            .unwrap();
        let masked = rest.split('"').next().unwrap().to_owned();
        let call = Call::post("/api/v1/plans/proposal", &json!({}))
            .with("cookie", cookie)
            .with("x-csrf-token", &masked);
        shop.send(call.clone()).await.is(202, "");
        let last = if masked.ends_with('0') { "1" } else { "0" };
        let forged = format!("{}{last}", &masked[..masked.len() - 1]);
        let call = call.with("x-csrf-token", &forged);
        shop.send(call).await.is(403, "forbidden");
        seen.push(masked);
    }
    assert_ne!(seen[0], seen[1]);
}

#[tokio::test]
async fn a_plan_can_be_had_on_paper_by_who_works_with_it() {
    let set = files(&[("shop.toml", "Tiny shop", "<script>alert(1)</script>")]);
    let shop = Shop::hosted(&set, |_| {}).await;
    let nothing = shop.get("/api/v1/plans/published/paper").await;
    nothing.is(404, "missing");
    let number = shop.publish().await;
    let plan = shop.get("/api/v1/plans/published").await.json();
    let run = plan["brakes"][0]["runs"][0]["run"].as_str().unwrap();
    for (query, size) in [
        ("", "595"),
        ("?size=letter", "612"),
        ("?brake=B1&days=1", "595"),
        (&format!("?brake=B1&run={run}&size=letter"), "612"),
    ] {
        for which in ["published", "proposal", &number.to_string()] {
            let path = format!("/api/v1/plans/{which}/paper{query}");
            let (headers, bytes) = raw(&shop, Call::new("GET", &path)).await;
            assert_eq!(headers["content-type"], "application/pdf", "{path}");
            let name = headers["content-disposition"].to_str().unwrap();
            assert!(name.starts_with("inline; filename=\"plan-1"), "{name}");
            assert!(bytes.starts_with(b"%PDF-"), "{path}");
            let box_of = format!("/MediaBox [0 0 {size}");
            let text = String::from_utf8_lossy(&bytes);
            assert!(text.contains(&box_of), "no {box_of} in {path}");
        }
    }
    for (query, status, kind) in [
        ("?brake=B9", 404, "missing"),
        ("?brake=B1&run=B1-99", 404, "missing"),
        ("?run=B1-01", 422, "invalid"),
        ("?size=a3", 400, "malformed"),
        ("?days=99", 400, "malformed"),
    ] {
        let path = format!("/api/v1/plans/published/paper{query}");
        shop.get(&path).await.is(status, kind);
    }
    shop.get("/api/v1/plans/77/paper").await.is(404, "missing");
    let page = shop.get("/brakes/B1").await.body;
    let link = format!("/api/v1/plans/{number}/paper?brake=B1&amp;size=letter");
    assert!(page.contains(&link), "no {link} in {page}");
    let viewer = shop.token(Role::Viewer).await;
    let page = shop.send(Call::new("GET", "/").token(&viewer)).await.body;
    assert!(!page.contains("/paper?"), "{page}");
}

#[tokio::test]
async fn the_mark_in_the_tab_is_there_on_every_page() {
    let shop = Shop::new().await;
    let mark = shop.get("/favicon.svg").await;
    assert_eq!(mark.header("content-type"), "image/svg+xml");
    for path in ["/", "/wall", "/brakes/B1", "/quote", "/sign-in", "/sites"] {
        let page = shop.get(path).await.body;
        assert!(page.contains("href=\"/favicon.svg\""), "{path}");
    }
}

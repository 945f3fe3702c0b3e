//! The board's routes, called without a socket, on plans made from the tiny shop.

// The settings for tests reach functions marked as tests, not the helpers they share.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

use axum::body::{Body, to_bytes};
use axum::http::{HeaderMap, Request, StatusCode, header};
use documents::FileSet;
use std::fmt::Write;
use std::path::Path;
use std::sync::Arc;
use std::sync::atomic::AtomicBool;
use tower::ServiceExt;
use units::Moment;
use web::{BoardState, Current, Standing, router};
use workshop::{Budget, PlanAsk, check_files, default_from, make_plan, read_folder};

/// The tiny shop with some of its text replaced.
fn files(replace: &[(&str, &str, &str)]) -> FileSet {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../tests/tiny-shop");
    let mut files = read_folder(&folder).unwrap();
    for (file, from, to) in replace {
        let text = String::from_utf8(files.get(file).unwrap().to_vec()).unwrap();
        assert!(text.contains(from), "{file} has no {from:?}");
        files.insert(file, text.replace(from, to).into_bytes());
    }
    files
}

/// A board with the plan of these files on it, and the plan's text.
fn board(files: &FileSet) -> (BoardState, String) {
    let checked = check_files(files);
    let shop = checked
        .shop
        .unwrap_or_else(|| panic!("{:?}", checked.findings));
    let ask = PlanAsk {
        from: default_from(&shop, Moment(0)),
        seed: 1,
        budget: Budget::Steps(50),
    };
    let plan = make_plan(&shop, ask, None, &AtomicBool::new(false), &mut ())
        .unwrap()
        .plan;
    let json = documents::write_plan(&plan, &shop);
    let state = BoardState::new();
    let current = Current::new(
        Arc::new(shop),
        plan,
        json.clone(),
        12,
        Moment(1_812_344_400),
    );
    state.publish(current.unwrap());
    state.report(checked.findings);
    state.stand(Standing::UpToDate);
    (state, json)
}

struct Answer {
    status: StatusCode,
    headers: HeaderMap,
    body: String,
}

impl Answer {
    fn kind(&self) -> &str {
        self.headers[header::CONTENT_TYPE].to_str().unwrap()
    }
}

async fn ask(state: &BoardState, request: Request<Body>) -> Answer {
    let response = router(state.clone()).oneshot(request).await.unwrap();
    let (parts, body) = response.into_parts();
    let bytes = to_bytes(body, usize::MAX).await.unwrap();
    Answer {
        status: parts.status,
        headers: parts.headers,
        body: String::from_utf8(bytes.to_vec()).unwrap(),
    }
}

async fn get(state: &BoardState, path: &str) -> Answer {
    let request = Request::get(path).header(header::HOST, "127.0.0.1:7000");
    ask(state, request.body(Body::empty()).unwrap()).await
}

#[tokio::test]
async fn without_a_plan_the_program_lives_but_is_not_ready() {
    let state = BoardState::new();
    let health = get(&state, "/healthz").await;
    assert_eq!(
        (health.status, health.body.as_str()),
        (StatusCode::OK, "ok")
    );
    let ready = get(&state, "/readyz").await;
    assert_eq!(ready.status, StatusCode::SERVICE_UNAVAILABLE);
    let plan = get(&state, "/api/v1/plan").await;
    assert_eq!(plan.status, StatusCode::NOT_FOUND);
    assert_eq!(plan.kind(), "application/problem+json");
    let problem: serde_json::Value = serde_json::from_str(&plan.body).unwrap();
    assert_eq!(problem["status"], 404);
    let page = get(&state, "/").await;
    assert_eq!(page.status, StatusCode::OK);
    assert!(page.body.contains("Bending can maim"));
    assert!(page.body.contains("has not been read yet"));
}

#[tokio::test]
async fn a_plan_is_handed_out_as_it_was_written() {
    let (state, json) = board(&files(&[]));
    assert_eq!(get(&state, "/readyz").await.status, StatusCode::OK);
    let plan = get(&state, "/api/v1/plan").await;
    assert_eq!(plan.status, StatusCode::OK);
    assert_eq!(plan.kind(), "application/json");
    assert_eq!(plan.body, json);
}

#[tokio::test]
async fn the_page_holds_every_run_the_totals_and_the_caution() {
    let (state, json) = board(&files(&[]));
    let page = get(&state, "/").await;
    assert_eq!(page.kind(), "text/html; charset=utf-8");
    let plan: serde_json::Value = serde_json::from_str(&json).unwrap();
    let runs = plan["brakes"][0]["runs"].as_array().unwrap();
    assert_eq!(runs.len(), 6);
    let mut at = 0;
    for run in runs {
        let order = format!("<td>{}</td>", run["order"].as_str().unwrap());
        let found = page.body[at..].find(&order);
        at += found.unwrap_or_else(|| panic!("{order} is missing or out of order"));
    }
    for text in [
        "Tiny shop",
        "thin angle with short legs",
        "By due date",
        "Grouped by die",
        "Bending can maim",
        "revision 12 of the shop folder",
        // The first change puts one station on the empty bed; 15 minutes by the shop's own sum.
        "<td>15</td><td>0 / 0 / 1</td>",
    ] {
        assert!(page.body.contains(text), "no {text:?} in {}", page.body);
    }
}

#[tokio::test]
async fn orders_without_a_place_are_shown_with_their_reasons() {
    let too_long = [("bends.csv", "C-2,1,90,480,60", "C-2,1,90,560,60")];
    let (state, json) = board(&files(&too_long));
    let plan: serde_json::Value = serde_json::from_str(&json).unwrap();
    let reason = plan["unplaced"][0]["reasons"][0]["text"].as_str().unwrap();
    let page = get(&state, "/").await;
    assert!(
        page.body.contains("<h3>T-6, 25 pieces</h3>"),
        "{}",
        page.body
    );
    let mut escaped = String::new();
    maud::Escaper::new(&mut escaped).write_str(reason).unwrap();
    assert!(
        page.body.contains(&escaped),
        "no {escaped:?} in {}",
        page.body
    );
}

#[tokio::test]
async fn text_from_the_shop_is_inert() {
    let attack = "<script>alert(1)</script><img src=x onerror=alert(2)>'&";
    let (state, _) = board(&files(&[
        ("shop.toml", "\"Tiny shop\"", &format!("\"{attack}\"")),
        (
            "brakes.toml",
            "\"the only brake\"",
            &format!("\"{attack}\""),
        ),
        ("parts.csv", "thin angle with short legs", attack),
    ]));
    state.stand(Standing::Trouble(attack.to_owned()));
    let page = get(&state, "/").await;
    assert!(!page.body.contains("<script"), "{}", page.body);
    assert!(!page.body.contains("<img"), "{}", page.body);
    let inert = "&lt;script&gt;alert(1)&lt;/script&gt;&lt;img src=x onerror=alert(2)&gt;";
    // Title, heading, brake, part and trouble.
    assert_eq!(page.body.matches(inert).count(), 5, "{}", page.body);
}

#[tokio::test]
async fn findings_are_shown_escaped_and_as_data() {
    let attack = "<b onclick=alert(1)>";
    let faulty = files(&[(
        "work-orders.csv",
        "T-1,A-1,20",
        &format!("T-1,A-1,{attack}"),
    )]);
    let checked = check_files(&faulty);
    assert!(checked.shop.is_none());
    let (state, json) = board(&files(&[]));
    state.report(checked.findings);
    state.stand(Standing::Faults);

    let page = get(&state, "/").await;
    assert!(!page.body.contains("<b onclick"), "{}", page.body);
    assert!(
        page.body.contains("work-orders.csv:2:quantity"),
        "{}",
        page.body
    );
    assert!(page.body.contains("this plan is from before"));
    let findings = get(&state, "/api/v1/findings").await;
    let findings: serde_json::Value = serde_json::from_str(&findings.body).unwrap();
    assert_eq!(findings["standing"], "faults");
    let all = findings["findings"].as_array().unwrap();
    let errors: Vec<_> = all
        .iter()
        .filter(|one| one["severity"] == "error")
        .collect();
    assert_eq!(errors.len(), 1, "{all:?}");
    assert_eq!(
        (&errors[0]["line"], &errors[0]["field"]),
        (&2.into(), &"quantity".into())
    );
    // The last good plan stays up.
    assert_eq!(get(&state, "/api/v1/plan").await.body, json);
}

#[tokio::test]
async fn every_answer_keeps_browsers_tame() {
    let (state, _) = board(&files(&[]));
    for path in [
        "/",
        "/board.css",
        "/api/v1/plan",
        "/api/v1/findings",
        "/nowhere",
    ] {
        let answer = get(&state, path).await;
        let policy = answer.headers[header::CONTENT_SECURITY_POLICY]
            .to_str()
            .unwrap();
        assert!(
            policy.starts_with("default-src 'self';"),
            "{path}: {policy}"
        );
        assert_eq!(
            answer.headers[header::X_CONTENT_TYPE_OPTIONS],
            "nosniff",
            "{path}"
        );
    }
    // The policy would block what stands inline, so none may.
    let page = get(&state, "/").await.body;
    assert!(!page.contains("style=") && !page.contains("<style") && !page.contains("<script"));
    assert!(
        get(&state, "/board.css")
            .await
            .kind()
            .starts_with("text/css")
    );
}

#[tokio::test]
async fn other_hosts_and_other_methods_are_refused() {
    let (state, _) = board(&files(&[]));
    let elsewhere = Request::get("/api/v1/plan").header(header::HOST, "board.example:7000");
    let answer = ask(&state, elsewhere.body(Body::empty()).unwrap()).await;
    assert_eq!(answer.status, StatusCode::MISDIRECTED_REQUEST);
    assert!(!answer.body.contains("Tiny shop"));
    assert!(answer.headers.contains_key(header::CONTENT_SECURITY_POLICY));

    let post = Request::post("/api/v1/plan").header(header::HOST, "localhost");
    let answer = ask(&state, post.body(Body::empty()).unwrap()).await;
    assert_eq!(answer.status, StatusCode::METHOD_NOT_ALLOWED);
    assert_eq!(answer.kind(), "application/problem+json");
    assert_eq!(
        get(&state, "/nowhere").await.kind(),
        "application/problem+json"
    );
}

#[test]
fn a_plan_the_audit_has_not_accepted_cannot_be_put_up() {
    let (state, json) = board(&files(&[]));
    drop(state);
    let shop = Arc::new(check_files(&files(&[])).shop.unwrap());
    let mut plan = documents::read_plan("plan.json", json.as_bytes(), &shop).unwrap();
    assert!(plan.verified);
    assert!(Current::new(Arc::clone(&shop), plan.clone(), json.clone(), 1, Moment(0)).is_some());
    plan.verified = false;
    assert!(Current::new(shop, plan, json, 1, Moment(0)).is_none());
}

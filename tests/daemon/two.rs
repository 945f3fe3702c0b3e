//! Two daemons on one PostgreSQL database.

use super::client::ask;
use super::server::Server;
use crate::program::Scratch;
use serde_json::json;
use std::thread::{scope, sleep};
use std::time::{Duration, Instant};

/// How long a daemon that died may keep a job, and then some.
const PATIENCE: Duration = Duration::from_secs(90);

const CLOCK: &str = "2027-06-04T15:30:00+02:00";

fn published(server: &Server) -> (u64, String) {
    let reply = server.get("/api/v1/plans/published");
    let standing = server.get("/api/v1/standing").json();
    let plan = standing["published"].as_u64().unwrap_or(0);
    (plan, reply.header("etag").unwrap_or_default().to_owned())
}

fn proposal_after(server: &Server, plan: u64) -> u64 {
    let began = Instant::now();
    loop {
        let standing = server.get("/api/v1/standing").json();
        if let Some(number) = standing["proposal"].as_u64()
            && number > plan
        {
            return number;
        }
        assert!(
            began.elapsed() < PATIENCE,
            "no proposal after {plan}: {standing}"
        );
        sleep(Duration::from_millis(50));
    }
}

fn put_order(server: &Server, order: &str) {
    let body = json!({"cells": {"part": "A-1", "quantity": "5", "due": "2027-06-08T12:00"}});
    let path = format!("/api/v1/orders/{order}");
    let headers = [("If-None-Match", "*")];
    let reply = ask(&server.address, "PUT", &path, &headers, &body.to_string()).unwrap();
    assert_eq!(reply.status, 200, "{}", reply.body);
}

/// Of two who publish at once through two daemons one wins and the other is told; and what one daemon
/// is told the other knows.
#[test]
fn of_two_who_publish_one_wins() {
    let scratch = Scratch::new();
    let database = scratch::Database::postgres().expect("a PostgreSQL server");
    let shop = scratch.copy_of("tests/tiny-shop");
    let common = ["--db", database.url(), "--clock", CLOCK, "--seconds", "1"];
    let mut args = vec![shop.to_str().unwrap()];
    args.extend(common);
    let here = Server::start(&args);
    here.wait_for("/api/v1/orders/T-1");
    let there = Server::start(&common);
    there.wait_for("/api/v1/orders/T-1");
    let mut last = 0;
    for round in 0..5 {
        put_order(&here, &format!("R-{round}"));
        there.wait_for(&format!("/api/v1/orders/R-{round}"));
        let plan = proposal_after(&there, last);
        proposal_after(&here, last);
        last = plan;
        let (_, tag) = published(&here);
        let publish = |server: &Server| {
            let body = json!({"plan": plan}).to_string();
            let none = tag.is_empty();
            let terms = if none {
                ("If-None-Match", "*")
            } else {
                ("If-Match", tag.as_str())
            };
            ask(
                &server.address,
                "PUT",
                "/api/v1/plans/published",
                &[terms],
                &body,
            )
            .unwrap()
        };
        let (mine, yours) = scope(|scope| {
            let mine = scope.spawn(|| publish(&here));
            let yours = scope.spawn(|| publish(&there));
            (mine.join().unwrap(), yours.join().unwrap())
        });
        let mut told = [mine.status, yours.status];
        told.sort_unstable();
        assert_eq!(
            told,
            [200, 412],
            "round {round}: {} {}",
            mine.body,
            yours.body
        );
        let lost = if mine.status == 412 { &mine } else { &yours };
        assert!(
            lost.json()["detail"]
                .as_str()
                .is_some_and(|text| text.contains("changed since"))
        );
    }
    assert_eq!(published(&here).0, last);
    assert_eq!((here.stop(), there.stop()), (Some(0), Some(0)));
}

/// A daemon that is killed while it makes a plan loses the job to the other one.
#[test]
fn a_killed_daemons_job_is_taken_over() {
    let scratch = Scratch::new();
    let database = scratch::Database::postgres().expect("a PostgreSQL server");
    let shop = scratch.copy_of("tests/tiny-shop");
    // A search that would go on for an hour: the job is under way when the daemon dies.
    let long = [
        shop.to_str().unwrap(),
        "--db",
        database.url(),
        "--clock",
        CLOCK,
        "--seconds",
        "3600",
    ];
    let first = Server::start(&long);
    first.wait_for("/api/v1/orders/T-1");
    let mut policy = first.get("/api/v1/policy").json();
    let keep = [
        "publish_automatically",
        "steps",
        "quiet_seconds",
        "drift_seconds",
    ];
    if let serde_json::Value::Object(fields) = &mut policy {
        fields.retain(|name, _| keep.contains(&name.as_str()));
    }
    policy["steps"] = json!(1_000_000_000);
    policy["quiet_seconds"] = json!(0);
    let tag = first
        .get("/api/v1/policy")
        .header("etag")
        .unwrap()
        .to_owned();
    let headers = [("If-Match", tag.as_str())];
    let put = ask(
        &first.address,
        "PUT",
        "/api/v1/policy",
        &headers,
        &policy.to_string(),
    )
    .unwrap();
    assert_eq!(put.status, 200, "{}", put.body);
    let began = Instant::now();
    while !first.get("/api/v1/standing").body.contains("planning") {
        assert!(began.elapsed() < PATIENCE, "no plan was begun");
        sleep(Duration::from_millis(50));
    }
    first.kill();
    let second = Server::start(&["--db", database.url(), "--clock", CLOCK, "--seconds", "1"]);
    let killed = Instant::now();
    let plan = proposal_after(&second, 0);
    println!(
        "plan {plan} was made by the other daemon {:?} later",
        killed.elapsed()
    );
    assert_eq!(second.stop(), Some(0));
}

//! Killing the daemon at random moments under a stream of changes.
//!
//! Whatever it has acknowledged must be there when it comes back, whatever it has not must be there
//! whole or not at all, and the published plan must still be accepted by the audit.

use super::client::ask;
use super::server::Server;
use crate::program::{Scratch, brakewright};
use serde_json::{Value, json};
use std::collections::{BTreeMap, BTreeSet};
use std::sync::atomic::{AtomicBool, Ordering};
use std::thread::{scope, sleep};
use std::time::Duration;

/// Kills on each engine.
const KILLS: u64 = 200;

/// The database is examined from outside after so many kills, and at the end.
const EXAMINED_EVERY: u64 = 40;

/// Callers that change orders, each its own.
const CALLERS: usize = 3;

/// Orders a caller keeps changing; a few, so that the shop stays one that can be planned quickly.
const ORDERS: u64 = 4;

/// What a caller knows of its orders: the quantities an order may have now. One, when the last change
/// was acknowledged; more, when it is not known whether it went through.
type Known = BTreeMap<String, Vec<u64>>;

/// Numbers that look random and are the same every time.
struct Dice(u64);

impl Dice {
    /// A number below `sides`.
    fn roll(&mut self, sides: u64) -> u64 {
        // SplitMix64 (Steele, Lea and Flood 2014) [memory].
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut mixed = self.0;
        mixed = (mixed ^ (mixed >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        mixed = (mixed ^ (mixed >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        (mixed ^ (mixed >> 31)) % sides
    }
}

#[test]
fn nothing_acknowledged_is_lost_on_sqlite() {
    let scratch = Scratch::new();
    let database = scratch::Database::sqlite().expect("a database");
    kill_again_and_again(&scratch, database.url());
}

#[test]
fn nothing_acknowledged_is_lost_on_postgres() {
    let scratch = Scratch::new();
    let database = scratch::Database::postgres().expect("a PostgreSQL server");
    kill_again_and_again(&scratch, database.url());
}

fn kill_again_and_again(scratch: &Scratch, database: &str) {
    let shop = scratch.copy_of("tests/tiny-shop");
    let shop = shop.to_str().unwrap();
    let args = [
        shop,
        "--db",
        database,
        "--clock",
        "2027-06-04T15:30:00+02:00",
        "--seconds",
        "1",
    ];
    let mut dice = Dice(7);
    let mut known: Vec<Known> = vec![Known::new(); CALLERS];
    let mut published = 0;
    let mut changes = 0;
    for kill in 1..=KILLS {
        let server = Server::start(&args);
        server.wait_for("/api/v1/orders/T-1");
        if kill == 1 {
            plan_often(&server);
        }
        check(&server, &known, kill);
        let plan = published_number(&server);
        assert!(
            plan >= published,
            "kill {kill}: plan {published} was published, now {plan} is"
        );
        published = plan;
        // Mostly soon after the start; now and then late enough for a plan to be made and published.
        let late = if kill % 8 == 0 { 1_500 } else { 0 };
        let pause = 20 + late + dice.roll(400);
        let over = AtomicBool::new(false);
        scope(|scope| {
            for (caller, known) in known.iter_mut().enumerate() {
                let (address, over) = (server.address.clone(), &over);
                let dice = Dice(kill * 1_000 + caller as u64);
                scope.spawn(move || change_orders(&address, caller, known, dice, over));
            }
            let (address, over) = (server.address.clone(), &over);
            scope.spawn(move || work(&address, over));
            sleep(Duration::from_millis(pause));
            over.store(true, Ordering::Relaxed);
            server.kill();
        });
        changes += known.iter().map(BTreeMap::len).sum::<usize>();
        if kill % EXAMINED_EVERY == 0 || kill == KILLS {
            let doctor = brakewright(&["db", "doctor", "--db", database]);
            assert_eq!(
                doctor.code,
                Some(0),
                "kill {kill}: {}{}",
                doctor.out,
                doctor.err
            );
        }
    }
    assert!(
        published > 0,
        "no plan was ever published, so nothing was tried"
    );
    assert!(changes > 0, "nothing was ever acknowledged");
    let server = Server::start(&args);
    let last = server.get("/api/v1/events?limit=1").json();
    println!("{KILLS} kills, plan {published} published, events: {last}");
}

/// A proposal after every change, published at once.
fn plan_often(server: &Server) {
    let policy = server.get("/api/v1/policy");
    let mut wanted = policy.json();
    let keep = [
        "publish_automatically",
        "steps",
        "quiet_seconds",
        "drift_seconds",
    ];
    if let Value::Object(fields) = &mut wanted {
        fields.retain(|name, _| keep.contains(&name.as_str()));
    }
    wanted["publish_automatically"] = json!(true);
    wanted["steps"] = json!(20);
    wanted["quiet_seconds"] = json!(0);
    let tag = policy.header("etag").unwrap_or("\"0\"");
    let headers = [("If-Match", tag)];
    let put = ask(
        &server.address,
        "PUT",
        "/api/v1/policy",
        &headers,
        &wanted.to_string(),
    );
    assert_eq!(put.as_ref().map(|reply| reply.status), Some(200), "{put:?}");
}

fn published_number(server: &Server) -> u64 {
    let standing = server.get("/api/v1/standing").json();
    standing["published"].as_u64().unwrap_or(0)
}

/// Puts orders in and changes them until told to stop or nobody answers.
fn change_orders(
    address: &str,
    caller: usize,
    known: &mut Known,
    mut dice: Dice,
    over: &AtomicBool,
) {
    while !over.load(Ordering::Relaxed) {
        let order = format!("K{caller}-{}", dice.roll(ORDERS));
        let quantity = 1 + dice.roll(30);
        let body = json!({"cells": {
            "part": "A-1", "quantity": quantity.to_string(), "due": "2027-06-08T12:00",
        }});
        let path = format!("/api/v1/orders/{order}");
        let read = ask(address, "GET", &path, &[], "");
        let tag = read.as_ref().and_then(|reply| reply.header("etag"));
        let terms = match (&read, tag) {
            (Some(reply), _) if reply.status == 404 => ("If-None-Match", "*"),
            (_, Some(tag)) => ("If-Match", tag),
            _ => return,
        };
        let may_be = known.entry(order.clone()).or_insert_with(|| vec![0]);
        may_be.push(quantity);
        match ask(address, "PUT", &path, &[terms], &body.to_string()) {
            Some(reply) if reply.status == 200 => *may_be = vec![quantity],
            // Being bent, or taken up by somebody in between: refused, so nothing has changed.
            Some(reply) if matches!(reply.status, 409 | 412) => drop(may_be.pop()),
            Some(reply) if reply.status == 503 => {}
            Some(reply) => panic!("{order}: {} {}", reply.status, reply.body),
            None => return,
        }
    }
}

/// Does what an operator does: starts runs of the published plan, finishes them.
fn work(address: &str, over: &AtomicBool) {
    let mut tried: BTreeSet<(String, String)> = BTreeSet::new();
    while !over.load(Ordering::Relaxed) {
        let read = |path: &str| ask(address, "GET", path, &[], "");
        let Some(plan) = read("/api/v1/plans/published") else {
            return;
        };
        let Some(brakes) = read("/api/v1/brakes") else {
            return;
        };
        let plan = if plan.status == 200 {
            plan.json()
        } else {
            Value::Null
        };
        for brake in brakes.json()["brakes"].as_array().into_iter().flatten() {
            let id = brake["brake"].as_str().unwrap_or_default();
            let path = |what: &str| format!("/api/v1/brakes/{id}/run/{what}");
            let terms = format!("\"{}\"", brake["version"]);
            let terms = [("If-Match", terms.as_str())];
            let (path, body) = match brake["work"]["doing"].as_str() {
                Some("running") => {
                    let good = &brake["work"]["quantity"];
                    (path("finish"), json!({"good": good, "scrap": 0}))
                }
                _ => {
                    let lines = plan["brakes"].as_array().into_iter().flatten();
                    let line = lines.filter(|line| line["brake"] == id);
                    let runs = line.flat_map(|line| line["runs"].as_array().into_iter().flatten());
                    let names = runs.filter_map(|run| run["run"].as_str());
                    let next = names
                        .map(|run| (id.to_owned(), run.to_owned()))
                        .find(|run| !tried.contains(run));
                    let Some(next) = next else { continue };
                    let body = json!({"run": next.1});
                    tried.insert(next);
                    (path("start"), body)
                }
            };
            let Some(reply) = ask(address, "POST", &path, &terms, &body.to_string()) else {
                return;
            };
            // The plan may have moved on in between, and the hour is not the one that was planned.
            let status = reply.status;
            let fine = status == 200 || (400..500).contains(&status) || status == 503;
            assert!(fine, "{path} {body}: {status} {}", reply.body);
        }
        sleep(Duration::from_millis(30));
    }
}

/// What was acknowledged is there; of what was not, all or nothing.
fn check(server: &Server, known: &[Known], kill: u64) {
    for (order, may_be) in known.iter().flatten() {
        let reply = server.get(&format!("/api/v1/orders/{order}"));
        let quantity = match reply.status {
            404 => 0,
            _ => reply.json()["quantity"].as_u64().expect("a quantity"),
        };
        assert!(
            may_be.contains(&quantity),
            "kill {kill}: {order} has {quantity} pieces; it may have {may_be:?}"
        );
    }
}

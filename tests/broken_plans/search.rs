//! Finding a place in a plan where a corruption can be made.

use crate::program::top;
use chrono::{DateTime, Duration};
use model::Shop;
use serde_json::Value;
use std::sync::OnceLock;

/// The demo shop, to look up what a plan does not say.
pub(super) fn shop() -> &'static Shop {
    static SHOP: OnceLock<Shop> = OnceLock::new();
    SHOP.get_or_init(|| {
        let checked = workshop::check(&top().join("demo-shop")).expect("the folder is there");
        checked.shop.expect("the demo shop has no errors")
    })
}

/// Where a run stands: brake and position.
pub(super) type At = (usize, usize);

/// All runs with their places.
pub(super) fn runs(plan: &Value) -> impl Iterator<Item = (At, &Value)> {
    list(&plan["brakes"])
        .iter()
        .enumerate()
        .flat_map(|(brake, lists)| {
            let runs = list(&lists["runs"]).iter().enumerate();
            runs.map(move |(position, run)| ((brake, position), run))
        })
}

/// The first run that will do.
pub(super) fn find(plan: &Value, fits: impl Fn(At, &Value) -> bool) -> At {
    let found = runs(plan).find(|(at, run)| fits(*at, run));
    found.expect("the demo plan has such a run").0
}

/// The first run after the first of its brake that will do, with the run before it.
pub(super) fn find_pair(plan: &Value, fits: impl Fn(&Value, &Value) -> bool) -> At {
    find(plan, |(brake, position), run| {
        position > 0 && fits(&plan["brakes"][brake]["runs"][position - 1], run)
    })
}

/// A run, to change.
pub(super) fn run(plan: &mut Value, (brake, position): At) -> &mut Value {
    &mut plan["brakes"][brake]["runs"][position]
}

/// Takes a run out of its list.
pub(super) fn take(plan: &mut Value, (brake, position): At) -> Value {
    edit(&mut plan["brakes"][brake]["runs"]).remove(position)
}

/// Takes a run from where it is to the end of another brake's list.
pub(super) fn move_to(plan: &mut Value, at: At, brake: usize) {
    let run = take(plan, at);
    edit(&mut plan["brakes"][brake]["runs"]).push(run);
}

/// A list's items.
pub(super) fn list(value: &Value) -> &Vec<Value> {
    value.as_array().expect("a list")
}

/// A list, to change.
pub(super) fn edit(value: &mut Value) -> &mut Vec<Value> {
    value.as_array_mut().expect("a list")
}

/// A text.
pub(super) fn text(value: &Value) -> &str {
    value.as_str().expect("a text")
}

/// A number of any kind.
pub(super) fn number(value: &Value) -> f64 {
    value.as_f64().expect("a number")
}

/// A whole number.
pub(super) fn whole(value: &Value) -> i64 {
    value.as_i64().expect("a whole number")
}

/// Adds to a number in place, whole ones staying whole.
pub(super) fn add(value: &mut Value, more: i64) {
    *value = match value.as_i64() {
        Some(whole) => Value::from(whole + more),
        #[allow(clippy::cast_precision_loss)] // a few units
        None => Value::from(number(value) + more as f64),
    };
}

/// Seconds since 1970 of a time in a plan.
pub(super) fn seconds(value: &Value) -> i64 {
    DateTime::parse_from_rfc3339(text(value))
        .expect("a time")
        .timestamp()
}

/// Moves a time by so many seconds.
pub(super) fn shift(value: &mut Value, by: i64) {
    let time = DateTime::parse_from_rfc3339(text(value)).expect("a time");
    *value = Value::from((time + Duration::seconds(by)).to_rfc3339());
}

/// Moves a run, without its changeover, by so many seconds.
pub(super) fn shift_run(run: &mut Value, by: i64) {
    shift(&mut run["start"], by);
    shift(&mut run["end"], by);
    shift_segments(&mut run["segments"], by);
}

/// Moves a changeover or takedown by so many seconds.
pub(super) fn shift_change(change: &mut Value, by: i64) {
    shift(&mut change["start"], by);
    shift(&mut change["end"], by);
    shift_segments(&mut change["segments"], by);
}

fn shift_segments(segments: &mut Value, by: i64) {
    for segment in edit(segments) {
        shift(&mut segment["start"], by);
        shift(&mut segment["end"], by);
    }
}

/// Changes the first station that a run puts on, in `insert` and in `bed` alike.
pub(super) fn change_inserted(run: &mut Value, change: impl Fn(&mut Value)) {
    let left = run["changeover"]["insert"][0]["left_mm"].clone();
    change(&mut run["changeover"]["insert"][0]);
    edit(&mut run["bed"])
        .iter_mut()
        .filter(|station| station["left_mm"] == left)
        .for_each(change);
}

/// Whether a run puts a station on.
pub(super) fn inserts(run: &Value) -> bool {
    !list(&run["changeover"]["insert"]).is_empty()
}

/// Whether a run takes a station off, turns, slides or puts one on.
pub(super) fn moves_tools(run: &Value) -> bool {
    ["remove", "turn", "slide", "insert"]
        .iter()
        .any(|head| !list(&run["changeover"][head]).is_empty())
}

/// Whether a run has a changeover at all.
pub(super) fn changes(run: &Value) -> bool {
    !list(&run["changeover"]["steps"]).is_empty()
}

/// Whether two runs work in the same second.
pub(super) fn overlap(one: &Value, two: &Value) -> bool {
    let (first, second) = (&one["segments"][0], &two["segments"][0]);
    seconds(&first["start"]) < seconds(&second["end"])
        && seconds(&second["start"]) < seconds(&first["end"])
}

/// The part of a run.
pub(super) fn part(run: &Value) -> &'static model::Part {
    let id = text(&run["part"]);
    shop()
        .parts
        .iter()
        .find(|part| part.id.as_str() == id)
        .expect("a part of the shop")
}

/// The order of a run.
pub(super) fn order(run: &Value) -> &'static model::WorkOrder {
    let id = text(&run["order"]);
    shop()
        .orders
        .iter()
        .find(|order| order.id.as_str() == id)
        .expect("an order of the shop")
}

//! Orders tied to a brake and a place.

use crate::host::{Day, id, plain, refused};
use daybook::{Command, Happening, Pin, RefusalKind};
use units::{BrakeId, OrderId};

fn day() -> (Day, BrakeId, Vec<OrderId>) {
    let day = Day::of(plain());
    let brake = day.shop.brakes[0].id.clone();
    let orders = day.shop.orders.iter().map(|order| order.id.clone());
    let orders = orders.collect();
    (day, brake, orders)
}

fn pin(order: &OrderId, brake: &BrakeId, place: Option<u32>) -> Command {
    Command::PinOrder {
        order: order.clone(),
        brake: brake.clone(),
        place,
    }
}

fn unpin(order: &OrderId) -> Command {
    let order = order.clone();
    Command::UnpinOrder { order }
}

/// The place of each order's pin; 0 for a pin without one.
fn places(day: &Day, orders: &[OrderId]) -> Vec<Option<u32>> {
    let pins = orders.iter().map(|order| day.state.pin(order));
    pins.map(|pin| pin.map(|pin| pin.place.unwrap_or(0)))
        .collect()
}

#[test]
fn others_move_up_for_an_order_and_close_up_behind_it() {
    let (mut day, brake, orders) = day();
    let wanted = day.state.plan_wanted_since;
    day.ask(&pin(&orders[0], &brake, Some(1))).expect("pinned");
    assert!(day.state.plan_wanted_since > wanted && day.state.plan_wanted());
    // Beyond the last means behind it.
    day.ask(&pin(&orders[1], &brake, Some(7))).expect("pinned");
    day.ask(&pin(&orders[2], &brake, Some(1))).expect("pinned");
    assert_eq!(places(&day, &orders[..3]), [Some(2), Some(3), Some(1)]);
    // Whatever reads differently has a new version.
    for order in &orders[..3] {
        assert_eq!(day.state.orders[order].version, day.state.number);
    }
    assert!(day.state.orders[&orders[3]].version < day.state.number);
    assert_eq!(day.state.line_of(&brake).len(), 3);
    // Again the same is no news.
    let again = day.ask(&pin(&orders[2], &brake, Some(1))).expect("no news");
    assert_eq!(again, []);
    // The last to the front, then to the brake without a place, then out.
    day.ask(&pin(&orders[1], &brake, Some(1))).expect("pinned");
    assert_eq!(places(&day, &orders[..3]), [Some(3), Some(1), Some(2)]);
    day.ask(&pin(&orders[1], &brake, None)).expect("pinned");
    assert_eq!(places(&day, &orders[..3]), [Some(2), Some(0), Some(1)]);
    let again = day.ask(&pin(&orders[1], &brake, None)).expect("no news");
    assert_eq!(again, []);
    let shop = day.state.shop().expect("a shop");
    let order = |at: usize| shop.order(&orders[at]).expect("open");
    assert_eq!(order(0).place, Some(2));
    assert_eq!((&order(1).brake, order(1).place), (&Some(brake), None));
    day.ask(&unpin(&orders[2])).expect("unpinned");
    assert_eq!(places(&day, &orders[..3]), [Some(1), Some(0), None]);
    assert_eq!(day.ask(&unpin(&orders[2])).expect("no news"), []);
    let withdraw = Command::WithdrawOrders {
        orders: vec![orders[0].clone(), orders[1].clone()],
        why: String::new(),
    };
    day.ask(&withdraw).expect("withdrawn");
    assert_eq!(places(&day, &orders[..3]), [None, None, None]);
}

#[test]
fn a_pin_goes_before_the_row_and_outlives_it() {
    let (mut day, brake, orders) = day();
    let other = day.shop.brakes[1].id.clone();
    let mut row = day.row(&orders[0], 40);
    for (column, text) in [("brake", other.to_string()), ("place", "5".to_owned())] {
        row.cells.insert(column.to_owned(), text);
    }
    day.put(vec![row.clone()]).expect("taken");
    assert_eq!(day.state.line_of(&other), [orders[0].clone()]);
    refused(
        day.ask(&unpin(&orders[0])),
        &RefusalKind::Conflict,
        "by its row",
    );
    // A place that a row gives moves up like one that was given here.
    day.ask(&pin(&orders[1], &other, Some(1))).expect("pinned");
    assert_eq!(places(&day, &orders[..2]), [Some(2), Some(1)]);
    day.ask(&pin(&orders[0], &brake, Some(1))).expect("pinned");
    assert_eq!(places(&day, &orders[..2]), [Some(1), Some(1)]);
    row.cells.insert("quantity".to_owned(), "50".to_owned());
    day.put(vec![row]).expect("taken");
    let shop = day.state.shop().expect("a shop");
    let order = shop.order(&orders[0]).expect("open");
    assert_eq!(order.quantity, 50);
    assert_eq!((&order.brake, order.place), (&Some(brake), Some(1)));
    day.ask(&unpin(&orders[0])).expect("unpinned");
    let shop = day.state.shop().expect("a shop");
    let order = shop.order(&orders[0]).expect("open");
    assert_eq!((&order.brake, order.place), (&Some(other), Some(5)));
}

#[test]
fn rows_and_pins_of_one_place_are_told_apart() {
    let (mut day, brake, orders) = day();
    day.ask(&pin(&orders[3], &brake, Some(1))).expect("pinned");
    let mut row = day.row(&orders[0], 40);
    for (column, text) in [("brake", brake.to_string()), ("place", "1".to_owned())] {
        row.cells.insert(column.to_owned(), text);
    }
    day.put(vec![row]).expect("taken");
    let shop = day.state.shop().expect("a shop");
    let place = |at: usize| shop.order(&orders[at]).expect("open").place;
    assert_eq!((place(0), place(3)), (Some(1), Some(2)));
}

#[test]
fn plans_follow_pins_and_runs_elsewhere_are_not_begun() {
    let (mut day, _, _) = day();
    day.publish();
    let (first, _) = day.runs();
    let line = |day: &Day, brake: &BrakeId| {
        let plan = day.plan.as_ref().expect("published");
        let line = plan.brakes.iter().find(|line| line.brake == *brake);
        line.expect("a line").clone()
    };
    let shop = day.state.shop().expect("a shop");
    let (problem, _) = schedule::compile(&shop, day.now);
    let elsewhere = |order: &OrderId| {
        let of_order = |job: &usize| shop.orders[problem.jobs[*job].order].id == *order;
        let mut ways = (0..problem.jobs.len())
            .filter(of_order)
            .flat_map(|job| &problem.ways[job]);
        let way = ways.find(|way| shop.brakes[way.brake].id != first)?;
        Some(shop.brakes[way.brake].id.clone())
    };
    let found = line(&day, &first).runs.into_iter().rev().find_map(|run| {
        let other = elsewhere(&run.order)?;
        Some((run.name, run.order, other))
    });
    let (name, last, other) = found.expect("an order that may move");
    day.ask(&pin(&last, &other, Some(1))).expect("pinned");
    let start = Command::StartRun {
        brake: first.clone(),
        run: name,
    };
    refused(day.ask(&start), &RefusalKind::Conflict, "is tied to");
    day.publish();
    let now = line(&day, &other);
    let loose = now.runs.iter().find(|run| !run.pinned).expect("a run");
    assert_eq!(loose.order, last);
    assert!(line(&day, &first).runs.iter().all(|run| run.order != last));
    // What is on a brake is pinned no more.
    let run = now.runs[0].clone();
    day.ask(&Command::StartRun {
        brake: other.clone(),
        run: run.name,
    })
    .expect("begun");
    let words = "end its run first";
    let moved = pin(&run.order, &first, None);
    refused(day.ask(&moved), &RefusalKind::NotNow, words);
    refused(day.ask(&unpin(&run.order)), &RefusalKind::NotNow, words);
}

#[test]
fn a_pin_ends_with_the_last_piece() {
    let (mut day, brake, orders) = day();
    day.ask(&pin(&orders[4], &brake, Some(1))).expect("pinned");
    day.ask(&pin(&orders[5], &brake, Some(2))).expect("pinned");
    day.publish();
    let lines = &day.plan.as_ref().expect("published").brakes;
    let line = lines.iter().find(|line| line.brake == brake);
    let run = line.expect("a line").runs[0].clone();
    assert_eq!(run.order, orders[4]);
    day.ask(&Command::StartRun {
        brake: brake.clone(),
        run: run.name,
    })
    .expect("begun");
    assert_eq!(places(&day, &orders[4..6]), [Some(1), Some(2)]);
    day.ask(&Command::FinishRun {
        brake: brake.clone(),
        good: run.quantity,
        scrap: 0,
        short: false,
    })
    .expect("ended");
    assert_eq!(places(&day, &orders[4..6]), [None, Some(1)]);
    assert_eq!(day.state.orders[&orders[5]].version, day.state.number);
}

#[test]
fn what_cannot_be_pinned_is_refused_with_words() {
    let (mut day, brake, orders) = day();
    let nowhere = BrakeId::new("NOWHERE").expect("an id");
    let cases = [
        (
            pin(&id("NONE"), &brake, None),
            RefusalKind::Missing,
            "no order NONE",
        ),
        (
            pin(&orders[0], &nowhere, None),
            RefusalKind::Missing,
            "no brake NOWHERE",
        ),
        (unpin(&id("NONE")), RefusalKind::Missing, "no order NONE"),
    ];
    for (command, kind, words) in cases {
        refused(day.ask(&command), &kind, words);
    }
    for place in [0, 1_000, u32::MAX] {
        let asked = day.ask(&pin(&orders[0], &brake, Some(place)));
        refused(
            asked,
            &RefusalKind::Invalid(Vec::new()),
            "from 1, the first",
        );
    }
    let withdraw = Command::WithdrawOrders {
        orders: vec![orders[0].clone()],
        why: String::new(),
    };
    day.ask(&withdraw).expect("withdrawn");
    let asked = day.ask(&pin(&orders[0], &brake, None));
    refused(asked, &RefusalKind::Conflict, "was withdrawn");
}

#[test]
fn a_pin_in_the_log_is_read_back() {
    let (day, brake, orders) = day();
    let state = &day.state;
    let done = state.decide(&pin(&orders[0], &brake, Some(1)), day.now, None);
    let text = done.expect("pinned")[0].to_json().expect("written");
    let expected = format!(
        r#"{{"kind":"order-pinned","order":"{0}","brake":"{brake}","line":["{0}"]}}"#,
        orders[0]
    );
    assert_eq!(text, expected);
    let tied = format!(r#"{{"kind":"order-pinned","order":"W1","brake":"{brake}"}}"#);
    let tied = Happening::from_json(&tied).expect("read");
    assert!(matches!(&tied, Happening::OrderPinned { line, .. } if line.is_empty()));
    let mut after = state.clone();
    after.apply(
        &Happening::from_json(&text).expect("read"),
        state.number + 1,
        day.now,
        "lead",
    );
    let place = Some(1);
    assert_eq!(after.pin(&orders[0]), Some(&Pin { brake, place }));
}

//! Changeovers, runs and what they leave.

use crate::host::{Day, plain, refused};
use daybook::{Calibrated, Command, Doing, Happening, OrderStatus, RefusalKind};
use units::Seconds;

#[test]
fn a_run_goes_from_changeover_to_its_last_piece() {
    let mut day = Day::of(plain());
    day.publish();
    let (brake, runs) = day.runs();
    let start = |run: &str| Command::StartRun {
        brake: brake.clone(),
        run: run.to_owned(),
    };
    refused(
        day.ask(&start("B9-99")),
        &RefusalKind::Missing,
        "look it up",
    );
    let change = Command::StartChangeover {
        brake: brake.clone(),
        run: runs[0].clone(),
    };
    assert_eq!(day.ask(&change).expect("begun").len(), 1);
    assert!(matches!(day.state.doing(&brake), Doing::ChangingOver(_)));
    refused(
        day.ask(&start(&runs[1])),
        &RefusalKind::Conflict,
        "being changed over",
    );
    day.now = day.now + Seconds(1_500);
    // The changeover ends with the start of its run.
    let kinds: Vec<&str> = day
        .ask(&start(&runs[0]))
        .expect("begun")
        .iter()
        .map(Happening::kind)
        .collect();
    assert_eq!(kinds, ["changeover-finished", "run-started"]);
    assert_eq!(day.state.actuals.changes[0].seconds, 1_500);
    refused(
        day.ask(&start(&runs[1])),
        &RefusalKind::Conflict,
        "end its run first",
    );
}

#[test]
fn pieces_are_counted_until_the_last() {
    let mut day = Day::of(plain());
    day.publish();
    let (brake, runs) = day.runs();
    let start = |run: &str| Command::StartRun {
        brake: brake.clone(),
        run: run.to_owned(),
    };
    day.ask(&start(&runs[0])).expect("begun");
    let order = day.order_on(&brake);
    let quantity = day.state.orders[&order].order.quantity;
    let withdraw = Command::WithdrawOrders {
        orders: vec![order.clone()],
        why: String::new(),
    };
    refused(
        day.ask(&withdraw),
        &RefusalKind::NotNow,
        "end its run first",
    );
    let count = |good, scrap| Command::CountPieces {
        brake: brake.clone(),
        good,
        scrap,
    };
    refused(
        day.ask(&count(quantity + 1, 0)),
        &RefusalKind::Conflict,
        "correct the count",
    );
    day.ask(&count(1, 1)).expect("counted");
    assert_eq!(day.ask(&count(1, 1)).expect("no news"), Vec::new());
    let scrap = Command::Scrap {
        brake: brake.clone(),
        pieces: 2,
    };
    day.ask(&scrap).expect("counted");
    assert_eq!(day.state.run_on(&brake).map(|run| run.scrap), Some(3));
    let running = &day.state.shop().expect("a shop").floor.running;
    assert_eq!(running[0].pieces_done, 1);
}

#[test]
fn a_run_ends_with_its_last_piece_or_short() {
    let mut day = Day::of(plain());
    day.publish();
    let (brake, runs) = day.runs();
    let start = |run: &str| Command::StartRun {
        brake: brake.clone(),
        run: run.to_owned(),
    };
    day.ask(&start(&runs[0])).expect("begun");
    let order = day.order_on(&brake);
    let quantity = day.state.orders[&order].order.quantity;
    assert!(quantity > 1);
    let finish = |good, short| Command::FinishRun {
        brake: brake.clone(),
        good,
        scrap: 3,
        short,
    };
    refused(
        day.ask(&finish(1, false)),
        &RefusalKind::Conflict,
        "ends short",
    );
    day.now = day.now + Seconds(600);
    day.ask(&finish(quantity, false)).expect("ended");
    let line = day.state.order_line(&day.state.orders[&order]);
    assert_eq!(
        (line.status, line.done, line.scrap),
        (OrderStatus::Done, quantity, 3)
    );
    refused(
        day.ask(&start(&runs[0])),
        &RefusalKind::Conflict,
        "begun already",
    );
    refused(
        day.ask(&finish(1, true)),
        &RefusalKind::Conflict,
        "start a run first",
    );
    let shop = day.state.shop().expect("a shop");
    assert!(shop.order(&order).is_none() && shop.floor.running.is_empty());
    assert!(!shop.floor.stations.is_empty(), "the tools stay on the bed");
}

#[test]
fn what_is_left_of_a_short_run_is_planned_again() {
    let mut shop = plain();
    for order in &mut shop.orders {
        order.quantity = 10;
        let due = order.due;
        let share = |quantity| model::Delivery { quantity, due };
        order.deliveries = vec![share(4), share(6)];
        let available = order.ready;
        let lot = |quantity| model::BlankLot {
            quantity,
            available,
        };
        // Runs of four and of six pieces, whichever comes first.
        order.blanks = vec![lot(4), lot(7)];
    }
    let mut day = Day::of(shop);
    day.publish();
    let (brake, runs) = day.runs();
    day.ask(&Command::StartRun {
        brake: brake.clone(),
        run: runs[0].clone(),
    })
    .expect("begun");
    let order = day.order_on(&brake);
    let run = day.state.run_on(&brake).expect("a run").clone();
    assert!(
        [4, 6].contains(&run.quantity),
        "within a lot and a delivery"
    );
    let finish = |good, scrap| Command::FinishRun {
        brake: brake.clone(),
        good,
        scrap,
        short: true,
    };
    // Eleven blanks are announced in all.
    refused(
        day.ask(&finish(2, 10)),
        &RefusalKind::Conflict,
        "announce more blanks",
    );
    day.ask(&finish(2, 3)).expect("ended");
    assert!(day.state.plan_wanted());
    let shop = day.state.shop().expect("a shop");
    let left = shop.order(&order).expect("open");
    assert_eq!(left.quantity, 8);
    let deliveries: Vec<u32> = left.deliveries.iter().map(|d| d.quantity).collect();
    assert_eq!(deliveries, [2, 6]);
    // Five blanks are used up; two of the eight pieces have none any more.
    let blanks: Vec<u32> = left.blanks.iter().map(|lot| lot.quantity).collect();
    assert_eq!(blanks, [6]);
    let fewer = day.row(&order, 1);
    refused(
        day.put(vec![fewer]),
        &RefusalKind::Conflict,
        "order at least so many",
    );
}

#[test]
fn an_order_may_be_bent_on_two_brakes_at_once() {
    let mut shop = plain();
    shop.orders.truncate(1);
    let order = &mut shop.orders[0];
    (order.quantity, order.run_pieces) = (1_000, Some(500));
    let (id, ready) = (order.id.clone(), order.ready);
    order.due = ready;
    let mut day = Day::of(shop);
    day.publish();
    let lines = day.plan.clone().expect("published").brakes;
    let busy: Vec<_> = lines.iter().filter(|line| !line.runs.is_empty()).collect();
    assert_eq!(busy.len(), 2, "one order late on two brakes");
    for line in &busy {
        day.now = day.now + Seconds(60);
        day.ask(&Command::StartRun {
            brake: line.brake.clone(),
            run: line.runs[0].name.clone(),
        })
        .expect("begun");
    }
    let shop = day.state.shop().expect("a shop");
    assert_eq!(shop.order(&id).map(|order| order.quantity), Some(500));
    assert_eq!(shop.floor.running.len(), 1);
    assert_eq!(shop.floor.running[0].brake, busy[0].brake);
    let down = &shop.floor.down[0];
    assert_eq!(down.brake, busy[1].brake);
    assert!(down.window.end >= busy[1].runs[0].end);
}

#[test]
fn an_accepted_calibration_is_in_the_shop() {
    let mut shop = plain();
    // One part, proven on one brake alone.
    let setup = shop.setups[0].clone();
    let (part, only) = (setup.part.clone(), setup.brake.clone());
    shop.setups = vec![setup];
    for order in &mut shop.orders {
        (order.quantity, order.part) = (1_000, part.clone());
        order.brake = Some(only.clone());
    }
    let mut day = Day::of(shop);
    // Runs of one part, each a tenth of an order, take twice what is planned.
    for _ in 0..12 {
        day.publish();
        let (brake, runs) = day.runs();
        day.ask(&Command::StartRun {
            brake: brake.clone(),
            run: runs[0].clone(),
        })
        .expect("begun");
        let run = day.state.run_on(&brake).expect("a run");
        let planned = run.planned_cycle_ms * 100 / 1_000;
        let pause = run.planned_pause_seconds;
        day.now = day.now + Seconds(2 * planned + pause);
        day.ask(&Command::FinishRun {
            brake,
            good: 100,
            scrap: 0,
            short: true,
        })
        .expect("ended");
    }
    let done = day.ask(&Command::OfferCalibrations).expect("worked out");
    let Some(Happening::CalibrationOffered { brake, what, .. }) = done.first() else {
        panic!("{done:?}");
    };
    assert_eq!(*what, Calibrated::Part(part.clone()));
    assert_eq!(
        day.ask(&Command::OfferCalibrations).expect("no news"),
        Vec::new()
    );
    let accept = Command::AcceptCalibration {
        brake: brake.clone(),
        what: what.clone(),
    };
    day.ask(&accept).expect("accepted");
    refused(day.ask(&accept), &RefusalKind::Missing, "offered");
    let factor = day.state.factors[&(brake.clone(), what.clone())].factor;
    let shop = day.state.shop().expect("a shop");
    let seconds = shop.setups[0].seconds_a_piece.expect("calibrated");
    assert!((seconds - factor).abs() < 0.051, "{seconds} {factor}");
    let planned = day.shop.setups[0].seconds_a_piece.unwrap_or(0.0);
    assert!(
        planned <= 0.0 || (factor / planned - 2.0).abs() < 0.1,
        "{planned} {factor}"
    );
    // The old times do not make another offer.
    assert_eq!(
        day.ask(&Command::OfferCalibrations).expect("no news"),
        Vec::new()
    );
}

#[test]
fn pieces_whose_blanks_are_spoiled_have_none() {
    let mut shop = plain();
    for order in &mut shop.orders {
        order.quantity = 10;
        order.blanks = vec![model::BlankLot {
            quantity: 10,
            available: order.ready,
        }];
    }
    let mut day = Day::of(shop);
    day.publish();
    let (brake, runs) = day.runs();
    day.ask(&Command::StartRun {
        brake: brake.clone(),
        run: runs[0].clone(),
    })
    .expect("begun");
    let order = day.order_on(&brake);
    day.ask(&Command::FinishRun {
        brake,
        good: 3,
        scrap: 7,
        short: true,
    })
    .expect("ended");
    let shop = day.state.shop().expect("a shop");
    assert_eq!(shop.order(&order).map(|order| order.quantity), Some(7));
    day.publish();
    let plan = day.plan.as_ref().expect("published");
    let without = plan.unplaced.iter().find(|one| one.order == order);
    assert_eq!(without.map(|one| one.quantity), Some(7));
    // New sheets are cut: seventeen blanks in all.
    let mut row = day.row(&order, 10);
    let lot = [("quantity".to_owned(), "17".to_owned())];
    row.blanks = vec![lot.into()];
    day.put(vec![row]).expect("taken");
    day.publish();
    let plan = day.plan.as_ref().expect("published");
    assert!(plan.unplaced.iter().all(|one| one.order != order));
}

/// An order of several runs goes on when another plan is published: that plan's first run there has
/// begun already, and the next one is in its turn.
#[test]
fn a_run_under_way_is_the_first_of_the_next_plan() {
    let mut shop = plain();
    shop.orders.truncate(1);
    let order = &mut shop.orders[0];
    (order.quantity, order.run_pieces) = (60, Some(20));
    order.brake = Some(shop.brakes[0].id.clone());
    let mut day = Day::of(shop);
    day.publish();
    let (brake, runs) = day.runs();
    assert_eq!(runs.len(), 3);
    let start = |run: &str| Command::StartRun {
        brake: brake.clone(),
        run: run.to_owned(),
    };
    day.ask(&start(&runs[0])).expect("begun");
    day.publish();
    let (_, runs) = day.runs();
    day.ask(&Command::FinishRun {
        brake: brake.clone(),
        good: 20,
        scrap: 0,
        short: false,
    })
    .expect("ended");
    let again = day.ask(&start(&runs[0]));
    refused(again, &RefusalKind::Conflict, "begun already");
    let lines = &day.plan.as_ref().expect("published").brakes;
    let line = lines
        .iter()
        .find(|line| line.brake == brake)
        .expect("a line");
    day.now = line.runs[1].start;
    let done = day.ask(&start(&runs[1])).expect("begun");
    let in_turn = |one: &Happening| {
        matches!(
            one,
            Happening::RunStarted {
                as_planned: true,
                ..
            }
        )
    };
    assert!(done.iter().any(in_turn), "{done:?}");
}

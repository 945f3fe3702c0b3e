//! Differences of plans of invented shops: mirrored the other way about, nothing between a plan and
//! itself, and adding up to the totals.

#![allow(clippy::expect_used)] // helpers of tests fail by it

use daybook::differences::{BrakeChange, Differences, Lateness, OrderChange, Placing, differences};
use model::{Plan, Shop};
use schedule::{Ask, plan_day};
use testkit::{Recipe, invent};
use units::Seconds;

fn plan(shop: &Shop, seed: u64, steps: u64) -> Plan {
    let ask = Ask {
        from: shop.as_of.expect("said"),
        seed,
        threads: 1,
        seconds: None,
    };
    let mut stop = move |done: u64| done >= steps;
    plan_day(shop, ask, None, &mut stop, &mut ()).plan
}

fn turned(change: &OrderChange) -> OrderChange {
    let turn = |by: Option<Seconds>| by.map(|by| Seconds(-by.0));
    OrderChange {
        order: change.order.clone(),
        moved: change.moved.clone().map(|(from, to)| (to, from)),
        starts: turn(change.starts),
        ends: turn(change.ends),
        late: (change.late.1, change.late.0),
        unplaced: (change.unplaced.1, change.unplaced.0),
        known: (change.known.1, change.known.0),
    }
}

fn turned_brake(change: &BrakeChange) -> BrakeChange {
    BrakeChange {
        brake: change.brake.clone(),
        runs: (change.runs.1, change.runs.0),
        changeovers: (change.changeovers.1, change.changeovers.0),
        changeover: (change.changeover.1, change.changeover.0),
        run: (change.run.1, change.run.0),
    }
}

fn mirror(one: &Differences, other: &Differences, what: &str) {
    let orders: Vec<OrderChange> = one.orders.iter().map(turned).collect();
    assert_eq!(orders, other.orders, "{what}");
    let brakes: Vec<BrakeChange> = one.brakes.iter().map(turned_brake).collect();
    assert_eq!(brakes, other.brakes, "{what}");
    assert_eq!(
        (one.before, one.after),
        (other.after, other.before),
        "{what}"
    );
    assert_eq!(one.terms.objective, -other.terms.objective, "{what}");
    assert_eq!(
        one.terms.weighted_late.0, -other.terms.weighted_late.0,
        "{what}"
    );
    for (there, back) in one.orders.iter().zip(&other.orders) {
        let fits = match (there.lateness(), back.lateness()) {
            (None, None) => true,
            (Some(Lateness::NewlyLate(a)), Some(Lateness::NoLonger(b)))
            | (Some(Lateness::NoLonger(a)), Some(Lateness::NewlyLate(b)))
            | (Some(Lateness::LaterStill(a)), Some(Lateness::LessLate(b)))
            | (Some(Lateness::LessLate(a)), Some(Lateness::LaterStill(b))) => a == b && a.0 > 0,
            _ => false,
        };
        assert!(fits, "{what}: {there:?}");
        let fits = match (there.placing(), back.placing()) {
            (None, None) => true,
            (Some(Placing::Lost(a)), Some(Placing::Found(b)))
            | (Some(Placing::Found(a)), Some(Placing::Lost(b))) => a == b && a > 0,
            _ => false,
        };
        assert!(fits, "{what}: {there:?}");
    }
}

/// What the brakes gain adds up to what the totals gain.
fn add_up(found: &Differences, what: &str) {
    let sum = |by: &dyn Fn(&BrakeChange) -> i64| found.brakes.iter().map(by).sum::<i64>();
    let count = |pair: (u32, u32)| i64::from(pair.1) - i64::from(pair.0);
    let work = |pair: (Seconds, Seconds)| pair.1.0 - pair.0.0;
    let terms = &found.terms;
    assert_eq!(sum(&|brake| count(brake.runs)), terms.runs, "{what}");
    assert_eq!(
        sum(&|brake| count(brake.changeovers)),
        terms.changeovers,
        "{what}"
    );
    assert_eq!(
        sum(&|brake| work(brake.changeover)),
        terms.changeover.0,
        "{what}"
    );
    assert_eq!(sum(&|brake| work(brake.run)), terms.run.0, "{what}");
}

#[test]
fn differences_are_mirrored_and_add_up() {
    let (mut moved, mut late, mut placed, mut left_out) = (0, 0, 0, 0);
    for seed in 0..60 {
        let what = format!("seed {seed}");
        let shop = invent(&Recipe::anything(seed));
        let mut fewer = shop.clone();
        let gone = fewer.orders.len() > 1;
        if gone {
            let last = fewer.orders.pop().expect("an order").id;
            fewer.floor.running.retain(|running| running.order != last);
        }
        let plans = [plan(&shop, 1, 0), plan(&shop, 2, 300), plan(&fewer, 2, 50)];
        for one in &plans {
            for other in &plans {
                let there = differences(one, other);
                mirror(&there, &differences(other, one), &what);
                add_up(&there, &what);
                moved += there.orders.iter().filter(|o| o.moved.is_some()).count();
                late += there
                    .orders
                    .iter()
                    .filter(|o| o.lateness().is_some())
                    .count();
                placed += there
                    .orders
                    .iter()
                    .filter(|o| o.placing().is_some())
                    .count();
                left_out += there
                    .orders
                    .iter()
                    .filter(|o| o.known.0 != o.known.1)
                    .count();
            }
            let none = differences(one, one);
            assert!(none.orders.is_empty() && none.brakes.is_empty(), "{what}");
            assert_eq!(none.terms, daybook::differences::Terms::default(), "{what}");
        }
    }
    println!("{moved} moved, {late} late otherwise, {placed} placed otherwise, {left_out} gone");
    assert!(
        moved > 30 && late > 30 && left_out > 30,
        "{moved} {late} {left_out}"
    );
}

/// A run put off by ten minutes, made late by two, and moved to another brake; another that loses
/// its place.
#[test]
fn later_is_positive_and_lost_is_lost() {
    let shop = invent(&Recipe::bed(8, 0.0, testkit::Sections::Ample, 2));
    let before = plan(&shop, 1, 20);
    let mut after = before.clone();
    let here = after
        .brakes
        .iter()
        .position(|line| line.runs.len() > 1)
        .expect("runs");
    let there = usize::from(here == 0);
    let mut run = after.brakes[here].runs.remove(0);
    let (from, to) = (
        after.brakes[here].brake.clone(),
        after.brakes[there].brake.clone(),
    );
    run.start = run.start + Seconds(600);
    run.end = run.end + Seconds(900);
    run.late += Seconds(120);
    let order = run.order.clone();
    after.brakes[there].runs.push(run);
    let lost = after.brakes[here].runs.remove(0);
    after.unplaced.push(model::Unplaced {
        order: lost.order.clone(),
        quantity: lost.quantity,
        refusals: Vec::new(),
    });
    after.totals.objective += 77;
    let found = differences(&before, &after);
    let of = |id: &units::OrderId| {
        found
            .orders
            .iter()
            .find(|one| one.order == *id)
            .expect("changed")
    };
    let one = of(&order);
    assert_eq!(
        (one.starts, one.ends),
        (Some(Seconds(600)), Some(Seconds(900)))
    );
    let moved = one.moved.clone().expect("moved");
    assert!(
        moved.0.contains(&from) && moved.1.contains(&to),
        "{moved:?}"
    );
    let was = one.late.0;
    let expected = if was == Seconds::ZERO {
        Lateness::NewlyLate(Seconds(120))
    } else {
        Lateness::LaterStill(Seconds(120))
    };
    assert_eq!(one.lateness(), Some(expected));
    let one = of(&lost.order);
    assert_eq!(one.placing(), Some(Placing::Lost(lost.quantity)));
    assert_eq!(one.known, (true, true));
    assert_eq!(found.terms.objective, 77);
    let brake = found
        .brakes
        .iter()
        .find(|one| one.brake == from)
        .expect("changed");
    assert_eq!(brake.runs.0, brake.runs.1 + 2);
}

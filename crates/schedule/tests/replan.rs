//! One event in a shop with a plan: what begins soon stays, the rest is planned again and judged.

#![allow(missing_docs, clippy::unwrap_used)]

use audit::{judge, judge_after};
use model::{BrakeDown, Plan, Shop};
use schedule::{Ask, Earlier, plan_day};
use std::collections::{BTreeMap, BTreeSet};
use testkit::{Recipe, Sections, invent};
use units::{BrakeId, Moment, OrderId, Seconds, Window};

const HOUR: i64 = 3_600;

fn plan(shop: &Shop, from: Moment, before: Option<&Plan>, steps: u64) -> Plan {
    let ask = Ask {
        from,
        seed: 1,
        threads: 2,
        seconds: None,
    };
    let plan = plan_day(
        shop,
        ask,
        before.map(Earlier::in_force),
        &mut |done| done >= steps,
        &mut (),
    )
    .plan;
    let verdict = match before {
        Some(before) => judge_after(shop, &plan, before),
        None => judge(shop, &plan),
    };
    assert_eq!(verdict.violations, []);
    plan
}

/// Brake, order, pieces and tools of the runs that begin before a moment, in order.
type Frozen = Vec<(String, OrderId, u32, Vec<String>)>;

fn begun_before(plan: &Plan, until: Moment) -> Frozen {
    let mut frozen = Vec::new();
    for brake in &plan.brakes {
        for run in brake.runs.iter().take_while(|run| run.start < until) {
            let tools = run.bends.iter().map(|bend| {
                let station = &run.bed[bend.station];
                format!("{} over {}", station.punch, station.die)
            });
            let brake = brake.brake.to_string();
            frozen.push((brake, run.order.clone(), run.quantity, tools.collect()));
        }
    }
    frozen
}

fn shop_of(orders: usize, frozen_hours: i64) -> (Shop, Moment) {
    let mut shop = invent(&Recipe::bed(orders, 0.4, Sections::Ample, 11));
    shop.rules.frozen = Seconds(frozen_hours * HOUR);
    let from = shop.as_of.unwrap();
    (shop, from)
}

/// The frozen runs of the plan before lead every brake's line in the plan after.
fn assert_frozen(before: &Plan, after: &Plan, until: Moment) {
    let frozen = begun_before(before, until);
    assert!(
        frozen.len() >= 4,
        "only {} runs begin so soon",
        frozen.len()
    );
    for brake in &before.brakes {
        let name = brake.brake.to_string();
        let of = |all: &Frozen| -> Frozen {
            let here = all.iter().filter(|(at, ..)| *at == name);
            here.cloned().collect()
        };
        let kept = of(&frozen);
        let now = of(&begun_before(after, after.until));
        assert_eq!(now[..kept.len()], kept[..], "on {name}");
    }
}

#[test]
fn a_brake_that_breaks_down_leaves_what_is_frozen() {
    let (mut shop, from) = shop_of(60, 6);
    let before = plan(&shop, from, None, 600);
    let busiest = before.brakes.iter().max_by_key(|brake| brake.runs.len());
    shop.floor.down.push(BrakeDown {
        brake: busiest.unwrap().brake.clone(),
        window: Window {
            start: from + Seconds(30 * HOUR),
            end: from + Seconds(80 * HOUR),
        },
        reason: "invented".to_owned(),
    });
    let after = plan(&shop, from, Some(&before), 600);
    assert_frozen(&before, &after, from + shop.rules.frozen);
    assert_ne!(before.brakes, after.brakes);
}

#[test]
fn orders_come_and_go() {
    let (mut shop, from) = shop_of(60, 6);
    let all = shop.orders.clone();
    let running: Vec<OrderId> = shop.floor.running.iter().map(|r| r.order.clone()).collect();
    // Orders that nothing else waits for, so that leaving them out leaves the shop whole.
    let loose = |id: &OrderId| {
        !running.contains(id) && all.iter().all(|order| order.after.as_ref() != Some(id))
    };
    let late_comer = all
        .iter()
        .rev()
        .find(|order| loose(&order.id))
        .unwrap()
        .clone();
    shop.orders.retain(|order| order.id != late_comer.id);
    let before = plan(&shop, from, None, 600);
    shop.orders.clone_from(&all);
    let after = plan(&shop, from, Some(&before), 0);
    assert_frozen(&before, &after, from + shop.rules.frozen);
    let runs = || after.brakes.iter().flat_map(|brake| &brake.runs);
    let unplaced = after
        .unplaced
        .iter()
        .any(|order| order.order == late_comer.id);
    assert!(unplaced || runs().any(|run| run.order == late_comer.id));
    // And one goes: nothing of it is left.
    shop.orders.retain(|order| order.id != late_comer.id);
    let without = plan(&shop, from, Some(&after), 0);
    let mut runs = without.brakes.iter().flat_map(|brake| &brake.runs);
    assert!(runs.all(|run| run.order != late_comer.id));
}

/// Brake and start of every order, as a plan has them.
fn by_order(plan: &Plan) -> BTreeMap<OrderId, (BTreeSet<BrakeId>, Moment)> {
    let mut all = BTreeMap::new();
    for brake in &plan.brakes {
        for run in &brake.runs {
            let entry = all.entry(run.order.clone());
            let (brakes, start): &mut (BTreeSet<BrakeId>, Moment) =
                entry.or_insert_with(|| (BTreeSet::new(), run.start));
            brakes.insert(brake.brake.clone());
            *start = run.start.min(*start);
        }
    }
    all
}

/// The totals say how far the plan is from what people were told; the search pays for it, so a high
/// price leaves less of it.
#[test]
fn disturbance_is_counted_and_kept_small() {
    let mut by_price = Vec::new();
    for price in [0, 20, 400] {
        let mut far = (0, 0);
        for seed in 0..4 {
            let mut shop = invent(&Recipe::bed(40, 0.4, Sections::Ample, 20 + seed));
            shop.rules.frozen = Seconds(HOUR);
            shop.rules.told = Seconds(36 * HOUR);
            shop.rules.other_brake_minutes = 15 * price;
            shop.rules.moved_hour_minutes = price;
            let from = shop.as_of.unwrap();
            let before = plan(&shop, from, None, 100);
            let after = plan(&shop, from, Some(&before), 1_500);
            let (was, is) = (by_order(&before), by_order(&after));
            let until = from + shop.rules.told;
            let (mut moved, mut others) = (0, 0);
            for (order, (brakes, start)) in &was {
                let running = shop.floor.running.iter().any(|one| one.order == *order);
                if let Some((brakes_now, start_now)) = is.get(order)
                    && *start < until
                    && !running
                {
                    moved += (*start_now - *start).0.abs();
                    others += u32::try_from(brakes_now.difference(brakes).count()).unwrap();
                }
            }
            assert_eq!(after.totals.moved, Seconds(moved), "{price}, {seed}");
            assert_eq!(after.totals.other_brakes, others, "{price}, {seed}");
            far = (far.0 + moved, far.1 + others);
        }
        by_price.push(far);
    }
    let [free, cheap, dear] = by_price[..] else {
        panic!("three prices")
    };
    assert!(
        free.0 > cheap.0 && cheap.0 > dear.0,
        "{free:?} {cheap:?} {dear:?}"
    );
    assert!(free.1 > dear.1, "{free:?} {cheap:?} {dear:?}");
}

/// A plan that nobody goes by freezes nothing and disturbs nobody.
#[test]
fn a_draft_is_only_a_start() {
    let (shop, from) = shop_of(40, 48);
    let before = plan(&shop, from, None, 50);
    let ask = Ask {
        from,
        seed: 1,
        threads: 1,
        seconds: None,
    };
    let draft = Earlier {
        plan: &before,
        in_force: false,
    };
    let after = plan_day(&shop, ask, Some(draft), &mut |done| done >= 1_000, &mut ()).plan;
    assert_eq!(judge(&shop, &after).violations, []);
    assert_eq!(after.told, []);
    assert_ne!(judge_after(&shop, &after, &before).violations, []);
    assert!(after.totals.objective < before.totals.objective);
}

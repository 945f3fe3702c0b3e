//! One event in a shop with a plan: what begins soon stays, the rest is planned again and judged.

#![allow(missing_docs, clippy::unwrap_used)]

use audit::judge;
use model::{BrakeDown, Plan, Shop};
use schedule::{Ask, plan_day};
use testkit::{Recipe, Sections, invent};
use units::{Moment, OrderId, Seconds, Window};

const HOUR: i64 = 3_600;

fn plan(shop: &Shop, from: Moment, before: Option<&Plan>, steps: u64) -> Plan {
    let ask = Ask {
        from,
        seed: 1,
        threads: 2,
        seconds: None,
    };
    let plan = plan_day(shop, ask, before, &mut |done| done >= steps, &mut ()).plan;
    assert_eq!(judge(shop, &plan).violations, []);
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

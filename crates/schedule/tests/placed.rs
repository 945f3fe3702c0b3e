//! Orders with a place on a brake, on invented shops: every plan keeps the places, also one made
//! from a plan before, and the judge agrees.

#![allow(missing_docs, clippy::unwrap_used)]

use audit::{judge, judge_after};
use model::{BlankLot, Plan, Run, Shop};
use rand::seq::IndexedRandom;
use rand::{RngExt, SeedableRng};
use rand_pcg::Pcg64;
use schedule::{Ask, Earlier, Planned, compile, lift, plan_day};
use search::Problem as _;
use std::collections::BTreeMap;
use testkit::{Recipe, Sections, invent, random_sequences};
use units::{BrakeId, OrderId, Seconds};

const HOUR: i64 = 3_600;

/// Ties about so many of ten orders to a brake, with a place each.
fn give_places(shop: &mut Shop, of_ten: u32, rng: &mut Pcg64) {
    let running: Vec<OrderId> = shop.floor.running.iter().map(|r| r.order.clone()).collect();
    let mut taken: Vec<(BrakeId, u32)> = Vec::new();
    for order in &mut shop.orders {
        order.place = None;
        if running.contains(&order.id) || rng.random_range(0..10) >= of_ten {
            continue;
        }
        let brake = shop.brakes.choose(rng).unwrap().id.clone();
        let place = rng.random_range(1..=999);
        if !taken.contains(&(brake.clone(), place)) {
            taken.push((brake.clone(), place));
            (order.brake, order.place) = (Some(brake), Some(place));
        }
    }
}

fn planned(shop: &Shop, before: Option<&Plan>, seed: u64, steps: u64) -> Planned {
    let ask = Ask {
        from: shop.as_of.unwrap(),
        seed,
        threads: 1,
        seconds: None,
    };
    plan_day(
        shop,
        ask,
        before.map(Earlier::in_force),
        &mut |done| done >= steps,
        &mut (),
    )
}

fn assert_good(shop: &Shop, plan: &Plan, what: &str) {
    assert_eq!(judge(shop, plan).violations, [], "{what}");
}

/// The runs that have to keep to places, by brake.
fn loose(plan: &Plan) -> impl Iterator<Item = Vec<&Run>> {
    let brakes = plan.brakes.iter();
    brakes.map(|brake| brake.runs.iter().filter(|run| !run.pinned).collect())
}

fn place_of(shop: &Shop, run: &Run) -> u32 {
    shop.order(&run.order).unwrap().place.unwrap_or(u32::MAX)
}

#[test]
fn plans_keep_places_whatever_else_occurs() {
    let (mut placed, mut frozen) = (0, 0);
    for seed in 0..160 {
        let mut rng = Pcg64::seed_from_u64(seed);
        let mut shop = invent(&Recipe::anything(seed));
        shop.rules.frozen = Seconds(4 * HOUR);
        give_places(&mut shop, 4, &mut rng);
        let name = |what: &str| format!("seed {seed}, {what}");
        let first = planned(&shop, None, seed, 150);
        assert_good(&shop, &first.plan, &name("planned"));
        assert_good(&shop, &first.due_date_order, &name("by due time"));
        assert_good(&shop, &first.grouped_by_die, &name("by die"));
        let (problem, _) = compile(&shop, shop.as_of.unwrap());
        let mut scratch = problem.scratch();
        for round in 0..2 {
            let lines = random_sequences(&problem, round * 4, &mut rng);
            let plan = lift(&problem, &mut scratch, &lines);
            assert_good(&shop, &plan, &name("at random"));
            let cost = problem.cost(&mut scratch, &lines, i64::MAX);
            assert_eq!(plan.totals.objective, cost, "seed {seed}");
        }
        placed += loose(&first.plan)
            .flatten()
            .filter(|run| place_of(&shop, run) < u32::MAX)
            .count();
        // Other places now; what begins soon stays all the same.
        give_places(&mut shop, 4, &mut rng);
        let second = planned(&shop, Some(&first.plan), seed, 150);
        let verdict = judge_after(&shop, &second.plan, &first.plan);
        assert_eq!(verdict.violations, [], "seed {seed}, planned again");
        assert_good(&shop, &second.due_date_order, &name("by due time again"));
        let runs = second.plan.brakes.iter().flat_map(|brake| &brake.runs);
        let fixed = runs.filter(|run| run.pinned && place_of(&shop, run) < u32::MAX);
        frozen += fixed.count();
    }
    assert!(placed >= 200 && frozen >= 20, "{placed}, {frozen}");
}

/// Without the judge: on every brake of shops without chains, places rise and come first.
#[test]
fn places_rise_and_come_first() {
    let mut behind = 0;
    for seed in 0..6 {
        let mut recipe = Recipe::bed(40, 0.2, Sections::Ample, seed);
        (recipe.features.chains, recipe.features.split) = (false, true);
        let mut shop = invent(&recipe);
        give_places(&mut shop, 3, &mut Pcg64::seed_from_u64(seed));
        let mut before = None;
        for round in 0..2 {
            let plan = planned(&shop, before.as_ref(), seed, 400).plan;
            for runs in loose(&plan) {
                let places: Vec<u32> = runs.iter().map(|run| place_of(&shop, run)).collect();
                assert!(places.is_sorted(), "seed {seed}, {round}: {places:?}");
                behind += usize::from(places.first() < places.last());
            }
            before = Some(plan);
        }
    }
    assert!(behind >= 10, "{behind}");
}

/// Beyond the size that is searched at once, stretches are rearranged: places are kept there too.
#[test]
fn large_shops_keep_places() {
    let mut shop = invent(&Recipe::bed(450, 0.2, Sections::Ample, 5));
    give_places(&mut shop, 2, &mut Pcg64::seed_from_u64(5));
    let first = planned(&shop, None, 5, 300);
    assert!(first.plan.iterations >= 300);
    assert_good(&shop, &first.plan, "large");
    let again = planned(&shop, Some(&first.plan), 6, 300);
    let verdict = judge_after(&shop, &again.plan, &first.plan);
    assert_eq!(verdict.violations, []);
}

/// A shop of one brake, its orders plain, the last of which has the first place.
fn plain() -> Shop {
    let mut recipe = Recipe::bed(8, -1.0, Sections::Ample, 3);
    recipe.brakes = 1;
    recipe.features = testkit::Features::default();
    let mut shop = invent(&recipe);
    let brake = shop.brakes[0].id.clone();
    let last = shop.orders.last_mut().unwrap();
    (last.brake, last.place) = (Some(brake), Some(1));
    shop
}

/// The orders of the only brake, in the order in which they are begun, and what is said of each.
fn line(plan: &Plan) -> (Vec<&OrderId>, BTreeMap<&OrderId, &[String]>) {
    let runs = &plan.brakes[0].runs;
    let said = runs.iter().map(|run| (&run.order, run.reasons.as_slice()));
    (runs.iter().map(|run| &run.order).collect(), said.collect())
}

#[test]
fn a_brake_waits_for_the_order_that_comes_first() {
    let mut shop = plain();
    let later = shop.as_of.unwrap() + Seconds(30 * HOUR);
    let last = shop.orders.last_mut().unwrap();
    last.blanks = vec![BlankLot {
        quantity: last.quantity,
        available: later,
    }];
    let id = last.id.clone();
    let plan = planned(&shop, None, 1, 200).plan;
    assert_good(&shop, &plan, "waiting");
    let (orders, said) = line(&plan);
    assert_eq!(orders[0], &id);
    assert!(plan.brakes[0].runs[0].start >= later);
    let said = said[&id].join("; ");
    assert!(said.contains("has place 1 on this brake"), "{said}");
}

#[test]
fn what_an_order_with_a_place_waits_for_comes_before_it() {
    let mut shop = plain();
    let first = shop.orders[2].id.clone();
    let last = shop.orders.last_mut().unwrap();
    last.after = Some(first.clone());
    let last = last.id.clone();
    // A second with a place, which the first waits for as well: its own is beside the point.
    let second = shop.orders[4].id.clone();
    let brake = shop.brakes[0].id.clone();
    shop.orders[2].after = Some(second.clone());
    (shop.orders[4].brake, shop.orders[4].place) = (Some(brake), Some(7));
    let plan = planned(&shop, None, 1, 200).plan;
    assert_good(&shop, &plan, "chain");
    assert_eq!(plan.unplaced, []);
    let (orders, said) = line(&plan);
    assert_eq!(orders[..3], [&second, &first, &last]);
    let said = said[&first].join("; ");
    assert!(said.contains("waits for it"), "{said}");
}

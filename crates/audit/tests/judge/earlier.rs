//! A plan that follows an earlier one: what people were told, and what was frozen.

use crate::plan::plan;
use crate::shop::{at, brake_id, order_id, shop};
use audit::{judge, judge_after};
use model::{Plan, Shop, Told};
use units::Seconds;

/// Rules that need an earlier plan to be broken; each is broken below.
pub(crate) const AIMED_AT: [&str; 3] = ["told-of-nothing", "told-otherwise", "frozen-moved"];

/// The plan of the other tests, 1 h 40 min after an earlier plan that had O4 on B1, from 08:00 on.
fn told() -> (Shop, Plan) {
    let (shop, mut plan) = (shop(), plan());
    let run = &plan.brakes[1].runs[1];
    assert_eq!(run.order, order_id("O4"));
    plan.told.push(Told {
        order: order_id("O4"),
        start: run.start - Seconds(6_000),
        brakes: vec![brake_id("B1")],
    });
    plan.totals.moved = Seconds(6_000);
    plan.totals.other_brakes = 1;
    // 15 min another brake, 2 min an hour.
    plan.totals.objective += 15 * 3_600 + 6_000 * 2;
    (shop, plan)
}

fn names(shop: &Shop, plan: &Plan) -> Vec<&'static str> {
    let violations = judge(shop, plan).violations;
    violations.iter().map(|violation| violation.rule).collect()
}

fn names_after(shop: &Shop, plan: &Plan, before: &Plan) -> Vec<&'static str> {
    let violations = judge_after(shop, plan, before).violations;
    violations.iter().map(|violation| violation.rule).collect()
}

#[test]
fn disturbance_is_part_of_the_objective() {
    let (shop, plan) = told();
    assert_eq!(judge(&shop, &plan).violations, []);
}

#[test]
fn disturbance_is_added_up_again() {
    let (shop, mut plan) = told();
    plan.totals.moved += Seconds(1);
    assert_eq!(names(&shop, &plan), ["wrong-total"]);
    let (shop, mut plan) = told();
    plan.totals.other_brakes = 0;
    assert_eq!(names(&shop, &plan), ["wrong-total"]);
    let (shop, mut plan) = told();
    plan.told[0].brakes = vec![brake_id("B2")];
    assert_eq!(names(&shop, &plan), ["wrong-total", "wrong-objective"]);
    // Earlier counts like later.
    let (shop, mut plan) = told();
    plan.told[0].start.0 += 12_000;
    assert_eq!(judge(&shop, &plan).violations, []);
}

#[test]
fn entries_are_of_orders_to_be_bent() {
    type Break = fn(&mut Plan);
    let breaks: [Break; 6] = [
        |plan| plan.told[0].order = order_id("NONE"),
        // In progress.
        |plan| plan.told[0].order = plan.brakes[0].runs[0].order.clone(),
        |plan| plan.told[0].brakes.clear(),
        |plan| plan.told[0].brakes.push(brake_id("B1")),
        |plan| plan.told[0].brakes.push(brake_id("B9")),
        |plan| plan.told[0].start = at("06:00:00") + Seconds(86_400),
    ];
    for (number, spoil) in breaks.iter().enumerate() {
        let (shop, mut plan) = told();
        spoil(&mut plan);
        let names = names(&shop, &plan);
        assert!(names.contains(&"told-of-nothing"), "{number}: {names:?}");
    }
    let (shop, mut plan) = told();
    plan.told.push(plan.told[0].clone());
    assert!(names(&shop, &plan).contains(&"told-of-nothing"));
}

/// The plan follows itself: everything is told, nothing is moved.
fn of_itself() -> (Shop, Plan) {
    let (mut shop, mut plan) = (shop(), plan());
    shop.rules.frozen = Seconds(86_400);
    for line in &plan.brakes {
        for run in &line.runs {
            let running = &shop.floor.running;
            if running.iter().all(|one| one.order != run.order) {
                plan.told.push(Told {
                    order: run.order.clone(),
                    start: run.start,
                    brakes: vec![line.brake.clone()],
                });
            }
        }
    }
    (shop, plan)
}

#[test]
fn told_is_what_the_earlier_plan_says() {
    let (shop, whole) = of_itself();
    assert_eq!(judge_after(&shop, &whole, &plan()).violations, []);
    let mut left_out = whole.clone();
    left_out.told.pop();
    assert_eq!(names_after(&shop, &left_out, &plan()), ["told-otherwise"]);
    // Nothing is told of runs that had ended.
    let mut earlier = plan();
    let run = &mut earlier.brakes[1].runs[1];
    run.end = whole.from;
    assert_eq!(names_after(&shop, &whole, &earlier), ["told-otherwise"]);
}

#[test]
fn frozen_orders_come_first() {
    let (mut shop, now) = of_itself();
    let mut earlier = plan();
    earlier.brakes[1].runs.swap(0, 1);
    let names = names_after(&shop, &now, &earlier);
    assert_eq!(names, ["frozen-moved"]);
    // A mark that nothing accounts for.
    let mut marked = now.clone();
    marked.brakes[1].runs[0].pinned = true;
    assert_eq!(judge_after(&shop, &marked, &plan()).violations, []);
    shop.rules.frozen = Seconds(0);
    assert_eq!(names_after(&shop, &marked, &plan()), ["frozen-moved"]);
    // What is not frozen may change places.
    assert_eq!(judge_after(&shop, &now, &earlier).violations, []);
}

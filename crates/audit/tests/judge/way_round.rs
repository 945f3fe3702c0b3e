//! Stations whose punch stands turned about.

use crate::collisions::{gooseneck, turn};
use crate::lone::{V16, expect, lone_plan, lone_shop};
use crate::plan::{bend_use, plan, steps};
use crate::shop::{bend, part, shop};
use model::*;
use units::*;

/// Part P1 on B2, whose station the floor has with a gooseneck reversed.
fn reversed_on_the_floor() -> (Shop, Plan) {
    let part = part("P1", 2, (1_000, 60), vec![bend(1, 1_000, 30)]);
    let mut shop = lone_shop(part, &[V16]);
    gooseneck(&mut shop);
    shop.floor.stations[0].reversed = true;
    let plan = lone_plan(&shop, vec![bend_use(1, 0, 150.0, 28.113_274, 2.4)], 22_702);
    (shop, plan)
}

#[test]
fn a_station_keeps_its_way_round_as_long_as_it_stands() {
    let (mut shop, mut plan) = reversed_on_the_floor();
    expect("as the floor has it", &shop, &plan, &[]);
    plan.brakes[1].runs[0].bed[0].reversed = false;
    expect("on the bed", &shop, &plan, &["turned-where-it-stands"]);
    plan.brakes[1].runs[0].changeover.keep[0].reversed = false;
    let verdict = audit::judge(&shop, &plan);
    assert_eq!(verdict.violations.len(), 2, "{:#?}", verdict.violations);
    shop.floor.stations[0].reversed = false;
    expect("as the floor had it", &shop, &plan, &[]);
    // Put on one way, kept the other way for the next run.
    let (mut shop, mut plan) = (crate::shop::shop(), crate::plan::plan());
    gooseneck(&mut shop);
    turn(&mut plan);
    expect("put on reversed", &shop, &plan, &[]);
    let next = &mut plan.brakes[1].runs[1];
    next.changeover.keep[0].reversed = false;
    next.bed[0].reversed = false;
    expect("kept", &shop, &plan, &["turned-where-it-stands"]);
}

#[test]
fn a_punch_is_turned_by_taking_it_off_and_putting_it_on() {
    // 300 s to prepare, 60 + 2·30 s off, 120 + 2·60 s on.
    let (shop, mut plan) = reversed_on_the_floor();
    let run = &mut plan.brakes[1].runs[0];
    let change = &mut run.changeover;
    change.remove = std::mem::take(&mut change.keep);
    change.insert.clone_from(&change.remove);
    change.insert[0].reversed = false;
    run.bed.clone_from(&change.insert);
    change.steps = steps(&[
        (StepKind::Prepare, 300),
        (StepKind::TakeOff, 120),
        (StepKind::PutOn, 240),
        (StepKind::Guard, 60),
        (StepKind::Programming, 600),
        (StepKind::FirstPiece, 46),
        (StepKind::Approval, 60),
    ]);
    let longer = Seconds(300 + 120 + 240);
    change.work += longer;
    change.end = change.end + longer;
    change.segments[0].end = change.end;
    (run.start, run.end) = (run.start + longer, run.end + longer);
    run.segments[0].start = run.start;
    run.segments[0].end = run.end;
    plan.totals.changeovers = 1;
    plan.totals.changeover += longer;
    plan.totals.objective += 60 * longer.0;
    expect("turned", &shop, &plan, &[]);
    // It is taken off as it stood.
    plan.brakes[1].runs[0].changeover.remove[0].reversed = false;
    expect("not as it stood", &shop, &plan, &["turned-where-it-stands"]);
}

#[test]
fn a_straight_punch_is_not_turned() {
    let (mut shop, plan) = reversed_on_the_floor();
    if let Profile::Punch(punch) = &mut shop.profiles[0] {
        punch.relief = Length::ZERO;
    }
    expect("straight and used", &shop, &plan, &["punch-cannot-turn"]);

    let (mut shop, plan) = (crate::shop::shop(), plan_reversed());
    expect("straight and put on", &shop, &plan, &["punch-cannot-turn"]);
    gooseneck(&mut shop);
    expect("relieved", &shop, &plan, &[]);
}

fn plan_reversed() -> Plan {
    let mut plan = plan();
    turn(&mut plan);
    plan
}

#[test]
fn a_reversed_station_that_stands_idle_from_the_floor_is_not_the_plans_doing() {
    let (mut shop, mut plan) = (shop(), plan());
    shop.floor.stations[0].reversed = true;
    let [first, second] = &mut plan.brakes[0].runs[..] else {
        unreachable!("B1 has two runs");
    };
    first.bed[0].reversed = true;
    first.changeover.keep[0].reversed = true;
    second.changeover.remove[0].reversed = true;
    expect("idle", &shop, &plan, &[]);
}

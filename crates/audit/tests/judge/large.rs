//! A long plan is judged quickly.

use crate::plan::{plan, segment};
use crate::shop::{at, calendar_id, mm, order_id, shop};
use chrono::Weekday;
use model::*;
use std::time::{Duration, Instant};
use units::*;

/// A thousand orders of one piece each after B2-01, alternately P3 and P1 on one bed: every run has
/// a changeover. B2 and its people work day and night.
fn long() -> (Shop, Plan) {
    let (mut shop, mut plan) = (shop(), plan());
    let mut always = shop.calendars[0].clone();
    always.id = calendar_id("always");
    always.shifts[0].span.end = always.shifts[0].span.start;
    always.shifts[0].days.extend([Weekday::Sat, Weekday::Sun]);
    always.shifts[0].breaks.clear();
    shop.calendars.push(always);
    shop.brakes[1].calendar = calendar_id("always");
    for person in [0, 3] {
        shop.people[person].calendar = calendar_id("always");
    }
    shop.rules.changeover_may_span_shifts = true;
    shop.rules.run_may_span_shifts = true;
    shop.rules.quiet_before_shift_end = Seconds(0);
    let mut clock = at("06:57:28");
    for number in 0..1_000 {
        let (like, first, work, cycle) = if number % 2 == 0 {
            (2, 25, 205, 13)
        } else {
            (3, 46, 226, 23)
        };
        let mut order = shop.orders[like].clone();
        order.id = order_id(&format!("L{number}"));
        (order.quantity, order.kit, order.after) = (1, None, None);
        order.due = clock + Seconds(86_400);
        let mut run = plan.brakes[1].runs[like - 2].clone();
        run.name = format!("B2-L{number}");
        run.order = order.id.clone();
        run.batch = "B2-a".to_owned();
        run.quantity = 1;
        run.due = order.due;
        run.late = Seconds(0);
        run.run_time = Seconds(cycle);
        let change = &mut run.changeover;
        (change.remove, change.insert) = (Vec::new(), Vec::new());
        change.keep.clone_from(&run.bed);
        change.work = Seconds(work);
        change.steps = crate::plan::steps(&[
            (StepKind::Program, 120),
            (StepKind::FirstPiece, first),
            (StepKind::Approval, 60),
        ]);
        change.start = clock;
        change.end = clock + change.work;
        let mut setting = segment("06:00:00", "06:00:00", &["M1"]);
        (setting.start, setting.end) = (change.start, change.end);
        change.segments = vec![setting];
        run.start = change.end;
        run.end = run.start + run.run_time;
        run.segments[0].start = run.start;
        run.segments[0].end = run.end;
        clock = run.end;
        plan.totals.runs += 1;
        plan.totals.run += run.run_time;
        plan.totals.changeover += change.work;
        plan.totals.objective += 60 * change.work.0;
        plan.brakes[1].runs.push(run);
        shop.orders.push(order);
    }
    (shop, plan)
}

/// Parts P1 and P3 with their sections known: an angle, and a small Z over a slim die.
fn with_sections(shop: &mut Shop) {
    if let Profile::Die(die) = &mut shop.profiles[1] {
        die.width = mm(24);
    }
    shop.parts[0].bends[0].line = Some(mm(28));
    shop.parts[2].bends[0].line = Some(mm(20));
    shop.parts[2].bends[1].line = Some(mm(36));
}

#[test]
fn a_thousand_runs_are_judged_in_a_blink() {
    let (shop, plan) = long();
    judged(&shop, &plan);
}

#[test]
fn a_thousand_runs_of_known_sections_are_judged_in_a_blink() {
    let (mut shop, plan) = long();
    with_sections(&mut shop);
    judged(&shop, &plan);
}

fn judged(shop: &Shop, plan: &Plan) {
    let started = Instant::now();
    let verdict = audit::judge(shop, plan);
    let took = started.elapsed();
    // A blink is some 50 ms; two seconds are for a machine that does much else.
    assert!(took < Duration::from_secs(2), "{took:?}");
    assert!(
        verdict.accepted(),
        "{:#?}",
        verdict.violations.iter().take(5).collect::<Vec<_>>()
    );
}

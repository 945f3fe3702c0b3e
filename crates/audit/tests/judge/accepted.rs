//! Plans that keep every rule, on the edges of the rules.

use crate::plan::{delay_second_brake, in_two_runs, plan, segment};
use crate::shop::{at, brake_id, calendar_id, kn_m, local, mm, shop, span};
use model::*;
use units::*;

fn accept(shop: &Shop, plan: &Plan) {
    let verdict = audit::judge(shop, plan);
    assert!(verdict.accepted(), "{:#?}", verdict.violations);
}

#[test]
fn the_plan_worked_out_by_hand_is_accepted() {
    accept(&shop(), &plan());
}

#[test]
fn limits_that_are_met_exactly_are_kept() {
    let mut shop = shop();
    let brake = &mut shop.brakes[0];
    // B1-02 needs 225 kN over 1 m, 600 mm off centre: one drive carries 225·(1/2 + 600/1800).
    brake.clamp_load = kn_m(225.0);
    brake.bed_load = Some(kn_m(225.0));
    brake.drive_span = mm(1_800);
    brake.force = Kilonewtons::of(375.0);
    // Open tools leave 360 − 300 = 60 mm for a flange of 40 and a clearance of 20.
    brake.open_height = mm(360);
    brake.throat = mm(40);
    brake.between_frames = mm(1_000);
    // Its new station stands 100 mm from its neighbour.
    shop.rules.station_gap = mm(100);
    // 85° tools bend 90° with 5° of springback.
    shop.materials[0].springback = Degrees::of(5.0);
    accept(&shop, &plan());
}

#[test]
fn work_in_overtime_shifts_is_counted() {
    let (mut shop, mut plan) = (shop(), plan());
    shop.calendars[0].shifts[0].overtime = true;
    // All 3870 + 18249 s of work lie in it, at 1.5: 6·15 sixtieths a second.
    plan.totals.overtime = Seconds(22_119);
    plan.totals.objective += 22_119 * 6 * 15;
    accept(&shop, &plan);
}

#[test]
fn only_the_overtime_part_of_a_segment_is_counted() {
    let (mut shop, mut plan) = (shop(), plan());
    // Overtime from 11:00 beside the day shift: only B1-02 works then, until 11:41:11.
    let mut late = shop.calendars[0].shifts[0].clone();
    late.span = span("11:00", "12:00");
    late.breaks.clear();
    late.overtime = true;
    shop.calendars[0].shifts.push(late);
    plan.totals.overtime = Seconds(2_471);
    plan.totals.objective += 2_471 * 6 * 15;
    accept(&shop, &plan);
}

#[test]
fn an_order_cut_by_lots_and_deliveries_is_two_runs() {
    let (mut shop, mut plan) = (shop(), plan());
    // O4: 10 pieces on hand due 11:30, 20 more from 06:50 due 13:00. The second run needs no change
    // and follows a minute later: 10 pieces 228 s, 20 pieces 455 s, no check before 21 pieces.
    let order = &mut shop.orders[3];
    order.deliveries = vec![
        Delivery {
            quantity: 20,
            due: at("13:00:00"),
        },
        Delivery {
            quantity: 10,
            due: at("11:30:00"),
        },
    ];
    order.blanks = vec![
        BlankLot {
            quantity: 20,
            available: at("06:50:00"),
        },
        BlankLot {
            quantity: 10,
            available: at("04:00:00"),
        },
    ];
    in_two_runs(&mut plan);
    let second = &mut plan.brakes[1].runs[2];
    second.ready = at("06:50:00");
    second.due = at("13:00:00");
    second.late = Seconds(0);
    accept(&shop, &plan);
}

#[test]
fn an_order_with_a_place_comes_first_but_for_what_it_waits_for() {
    let (mut shop, mut plan) = (shop(), plan());
    let tie = |order: &mut WorkOrder, brake: &str, place| {
        order.brake = Some(brake_id(brake));
        order.place = Some(place);
    };
    // O2 runs behind the order in progress, O4 behind O3, which it waits for.
    tie(&mut shop.orders[1], "B1", 9);
    tie(&mut shop.orders[3], "B2", 1);
    accept(&shop, &plan);
    // Its own place does not keep O3 back.
    tie(&mut shop.orders[2], "B2", 2);
    accept(&shop, &plan);
    // A place on another brake says nothing here; nor does one of an order that has no run.
    tie(&mut shop.orders[4], "B1", 1);
    accept(&shop, &plan);
    // What the plan before froze stays where it was.
    shop.orders[3].after = None;
    plan.brakes[1].runs[0].pinned = true;
    accept(&shop, &plan);
    plan.brakes[1].runs[1].pinned = true;
    accept(&shop, &plan);
}

#[test]
fn a_crew_may_hand_over_and_a_run_may_wait_for_the_next_one() {
    let (mut shop, mut plan) = (shop(), plan());
    // M3 goes at 11:00; M4 comes on at 11:10 and the run ends ten minutes later.
    let mut early = shop.calendars[0].clone();
    early.id = calendar_id("until-eleven");
    early.shifts[0].span.end = local("11:00");
    shop.calendars.push(early);
    shop.people[2].calendar = calendar_id("until-eleven");
    let run = &mut plan.brakes[0].runs[1];
    run.segments = vec![
        segment("06:54:02", "09:00:00", &["M3"]),
        segment("09:30:00", "11:00:00", &["M3"]),
        segment("11:10:00", "11:51:11", &["M4"]),
    ];
    run.end = at("11:51:11");
    run.late += Seconds(600);
    plan.brakes[1].runs[1].late += Seconds(600);
    plan.totals.weighted_late += Seconds(3 * 600);
    plan.totals.objective += 3 * 600 * 30;
    accept(&shop, &plan);
}

#[test]
fn a_change_may_pause_over_a_break() {
    let (mut shop, mut plan) = (shop(), plan());
    // The setter rests from 06:30 to 06:40; everything after it on the brake is 10 minutes later.
    let mut rest = shop.calendars[0].clone();
    rest.id = calendar_id("rests-early");
    rest.shifts[0].breaks = vec![span("06:30", "06:40")];
    shop.calendars.push(rest);
    shop.people[1].calendar = calendar_id("rests-early");
    let run = &mut plan.brakes[0].runs[1];
    run.changeover.segments = vec![
        segment("06:23:43", "06:30:00", &["M2"]),
        segment("06:40:00", "07:04:02", &["M2"]),
    ];
    run.changeover.end = at("07:04:02");
    run.start = at("07:04:02");
    run.end = at("11:51:11");
    run.segments = vec![
        segment("07:04:02", "09:00:00", &["M3"]),
        segment("09:30:00", "11:51:11", &["M3"]),
    ];
    run.late += Seconds(600);
    plan.brakes[1].runs[1].late += Seconds(600);
    plan.totals.weighted_late += Seconds(3 * 600);
    plan.totals.objective += 3 * 600 * 30;
    accept(&shop, &plan);
}

#[test]
fn a_cycle_is_worked_out_when_the_proven_setup_has_no_measured_one() {
    let (mut shop, plan) = (shop(), plan());
    shop.setups[0].seconds_a_piece = None;
    // Loading 10 + 1.7 + 0.157; each bend 5 + 1.7 + 0.157; flip 4, turn 3; strokes 2.519521 and
    // 2.719521; the gauge needs 1 s for 50 mm less returns of 0.561775 and 0.661775.
    let verdict = audit::judge(&shop, &plan);
    let cycle = verdict
        .violations
        .iter()
        .find(|violation| violation.rule == "wrong-cycle");
    assert!(cycle.unwrap().text.contains("38587"), "{cycle:?}");
}

#[test]
fn a_section_may_change_hands_within_a_second() {
    // B2's takedown ends at 06:23:43, the very second at which B1-02's change begins.
    let mut plan = plan();
    delay_second_brake(&mut plan, 883);
    accept(&shop(), &plan);
}

#[test]
fn an_axis_counts_from_the_day_it_is_fitted() {
    let (mut shop, mut plan) = (shop(), plan());
    let today = "2027-03-22".parse().ok();
    let axis = |to| {
        Some(Axis {
            from: mm(0),
            to,
            fitted: today,
        })
    };
    shop.parts[1].bends[0].lift = mm(12);
    plan.brakes[0].runs[1].bends[0].r = mm(12);
    shop.brakes[0].gauge.r = axis(mm(12));
    // 1000·tan 1° is 17.4551 mm.
    shop.parts[1].bends[0].taper = Degrees::of(1.0);
    shop.brakes[0].gauge.x_difference = axis(Length::from_mm(17.4551));
    accept(&shop, &plan);
}

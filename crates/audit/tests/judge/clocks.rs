//! The plan moved, second for second, into nights in which Berlin's clocks change.
//!
//! B1-02 works until 5 h 41 min 11 s after the plan's start. Started at 22:00 that is 04:41:11 on
//! the clock when an hour is skipped, and the second 02:41:11 when an hour occurs twice.

use crate::plan::{delay_brake, plan};
use crate::shop::{at, shop, span};
use chrono::{DateTime, Utc, Weekday};
use model::{Plan, Shop};
use units::Moment;

/// Everything at the same distance from a new start, on nights from 22:00 to `end`, with the break
/// three hours in as it was.
fn night(start: &str, end: &str) -> (Shop, Plan) {
    let (mut shop, mut plan) = (shop(), plan());
    let start: DateTime<Utc> = start.parse().unwrap();
    let by = start.timestamp() - at("06:00:00").0;
    for order in &mut shop.orders {
        order.ready.0 += by;
        order.due.0 += by;
    }
    let shift = &mut shop.calendars[0].shifts[0];
    shift.days = vec![Weekday::Sat];
    shift.span = span("22:00", end);
    shift.breaks = vec![span("01:00", "01:30")];
    plan.from = Moment(plan.from.0 + by);
    plan.until = Moment(plan.until.0 + by);
    for line in &mut plan.brakes {
        delay_brake(line, by);
        for run in &mut line.runs {
            run.ready.0 += by;
            run.due.0 += by;
        }
    }
    (shop, plan)
}

/// Whether the plan fits into the night.
fn check(start: &str, end: &str, fits: bool) {
    let (shop, plan) = night(start, end);
    let verdict = audit::judge(&shop, &plan);
    assert_eq!(
        verdict.accepted(),
        fits,
        "until {end}: {:#?}",
        verdict.violations
    );
    if !fits {
        assert!(
            verdict
                .violations
                .iter()
                .any(|v| v.rule == "run-spans-shifts")
        );
        assert!(
            verdict
                .violations
                .iter()
                .any(|v| v.rule == "person-not-there")
        );
    }
}

#[test]
fn the_night_of_the_skipped_hour() {
    let start = "2027-03-27T21:00:00Z";
    check(start, "06:00", true);
    check(start, "04:42", true);
    check(start, "04:41", false);
    // 02:30 does not exist that night; it means 03:00.
    check(start, "02:30", false);
}

#[test]
fn the_night_of_the_doubled_hour() {
    let start = "2027-10-30T20:00:00Z";
    check(start, "06:00", true);
    // 02:42 occurs twice; the shift ends at the second.
    check(start, "02:42", true);
    check(start, "02:41", false);
    check(start, "01:59", false);
}

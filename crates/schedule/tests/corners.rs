//! Corners that whole invented shops once fell over, each as small as it goes.

use audit::judge;
use chrono::{NaiveDate, NaiveTime, TimeZone};
use model::{Limit, LocalSpan, Shift, Shop};
use schedule::{compile, lift};
use search::{Problem as _, Sequences};
use testkit::{Features, Recipe, Sections, invent};
use units::{Length, Moment, Seconds};

/// A summer Monday at 05:30 or later, one brake, `orders` orders, nothing out of the ordinary.
fn plain_shop(orders: usize) -> Shop {
    invent(&Recipe {
        brakes: 1,
        parts: orders,
        proven: 0.0,
        tooled: 0.0,
        features: Features::default(),
        ..Recipe::bed(orders, 0.0, Sections::Ample, 8)
    })
}

/// Gives each order a part of its own.
fn own_parts(shop: &mut Shop) {
    for (order, part) in shop.orders.iter_mut().zip(&shop.parts) {
        order.part = part.id.clone();
    }
}

#[test]
fn an_order_that_fits_nowhere_also_names_the_unplaced_order_before_it() {
    let mut shop = plain_shop(2);
    own_parts(&mut shop);
    shop.orders[1].after = Some(shop.orders[0].id.clone());
    shop.parts[1].bends[0].leg = Length::from_whole_mm(4);
    let (problem, _) = compile(&shop, shop.as_of.unwrap());
    assert_eq!(problem.misfits.len(), 1);
    // Both orders are left out: the first because nobody placed it, the second for two reasons.
    let plan = lift(&problem, &mut problem.scratch(), &Sequences::new(1));
    let limits: Vec<Limit> = plan.unplaced[1].refusals.iter().map(|r| r.limit).collect();
    assert_eq!(limits, [Limit::Flange, Limit::Predecessor]);
    assert_eq!(judge(&shop, &plan).violations, []);
}

#[test]
fn work_goes_on_through_a_break_that_an_overlapping_shift_does_not_have() {
    let mut shop = plain_shop(1);
    let monday = NaiveDate::from_ymd_opt(2027, 6, 7).unwrap();
    let clock = |hour| NaiveTime::from_hms_opt(hour, 0, 0).unwrap();
    let beside = Shift {
        name: "beside".to_owned(),
        days: Vec::new(),
        span: LocalSpan {
            start: clock(6),
            end: clock(12),
        },
        breaks: Vec::new(),
        overtime: false,
    };
    for calendar in &mut shop.calendars {
        calendar.extra.push((monday, beside.clone()));
    }
    shop.people.truncate(1);
    shop.orders[0].quantity = 2_000;
    // Two hours before the early shift's break at nine.
    let local = shop.zone.from_local_datetime(&monday.and_time(clock(7)));
    let seven = Moment(local.unwrap().timestamp());
    let (problem, _) = compile(&shop, seven);
    let mut sequences = Sequences::new(1);
    sequences.machines[0].push(search::Slot { job: 0, way: 0 });
    let plan = lift(&problem, &mut problem.scratch(), &sequences);
    assert_eq!(judge(&shop, &plan).violations, []);
    let first = &plan.brakes[0].runs[0].segments[0];
    assert_eq!(first.end, seven + Seconds(5 * 3_600));
}

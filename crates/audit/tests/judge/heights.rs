//! Where the stop meets parts as bent so far, t 2, r 2.4 over V 16: see `collisions.rs` for the rest.

use crate::collisions::{BLANK, LINE, at_line, bent, folded, gooseneck, turn};
use crate::lone::expect;
use crate::shop::{mm, shop};
use model::*;
use units::*;

fn r_axis(shop: &mut Shop, from: f64, to: f64) {
    shop.brakes[1].gauge.r = Some(Axis {
        from: Length::from_mm(from),
        to: Length::from_mm(to),
        fitted: None,
    });
}

/// Hits of B2-01.
fn hits(plan: &mut Plan) -> &mut Vec<BendUse> {
    &mut plan.brakes[1].runs[0].bends
}

/// A lip of 20 folded down, a flange of 40 over all folded up, then 80 further on a third fold, the
/// lip against the gauge: the flange's flat is 40 − 8.8, the lines 31.2 + 5.026548 apart, the web's
/// flat 71.2. The lip's underside is 40 − 2 = 38 up.
fn hat() -> (Shop, Plan) {
    let lip = 18.113_274;
    let flange = lip + 36.226_548;
    let web = flange + 76.226_548;
    let (shop, mut plan) = bent(
        web + LINE,
        vec![
            at_line(1, lip, Edge::A, Direction::Down),
            at_line(2, flange, Edge::B, Direction::Up),
            at_line(3, web, Edge::A, Direction::Up),
        ],
    );
    hits(&mut plan)[2].r = mm(38);
    (shop, plan)
}

#[test]
fn a_lip_is_gauged_at_its_height() {
    let (mut shop, mut plan) = hat();
    expect("without an R axis", &shop, &plan, &["gauge-r"]);
    r_axis(&mut shop, 0.0, 100.0);
    expect("with one", &shop, &plan, &[]);
    for (r, broken) in [
        (38.14, vec![]),
        (37.86, vec![]),
        (38.3, vec!["gauge-height"]),
        (37.7, vec!["gauge-height"]),
        (0.0, vec!["gauge-height"]),
    ] {
        hits(&mut plan)[2].r = Length::from_mm(r);
        expect("stated", &shop, &plan, &broken);
    }
    // An axis that ends a rounding short is enough for a plan that says it stops there.
    r_axis(&mut shop, 0.0, 37.9);
    hits(&mut plan)[2].r = Length::from_mm(37.9);
    expect("an axis to 37.9", &shop, &plan, &[]);
    hits(&mut plan)[2].r = mm(38);
    expect("37.9 for 38", &shop, &plan, &["gauge-r"]);
    r_axis(&mut shop, 38.5, 100.0);
    expect("an axis from 38.5", &shop, &plan, &["gauge-r"]);
    // A stop of 40 meets it from below.
    shop.rules.stop_height = mm(40);
    shop.brakes[1].gauge.r = None;
    hits(&mut plan)[2].r = mm(0);
    expect("a high stop", &shop, &plan, &[]);
}

#[test]
fn a_flange_is_gauged_on_its_outer_face() {
    // From 3.74 up, where the arc of 4.4 comes within 0.05 of it.
    let (mut shop, mut plan) = folded(Direction::Up, Edge::A);
    gooseneck(&mut shop);
    turn(&mut plan);
    expect("a stop of 12", &shop, &plan, &[]);
    shop.rules.stop_height = mm(5);
    expect("a stop of 5", &shop, &plan, &["gauge-height", "gauge-r"]);
    hits(&mut plan)[1].r = Length::from_mm(3.739);
    expect("raised without an axis", &shop, &plan, &["gauge-r"]);
    r_axis(&mut shop, 0.0, 10.0);
    expect("raised", &shop, &plan, &[]);
}

/// A hat of 20 − 40 − 80 − 40 − 20 over all: its brims are folded down first and hang behind the die
/// while the walls are folded up, each gauged from its own brim. The lines are 40 − 3.773452 apart
/// at the walls and 80 − 3.773452 at the crown. A brim's upper face, 2 above the shoulders, goes
/// round an arc of 4.4, which comes within 0.05 of its outer face √(4.4² − 4.35²) = 0.661438 above
/// its end: u = 2 − 4.4 + 0.661438 = −1.738562, and R = u − 2.
fn brims_first() -> (Shop, Plan) {
    let brim = 18.113_274;
    let (wall, crown) = (brim + 36.226_548, 76.226_548);
    let width = 2.0 * wall + crown;
    let (shop, mut plan) = bent(
        width,
        vec![
            at_line(1, brim, Edge::A, Direction::Down),
            at_line(2, width - brim, Edge::B, Direction::Down),
            at_line(3, wall, Edge::A, Direction::Up),
            at_line(4, width - wall, Edge::B, Direction::Up),
        ],
    );
    for hit in &mut hits(&mut plan)[2..] {
        hit.r = Length::from_mm(-3.738_562);
    }
    (shop, plan)
}

#[test]
fn a_brim_that_hangs_behind_the_die_is_gauged_below_its_shoulders() {
    let (mut shop, mut plan) = brims_first();
    expect("without an R axis", &shop, &plan, &["gauge-r"]);
    r_axis(&mut shop, 0.0, 100.0);
    expect("an axis that stays above", &shop, &plan, &["gauge-r"]);
    r_axis(&mut shop, -3.7, 100.0);
    expect("an axis to 3.7 below", &shop, &plan, &["gauge-r"]);
    r_axis(&mut shop, -100.0, -4.0);
    expect("an axis that stays below", &shop, &plan, &["gauge-r"]);
    r_axis(&mut shop, -5.0, 100.0);
    expect("an axis to 5 below", &shop, &plan, &[]);
    // A higher stop stands no less in front of the die.
    shop.rules.stop_height = mm(100);
    expect("a high stop", &shop, &plan, &[]);
    // From the exact arc to chords of 15°, whose last is in the band from 4.0202 round the arc.
    for (r, broken) in [
        (-3.6, vec![]),
        (-4.15, vec![]),
        (-3.5, vec!["gauge-height"]),
        (-4.3, vec!["gauge-height"]),
        (-1.738_562, vec!["gauge-height"]),
        (0.0, vec!["gauge-height"]),
        (3.738_562, vec!["gauge-height"]),
    ] {
        hits(&mut plan)[2].r = Length::from_mm(r);
        expect("stated", &shop, &plan, &broken);
    }
    // Stated level, it is judged where it is.
    hits(&mut plan)[2].r = mm(0);
    r_axis(&mut shop, 0.0, 100.0);
    expect("level", &shop, &plan, &["gauge-height", "gauge-r"]);
}

#[test]
fn a_declared_lift_counts_only_where_the_section_is_not_known() {
    let (mut shop, mut plan) = folded(Direction::Down, Edge::B);
    for bend in &mut shop.parts[2].bends {
        bend.lift = mm(12);
    }
    expect("known", &shop, &plan, &[]);
    shop.parts[2].bends[0].line = None;
    expect(
        "one line missing",
        &shop,
        &plan,
        &["gauge-r", "wrong-position"],
    );
    for hit in hits(&mut plan) {
        hit.r = mm(12);
    }
    r_axis(&mut shop, 0.0, 12.0);
    expect("lifted", &shop, &plan, &[]);
    shop.parts[2].bends[0].line = Some(Length::from_mm(LINE));
    expect("known again", &shop, &plan, &["gauge-height"]);
}

#[test]
fn a_sheet_thicker_than_the_stop_needs_no_axis_while_it_lies_flat() {
    let (mut shop, plan) = bent(BLANK, vec![at_line(1, LINE, Edge::A, Direction::Up)]);
    shop.rules.stop_height = mm(1);
    expect("t 2, a stop of 1", &shop, &plan, &[]);
}

#[test]
fn a_refusal_for_the_height_needs_two_unlike_numbers_or_none() {
    let refused = |needed: f64, available: f64, unit: &'static str, broken: &[&str]| {
        let (shop, mut plan) = (shop(), crate::plan::plan());
        let refusal = &mut plan.unplaced[0].refusals[0];
        refusal.limit = Limit::GaugeR;
        (refusal.needed, refusal.available, refusal.unit) = (needed, available, unit);
        expect("a refusal", &shop, &plan, broken);
    };
    // Above or below the axis, without one, and with nothing to meet.
    refused(38.0, 30.0, "mm", &[]);
    refused(38.0, 50.0, "mm", &[]);
    refused(38.0, 0.0, "mm", &[]);
    refused(0.0, 0.0, "", &[]);
    refused(38.0, 38.0, "mm", &["refusal-does-not-refuse"]);
    refused(f64::NAN, 38.0, "mm", &["refusal-does-not-refuse"]);
}

use super::*;
use crate::family::Fold;
use crate::outline::point;
use model::Direction::{self, Down, Up};

const RIGHT: f64 = std::f64::consts::FRAC_PI_2;
/// Of a right angle: (π/2)·3.2.
const ALLOWANCE: f64 = 5.026_548;

/// Right angles in 2 mm with r 2.4, K 0.4 at these lines, made in this order, on a blank of this size.
fn strip(size: f64, folds: &[(f64, Direction)]) -> Strip {
    let fold = |(order, (line, direction)): (usize, &(f64, Direction))| Fold {
        number: u8::try_from(order).unwrap() + 1,
        order,
        line: *line,
        angle: RIGHT,
        radius: 2.4,
        allowance: RIGHT * 3.2,
        direction: *direction,
    };
    Strip {
        size,
        thickness: 2.0,
        k_factor: Some(0.4),
        folds: folds.iter().enumerate().map(fold).collect(),
    }
}

fn near(found: Option<f64>, expected: f64) {
    let found = found.unwrap();
    assert!((found - expected).abs() < 0.01, "{found} is not {expected}");
}

#[test]
fn a_flat_edge_lies_on_the_shoulders() {
    let mut strip = strip(100.0, &[(30.0, Up)]);
    for zero_at_gauge in [true, false] {
        let contact = Contact::of(&strip, 0, zero_at_gauge);
        near(contact.lower, 0.0);
        assert!(contact.allows(0.0, 12.0) && !contact.allows(1.0, 12.0));
    }
    // Thicker than the stop is high: it stands level none the less.
    strip.thickness = 15.0;
    near(Contact::of(&strip, 0, true).height(12.0), 0.0);
}

#[test]
fn a_flange_is_met_on_its_outer_face_from_its_outside_radius() {
    // The face begins on the arc of 4.4 where that is 0.05 short: √(4.4² − 4.35²) = 0.6614 below the
    // arc's end, 3.7386 above the shoulders.
    let strip = strip(112.0, &[(38.0, Up), (74.0, Up)]);
    let contact = Contact::of(&strip, 1, true);
    near(contact.lower, 3.7386);
    // With its thickness of 2 that is 5.74: within a stop of 12, above one of 5.
    near(contact.height(12.0), 0.0);
    near(contact.height(5.0), 3.7386);
    assert!(contact.allows(0.0, 12.0) && !contact.allows(3.74, 12.0));
    assert!(contact.allows(3.74, 5.0) && !contact.allows(0.0, 5.0));
    // An engine that draws the arc by chords of 15° has the end of the last 0.1499 short of it and
    // 1.1388 below: a third of that chord is in the band, which begins at 4.0202.
    assert!(contact.allows(4.02, 5.0) && !contact.allows(4.4, 5.0));
    assert!(!contact.allows(3.5, 5.0));
    // A stop of 5.7 is so near that either may be found.
    assert!(contact.allows(0.0, 5.7) && contact.allows(3.74, 5.7));
    // The other edge is flat.
    near(Contact::of(&strip, 1, false).lower, 0.0);
}

#[test]
fn a_lip_that_hangs_is_nothing_to_meet() {
    // Its outer face ends above at 2 − 4.4 + 0.6614, below the shoulders.
    let strip = strip(112.0, &[(38.0, Up), (74.0, Down)]);
    let contact = Contact::of(&strip, 1, true);
    assert!(!contact.is_met() && contact.height(12.0).is_none());
    assert!(!contact.allows(0.0, 12.0) && !contact.allows(-30.0, 12.0));
    assert!(Contact::of(&strip, 1, false).is_met());
}

#[test]
fn a_lip_on_a_flange_is_met_at_its_edge() {
    // Flange of 40 over all from the web's underside to the lip's upper face: its flat is 40 − 8.8,
    // the lines 31.2 + 5.0265 apart. The lip's underside is 40 − 2 = 38 up.
    let lip = 18.0;
    let flange = lip + 31.2 + ALLOWANCE;
    let strip = strip(
        flange + 120.0,
        &[(lip, Down), (flange, Up), (flange + 80.0, Up)],
    );
    let contact = Contact::of(&strip, 2, true);
    near(contact.lower, 38.0);
    near(contact.height(12.0), 38.0);
    near(contact.height(40.1), 0.0);
    for (height, allowed) in [(37.8, false), (37.9, true), (38.1, true), (38.2, false)] {
        assert_eq!(contact.allows(height, 12.0), allowed, "{height}");
    }
    assert!(!contact.allows(0.0, 12.0));
    // A lip folded in lies over the web, and the flange is met on its outer face.
    let mut inward = strip.clone();
    inward.folds[0].direction = Up;
    near(Contact::of(&inward, 2, true).lower, 3.7386);
    // Not made yet, it is the flange's end, standing up from the arc.
    let mut later = strip;
    later.folds[0].order = 3;
    near(Contact::of(&later, 2, true).lower, 3.7386);
}

#[test]
fn a_slanted_flange_is_met_at_the_lower_corner_of_its_edge() {
    // At 45° the underside rises 4.4·(1 − cos 45°) = 1.2887 round the fold and then 18.7434·sin 45° =
    // 13.2536: its corner is 14.5423 up, and 0.05 of the slope below it is in the band.
    let mut strip = strip(140.0, &[(20.0, Up), (80.0, Up)]);
    strip.folds[0].angle = RIGHT / 2.0;
    strip.folds[0].allowance = RIGHT / 2.0 * 3.2;
    near(Contact::of(&strip, 1, true).height(12.0), 14.4923);
    // The other way it slopes down, its edge between 18.7 and 12.5 below: nothing.
    strip.folds[1].direction = Down;
    assert!(!Contact::of(&strip, 1, true).is_met());
}

#[test]
fn the_lowest_face_that_rises_above_the_shoulders_is_met() {
    let edge = |x: f64, lower: f64, upper: f64| (point(x, lower), point(x, upper));
    let teeth = [
        edge(10.0, 3.0, 6.0),
        edge(10.0, -5.0, -1.0),
        edge(9.96, 6.04, 7.0),
        edge(9.9, 0.0, 2.0),
    ];
    let found = faces(&teeth, 0.05);
    assert_eq!(found, [(-5.0, -1.0), (3.0, 7.0)]);
    assert_eq!(lowest(&found, 0.05), Some(3.0));
    assert_eq!(lowest(&found, 7.0), None);
    // Half a slope in the band, and further apart than faces of one.
    let slope = [(point(10.0, 0.0), point(9.9, 4.0)), edge(10.0, -3.0, -0.06)];
    let found = faces(&slope, 0.05);
    assert_eq!(found.len(), 2);
    assert!((found[1].1 - 2.0).abs() < 1e-9, "{found:?}");
    assert!(faces(&[edge(0.0, 0.0, 2.0)], 0.05).is_empty());
    assert!(faces(&[edge(f64::NAN, 0.0, 2.0)], 0.05).is_empty());
}

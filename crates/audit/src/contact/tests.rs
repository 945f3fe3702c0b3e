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

fn near_face(contact: &Contact, expected: Face) {
    near(contact.face.map(|face| face.0), expected.0);
    near(contact.face.map(|face| face.1), expected.1);
}

/// A part of just this face in 2 mm, drawn in no other way.
fn only(lower: f64, upper: f64) -> Contact {
    Contact {
        thickness: 2.0,
        face: Some((lower, upper)),
        found: vec![vec![(lower, upper)]],
    }
}

#[test]
fn a_flat_edge_lies_on_the_shoulders() {
    let mut strip = strip(100.0, &[(30.0, Up)]);
    for zero_at_gauge in [true, false] {
        let contact = Contact::of(&strip, 0, zero_at_gauge);
        near_face(&contact, (0.0, 2.0));
        assert!(contact.allows(0.0, 12.0));
        for height in [-0.2, 0.2, 1.0, 2.0] {
            assert!(!contact.allows(height, 12.0), "{height}");
        }
    }
    // Thicker than the stop is high: it stands level none the less, for u − m = 15 − 15.
    strip.thickness = 15.0;
    let contact = Contact::of(&strip, 0, true);
    near(contact.height(12.0), 0.0);
    assert!(contact.allows(0.0, 12.0) && !contact.allows(0.2, 12.0));
}

#[test]
fn a_flange_is_met_on_its_outer_face_from_its_outside_radius() {
    // The face begins on the arc of 4.4 where that is 0.05 short: √(4.4² − 4.35²) = 0.6614 below the
    // arc's end, 3.7386 above the shoulders. The line at 38 leaves the flange a flat of 38 − 2.5133
    // on top of the 4.4.
    let strip = strip(112.0, &[(38.0, Up), (74.0, Up)]);
    let contact = Contact::of(&strip, 1, true);
    near_face(&contact, (3.7386, 39.8867));
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
    near_face(&Contact::of(&strip, 1, false), (0.0, 2.0));
}

#[test]
fn a_flange_that_hangs_is_met_below_the_shoulders() {
    // The sheet's upper face is 2 up, so its outer face ends above at 2 − 4.4 + 0.6614 = −1.7386, and
    // the stop covers its thickness of that: −3.7386. A stop however high does not reach it.
    let strip = strip(112.0, &[(38.0, Up), (74.0, Down)]);
    let contact = Contact::of(&strip, 1, true);
    near_face(&contact, (-37.8867, -1.7386));
    for stop in [1.0, 12.0, 100.0] {
        near(contact.height(stop), -3.7386);
        // By chords of 15° the face ends at 2 − 4.0202, so −4.0202; with 0.06 for the 0.05 it is
        // √(4.4² − 4.34²) = 0.7242 round the arc, so −3.6758.
        for (height, allowed) in [
            (0.0, false),
            (-3.52, false),
            (-3.53, true),
            (-4.165, true),
            (-4.175, false),
            (-37.8867, false),
        ] {
            assert_eq!(contact.allows(height, stop), allowed, "{height} of {stop}");
        }
    }
    near(Contact::of(&strip, 1, false).height(12.0), 0.0);
}

#[test]
fn the_stop_covers_the_thickness_or_the_whole_face() {
    // Lower and upper end, stop, and R by docs/rules.md §2c.
    for (lower, upper, stop, height) in [
        (10.0, 20.0, 12.0, 0.0),
        (10.1, 20.0, 12.0, 10.1),
        // Just so, but for the last micron.
        (10.0009, 20.0, 12.0, 0.0),
        (10.0011, 20.0, 12.0, 10.0011),
        // Half a millimetre high, so half a millimetre is enough.
        (11.5, 12.0, 12.0, 0.0),
        (11.6, 12.1, 12.0, 11.6),
        // Hanging over the shoulders by the thickness, and by a millimetre less.
        (-5.0, 2.0, 12.0, 0.0),
        (-5.0, 1.0, 12.0, -1.0),
        (-5.0, -1.0, 12.0, -3.0),
        (-1.5, -1.0, 12.0, -1.5),
        // The stop is lower than the sheet is thick.
        (0.5, 20.0, 1.5, 0.5),
        (-5.0, 20.0, 1.5, 18.0),
    ] {
        let contact = only(lower, upper);
        let what = format!("{lower} to {upper}, a stop of {stop}");
        let found = contact.height(stop).unwrap();
        assert!((found - height).abs() < 1e-9, "{what}: {found}");
        assert!(contact.allows(height, stop), "{what}");
        for off in [-0.5, 0.5] {
            assert!(!contact.allows(height + off, stop), "{what} and {off}");
        }
    }
    // Whatever is so near to being covered or not may be found either way.
    for (near_it, far) in [(10.1, 10.2), (9.9, 9.8)] {
        for height in [0.0, near_it] {
            assert!(only(near_it, 20.0).allows(height, 12.0), "{near_it}");
        }
        let wrong = if far > 10.0 { 0.0 } else { far };
        assert!(!only(far, 20.0).allows(wrong, 12.0), "{far}");
    }
    let hardly_hangs = only(-5.0, 1.9);
    assert!(hardly_hangs.allows(0.0, 12.0) && hardly_hangs.allows(-0.1, 12.0));
    assert!(!only(-5.0, 1.7).allows(0.0, 12.0) && !only(-5.0, 2.3).allows(0.2, 12.0));
}

/// The fold beside the one made now, in a sheet of this thickness.
fn beside(direction: Direction, degrees: f64, radius: f64, thickness: f64) -> Strip {
    let mut strip = strip(400.0, &[(160.0, direction), (300.0, Up)]);
    strip.thickness = thickness;
    let fold = &mut strip.folds[0];
    (fold.angle, fold.radius) = (degrees.to_radians(), radius);
    fold.allowance = fold.angle * (radius + 0.4 * thickness);
    strip
}

#[test]
fn an_engine_that_draws_arcs_by_other_chords_is_not_blamed() {
    // Beyond the upright the furthest point lies on the arc itself, and its face is what the chords
    // make of it.
    for (radius, thickness) in [(2.4, 2.0), (8.0, 6.0), (16.0, 12.0)] {
        for direction in [Up, Down] {
            for degrees in [45.0, 90.0, 91.0, 100.0, 120.0, 135.0, 150.0] {
                let strip = beside(direction, degrees, radius, thickness);
                let contact = Contact::of(&strip, 1, true);
                let lying = Pose {
                    strip: &strip,
                    now: 1,
                    zero_at_gauge: true,
                    reached: 0.0,
                    v: 0.0,
                };
                for tenths in 2..=150 {
                    let outline = lying.outline(Drawn::Chords(f64::from(tenths) / 10.0));
                    let engine = Contact {
                        face: met(&faces(&outline, BAND), ABOVE),
                        ..contact.clone()
                    };
                    for stop in [1.0, 5.0, 12.0, 20.0, 40.0] {
                        let found = engine.height(stop).unwrap();
                        let what = format!("{direction:?} {degrees}° round {radius}");
                        assert!(
                            contact.allows(found, stop),
                            "{what} by {tenths}/10°, a stop of {stop}: {found}"
                        );
                    }
                }
            }
        }
    }
}

#[test]
fn a_part_that_ends_at_the_punch_is_nothing_to_meet() {
    // A fold by nothing along the edge at the gauge.
    let mut strip = strip(100.0, &[(0.0, Up)]);
    (strip.folds[0].angle, strip.folds[0].allowance) = (0.0, 0.0);
    let contact = Contact::of(&strip, 0, true);
    assert!(contact.height(12.0).is_none());
    assert!(!contact.allows(0.0, 12.0) && !contact.allows(-100.0, 12.0));
    near(Contact::of(&strip, 0, false).height(12.0), 0.0);
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
    near_face(&contact, (38.0, 40.0));
    near(contact.height(12.0), 38.0);
    near(contact.height(40.1), 0.0);
    for (height, allowed) in [(37.8, false), (37.9, true), (38.1, true), (38.2, false)] {
        assert_eq!(contact.allows(height, 12.0), allowed, "{height}");
    }
    assert!(!contact.allows(0.0, 12.0));
    // A lip folded in lies over the web, and the flange is met on its outer face.
    let mut inward = strip.clone();
    inward.folds[0].direction = Up;
    near(Contact::of(&inward, 2, true).height(4.0), 3.7386);
    // Not made yet, it is the flange's end, standing up from the arc.
    let mut later = strip;
    later.folds[0].order = 3;
    near(Contact::of(&later, 2, true).height(4.0), 3.7386);
}

#[test]
fn a_slanted_flange_is_met_at_the_lower_corner_of_its_edge() {
    // At 45° the underside rises 4.4·(1 − cos 45°) = 1.2887 round the fold and then 18.7434·sin 45° =
    // 13.2536: its corner is 14.5423 up, and 0.05 of the slope below it is in the band.
    let mut strip = strip(140.0, &[(20.0, Up), (80.0, Up)]);
    strip.folds[0].angle = RIGHT / 2.0;
    strip.folds[0].allowance = RIGHT / 2.0 * 3.2;
    let contact = Contact::of(&strip, 1, true);
    near_face(&contact, (14.4923, 14.5923));
    near(contact.height(12.0), 14.4923);
    // A stop of 14.6 covers all that is met of it.
    near(contact.height(14.6), 0.0);
    // The other way it slopes down and its upper corner is met, 14.5423 below the upper face: 0.05 of
    // the slope above it and of the edge below it, and the stop covers just that tenth.
    strip.folds[1].direction = Down;
    let contact = Contact::of(&strip, 1, true);
    near_face(&contact, (-12.5923, -12.4923));
    near(contact.height(12.0), -12.5923);
    assert!(contact.allows(-12.59, 12.0) && !contact.allows(-14.5, 12.0));
}

#[test]
fn the_lowest_face_that_rises_above_the_shoulders_is_met_or_else_the_highest() {
    let edge = |x: f64, lower: f64, upper: f64| (point(x, lower), point(x, upper));
    let teeth = [
        edge(10.0, 3.0, 6.0),
        edge(10.0, -5.0, -1.0),
        edge(9.96, 6.04, 7.0),
        edge(9.9, 0.0, 2.0),
    ];
    let found = faces(&teeth, 0.05);
    assert_eq!(found, [(-5.0, -1.0), (3.0, 7.0)]);
    assert_eq!(met(&found, 0.05), Some((3.0, 7.0)));
    assert_eq!(met(&found, -2.0), Some((-5.0, -1.0)));
    let hanging = [(-9.0, -8.0), (-5.0, -1.0)];
    assert_eq!(met(&hanging, 0.05), Some((-5.0, -1.0)));
    assert_eq!(met(&[], 0.05), None);
    // Half a slope in the band, and further apart than faces of one.
    let slope = [(point(10.0, 0.0), point(9.9, 4.0)), edge(10.0, -3.0, -0.06)];
    let found = faces(&slope, 0.05);
    assert_eq!(found.len(), 2);
    assert!((found[1].1 - 2.0).abs() < 1e-9, "{found:?}");
    assert!(faces(&[edge(0.0, 0.0, 2.0)], 0.05).is_empty());
    assert!(faces(&[edge(f64::NAN, 0.0, 2.0)], 0.05).is_empty());
}

//! Poses against coordinates worked out by hand, and the laws every pose keeps.

#![allow(clippy::unwrap_used)] // helpers of tests: what cannot be built fails the test
#![allow(clippy::float_cmp)] // compared where the figure is exact by construction

mod common;

use common::{Case, cases, degrees, has_corner, mm, square, state};
use proptest::prelude::*;
use shape::{
    CHORD_MM, Chain, Facing, Fold, FoldState, Outline, Point, Pose, ShapeError, gauge_edge, pose,
    swept,
};
use std::f64::consts::{FRAC_1_SQRT_2, PI, SQRT_2};

/// Below anything that can be measured, above what rounding does to sums of sines.
const NOISE: f64 = 1e-6;

#[test]
fn a_channel_lying_with_one_leg_made() {
    // t 2, r 2: a strip is π/2 · 3 = 4.7124 mm; half of it lies on each side of the bend line.
    let channel = square(2.0, 2.0, &[30.0, 40.0, 30.0], "++");
    let lying = pose(&channel, &state("#."), 1, degrees(180.0), mm(16.0)).unwrap();
    let half_strip = PI / 4.0 * 3.0;
    assert_eq!(lying.tip, Point::new(0.0, 2.0));
    let right = half_strip + 30.0;
    assert!(has_corner(&lying.outline, right, 0.0) && has_corner(&lying.outline, right, 2.0));
    // The web ends 40 mm before the strip; there the arc's centre is 4 mm up.
    let web = -half_strip - 40.0;
    assert!(has_corner(&lying.outline, web, 0.0) && has_corner(&lying.outline, web, 2.0));
    for x in [web - 2.0, web - 4.0] {
        assert!(has_corner(&lying.outline, x, 4.0), "the leg begins");
        assert!(has_corner(&lying.outline, x, 34.0), "the leg ends");
    }
}

#[test]
fn a_channel_with_its_second_leg_finished() {
    let channel = square(2.0, 2.0, &[30.0, 40.0, 30.0], "++");
    let bent = pose(&channel, &state("#."), 1, degrees(90.0), mm(16.0)).unwrap();
    // Centre of the arc: (2 + 2)·√2 − 8.
    let centre = 4.0 * SQRT_2 - 8.0;
    assert!((bent.tip.y - (centre - 2.0)).abs() < NOISE);
    assert!(
        has_corner(&bent.outline, 0.0, centre - 2.0),
        "inside vertex"
    );
    assert!(
        has_corner(&bent.outline, 0.0, centre - 4.0),
        "outside vertex"
    );
    let d = FRAC_1_SQRT_2;
    // Along the right leg and square to it.
    let right = |along: f64, out: f64| (along * d + out * d, centre + along * d - out * d);
    for out in [2.0, 4.0] {
        let (x, y) = right(30.0, out);
        assert!(has_corner(&bent.outline, x, y), "the right leg's end");
    }
    // Along the web to its end, there up and inward: the first leg.
    let left = |along: f64, out: f64| (-along * d - out * d, centre + along * d - out * d);
    for from_web in [42.0, 44.0] {
        let (x, y) = left(from_web, -30.0);
        assert!(has_corner(&bent.outline, x, y), "the first leg's end");
    }
    // Its outer faces lie on the die's shoulders.
    assert!(bent.outline.depth(Point::new(8.0, 0.0)).abs() < NOISE);
    assert!(bent.outline.depth(Point::new(-8.0, 0.0)).abs() < NOISE);
}

/// A hat 40 mm wide, 1 mm thick, with a fold of 180° in the middle of its top by which to hold it.
fn hat() -> Chain {
    let fold = |included, up| Fold {
        included: degrees(included),
        inside_radius: mm(1.0),
        up,
    };
    let folds = vec![
        fold(90.0, true),
        fold(90.0, false),
        fold(180.0, true),
        fold(90.0, false),
        fold(90.0, true),
    ];
    let flats = [15.0, 10.0, 20.0, 20.0, 10.0, 15.0];
    Chain::new(mm(1.0), flats.map(mm).to_vec(), folds).unwrap()
}

#[test]
fn a_hat_held_by_its_top() {
    let held = pose(&hat(), &state("##.##"), 2, degrees(180.0), mm(8.0)).unwrap();
    for side in [-1.0, 1.0] {
        for (x, y) in [
            (20.0, 0.0),
            (20.0, 1.0), // the top ends, its arc's centre is at (20, −1)
            (21.0, -1.0),
            (22.0, -1.0), // the wall begins
            (21.0, -11.0),
            (22.0, -11.0), // and ends; the next arc's centre is at (23, −11)
            (23.0, -12.0),
            (23.0, -13.0), // the flange begins
            (38.0, -12.0),
            (38.0, -13.0), // and ends
        ] {
            assert!(has_corner(&held.outline, side * x, y), "{x} {y}");
        }
    }
    let bounds = held.outline.bounds();
    assert!((bounds.width() - 76.0).abs() < NOISE && (bounds.height() - 14.0).abs() < NOISE);
    assert_eq!(hat().developed_mm(), 90.0 + 4.0 * PI / 2.0 * 1.5);
}

#[test]
fn a_fold_down_is_made_upward_on_the_other_face() {
    let zed = square(1.0, 1.0, &[20.0, 30.0, 25.0], "+-");
    let bent = pose(&zed, &state("#."), 1, degrees(90.0), mm(8.0)).unwrap();
    // Both legs rise, and the first flange hangs from the front one.
    assert!((bent.outline.bounds().high.x - 25.0 * FRAC_1_SQRT_2).abs() < 3.0);
    let lying = pose(&zed, &state("#."), 1, degrees(180.0), mm(8.0)).unwrap();
    let low = lying.outline.bounds().low;
    assert!(
        (low.y - (-1.0 - 20.0)).abs() < NOISE,
        "the flange hangs: {low:?}"
    );
    assert!((lying.outline.bounds().high.y - 1.0).abs() < NOISE);
}

#[test]
fn a_large_radius_rests_on_its_arc() {
    // R = 30 + 2, V 20: the arc's centre stands √(32² − 10²) over the shoulders.
    let chain = square(2.0, 30.0, &[50.0, 50.0], "+");
    let bent = pose(&chain, &state("."), 0, degrees(90.0), mm(20.0)).unwrap();
    assert!((bent.tip.y - ((1024.0f64 - 100.0).sqrt() - 30.0)).abs() < NOISE);
    let shoulder = bent.outline.depth(Point::new(10.0, 0.0));
    assert!(shoulder.abs() <= CHORD_MM + NOISE, "{shoulder}");
}

#[test]
fn what_is_no_section_is_refused() {
    let fold = |included, radius| Fold {
        included: degrees(included),
        inside_radius: mm(radius),
        up: true,
    };
    let two = vec![mm(10.0), mm(10.0)];
    let refused = |t, flats: &[_], folds| Chain::new(mm(t), flats.to_vec(), folds).unwrap_err();
    assert_eq!(
        refused(0.0, &two, vec![fold(90.0, 1.0)]),
        ShapeError::NoThickness
    );
    assert_eq!(
        refused(1.0, &two, vec![]),
        ShapeError::FoldsAndFlats { folds: 0, flats: 2 }
    );
    assert_eq!(
        refused(1.0, &[mm(10.0), mm(-0.1)], vec![fold(90.0, 1.0)]),
        ShapeError::NegativeFlat { flat: 1 }
    );
    assert_eq!(
        refused(1.0, &two, vec![fold(90.0, -1.0)]),
        ShapeError::NegativeRadius { fold: 0 }
    );
    for angle in [0.0, -5.0, 180.1] {
        assert_eq!(
            refused(1.0, &two, vec![fold(angle, 1.0)]),
            ShapeError::Angle { degrees: angle }
        );
    }
    let chain = Chain::new(mm(1.0), two, vec![fold(90.0, 1.0)]).unwrap();
    let no = |state: &[FoldState], at, angle, v| {
        pose(&chain, state, at, degrees(angle), mm(v)).unwrap_err()
    };
    assert_eq!(
        no(&[], 0, 90.0, 8.0),
        ShapeError::States {
            states: 0,
            folds: 1
        }
    );
    assert_eq!(
        no(&state("."), 1, 90.0, 8.0),
        ShapeError::NoSuchFold { fold: 1, folds: 1 }
    );
    assert_eq!(
        no(&state("."), 0, 0.0, 8.0),
        ShapeError::Angle { degrees: 0.0 }
    );
    assert!(matches!(
        no(&state("."), 0, 90.0, 0.0),
        ShapeError::Dimension { .. }
    ));
    let still = swept(&chain, &state("."), 0, degrees(90.0), mm(8.0), 0);
    assert_eq!(still.unwrap_err(), ShapeError::NoSteps);
    let bow_tie = [(0.0, 0.0), (4.0, 4.0), (4.0, 0.0), (0.0, 3.0)];
    let bow_tie = bow_tie.map(|(x, y)| Point::new(x, y)).to_vec();
    assert_eq!(
        Outline::new(bow_tie).unwrap_err(),
        ShapeError::CrossesItself
    );
    let line = vec![
        Point::new(0.0, 0.0),
        Point::new(1.0, 1.0),
        Point::new(2.0, 2.0),
    ];
    assert_eq!(Outline::new(line).unwrap_err(), ShapeError::NoArea);
}

#[test]
fn the_stop_touches_the_edge_or_the_flange_at_the_back() {
    let channel = square(2.0, 2.0, &[30.0, 40.0, 25.0], "++");
    let half_strip = PI / 4.0 * 3.0;
    // As drawn the free edge of the last leg is at the back.
    let edge = gauge_edge(&channel, &state("#."), 1, Facing::AsDrawn).unwrap();
    assert!((edge.x_mm - (half_strip + 25.0)).abs() < NOISE);
    assert!((edge.r_mm - 1.0).abs() < NOISE && !edge.blocked);
    // Turned round, the leg already made: its outside, from the arc's end at 4 to the top at 34.
    let flange = gauge_edge(&channel, &state("#."), 1, Facing::Turned).unwrap();
    assert!((flange.x_mm - (half_strip + 44.0)).abs() < NOISE);
    assert!(flange.face_low_mm > 3.0 && flange.face_low_mm <= 4.0);
    assert!((flange.face_high_mm - 34.0).abs() < NOISE && !flange.blocked);
    assert!((flange.r_mm - flange.face_low_mm - 1.0).abs() < NOISE);
    // Hanging, the same flange is out of the stop's reach.
    let zed = square(2.0, 2.0, &[30.0, 40.0, 25.0], "-+");
    let hanging = gauge_edge(&zed, &state("#."), 1, Facing::Turned).unwrap();
    assert!(hanging.blocked && (hanging.x_mm - (half_strip + 44.0)).abs() < NOISE);
    assert!(
        !gauge_edge(&zed, &state("#."), 1, Facing::AsDrawn)
            .unwrap()
            .blocked
    );
}

#[test]
fn a_wall_between_two_corners_is_one_face() {
    let fold = |included, up| Fold {
        included: degrees(included),
        inside_radius: mm(1.0),
        up,
    };
    let folds = vec![fold(90.0, true), fold(90.0, true), fold(90.0, true)];
    let ring = Chain::new(mm(1.0), [20.0, 40.0, 10.0, 15.0].map(mm).to_vec(), folds).unwrap();
    // A wall of 10 mm at the back, from the lower arc's end at 2 mm to the upper one's beginning.
    let wall = gauge_edge(&ring, &state(".##"), 0, Facing::AsDrawn).unwrap();
    assert!((wall.face_low_mm - 2.0).abs() < 0.5 && (wall.face_high_mm - 12.0).abs() < 0.5);
    assert!((wall.x_mm - (PI / 4.0 * 1.5 + 42.0)).abs() < NOISE && !wall.blocked);
}

/// The area of the straight parts exactly, and of each arc in its chords: n·½·sin(θ/n)·(R² − r²),
/// short of θ·½·(R² − r²) by what the chords cut off.
fn area_bounds(case: &Case) -> (f64, f64) {
    let t = case.chain.thickness().mm();
    let whole = t * case.chain.developed_mm();
    let mut cut_off = 0.0;
    for fold in case.chain.folds() {
        // No chord strays more than CHORD_MM from its arc, over the longer, outer arc.
        let bend = (180.0 - fold.included.get()).to_radians();
        cut_off += bend * (fold.inside_radius.mm() + t) * CHORD_MM;
    }
    (whole - cut_off, whole)
}

fn same_corners(a: &Outline, b: &Outline) -> bool {
    let all = |a: &Outline, b: &Outline| a.points().iter().all(|p| has_corner(b, p.x, p.y));
    all(a, b) && all(b, a)
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(2000))]

    #[test]
    fn area_is_thickness_times_developed_length_in_every_state(case in cases()) {
        let (least, most) = area_bounds(&case);
        for case in [&case, &case.finished()] {
            let area = case.pose().outline.area();
            prop_assert!(area > least - NOISE && area < most + NOISE, "{least} {area} {most}");
        }
        let mut flat = case.clone();
        flat.state = vec![FoldState::Flat; case.state.len()];
        flat.now = degrees(180.0);
        prop_assert!((flat.pose().outline.area() - most).abs() < NOISE);
    }

    #[test]
    fn the_tip_is_the_inside_vertex_and_the_legs_rest_on_the_shoulders(case in cases()) {
        let Pose { outline, tip, .. } = case.pose();
        prop_assert!(has_corner(&outline, tip.x, tip.y));
        prop_assert!(has_corner(&outline, 0.0, tip.y - case.chain.thickness().mm()));
        let half = case.v.mm() / 2.0;
        // A leg too short for the opening has nothing to rest on; a neighbour may lie there. Bent to
        // 40° a leg reaches out by sin 20° = 0.34 of its length.
        let reach = |flat: usize| case.chain.flats()[flat].mm() * 0.3;
        if reach(case.at) > half && reach(case.at + 1) > half && case.now.get() > 40.0 {
            for x in [-half, half] {
                let depth = outline.depth(Point::new(x, 0.0));
                prop_assert!(depth > -CHORD_MM - NOISE, "{x}: {depth}");
            }
        }
    }

    #[test]
    fn flipping_changes_nothing_and_the_other_end_mirrors(case in cases()) {
        let pose = case.pose();
        let mut flipped = case.clone();
        flipped.chain = case.chain.flipped();
        prop_assert!(same_corners(&flipped.pose().outline, &pose.outline));
        let mut reversed = case.clone();
        reversed.chain = case.chain.reversed();
        reversed.state.reverse();
        reversed.at = case.state.len() - 1 - case.at;
        prop_assert!(same_corners(&reversed.pose().outline, &pose.turned().outline));
        prop_assert!(same_corners(&pose.turned().turned().outline, &pose.outline));
    }

    #[test]
    fn a_stroke_goes_down_from_flat_to_its_target(case in cases(), steps in 1usize..20) {
        let target = case.chain.folds()[case.at].included;
        let stroke = swept(&case.chain, &case.state, case.at, target, case.v, steps).unwrap();
        prop_assert_eq!(stroke.len(), steps + 1);
        prop_assert_eq!(stroke[0].included, degrees(180.0));
        prop_assert_eq!(stroke[steps].included, target);
        prop_assert!((stroke[0].tip.y - case.chain.thickness().mm()).abs() < NOISE);
        for pair in stroke.windows(2) {
            prop_assert!(pair[1].included <= pair[0].included);
        }
    }

    #[test]
    fn bent_beyond_its_angle_the_strip_keeps_its_length(case in cases(), beyond in 0.5..8.0f64) {
        let mut over = case.clone();
        let fold = case.chain.folds()[case.at];
        over.now = degrees(fold.included.get() - beyond);
        let bend = (180.0 - over.now.get()).to_radians();
        let half = case.chain.thickness().mm() / 2.0;
        let strip = (180.0 - fold.included.get()).to_radians() * (fold.inside_radius.mm() + half);
        // While there is radius left to give.
        if strip / bend > half {
            let (least, most) = area_bounds(&case);
            let area = over.pose().outline.area();
            let slack = CHORD_MM * bend * (fold.inside_radius.mm() + 2.0 * half);
            prop_assert!(area > least - slack && area < most + NOISE);
        }
    }
}

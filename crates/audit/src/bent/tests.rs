use super::*;
use crate::mechanics;
use model::Direction;

/// Legs of 40 − 40 − 40 in 2 mm over V 16: r 2.4, K 0.4, BD 3.773452, lines 40 − BD/2 from the edges
/// of a blank of 120 − 2·BD [computed].
fn strip(first: Direction, second: Direction) -> Strip {
    let right_angle = std::f64::consts::FRAC_PI_2;
    let fold = |number: u8, line: f64, direction| Fold {
        number,
        order: usize::from(number) - 1,
        line,
        angle: right_angle,
        radius: 2.4,
        allowance: right_angle * 3.2,
        direction,
    };
    let deduction = 2.0 * 4.4 - right_angle * 3.2;
    let size = 120.0 - 2.0 * deduction;
    let line = 40.0 - deduction / 2.0;
    Strip {
        size,
        thickness: 2.0,
        k_factor: Some(0.4),
        folds: vec![fold(1, line, first), fold(2, size - line, second)],
    }
}

fn pose(strip: &Strip, now: usize, zero_at_gauge: bool, degrees: f64) -> Pose<'_> {
    Pose {
        strip,
        now,
        zero_at_gauge,
        reached: degrees.to_radians(),
        v: 16.0,
    }
}

fn has(points: &[Point], x: f64, y: f64) {
    let near = |p: &Point| (p.x - x).abs() < 1e-6 && (p.y - y).abs() < 1e-6;
    assert!(points.iter().any(near), "no point at {x}, {y}");
}

#[test]
fn the_tip_goes_down_as_far_as_the_travel() {
    let strip = strip(Direction::Up, Direction::Up);
    for degrees in [11.25, 45.0, 90.0] {
        let pose = pose(&strip, 0, true, degrees);
        let travel = mechanics::travel(16.0, 2.0, 2.4, 180.0 - degrees);
        let tip = pose.tip(&strip.folds[0]);
        assert!((tip - (2.0 - travel)).abs() < 1e-12, "{degrees}: {tip}");
    }
}

#[test]
fn a_channel_closes_over_the_punch() {
    let strip = strip(Direction::Up, Direction::Up);
    let points = pose(&strip, 1, false, 90.0).points();
    let half = 0.5_f64.sqrt();
    // The outside vertex is 8 below the shoulders. Edge B, 40 up the leg behind; then its inside.
    has(&points, 40.0 * half, 40.0 * half - 8.0);
    has(&points, 38.0 * half, 42.0 * half - 8.0);
    // In front the first leg comes back over the punch: edge A, outside and inside.
    has(&points, 0.0, 80.0 * half - 8.0);
    has(&points, 2.0 * half, 78.0 * half - 8.0);
    // With edge A at the gauge the same stands behind.
    let about = pose(&strip, 1, true, 90.0).points();
    has(&about, -40.0 * half, 40.0 * half - 8.0);
    has(&about, -2.0 * half, 78.0 * half - 8.0);
}

#[test]
fn a_z_hangs_down_in_front() {
    for strip in [
        strip(Direction::Up, Direction::Down),
        strip(Direction::Down, Direction::Up),
    ] {
        let points = pose(&strip, 1, false, 90.0).points();
        let half = 0.5_f64.sqrt();
        // 40 along the web to the outside vertex on its upper face, then 40 down square to it.
        has(&points, -78.0 * half, 2.0 * half - 8.0);
        has(&points, -76.0 * half, -8.0);
        // Early in the stroke it still hangs plumb, near enough: 38 below the sheet's underside.
        let early = pose(&strip, 1, false, 0.001).points();
        let lowest = early.iter().map(|p| p.y).fold(0.0, f64::min);
        assert!((lowest + 38.0).abs() < 0.01, "{lowest}");
    }
}

#[test]
fn a_bend_not_yet_made_is_flat() {
    let strip = strip(Direction::Up, Direction::Up);
    let points = pose(&strip, 0, true, 90.0).points();
    let half = 0.5_f64.sqrt();
    // Behind, the leg of 40; in front all the rest: 80 − BD of outside leg.
    let rest = 80.0 - (2.0 * 4.4 - std::f64::consts::FRAC_PI_2 * 3.2);
    has(&points, 40.0 * half, 40.0 * half - 8.0);
    has(&points, -rest * half, rest * half - 8.0);
}

#[test]
fn points_lie_close_on_both_faces() {
    let strip = strip(Direction::Up, Direction::Down);
    let points = pose(&strip, 1, false, 60.0).points();
    // Each mark leaves two points a thickness apart, and follows the one before by 1 mm at most.
    for pair in points.chunks(2) {
        let apart = (pair[0].x - pair[1].x).hypot(pair[0].y - pair[1].y);
        assert!((apart - 2.0).abs() < 1e-9);
    }
    let behind = pose(&strip, 1, false, 60.0).side(&strip.folds[1], false, Drawn::Densely);
    for face in [0, 1] {
        let face: Vec<_> = behind.iter().skip(face).step_by(2).collect();
        for pair in face.windows(2) {
            let apart = (pair[0].x - pair[1].x).hypot(pair[0].y - pair[1].y);
            assert!(apart <= 1.0 + 1e-9, "{apart}");
        }
    }
}

#[test]
fn the_shortest_flat_is_found_at_either_edge_and_between() {
    let mut strip = strip(Direction::Up, Direction::Up);
    let allowance = std::f64::consts::FRAC_PI_2 * 3.2;
    let near = |found: f64, expected: f64| assert!((found - expected).abs() < 1e-9, "{found}");
    // The web: 40 between vertices less two folds' set-back of 4.4.
    near(strip.shortest_flat(), 40.0 - 2.0 * 4.4);
    strip.folds[0].line = 4.0;
    near(strip.shortest_flat(), 4.0 - allowance / 2.0);
    strip.size = strip.folds[1].line + 1.0;
    near(strip.shortest_flat(), 1.0 - allowance / 2.0);
}

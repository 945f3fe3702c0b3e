//! Areas, distances, overlaps and yes-or-no answers against another geometry library's, on
//! thousands of random chains. Each test counts what it compared, so that it cannot pass by
//! comparing nothing.

#![allow(clippy::unwrap_used)] // helpers of tests: what cannot be built fails the test

mod common;

use common::{Case, cases, degrees, die, gooseneck, mm};
use geo::line_measures::{Distance, Euclidean};
use geo::{Area, BooleanOps, Contains, Intersects, LineString, Polygon, Validation};
use proptest::prelude::*;
use proptest::test_runner::{Config, TestRunner};
use shape::{Outline, Point, TOUCH_MM};
use std::cell::Cell;

/// Below this the two libraries may round to different sides of touching, in mm (and mm²).
const NOISE: f64 = 1e-6;
/// The resolution that overlaps are found with, in mm.
const RESOLUTION: f64 = 0.001;

fn polygon(outline: &Outline) -> Polygon<f64> {
    let corners: Vec<(f64, f64)> = outline.points().iter().map(|p| (p.x, p.y)).collect();
    Polygon::new(LineString::from(corners), vec![])
}

/// Something for a sheet to run into.
fn obstacles() -> impl Strategy<Value = Outline> {
    let block = (1.0..60.0f64, 1.0..60.0f64).prop_map(|(w, h)| shape::ram(mm(w), mm(h)).unwrap());
    let punch = (30.0..120.0f64, 0.0..3.0f64, 8.0..40.0f64).prop_map(|(angle, tip, width)| {
        shape::straight_punch(mm(120.0), degrees(angle), mm(tip), mm(width)).unwrap()
    });
    let dies = (4.0..30.0f64).prop_map(|v| die(v, v + 12.0).0);
    let sheets = cases().prop_map(|case| case.pose().outline);
    let shapes = prop_oneof![block, punch, dies, Just(gooseneck()), sheets];
    (shapes, -120.0..120.0f64, -120.0..120.0f64, any::<bool>()).prop_map(|(shape, x, y, turn)| {
        let shape = if turn { shape.mirrored_x() } else { shape };
        shape.translated(x, y)
    })
}

/// Runs the same cases every time, and answers how often the check said it compared something.
fn compare<S: Strategy>(
    cases: u32,
    strategy: &S,
    check: impl Fn(S::Value) -> Result<bool, TestCaseError>,
) -> u32 {
    let compared = Cell::new(0);
    let config = Config {
        cases,
        failure_persistence: None,
        ..Config::default()
    };
    let rng = proptest::test_runner::TestRng::deterministic_rng(config.rng_algorithm);
    let result = TestRunner::new_with_rng(config, rng).run(strategy, |value| {
        if check(value)? {
            compared.set(compared.get() + 1);
        }
        Ok(())
    });
    assert!(result.is_ok(), "{result:?}");
    compared.get()
}

fn sheet(case: &Case) -> (Outline, Polygon<f64>) {
    let outline = case.pose().outline;
    let polygon = polygon(&outline);
    (outline, polygon)
}

#[test]
fn areas_and_bounds_agree() {
    let compared = compare(4000, &cases(), |case| {
        let (outline, polygon) = sheet(&case);
        let area = polygon.signed_area();
        prop_assert!((outline.area() - area).abs() < NOISE * area.max(1.0));
        let bounds = geo::BoundingRect::bounding_rect(&polygon).unwrap();
        let mine = outline.bounds();
        prop_assert!((mine.low.x - bounds.min().x).abs() < NOISE);
        prop_assert!((mine.low.y - bounds.min().y).abs() < NOISE);
        prop_assert!((mine.high.x - bounds.max().x).abs() < NOISE);
        prop_assert!((mine.high.y - bounds.max().y).abs() < NOISE);
        Ok(true)
    });
    assert_eq!(compared, 4000);
}

#[test]
fn points_are_inside_or_outside_alike_and_as_deep() {
    let points = (
        cases(),
        -150.0..150.0f64,
        -150.0..150.0f64,
        any::<prop::sample::Index>(),
    );
    let inside = Cell::new(0);
    let compared = compare(4000, &points, |(case, x, y, near)| {
        let (outline, polygon) = sheet(&case);
        if !polygon.is_valid() {
            return Ok(false);
        }
        // Half of the points anywhere, half of them close to the sheet, where they matter.
        let close = *near.get(outline.points());
        for point in [
            Point::new(x, y),
            Point::new(close.x + x / 100.0, close.y + y / 100.0),
        ] {
            let depth = outline.depth(point);
            let theirs = geo::Point::new(point.x, point.y);
            let border = Euclidean.distance(&theirs, polygon.exterior());
            prop_assert!((depth.abs() - border).abs() < NOISE, "{depth} {border}");
            if border > NOISE {
                prop_assert_eq!(depth > 0.0, polygon.contains(&theirs));
            }
            inside.set(inside.get() + u32::from(depth > 0.0));
        }
        Ok(true)
    });
    assert!(
        compared > 2500 && inside.get() > 500,
        "{compared} {}",
        inside.get()
    );
}

#[test]
fn a_sheet_crosses_itself_where_the_other_library_says_so() {
    let crossing = Cell::new(0);
    let compared = compare(4000, &cases(), |case| {
        let (outline, polygon) = sheet(&case);
        let theirs = !polygon.is_valid();
        crossing.set(crossing.get() + u32::from(outline.crosses_itself()));
        // Corners that touch without crossing are invalid there and no crossing here.
        prop_assert!(!outline.crosses_itself() || theirs);
        Ok(outline.crosses_itself() == theirs)
    });
    assert!(
        compared >= 3990 && crossing.get() > 100,
        "{compared} {}",
        crossing.get()
    );
}

#[test]
fn distances_and_meetings_agree() {
    let (meeting, apart) = (Cell::new(0), Cell::new(0));
    let compared = compare(4000, &(cases(), obstacles()), |(case, obstacle)| {
        let (outline, mine) = sheet(&case);
        let theirs = polygon(&obstacle);
        if !mine.is_valid() || !theirs.is_valid() {
            return Ok(false);
        }
        let distance = outline.distance(&obstacle);
        prop_assert!((distance - obstacle.distance(&outline)).abs() < NOISE);
        let expected = Euclidean.distance(&mine, &theirs);
        prop_assert!((distance - expected).abs() < NOISE, "{distance} {expected}");
        if distance <= 0.0 || distance > NOISE {
            prop_assert_eq!(outline.meets(&obstacle), mine.intersects(&theirs));
        }
        let count = if distance > 0.0 { &apart } else { &meeting };
        count.set(count.get() + 1);
        Ok(true)
    });
    let counts = (compared, meeting.get(), apart.get());
    assert!(
        compared > 2000 && counts.1 > 500 && counts.2 > 500,
        "{counts:?}"
    );
}

#[test]
fn overlaps_are_where_the_other_library_intersects() {
    let (deep, none) = (Cell::new(0), Cell::new(0));
    let compared = compare(4000, &(cases(), obstacles()), |(case, obstacle)| {
        let (outline, mine) = sheet(&case);
        let theirs = polygon(&obstacle);
        if !mine.is_valid() || !theirs.is_valid() {
            return Ok(false);
        }
        let common = mine.intersection(&theirs).unsigned_area();
        match outline.overlap(&obstacle) {
            Some((at, depth)) => {
                // A point so deep has a disc of that radius inside one outline, and lies on the
                // other's border: a good part of the disc is common to both.
                let small = depth > TOUCH_MM && common <= 0.0;
                prop_assert!(!small, "{depth} deep, {common} mm² in common");
                let (a, b) = (outline.depth(at), obstacle.depth(at));
                prop_assert!((a.max(b) - depth).abs() < NOISE, "{a} {b} {depth}");
                prop_assert!(
                    a.min(b).abs() < NOISE,
                    "the point lies on a border: {a} {b}"
                );
                deep.set(deep.get() + u32::from(depth > TOUCH_MM));
            }
            None => {
                prop_assert!(common < 0.01, "{common} mm² in common");
                none.set(none.get() + 1);
            }
        }
        Ok(true)
    });
    let counts = (compared, deep.get(), none.get());
    assert!(
        compared > 2000 && counts.1 > 500 && counts.2 > 500,
        "{counts:?}"
    );
}

/// Points on a border, no further apart than `step`.
fn along(outline: &Outline, step: f64) -> Vec<Point> {
    let next = outline.points().iter().cycle().skip(1);
    let mut points = Vec::new();
    for (a, b) in outline.points().iter().zip(next) {
        let steps = (a.distance(*b) / step).ceil().max(1.0);
        let mut at = 0.0;
        while at < steps {
            let share = at / steps;
            points.push(Point::new(
                a.x + (b.x - a.x) * share,
                a.y + (b.y - a.y) * share,
            ));
            at += 1.0;
        }
    }
    points
}

#[test]
fn the_deepest_point_is_the_deepest_of_all_points_tried() {
    const STEP: f64 = 0.25;
    // How deep the border of one reaches into the other, by trying point after point.
    let tried = |border: &Outline, body: &Polygon<f64>| {
        let inside = along(border, STEP).into_iter().filter_map(|p| {
            let point = geo::Point::new(p.x, p.y);
            let within = body.contains(&point);
            within.then(|| Euclidean.distance(&point, body.exterior()))
        });
        inside.fold(0.0, f64::max)
    };
    let compared = compare(1000, &(cases(), obstacles()), |(case, obstacle)| {
        let (outline, mine) = sheet(&case);
        let theirs = polygon(&obstacle);
        let valid = mine.is_valid() && theirs.is_valid();
        let Some((_, depth)) = outline.overlap(&obstacle).filter(|_| valid) else {
            return Ok(false);
        };
        let best = tried(&outline, &theirs).max(tried(&obstacle, &mine));
        prop_assert!(
            best <= depth + RESOLUTION + NOISE,
            "{best} tried, {depth} found"
        );
        // The depth changes by at most a millimetre a millimetre.
        prop_assert!(
            best >= depth - STEP / 2.0 - NOISE,
            "{best} tried, {depth} found"
        );
        Ok(true)
    });
    assert!(compared > 250, "{compared}");
}

//! Arcs as chords that keep near enough.

use crate::point::Point;
use std::f64::consts::{FRAC_PI_2, PI, TAU};

/// Chords of a quarter at most.
const QUARTER_MOST: usize = 2_048;

/// Corners along an arc, first and last on its ends. Corners lie wherever it runs along an axis, so
/// that its extent is exact. `sweep` in radians, positive counterclockwise.
pub(crate) fn arc(centre: Point, radius: f64, from: f64, sweep: f64, near: f64) -> Vec<Point> {
    let mut cuts = vec![0.0];
    let (low, high) = (from.min(from + sweep), from.max(from + sweep));
    let mut quarter = (low / FRAC_PI_2).ceil() * FRAC_PI_2;
    // A sweep is at most a full turn: five quarters lie on it at most.
    for _ in 0..6 {
        if quarter > low + 1e-12 && quarter < high - 1e-12 {
            cuts.push(quarter - low);
        }
        quarter += FRAC_PI_2;
    }
    cuts.push(high - low);
    let most = if near < radius {
        2.0 * (1.0 - near / radius).acos()
    } else {
        FRAC_PI_2
    };
    let mut angles = Vec::new();
    for pair in cuts.windows(2) {
        if let [a, b] = pair {
            let count = pieces(b - a, most);
            for piece in 0..count {
                angles.push(low + a + (b - a) * share(piece, count));
            }
        }
    }
    angles.push(high);
    if sweep < 0.0 {
        angles.reverse();
    }
    let on = |angle: f64| {
        Point::new(
            centre.x + radius * angle.cos(),
            centre.y + radius * angle.sin(),
        )
    };
    angles.into_iter().map(on).collect()
}

#[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // held to a small range
fn pieces(sweep: f64, most: f64) -> usize {
    ((sweep / most).ceil().clamp(1.0, 1e6) as usize).min(QUARTER_MOST)
}

#[allow(clippy::cast_precision_loss)] // small numbers
fn share(piece: usize, count: usize) -> f64 {
    piece as f64 / count as f64
}

/// Counterclockwise from one angle to another, in degrees; more than nothing, at most a full turn.
pub(crate) fn arc_degrees(centre: Point, radius: f64, from: f64, to: f64, near: f64) -> Vec<Point> {
    let mut sweep = (to - from).rem_euclid(360.0);
    if sweep <= 0.0 {
        sweep = 360.0;
    }
    arc(
        centre,
        radius,
        from.rem_euclid(360.0).to_radians(),
        sweep.to_radians(),
        near,
    )
}

/// The piece of a polyline between two corners: straight, or an arc whose bulge is the tangent of a
/// quarter of its sweep. The first corner is left out, the second is exact.
pub(crate) fn bulged(from: Point, to: Point, bulge: f64, near: f64) -> Vec<Point> {
    let chord = from.distance(to);
    if bulge.abs() < 1e-9 || chord <= 0.0 {
        return vec![to];
    }
    let sweep = 4.0 * bulge.atan();
    let radius = chord * (1.0 + bulge * bulge) / (4.0 * bulge.abs());
    // From the chord's middle to the centre, to the left when positive.
    let offset = chord * (1.0 - bulge * bulge) / (4.0 * bulge);
    let (ux, uy) = ((to.x - from.x) / chord, (to.y - from.y) / chord);
    let centre = Point::new(
        f64::midpoint(from.x, to.x) - uy * offset,
        f64::midpoint(from.y, to.y) + ux * offset,
    );
    let start = (from.y - centre.y).atan2(from.x - centre.x);
    let mut points = arc(centre, radius, start, sweep, near);
    points.remove(0);
    if let Some(last) = points.last_mut() {
        *last = to;
    }
    points
}

/// Corners along an ellipse, parameters in radians; at its ends and wherever it runs along an axis.
pub(crate) fn ellipse(
    centre: Point,
    axis: Point,
    ratio: f64,
    (from, to): (f64, f64),
    near: f64,
) -> Vec<Point> {
    let major = axis.x.hypot(axis.y);
    let other = Point::new(-axis.y * ratio, axis.x * ratio);
    let mut sweep = (to - from).rem_euclid(TAU);
    if sweep <= 1e-12 {
        sweep = TAU;
    }
    let most = if near < major {
        2.0 * (1.0 - near / major).acos()
    } else {
        FRAC_PI_2
    };
    let mut angles = vec![from, from + sweep];
    for extreme in [other.x.atan2(axis.x), other.y.atan2(axis.y)] {
        for half in 0..2 {
            let past = (extreme + PI * f64::from(half) - from).rem_euclid(TAU);
            if past < sweep {
                angles.push(from + past);
            }
        }
    }
    angles.sort_by(f64::total_cmp);
    let mut points = Vec::new();
    let on = |angle: f64| {
        let (sin, cos) = angle.sin_cos();
        Point::new(
            centre.x + axis.x * cos + other.x * sin,
            centre.y + axis.y * cos + other.y * sin,
        )
    };
    for pair in angles.windows(2) {
        if let [a, b] = pair {
            let count = pieces(b - a, most);
            points.extend((0..count).map(|piece| on(a + (b - a) * share(piece, count))));
        }
    }
    points.push(on(from + sweep));
    points
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_half_circle_by_its_bulge_reaches_its_radius() {
        let points = bulged(Point::new(0.0, 0.0), Point::new(10.0, 0.0), 1.0, 0.001);
        let lowest = points.iter().map(|p| p.y).fold(f64::INFINITY, f64::min);
        assert!((lowest + 5.0).abs() < 1e-9, "{lowest}");
        let centre = Point::new(5.0, 0.0);
        assert!(
            points
                .iter()
                .all(|p| (p.distance(centre) - 5.0).abs() < 1e-9)
        );
        assert_eq!(points.last(), Some(&Point::new(10.0, 0.0)));
    }

    #[test]
    fn arcs_run_counterclockwise_over_zero_degrees() {
        let points = arc_degrees(Point::default(), 2.0, 350.0, 10.0, 0.001);
        let right = points.iter().map(|p| p.x).fold(f64::NEG_INFINITY, f64::max);
        assert!((right - 2.0).abs() < 1e-12);
        assert!(points.iter().all(|p| p.x > 1.9));
        // 20 degrees of radius 2: chords within 0.001 mm.
        assert!(points.len() < 20, "{}", points.len());
    }

    #[test]
    fn an_ellipse_has_its_true_extent() {
        let (sin, cos) = 30.0f64.to_radians().sin_cos();
        let axis = Point::new(10.0 * cos, 10.0 * sin);
        let points = ellipse(Point::default(), axis, 0.5, (0.0, TAU), 0.001);
        let right = points.iter().map(|p| p.x).fold(f64::NEG_INFINITY, f64::max);
        let expected = (10.0 * cos).hypot(5.0 * sin);
        assert!((right - expected).abs() < 1e-9, "{right} {expected}");
    }
}

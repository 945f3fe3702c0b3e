//! Outlines of tools and machine across the bed, and how deep a point lies in one.
//!
//! Millimetres; x from the front to the gauge, y up from the die's shoulders.

use model::{Brake, Die, Punch};

/// How far ram and bed are followed beyond the tools. No bent part reaches further in earnest, and
/// the frames beyond are not modelled.
const BEYOND: f64 = 300.0;

/// A point across the bed.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Point {
    pub(crate) x: f64,
    pub(crate) y: f64,
}

pub(crate) const fn point(x: f64, y: f64) -> Point {
    Point { x, y }
}

/// A closed outline, corners in order.
pub(crate) type Outline = Vec<Point>;

/// The punch with its tip at the origin; a relieved one with its neck toward the gauge.
pub(crate) fn punch_outline(punch: &Punch) -> Outline {
    let (half, height) = (punch.body.mm() / 2.0, punch.height.mm());
    let (relief, closes) = (punch.relief.mm(), punch.relief_height.mm());
    if relief > 0.0 {
        return vec![
            point(0.0, 0.0),
            point(relief + half, closes / 2.0),
            point(half, closes),
            point(half, height),
            point(-half, height),
            point(-half, closes),
            point(relief, closes / 2.0),
        ];
    }
    let slope = (punch.angle.get() / 2.0).to_radians().tan();
    let flank = half / slope;
    if flank >= height {
        let wide = height * slope;
        return vec![point(0.0, 0.0), point(wide, height), point(-wide, height)];
    }
    vec![
        point(0.0, 0.0),
        point(half, flank),
        point(half, height),
        point(-half, height),
        point(-half, flank),
    ]
}

/// The die less its V: one outline, or two where the V would cut through the seat.
pub(crate) fn die_outlines(die: &Die) -> Vec<Outline> {
    let (half, height) = (die.width.mm() / 2.0, die.height.mm());
    let shoulder = die.v.mm() / 2.0;
    let apex = shoulder / (die.angle.get() / 2.0).to_radians().tan();
    if apex < height {
        return vec![vec![
            point(-half, 0.0),
            point(-shoulder, 0.0),
            point(0.0, -apex),
            point(shoulder, 0.0),
            point(half, 0.0),
            point(half, -height),
            point(-half, -height),
        ]];
    }
    let cut = shoulder * (1.0 - height / apex);
    let right = vec![
        point(shoulder, 0.0),
        point(half, 0.0),
        point(half, -height),
        point(cut, -height),
    ];
    vec![turned(&right), right]
}

/// The ram above a punch whose seat is at the origin.
pub(crate) fn ram_outline(brake: &Brake) -> Outline {
    let half = brake.ram_thickness.mm() / 2.0;
    upright(half, 0.0, BEYOND)
}

/// The bed below a die of this height.
pub(crate) fn bed_outline(brake: &Brake, die_height: f64) -> Outline {
    let half = brake.bed_thickness.mm() / 2.0;
    upright(half, -die_height - BEYOND, -die_height)
}

fn upright(half: f64, from: f64, to: f64) -> Outline {
    vec![
        point(-half, from),
        point(half, from),
        point(half, to),
        point(-half, to),
    ]
}

/// Turned about: front and back change places.
pub(crate) fn turned(outline: &[Point]) -> Outline {
    outline.iter().map(|p| point(-p.x, p.y)).collect()
}

/// Raised by so much.
pub(crate) fn raised(outline: &[Point], by: f64) -> Outline {
    outline.iter().map(|p| point(p.x, p.y + by)).collect()
}

/// How deep a point lies inside an outline: its distance to the nearest edge, or zero outside.
pub(crate) fn depth(outline: &[Point], p: Point) -> f64 {
    let mut inside = false;
    let mut nearest = f64::INFINITY;
    let mut from = match outline.last() {
        Some(last) => *last,
        None => return 0.0,
    };
    for to in outline {
        let crosses = (from.y > p.y) != (to.y > p.y);
        if crosses && p.x < from.x + (to.x - from.x) * (p.y - from.y) / (to.y - from.y) {
            inside = !inside;
        }
        nearest = nearest.min(distance(from, *to, p));
        from = *to;
    }
    if inside { nearest } else { 0.0 }
}

/// Distance of a point from an edge.
fn distance(from: Point, to: Point, p: Point) -> f64 {
    let (along_x, along_y) = (to.x - from.x, to.y - from.y);
    let square = along_x * along_x + along_y * along_y;
    let share = if square > 0.0 {
        (((p.x - from.x) * along_x + (p.y - from.y) * along_y) / square).clamp(0.0, 1.0)
    } else {
        0.0
    };
    (p.x - from.x - share * along_x).hypot(p.y - from.y - share * along_y)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn near(found: f64, expected: f64) {
        assert!((found - expected).abs() < 1e-9, "{found} is not {expected}");
    }

    #[test]
    fn depth_is_the_way_out_by_the_nearest_edge() {
        let square = upright(5.0, 0.0, 10.0);
        near(depth(&square, point(0.0, 5.0)), 5.0);
        near(depth(&square, point(4.0, 5.0)), 1.0);
        near(depth(&square, point(-4.5, 9.75)), 0.25);
        near(depth(&square, point(6.0, 5.0)), 0.0);
        near(depth(&square, point(0.0, -0.1)), 0.0);
        near(depth(&[], point(0.0, 0.0)), 0.0);
        // A notch of 45° walls, 4 deep: the point 3 below its mouth is in the open, the one 1 below
        // its apex is 1/√2 from the walls.
        let notched = [
            point(-10.0, 0.0),
            point(-4.0, 0.0),
            point(0.0, -4.0),
            point(4.0, 0.0),
            point(10.0, 0.0),
            point(10.0, -20.0),
            point(-10.0, -20.0),
        ];
        near(depth(&notched, point(0.0, -3.0)), 0.0);
        near(depth(&notched, point(0.0, -5.0)), 1.0);
        near(depth(&notched, point(4.0, -2.0)), 2.0_f64.sqrt());
    }

    #[test]
    fn turning_about_swaps_front_and_back() {
        let hook = [point(0.0, 0.0), point(4.0, 1.0), point(0.0, 6.0)];
        near(depth(&turned(&hook), point(1.0, 1.0)), 0.0);
        assert!(depth(&hook, point(1.0, 1.0)) > 0.5);
        assert!(depth(&turned(&hook), point(-1.0, 1.0)) > 0.5);
        assert!(depth(&raised(&hook, 10.0), point(1.0, 11.0)) > 0.5);
    }
}

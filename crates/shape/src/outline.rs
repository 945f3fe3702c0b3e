//! Closed outlines: the sheet's section, a punch, a die.

use crate::ShapeError;

/// A point in the brake's section plane, in mm: x from front to back, y up.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Point {
    /// Front to back, positive towards the gauge, in mm.
    pub x: f64,
    /// Up, in mm.
    pub y: f64,
}

impl Point {
    /// From coordinates in mm.
    #[must_use]
    pub const fn new(x: f64, y: f64) -> Point {
        Point { x, y }
    }

    /// The distance to another point, in mm.
    #[must_use]
    pub fn distance(self, other: Point) -> f64 {
        // Coordinates are millimetres of a workshop: their squares neither overflow nor vanish.
        let (x, y) = (self.x - other.x, self.y - other.y);
        (x * x + y * y).sqrt()
    }

    /// The point `length` away in the direction `angle` (radians, counter-clockwise from +x).
    pub(crate) fn along(self, angle: f64, length: f64) -> Point {
        Point::new(self.x + length * angle.cos(), self.y + length * angle.sin())
    }
}

/// The upright rectangle around something, in mm.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Bounds {
    /// The corner with the least x and y.
    pub low: Point,
    /// The corner with the greatest x and y.
    pub high: Point,
}

impl Bounds {
    /// The rectangle around some points; `None` around nothing.
    #[must_use]
    pub fn around(points: &[Point]) -> Option<Bounds> {
        let (first, rest) = points.split_first()?;
        let mut bounds = Bounds {
            low: *first,
            high: *first,
        };
        for point in rest {
            bounds.low.x = bounds.low.x.min(point.x);
            bounds.low.y = bounds.low.y.min(point.y);
            bounds.high.x = bounds.high.x.max(point.x);
            bounds.high.y = bounds.high.y.max(point.y);
        }
        Some(bounds)
    }

    /// The width, in mm.
    #[must_use]
    pub fn width(self) -> f64 {
        self.high.x - self.low.x
    }

    /// The height, in mm.
    #[must_use]
    pub fn height(self) -> f64 {
        self.high.y - self.low.y
    }

    /// The rectangle around both.
    #[must_use]
    pub fn with(self, other: Bounds) -> Bounds {
        Bounds {
            low: Point::new(self.low.x.min(other.low.x), self.low.y.min(other.low.y)),
            high: Point::new(self.high.x.max(other.high.x), self.high.y.max(other.high.y)),
        }
    }

    /// The square of a lower bound on the distance between anything in one and anything in the
    /// other, in mm².
    pub(crate) fn square_gap(self, other: Bounds) -> f64 {
        let across = (other.low.x - self.high.x).max(self.low.x - other.high.x);
        let upward = (other.low.y - self.high.y).max(self.low.y - other.high.y);
        let (across, upward) = (across.max(0.0), upward.max(0.0));
        across * across + upward * upward
    }

    /// Whether the two overlap or touch.
    pub(crate) fn meets(self, other: Bounds) -> bool {
        self.low.x <= other.high.x + SAME_MM
            && other.low.x <= self.high.x + SAME_MM
            && self.low.y <= other.high.y + SAME_MM
            && other.low.y <= self.high.y + SAME_MM
    }
}

/// A closed polygon, counter-clockwise.
#[derive(Clone, Debug, PartialEq)]
pub struct Outline {
    points: Vec<Point>,
}

impl Outline {
    /// A simple polygon through the given corners, in either direction; the last joins the first.
    ///
    /// # Errors
    /// [`ShapeError::NoArea`] for fewer than three corners, a coordinate that is no number, or no
    /// area; [`ShapeError::CrossesItself`] when two edges cross.
    pub fn new(mut points: Vec<Point>) -> Result<Outline, ShapeError> {
        points.dedup_by(|a, b| a.distance(*b) < SAME_MM);
        while points.len() > 1 && ends_meet(&points) {
            points.pop();
        }
        let finite = points.iter().all(|p| p.x.is_finite() && p.y.is_finite());
        let area = signed_area(&points);
        if points.len() < 3 || !finite || area.abs() <= f64::EPSILON {
            return Err(ShapeError::NoArea);
        }
        if area < 0.0 {
            points.reverse();
        }
        let outline = Outline { points };
        if outline.crosses_itself() {
            return Err(ShapeError::CrossesItself);
        }
        Ok(outline)
    }

    /// A polygon known to run counter-clockwise; it may cross itself, as a sheet folded onto
    /// itself does.
    pub(crate) fn traced(mut points: Vec<Point>) -> Outline {
        points.dedup_by(|a, b| a.distance(*b) < SAME_MM);
        while points.len() > 1 && ends_meet(&points) {
            points.pop();
        }
        Outline { points }
    }

    /// The corners, counter-clockwise.
    #[must_use]
    pub fn points(&self) -> &[Point] {
        &self.points
    }

    /// The enclosed area in mm² (parts where the outline overlaps itself count twice).
    #[must_use]
    pub fn area(&self) -> f64 {
        signed_area(&self.points)
    }

    /// The upright rectangle around it.
    #[must_use]
    pub fn bounds(&self) -> Bounds {
        // An outline has corners; the rectangle around none of them is a point at the origin.
        Bounds::around(&self.points).unwrap_or(Bounds {
            low: Point::default(),
            high: Point::default(),
        })
    }

    /// Moved by (x, y) mm.
    #[must_use]
    pub fn translated(&self, x: f64, y: f64) -> Outline {
        let moved = |p: &Point| Point::new(p.x + x, p.y + y);
        Outline {
            points: self.points.iter().map(moved).collect(),
        }
    }

    /// Turned front to back: x becomes −x.
    #[must_use]
    pub fn mirrored_x(&self) -> Outline {
        let turned = |p: &Point| Point::new(-p.x, p.y);
        Outline {
            points: self.points.iter().rev().map(turned).collect(),
        }
    }

    /// Whether turning it front to back makes no difference: every corner has its mirror image.
    #[must_use]
    pub fn is_symmetric(&self) -> bool {
        self.points.iter().all(|point| {
            let image = Point::new(-point.x, point.y);
            self.points
                .iter()
                .any(|other| other.distance(image) < SAME_MM)
        })
    }

    /// Whether two of its edges cross (meeting in a point does not count).
    #[must_use]
    pub fn crosses_itself(&self) -> bool {
        let edges: Vec<_> = self.edges().collect();
        edges.iter().enumerate().any(|(index, &first)| {
            let later = edges.iter().skip(index + 2);
            later.into_iter().any(|&second| cross(first, second))
        })
    }

    /// The edges, from corner to corner, the last back to the first.
    pub(crate) fn edges(&self) -> impl Iterator<Item = (Point, Point)> + '_ {
        let next = self.points.iter().cycle().skip(1);
        self.points.iter().copied().zip(next.copied())
    }
}

/// Nearer than this is the same place: far below anything that matters, far above rounding.
pub(crate) const SAME_MM: f64 = 1e-9;

fn ends_meet(points: &[Point]) -> bool {
    match (points.first(), points.last()) {
        (Some(first), Some(last)) => first.distance(*last) < SAME_MM,
        _ => false,
    }
}

fn signed_area(points: &[Point]) -> f64 {
    let next = points.iter().cycle().skip(1);
    let doubled: f64 = points
        .iter()
        .zip(next)
        .map(|(a, b)| a.x * b.y - b.x * a.y)
        .sum();
    doubled / 2.0
}

/// Twice the area of the triangle, positive when `c` lies left of the way from `a` to `b`.
pub(crate) fn left_of(a: Point, b: Point, c: Point) -> f64 {
    (b.x - a.x) * (c.y - a.y) - (b.y - a.y) * (c.x - a.x)
}

/// Whether two segments cross in their insides, by more than rounding could make of touching.
pub(crate) fn cross(first: (Point, Point), second: (Point, Point)) -> bool {
    let ways = [sides(first, second), sides(second, first)];
    ways.iter().all(|&(one, other)| one * other < 0)
}

/// Whether two segments cross, touch, or are too near to either to tell.
pub(crate) fn may_cross(first: (Point, Point), second: (Point, Point)) -> bool {
    let ways = [sides(first, second), sides(second, first)];
    ways.iter().all(|&(one, other)| one * other <= 0)
}

/// On which sides of a line two ends lie: 1 left, −1 right, 0 too near to say.
fn sides(line: (Point, Point), ends: (Point, Point)) -> (i32, i32) {
    // Twice a triangle's area is its base times its height.
    let clear = SAME_MM * line.0.distance(line.1);
    let side = |end: Point| {
        let area = left_of(line.0, line.1, end);
        i32::from(area > clear) - i32::from(area < -clear)
    };
    (side(ends.0), side(ends.1))
}

//! The part as bent so far, in one stroke of one hit: points all over its cross section, or the
//! edges of its outline.
//!
//! Millimetres and radians; x from the front to the gauge, y up from the die's shoulders, the punch
//! on x = 0.

use crate::family::{Fold, Strip};
use crate::mechanics::allowance;
use crate::outline::{Point, point};

/// Greatest distance between neighbouring points of a face.
const APART: f64 = 1.0;
/// Greatest angle between them on a fold.
const TURN: f64 = 0.05;

/// How densely points are set along a face.
#[derive(Clone, Copy, Debug)]
pub(crate) enum Drawn {
    /// So that none of the face is far from a point.
    Densely,
    /// Corners, and arcs by chords that nobody can tell from them.
    Finely,
    /// Corners, and arcs by equal chords of at most so many degrees.
    Chords(f64),
}

impl Drawn {
    /// Parts of a flat.
    fn flat(self, length: f64) -> f64 {
        match self {
            Drawn::Densely => length / APART,
            Drawn::Finely | Drawn::Chords(_) => 1.0,
        }
    }

    /// Parts of a fold of this bend angle and greatest radius.
    fn fold(self, angle: f64, radius: f64) -> f64 {
        /// Greatest distance between a fine chord and its arc.
        const SAG: f64 = 1e-4;
        match self {
            Drawn::Densely => (radius * angle / APART).max(angle / TURN),
            Drawn::Finely => angle / (8.0 * SAG / radius).sqrt(),
            Drawn::Chords(degrees) => angle / degrees.to_radians(),
        }
    }
}

/// One moment of a stroke.
pub(crate) struct Pose<'s> {
    pub(crate) strip: &'s Strip,
    /// Place in the strip of the fold being made.
    pub(crate) now: usize,
    /// Whether the edge that lines are counted from is the one against the gauge.
    pub(crate) zero_at_gauge: bool,
    /// Bend angle reached.
    pub(crate) reached: f64,
    pub(crate) v: f64,
}

impl Pose<'_> {
    /// Where the tip of the punch stands: on the inside of the fold being made.
    pub(crate) fn tip(&self, fold: &Fold) -> f64 {
        self.underside(fold) + self.strip.thickness
    }

    /// Height of the outside of the fold being made on x = 0. The underside of the back leg goes
    /// through (V/2, 0) at half the angle and is a tangent of the outside arc.
    fn underside(&self, fold: &Fold) -> f64 {
        let half = self.reached / 2.0;
        let outside = fold.radius + self.strip.thickness;
        outside * (1.0 / half.cos() - 1.0) - self.v / 2.0 * half.tan()
    }

    /// Points along both faces, ends included.
    pub(crate) fn points(&self) -> Vec<Point> {
        let Some(fold) = self.strip.folds.get(self.now) else {
            return Vec::new();
        };
        let mut points = self.side(fold, self.zero_at_gauge, Drawn::Densely);
        let front = self.side(fold, !self.zero_at_gauge, Drawn::Densely);
        points.extend(front.into_iter().map(|p| point(-p.x, p.y)));
        points
    }

    /// The outline, edge by edge in no order.
    pub(crate) fn outline(&self, drawn: Drawn) -> Vec<(Point, Point)> {
        let Some(fold) = self.strip.folds.get(self.now) else {
            return Vec::new();
        };
        let mut outline = edges(&self.side(fold, self.zero_at_gauge, drawn));
        let front = edges(&self.side(fold, !self.zero_at_gauge, drawn));
        let about = |p: Point| point(-p.x, p.y);
        outline.extend(front.into_iter().map(|(p, q)| (about(p), about(q))));
        outline
    }

    /// The half of the part from the fold being made to one edge, drawn as if at the gauge side.
    fn side(&self, fold: &Fold, toward_zero: bool, drawn: Drawn) -> Vec<Point> {
        let strip = self.strip;
        let half = self.reached / 2.0;
        let mut walk = Walk {
            at: point(0.0, self.underside(fold)),
            heading: 0.0,
            thickness: strip.thickness,
            drawn,
            points: Vec::new(),
        };
        walk.fold_up(half, fold.radius);
        let whole = allowance(self.reached, fold.radius, strip.thickness, strip.k_factor);
        // Developed distance from the fold's middle that has been walked.
        let mut walked = whole / 2.0;
        for other in self.outward(toward_zero) {
            let away = (other.line - fold.line).abs();
            if other.order > fold.order {
                continue;
            }
            walk.straight(away - other.allowance / 2.0 - walked);
            if other.direction == fold.direction {
                walk.fold_up(other.angle, other.radius);
            } else {
                walk.fold_down(other.angle, other.radius);
            }
            walked = away + other.allowance / 2.0;
        }
        let edge = if toward_zero {
            fold.line
        } else {
            strip.size - fold.line
        };
        walk.straight(edge - walked);
        walk.points
    }

    /// The other folds on one side, the nearest first.
    fn outward(&self, toward_zero: bool) -> Vec<&Fold> {
        let folds = self.strip.folds.iter();
        if toward_zero {
            folds.take(self.now).rev().collect()
        } else {
            folds.skip(self.now + 1).collect()
        }
    }
}

/// Walks the underside away from x = 0 and leaves points on both faces.
struct Walk {
    /// On the underside.
    at: Point,
    /// Angle above the horizontal.
    heading: f64,
    thickness: f64,
    drawn: Drawn,
    points: Vec<Point>,
}

impl Walk {
    fn straight(&mut self, length: f64) {
        let start = self.at;
        let (sin, cos) = self.heading.sin_cos();
        for share in shares(self.drawn.flat(length)) {
            let along = length * share;
            self.at = point(start.x + along * cos, start.y + along * sin);
            self.mark();
        }
    }

    /// Up is to the left of a walk toward the gauge: the upper face is the inside.
    fn fold_up(&mut self, angle: f64, radius: f64) {
        self.arc(angle, radius + self.thickness);
    }

    fn fold_down(&mut self, angle: f64, radius: f64) {
        self.arc(-angle, radius);
    }

    /// Turns by an angle, positive up, about a centre this far from the underside.
    fn arc(&mut self, angle: f64, radius: f64) {
        let start = self.heading;
        let side = angle.signum() * radius;
        let (sin, cos) = start.sin_cos();
        let centre = point(self.at.x - side * sin, self.at.y + side * cos);
        let parts = self.drawn.fold(angle.abs(), radius + self.thickness);
        for share in shares(parts) {
            self.heading = start + angle * share;
            let (sin, cos) = self.heading.sin_cos();
            self.at = point(centre.x + side * sin, centre.y - side * cos);
            self.mark();
        }
    }

    /// A point on each face.
    fn mark(&mut self) {
        let (sin, cos) = self.heading.sin_cos();
        let upper = point(
            self.at.x - self.thickness * sin,
            self.at.y + self.thickness * cos,
        );
        self.points.extend([self.at, upper]);
    }
}

/// Both faces of a side, and the sheet's edge at its end.
fn edges(side: &[Point]) -> Vec<(Point, Point)> {
    let marks = || side.chunks_exact(2);
    let mut edges = Vec::new();
    for (from, to) in marks().zip(marks().skip(1)) {
        edges.extend(from.iter().copied().zip(to.iter().copied()));
    }
    if let Some([lower, upper]) = marks().next_back() {
        edges.push((*lower, *upper));
    }
    edges
}

/// 0 to 1 in at least so many equal parts, both ends included.
fn shares(parts: f64) -> impl Iterator<Item = f64> {
    /// More points than the longest sheet has millimetres, so that no number makes the walk endless.
    const MOST: u32 = 100_000;
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // between 1 and MOST
    let parts = parts.ceil().max(1.0).min(f64::from(MOST)) as u32;
    (0..=parts).map(move |part| f64::from(part) / f64::from(parts))
}

#[cfg(test)]
mod tests;

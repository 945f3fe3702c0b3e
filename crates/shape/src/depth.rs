//! How deep one outline reaches into another, and how far apart they are.

use crate::outline::{Bounds, SAME_MM, cross, left_of, may_cross};
use crate::{Outline, Point};

/// How near to the true deepest point the search ends, in mm: a fiftieth of the collision
/// tolerance.
const RESOLUTION_MM: f64 = 0.001;

type Edge = (Point, Point);

impl Outline {
    /// How deep a point lies inside, in mm: the distance to the nearest edge, negative outside.
    #[must_use]
    pub fn depth(&self, point: Point) -> f64 {
        let mut border = Border::FAR;
        for edge in self.edges() {
            border.pass(edge, point);
        }
        border.depth()
    }

    /// Whether the two outlines share any point, be it an edge they touch along.
    #[must_use]
    pub fn meets(&self, other: &Outline) -> bool {
        self.distance(other) <= 0.0
    }

    /// The distance between the two outlines' areas in mm, 0 where they overlap or touch.
    #[must_use]
    pub fn distance(&self, other: &Outline) -> f64 {
        let holds = |outer: &Outline, inner: &Outline| {
            inner
                .points()
                .first()
                .is_some_and(|&p| outer.depth(p) > 0.0)
        };
        if holds(self, other) || holds(other, self) {
            return 0.0;
        }
        let mut least = f64::INFINITY;
        for first in self.edges() {
            for second in other.edges() {
                if bounds_of(first).square_gap(bounds_of(second)) < least {
                    least = least.min(square_between(first, second));
                }
            }
        }
        let least = least.sqrt();
        if least > SAME_MM { least } else { 0.0 }
    }

    /// Where and how deep the two outlines lie in one another, in mm: the deepest point of either
    /// border inside the other outline; `None` up to 0.001 mm, where they are apart or only touch.
    #[must_use]
    pub fn overlap(&self, other: &Outline) -> Option<(Point, f64)> {
        let mine = self.deepest_in(&Solid::of(other), RESOLUTION_MM, None);
        let floor = mine.map_or(RESOLUTION_MM, |(_, depth)| depth);
        other.deepest_in(&Solid::of(self), floor, None).or(mine)
    }

    /// The point of this outline's border deepest inside `other`, with its depth in mm, if deeper
    /// than `floor_mm`, which is not negative. `spared` is a disc (centre, radius in mm) in which
    /// nothing counts: outside of it the depth is at most the distance from the disc.
    ///
    /// The depth is a function that changes by at most 1 mm for each mm along the border, and the
    /// disc's limit as well; so halves of an edge are dropped as soon as what both ends promise is
    /// no better than the best point found. The answer is within 0.001 mm of the deepest.
    pub(crate) fn deepest_in(
        &self,
        other: &Solid,
        floor_mm: f64,
        spared: Option<(Point, f64)>,
    ) -> Option<(Point, f64)> {
        let mut best: Option<(Point, f64)> = None;
        for edge in self.edges() {
            let floor = best.map_or(floor_mm, |(_, depth)| depth);
            if other.near(edge) {
                best = deepest_on(edge, other, floor, spared).or(best);
            }
        }
        best
    }
}

/// An outline prepared for many questions: its edges in runs, each with the rectangle around it, so
/// that runs too far away to matter are passed over.
pub(crate) struct Solid {
    runs: Vec<(Bounds, Vec<Edge>)>,
    bounds: Bounds,
}

/// How many edges a run has: about an arc's half.
const RUN: usize = 8;

impl Solid {
    pub(crate) fn of(outline: &Outline) -> Solid {
        let edges: Vec<Edge> = outline.edges().collect();
        let runs = edges.chunks(RUN).filter_map(|run| {
            let around = run.iter().map(|&edge| bounds_of(edge));
            Some((around.reduce(Bounds::with)?, run.to_vec()))
        });
        Solid {
            runs: runs.collect(),
            bounds: outline.bounds(),
        }
    }

    /// Whether the upright rectangles around the edge and the outline overlap or touch.
    fn near(&self, edge: Edge) -> bool {
        bounds_of(edge).meets(self.bounds)
    }

    /// Whether the edge meets the border anywhere, or is too near to say that it does not.
    fn may_meet(&self, edge: Edge) -> bool {
        let around_edge = bounds_of(edge);
        let mut runs = self.runs.iter();
        runs.any(|(around, run)| {
            around.meets(around_edge) && run.iter().any(|&other| may_cross(edge, other))
        })
    }

    fn depth(&self, point: Point, spared: Option<(Point, f64)>) -> f64 {
        let mut border = Border::FAR;
        let here = Bounds {
            low: point,
            high: point,
        };
        for (around, run) in &self.runs {
            // A run beside the point can neither wind around it nor be nearest.
            let beside = around.high.y <= point.y || around.low.y > point.y;
            if beside && around.square_gap(here) >= border.nearest {
                continue;
            }
            for &edge in run {
                border.pass(edge, point);
            }
        }
        let depth = border.depth();
        spared.map_or(depth, |(centre, radius)| {
            depth.min(point.distance(centre) - radius)
        })
    }
}

/// The deepest point on one edge, if deeper than `floor`.
fn deepest_on(
    edge: Edge,
    solid: &Solid,
    floor: f64,
    spared: Option<(Point, f64)>,
) -> Option<(Point, f64)> {
    let mut best = None;
    let mut limit = floor;
    let at = |point: Point| (point, solid.depth(point, spared));
    let half = edge.0.distance(edge.1) / 2.0;
    let middle = between(edge.0, edge.1);
    // An edge that does not meet the border is on one side of it, spared or not.
    let outside = || solid.depth(middle, None) < 0.0 && !solid.may_meet(edge);
    if at(middle).1 + half <= floor || outside() {
        return None;
    }
    let (from, to) = (at(edge.0), at(edge.1));
    for (point, depth) in [from, to] {
        if depth > limit {
            (best, limit) = (Some((point, depth)), depth);
        }
    }
    // Halving ends: an interval shorter than twice the resolution can promise no more than that.
    let mut open = vec![(from, to)];
    while let Some((a, b)) = open.pop() {
        let promise = (a.1 + b.1 + a.0.distance(b.0)) / 2.0;
        if promise <= limit + RESOLUTION_MM {
            continue;
        }
        let middle = at(between(a.0, b.0));
        if middle.1 > limit {
            (best, limit) = (Some(middle), middle.1);
        }
        open.push((a, middle));
        open.push((middle, b));
    }
    best
}

fn between(a: Point, b: Point) -> Point {
    Point::new(f64::midpoint(a.x, b.x), f64::midpoint(a.y, b.y))
}

/// What the edges passed so far say of a point.
struct Border {
    /// How often the border winds around the point: inside is where it does.
    winding: i32,
    /// The squared distance to the nearest edge.
    nearest: f64,
}

impl Border {
    const FAR: Border = Border {
        winding: 0,
        nearest: f64::INFINITY,
    };

    fn pass(&mut self, (a, b): Edge, point: Point) {
        if (a.y <= point.y) != (b.y <= point.y) {
            let side = left_of(a, b, point);
            if b.y > a.y && side > 0.0 {
                self.winding += 1;
            } else if b.y < a.y && side < 0.0 {
                self.winding -= 1;
            }
        }
        self.nearest = self.nearest.min(square_to_edge(point, a, b));
    }

    fn depth(&self) -> f64 {
        let distance = self.nearest.sqrt();
        if self.winding == 0 {
            -distance
        } else {
            distance
        }
    }
}

/// The squared distance from a point to a segment.
fn square_to_edge(point: Point, a: Point, b: Point) -> f64 {
    let (ex, ey) = (b.x - a.x, b.y - a.y);
    let (px, py) = (point.x - a.x, point.y - a.y);
    let length = ex * ex + ey * ey;
    let share = if length > 0.0 {
        ((px * ex + py * ey) / length).clamp(0.0, 1.0)
    } else {
        0.0
    };
    let (dx, dy) = (px - share * ex, py - share * ey);
    dx * dx + dy * dy
}

/// The squared distance between two segments.
fn square_between(first: Edge, second: Edge) -> f64 {
    if cross(first, second) {
        return 0.0;
    }
    let ends = [
        square_to_edge(first.0, second.0, second.1),
        square_to_edge(first.1, second.0, second.1),
        square_to_edge(second.0, first.0, first.1),
        square_to_edge(second.1, first.0, first.1),
    ];
    ends.into_iter().fold(f64::INFINITY, f64::min)
}

fn bounds_of(edge: Edge) -> Bounds {
    Bounds {
        low: Point::new(edge.0.x.min(edge.1.x), edge.0.y.min(edge.1.y)),
        high: Point::new(edge.0.x.max(edge.1.x), edge.0.y.max(edge.1.y)),
    }
}

//! How deep one outline reaches into another, and how far apart they are.

use crate::outline::{Bounds, cross, left_of};
use crate::{Outline, Point};

/// How near to the true deepest point the search ends, in mm: a fiftieth of the collision
/// tolerance.
const RESOLUTION_MM: f64 = 0.001;

type Edge = (Point, Point);

impl Outline {
    /// How deep a point lies inside, in mm: the distance to the nearest edge, negative outside.
    #[must_use]
    pub fn depth(&self, point: Point) -> f64 {
        depth_among(self.edges(), point)
    }

    /// Whether the two outlines share any point, be it an edge they touch along.
    #[must_use]
    pub fn meets(&self, other: &Outline) -> bool {
        self.distance(other) <= 0.0
    }

    /// The distance between the two outlines' areas in mm, 0 where they overlap.
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
                if bounds_of(first).gap(bounds_of(second)) < least {
                    least = least.min(edge_distance(first, second));
                }
            }
        }
        least
    }

    /// Where and how deep the two outlines lie in one another, in mm: the deepest point of either
    /// border inside the other outline; `None` where they are apart or only touch.
    #[must_use]
    pub fn overlap(&self, other: &Outline) -> Option<(Point, f64)> {
        let mine = self.deepest_in(&Solid::of(other), 0.0, None);
        let floor = mine.map_or(0.0, |(_, depth)| depth);
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

/// An outline prepared for many questions.
pub(crate) struct Solid {
    edges: Vec<Edge>,
    bounds: Bounds,
}

impl Solid {
    pub(crate) fn of(outline: &Outline) -> Solid {
        Solid {
            edges: outline.edges().collect(),
            bounds: outline.bounds(),
        }
    }

    /// Whether the upright rectangles around the edge and the outline overlap or touch.
    fn near(&self, edge: Edge) -> bool {
        bounds_of(edge).gap(self.bounds) <= 0.0
    }

    fn depth(&self, point: Point, spared: Option<(Point, f64)>) -> f64 {
        let depth = depth_among(self.edges.iter().copied(), point);
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
        let middle = at(Point::new((a.0.x + b.0.x) / 2.0, (a.0.y + b.0.y) / 2.0));
        if middle.1 > limit {
            (best, limit) = (Some(middle), middle.1);
        }
        open.push((a, middle));
        open.push((middle, b));
    }
    best
}

/// The signed depth among the edges of a closed polygon; inside is where the border winds around.
fn depth_among(edges: impl Iterator<Item = Edge>, point: Point) -> f64 {
    let mut winding = 0;
    let mut nearest = f64::INFINITY;
    for (a, b) in edges {
        let side = left_of(a, b, point);
        if a.y <= point.y && b.y > point.y && side > 0.0 {
            winding += 1;
        } else if a.y > point.y && b.y <= point.y && side < 0.0 {
            winding -= 1;
        }
        nearest = nearest.min(square_to_edge(point, a, b));
    }
    let distance = nearest.sqrt();
    if winding == 0 { -distance } else { distance }
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

fn edge_distance(first: Edge, second: Edge) -> f64 {
    if cross(first, second) {
        return 0.0;
    }
    let ends = [
        square_to_edge(first.0, second.0, second.1),
        square_to_edge(first.1, second.0, second.1),
        square_to_edge(second.0, first.0, first.1),
        square_to_edge(second.1, first.0, first.1),
    ];
    ends.into_iter().fold(f64::INFINITY, f64::min).sqrt()
}

fn bounds_of(edge: Edge) -> Bounds {
    Bounds {
        low: Point::new(edge.0.x.min(edge.1.x), edge.0.y.min(edge.1.y)),
        high: Point::new(edge.0.x.max(edge.1.x), edge.0.y.max(edge.1.y)),
    }
}

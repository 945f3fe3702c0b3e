//! Points of the plane, in millimetres, and where blocks put them.

/// A point.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(crate) struct Point {
    pub(crate) x: f64,
    pub(crate) y: f64,
}

impl Point {
    pub(crate) fn new(x: f64, y: f64) -> Point {
        Point { x, y }
    }

    pub(crate) fn distance(self, other: Point) -> f64 {
        (self.x - other.x).hypot(self.y - other.y)
    }
}

/// An affine map: x' = a·x + c·y + dx, y' = b·x + d·y + dy.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Map {
    a: f64,
    b: f64,
    c: f64,
    d: f64,
    dx: f64,
    dy: f64,
}

impl Map {
    /// Everything `factor` times as large.
    pub(crate) fn scale(factor: f64) -> Map {
        Map {
            a: factor,
            b: 0.0,
            c: 0.0,
            d: factor,
            dx: 0.0,
            dy: 0.0,
        }
    }

    /// A block's content moved so that `base` comes to `at`, scaled and then turned (degrees).
    pub(crate) fn insert(base: Point, at: Point, scale: (f64, f64), turn: f64) -> Map {
        let (sin, cos) = turn.to_radians().sin_cos();
        let (a, b) = (cos * scale.0, sin * scale.0);
        let (c, d) = (-sin * scale.1, cos * scale.1);
        Map {
            a,
            b,
            c,
            d,
            dx: at.x - a * base.x - c * base.y,
            dy: at.y - b * base.x - d * base.y,
        }
    }

    /// First `inner`, then this one.
    pub(crate) fn after(&self, inner: &Map) -> Map {
        let at = self.of(Point::new(inner.dx, inner.dy));
        Map {
            a: self.a * inner.a + self.c * inner.b,
            b: self.b * inner.a + self.d * inner.b,
            c: self.a * inner.c + self.c * inner.d,
            d: self.b * inner.c + self.d * inner.d,
            dx: at.x,
            dy: at.y,
        }
    }

    /// Where a point comes to.
    pub(crate) fn of(&self, point: Point) -> Point {
        Point::new(
            self.a * point.x + self.c * point.y + self.dx,
            self.b * point.x + self.d * point.y + self.dy,
        )
    }

    /// No length grows by more than this factor.
    pub(crate) fn growth(&self) -> f64 {
        self.a.hypot(self.b) + self.c.hypot(self.d)
    }

    /// The factor of areas without its sign; near zero when everything falls onto a line.
    pub(crate) fn area(&self) -> f64 {
        (self.a * self.d - self.b * self.c).abs()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_block_is_scaled_then_turned_about_its_base() {
        let map = Map::insert(
            Point::new(1.0, 0.0),
            Point::new(10.0, 20.0),
            (2.0, 2.0),
            90.0,
        );
        let base = map.of(Point::new(1.0, 0.0));
        assert!(base.distance(Point::new(10.0, 20.0)) < 1e-12);
        let out = map.of(Point::new(2.0, 0.0));
        assert!(out.distance(Point::new(10.0, 22.0)) < 1e-12, "{out:?}");
        let twice = Map::scale(25.4).after(&map).of(Point::new(2.0, 0.0));
        assert!(twice.distance(Point::new(254.0, 558.8)) < 1e-9);
        assert!((map.area() - 4.0).abs() < 1e-12);
    }
}

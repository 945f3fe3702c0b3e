//! The outline: strokes joined end to end into closed loops, one around the part, the others cut out.

use crate::codes::{FORKED_OUTLINE, NO_OUTLINE, OPEN_OUTLINE, Out, SECOND_PART, TOO_MUCH, mm};
use crate::place::Stroke;
use crate::point::Point;
use std::collections::BTreeMap;

/// Cut-outs of one part.
const HOLES_MOST: usize = 10_000;
/// Places told of one kind of trouble.
const SHOWN_MOST: usize = 5;

/// A closed line; the last corner is joined to the first.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Loop {
    pub(crate) points: Vec<Point>,
    low: Point,
    high: Point,
}

impl Loop {
    fn of(points: Vec<Point>) -> Loop {
        let fold = |pick: fn(&Point) -> f64, least: bool| {
            let values = points.iter().map(pick);
            if least {
                values.fold(f64::INFINITY, f64::min)
            } else {
                values.fold(f64::NEG_INFINITY, f64::max)
            }
        };
        let low = Point::new(fold(|p| p.x, true), fold(|p| p.y, true));
        let high = Point::new(fold(|p| p.x, false), fold(|p| p.y, false));
        Loop { points, low, high }
    }

    /// Its sides.
    pub(crate) fn sides(&self) -> impl Iterator<Item = (Point, Point)> + '_ {
        let next = self.points.iter().skip(1).chain(self.points.first());
        self.points.iter().copied().zip(next.copied())
    }

    /// Enclosed area in mm².
    pub(crate) fn area(&self) -> f64 {
        let Some(origin) = self.points.first().copied() else {
            return 0.0;
        };
        let cross = |(a, b): (Point, Point)| {
            (a.x - origin.x) * (b.y - origin.y) - (b.x - origin.x) * (a.y - origin.y)
        };
        (self.sides().map(cross).sum::<f64>() / 2.0).abs()
    }

    fn holds(&self, other: &Loop) -> bool {
        let Some(point) = other.points.first().copied() else {
            return false;
        };
        let near = point.x >= self.low.x
            && point.x <= self.high.x
            && point.y >= self.low.y
            && point.y <= self.high.y;
        near && self
            .sides()
            .filter(|(a, b)| {
                (a.y > point.y) != (b.y > point.y)
                    && point.x < a.x + (point.y - a.y) / (b.y - a.y) * (b.x - a.x)
            })
            .count()
            % 2
            == 1
    }
}

/// The part's outline.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Outline {
    pub(crate) outer: Loop,
    pub(crate) holes: Vec<Loop>,
}

impl Outline {
    /// Every loop, the outer first.
    pub(crate) fn loops(&self) -> impl Iterator<Item = &Loop> {
        std::iter::once(&self.outer).chain(&self.holes)
    }
}

/// Joins strokes into the outline of one part.
pub(crate) fn outline(
    strokes: Vec<Stroke>,
    join: f64,
    notes: &mut Vec<String>,
    out: &mut Out,
) -> Option<Outline> {
    let mut loops = Vec::new();
    let mut open = Vec::new();
    let mut specks = 0;
    for stroke in strokes {
        let around = path_length(&stroke.points);
        if around <= join {
            specks += 1;
        } else if stroke.closed {
            loops.push(Loop::of(stroke.points));
        } else {
            open.push(stroke);
        }
    }
    if specks > 0 {
        notes.push(format!(
            "{specks} specks of the outline left out, none longer than {join} mm"
        ));
    }
    join_ends(open, join, &mut loops, out)?;
    sort_out(loops, out)
}

fn path_length(points: &[Point]) -> f64 {
    points
        .windows(2)
        .map(|pair| match pair {
            [a, b] => a.distance(*b),
            _ => 0.0,
        })
        .sum()
}

/// Ends by the square of the plane they lie in.
struct Ends {
    join: f64,
    squares: BTreeMap<(i64, i64), Vec<usize>>,
    points: Vec<Point>,
}

impl Ends {
    #[allow(clippy::cast_possible_truncation)] // `as` saturates; coordinates are far from that
    fn square(&self, point: Point) -> (i64, i64) {
        let along = |value: f64| (value / self.join).floor() as i64;
        (along(point.x), along(point.y))
    }

    fn of(strokes: &[Stroke], join: f64) -> Ends {
        let mut ends = Ends {
            join,
            squares: BTreeMap::new(),
            points: Vec::new(),
        };
        for stroke in strokes {
            let first = stroke.points.first().copied().unwrap_or_default();
            let last = stroke.points.last().copied().unwrap_or_default();
            for point in [first, last] {
                let square = ends.square(point);
                ends.squares
                    .entry(square)
                    .or_default()
                    .push(ends.points.len());
                ends.points.push(point);
            }
        }
        ends
    }

    /// The other ends at the place of one; more than one when lines fork.
    fn beside(&self, end: usize) -> Vec<usize> {
        let Some(point) = self.points.get(end).copied() else {
            return Vec::new();
        };
        let (x, y) = self.square(point);
        let mut found = Vec::new();
        for dx in -1..=1 {
            for dy in -1..=1 {
                let key = (x.saturating_add(dx), y.saturating_add(dy));
                for other in self.squares.get(&key).into_iter().flatten() {
                    let near = self
                        .points
                        .get(*other)
                        .is_some_and(|p| p.distance(point) <= self.join);
                    if *other != end && near {
                        found.push(*other);
                        // Two are a fork already; a heap of ends in one place is not gone through.
                        if found.len() > 1 {
                            return found;
                        }
                    }
                }
            }
        }
        found
    }
}

/// Walks from stroke to stroke. Ends 2n and 2n+1 are those of stroke n.
fn join_ends(strokes: Vec<Stroke>, join: f64, loops: &mut Vec<Loop>, out: &mut Out) -> Option<()> {
    let ends = Ends::of(&strokes, join);
    let mut next = vec![0; ends.points.len()];
    let (mut loose, mut forks) = (Vec::new(), Vec::new());
    for end in 0..ends.points.len() {
        let at = ends.points.get(end).copied().unwrap_or_default();
        let line = strokes.get(end / 2).map_or(0, |stroke| stroke.line);
        match (ends.beside(end).as_slice(), next.get_mut(end)) {
            ([other], Some(next)) => *next = *other,
            ([], _) => loose.push((at, line)),
            _ => forks.push((at, line)),
        }
    }
    report(
        OPEN_OUTLINE,
        &loose,
        "an open end",
        "close the outline there, or allow a larger join_mm in the mapping",
        out,
    );
    report(
        FORKED_OUTLINE,
        &forks,
        "more than two ends",
        "take out what is drawn twice, and what is no outline",
        out,
    );
    if !loose.is_empty() || !forks.is_empty() {
        return None;
    }
    let mut used = vec![false; strokes.len()];
    for start in 0..strokes.len() {
        if used.get(start).copied().unwrap_or(true) {
            continue;
        }
        let mut points = Vec::new();
        // The end by which a stroke is entered.
        let mut entered = start * 2;
        loop {
            let at = entered / 2;
            let (Some(stroke), Some(seen)) = (strokes.get(at), used.get_mut(at)) else {
                break;
            };
            if *seen {
                break;
            }
            *seen = true;
            let whole = stroke.points.len().saturating_sub(1);
            if entered % 2 == 0 {
                points.extend(stroke.points.iter().take(whole));
            } else {
                points.extend(stroke.points.iter().rev().take(whole));
            }
            entered = next.get(entered ^ 1).copied().unwrap_or_default();
        }
        loops.push(Loop::of(points));
    }
    Some(())
}

fn report(
    code: crate::codes::Code,
    places: &[(Point, u64)],
    what: &str,
    action: &str,
    out: &mut Out,
) {
    let mut told: Vec<Point> = Vec::new();
    for (at, line) in places {
        if told.len() >= SHOWN_MOST || told.iter().any(|point| point.distance(*at) < 1.0) {
            continue;
        }
        told.push(*at);
        let found = format!("{what} at x {} y {} mm", mm(at.x), mm(at.y));
        out.add(code, (*line, ""), found, "closed lines", action);
    }
}

/// The largest loop is the part's, the others are cut out of it.
fn sort_out(mut loops: Vec<Loop>, out: &mut Out) -> Option<Outline> {
    if loops.len() > HOLES_MOST {
        let found = format!("{} closed lines", loops.len());
        let expected = format!("at most {HOLES_MOST}");
        let action = "leave out small holes: no bend rests on them";
        out.add(TOO_MUCH, (0, ""), found, &expected, action);
        return None;
    }
    let largest = (0..loops.len()).max_by(|a, b| {
        let area = |at: &usize| loops.get(*at).map_or(0.0, Loop::area);
        area(a).total_cmp(&area(b))
    });
    let Some(largest) = largest else {
        out.add(
            NO_OUTLINE,
            (0, ""),
            "specks alone",
            "the outline of one part",
            "",
        );
        return None;
    };
    let outer = loops.swap_remove(largest);
    let mut second = |one: &Loop, found: &str| {
        let at = one.points.first().copied().unwrap_or_default();
        let found = format!("{found} at x {} y {} mm", mm(at.x), mm(at.y));
        let expected = "one part with its cut-outs";
        let action = "give each part a file of its own, and put frames on a layer that is ignored";
        out.add(SECOND_PART, (0, ""), found, expected, action);
    };
    if let Some(beside) = loops.iter().find(|inner| !outer.holds(inner)) {
        second(beside, "a closed line outside the largest");
        return None;
    }
    let within = loops.iter().enumerate().find(|(at, inner)| {
        let others = loops.iter().enumerate().filter(|(other, _)| other != at);
        others.into_iter().any(|(_, around)| around.holds(inner))
    });
    if let Some((_, inner)) = within {
        second(inner, "a closed line within a cut-out");
        return None;
    }
    Some(Outline {
        outer,
        holes: loops,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn stroke(points: &[(f64, f64)], closed: bool) -> Stroke {
        Stroke {
            points: points.iter().map(|(x, y)| Point::new(*x, *y)).collect(),
            closed,
            line: 7,
        }
    }

    fn joined(strokes: Vec<Stroke>) -> Result<Outline, &'static str> {
        let mut out = Out::new("x");
        outline(strokes, 0.05, &mut Vec::new(), &mut out).ok_or_else(|| out.finish()[0].code)
    }

    #[test]
    fn strokes_in_any_order_and_direction_are_one_loop() {
        let one = joined(vec![
            stroke(&[(0.0, 0.0), (10.0, 0.0)], false),
            stroke(&[(0.0, 5.0), (10.0, 5.01)], false),
            stroke(&[(10.0, 0.0), (10.0, 5.0)], false),
            stroke(&[(0.0, 5.0), (0.0, 0.0)], false),
            stroke(&[(2.0, 2.0), (3.0, 2.0), (3.0, 3.0)], true),
        ])
        .unwrap();
        assert!(
            (one.outer.area() - 50.0).abs() < 0.2,
            "{}",
            one.outer.area()
        );
        assert_eq!(one.holes.len(), 1);
    }

    #[test]
    fn what_is_not_one_closed_outline_is_refused() {
        let open = vec![stroke(&[(0.0, 0.0), (10.0, 0.0), (10.0, 9.0)], false)];
        assert_eq!(joined(open), Err("G206"));
        let square = [(0.0, 0.0), (9.0, 0.0), (9.0, 9.0), (0.0, 9.0), (0.0, 0.0)];
        let twice = vec![stroke(&square, false), stroke(&square, false)];
        assert_eq!(joined(twice), Err("G207"));
        let beside = [(20.0, 0.0), (25.0, 0.0), (25.0, 5.0)];
        let two = vec![stroke(&square, false), stroke(&beside, true)];
        assert_eq!(joined(two), Err("G209"));
        let hole = [(1.0, 1.0), (5.0, 1.0), (5.0, 5.0), (1.0, 5.0)];
        let island = [(2.0, 2.0), (3.0, 2.0), (3.0, 3.0)];
        let within = vec![
            stroke(&square, false),
            stroke(&hole, true),
            stroke(&island, true),
        ];
        assert_eq!(joined(within), Err("G209"));
        assert_eq!(
            joined(vec![stroke(&[(0.0, 0.0), (0.01, 0.0)], false)]),
            Err("G208")
        );
    }
}

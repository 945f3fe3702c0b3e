//! The groups of one thing, and the numbers in them.

use crate::codes::{BAD_NUMBER, Out, shown};
use crate::groups::Group;
use crate::point::Point;

/// Coordinates beyond this are out of range, in units of the drawing.
const FARTHEST: f64 = 1e7;

/// Which way something in the plane looks.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Facing {
    Front,
    Back,
    Aside,
}

/// The groups of one thing.
pub(crate) struct Fields<'a>(pub(crate) Vec<Group<'a>>);

impl<'a> Fields<'a> {
    pub(crate) fn text(&self, code: i32) -> Option<&'a str> {
        let group = self.0.iter().find(|group| group.code == code)?;
        Some(group.value)
    }

    /// The whole number that follows a variable of the header.
    pub(crate) fn header_number(&self, name: &str) -> Option<i64> {
        let at = self
            .0
            .iter()
            .position(|group| group.code == 9 && group.value == name)?;
        self.0.get(at + 1)?.value.parse().ok()
    }

    pub(crate) fn number_or(&self, code: i32, usual: f64, line: u64, out: &mut Out) -> Option<f64> {
        match self.0.iter().find(|group| group.code == code) {
            None => Some(usual),
            Some(group) => value(group, line, out),
        }
    }

    pub(crate) fn number(&self, code: i32, line: u64, out: &mut Out) -> Option<f64> {
        let number = self.number_or(code, f64::NAN, line, out)?;
        if number.is_nan() {
            let found = format!("no group {code}");
            let action = "save the drawing again";
            out.add(BAD_NUMBER, (line, ""), found, "a number", action);
            return None;
        }
        Some(number)
    }

    pub(crate) fn point(&self, code: i32, line: u64, out: &mut Out) -> Option<Point> {
        let x = self.number(code, line, out)?;
        Some(Point::new(x, self.number(code + 10, line, out)?))
    }

    pub(crate) fn point_or_origin(&self, line: u64, out: &mut Out) -> Option<Point> {
        let x = self.number_or(10, 0.0, line, out)?;
        Some(Point::new(x, self.number_or(20, 0.0, line, out)?))
    }

    pub(crate) fn radius(&self, line: u64, out: &mut Out) -> Option<f64> {
        let radius = self.number(40, line, out)?;
        if radius <= 0.0 {
            let action = "save the drawing again";
            let found = format!("a radius of {radius}");
            out.add(BAD_NUMBER, (line, ""), found, "above zero", action);
            return None;
        }
        Some(radius)
    }

    pub(crate) fn flags(&self, line: u64, out: &mut Out) -> Option<i64> {
        #[allow(clippy::cast_possible_truncation)] // `value` keeps it within ±1e7
        self.number_or(70, 0.0, line, out).map(|flags| flags as i64)
    }

    /// The corners of a lightweight polyline: x begins one, y and bulge belong to the last begun.
    pub(crate) fn corners(&self, line: u64, out: &mut Out) -> Option<Vec<(Point, f64)>> {
        let mut corners: Vec<(Point, f64)> = Vec::new();
        for group in &self.0 {
            if group.code == 10 {
                let x = value(group, line, out)?;
                corners.push((Point::new(x, f64::NAN), 0.0));
                continue;
            }
            let Some((corner, bulge)) = corners.last_mut() else {
                continue;
            };
            match group.code {
                20 => corner.y = value(group, line, out)?,
                42 => *bulge = value(group, line, out)?,
                _ => {}
            }
        }
        if corners.iter().any(|(corner, _)| corner.y.is_nan()) {
            let action = "save the drawing again";
            out.add(
                BAD_NUMBER,
                (line, ""),
                "a corner without y",
                "x and y",
                action,
            );
            return None;
        }
        Some(corners)
    }

    /// Whether a height of it is not zero.
    pub(crate) fn leaves_plane(&self, line: u64, out: &mut Out) -> Option<bool> {
        const FLAT: f64 = 1e-6;
        let mut leaves = false;
        for group in &self.0 {
            // The heights of both points, the elevation of a lightweight polyline, the thickness.
            if matches!(group.code, 30 | 31 | 38 | 39) {
                leaves |= value(group, line, out)?.abs() > FLAT;
            }
        }
        Some(leaves)
    }

    pub(crate) fn extrusion(&self, line: u64, out: &mut Out) -> Option<Facing> {
        const STRAIGHT: f64 = 1e-9;
        let x = self.number_or(210, 0.0, line, out)?;
        let y = self.number_or(220, 0.0, line, out)?;
        let z = self.number_or(230, 1.0, line, out)?;
        Some(if x.abs() > STRAIGHT || y.abs() > STRAIGHT {
            Facing::Aside
        } else if z > 0.0 {
            Facing::Front
        } else {
            Facing::Back
        })
    }
}

fn value(group: &Group<'_>, line: u64, out: &mut Out) -> Option<f64> {
    let number: Option<f64> = group.value.parse().ok();
    let number = number.filter(|number| number.abs() <= FARTHEST);
    if number.is_none() {
        let found = format!("\"{}\" in group {}", shown(group.value), group.code);
        let action = "save the drawing again";
        let expected = "a number between -10000000 and 10000000";
        out.add(
            BAD_NUMBER,
            (group.line.max(line), ""),
            found,
            expected,
            action,
        );
    }
    number
}

//! What the back gauge's stop would touch.

use crate::collision::TOUCH_MM;
use crate::{Chain, Facing, FoldState, Outline, Point, ShapeError, pose};
use units::{Degrees, Length};

/// The edge or face that stands furthest back before a fold is made.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct GaugeView {
    /// From the bend line to the stop's contact, in mm.
    pub x_mm: f64,
    /// The height of the contact above the die, in mm: the middle of a sheet's edge, or half a
    /// thickness above the lower end of a taller face, where a flange gives least.
    pub r_mm: f64,
    /// The lower end of the upright face at `x_mm`, in mm above the die.
    pub face_low_mm: f64,
    /// The upper end of that face, in mm above the die.
    pub face_high_mm: f64,
    /// Whether there is nothing for the stop to touch: the part's furthest face hangs below the
    /// die's top or does not lie behind the bend line. Turn the part round or gauge on a corner.
    pub blocked: bool,
}

/// What a stop that comes from behind meets first, the piece lying flat on the die with fold `at`
/// not begun.
///
/// That is the furthest of everything at the back: the free end of the sheet, or the outside of a
/// flange already made that stands there. Where a flange leans, the contact is its furthest corner
/// or, leaning inward, the outside of its fold.
///
/// # Errors
/// As [`pose`]: a fold the chain has not, or a number of states other than the number of folds.
pub fn gauge_edge(
    chain: &Chain,
    state: &[FoldState],
    at: usize,
    facing: Facing,
) -> Result<GaugeView, ShapeError> {
    // Lying flat, the sheet's height does not depend on the opening.
    let any_opening = Length::from_whole_mm(1);
    let lying = pose(chain, state, at, Degrees::of(180.0), any_opening)?;
    let outline = match facing {
        Facing::AsDrawn => lying.outline,
        Facing::Turned => lying.outline.mirrored_x(),
    };
    let x_mm = outline.bounds().high.x;
    let (face_low_mm, face_high_mm) = contact(&faces(&outline, x_mm));
    // Of a face that begins below the die's top, the stop reaches the part above it.
    let reachable = face_low_mm.max(0.0);
    let tall = (face_high_mm - reachable).min(chain.thickness().mm());
    Ok(GaugeView {
        x_mm,
        r_mm: reachable + tall / 2.0,
        face_low_mm,
        face_high_mm,
        blocked: face_high_mm <= TOUCH_MM || x_mm <= 0.0,
    })
}

/// The upright faces at `x`, lower and upper end each, from the lowest up.
fn faces(outline: &Outline, x: f64) -> Vec<(f64, f64)> {
    let there = |p: Point| x - p.x <= TOUCH_MM;
    let mut spans: Vec<(f64, f64)> = outline
        .edges()
        .filter(|&(a, _)| there(a))
        .map(|(a, b)| {
            let end = if there(b) { b.y } else { a.y };
            (a.y.min(end), a.y.max(end))
        })
        .collect();
    spans.sort_by(|a, b| a.0.total_cmp(&b.0));
    let mut faces: Vec<(f64, f64)> = Vec::new();
    for (low, high) in spans {
        match faces.last_mut() {
            Some(face) if low <= face.1 + TOUCH_MM => face.1 = face.1.max(high),
            _ => faces.push((low, high)),
        }
    }
    faces
}

/// The lowest face that reaches above the die's top; where none does, the highest.
fn contact(faces: &[(f64, f64)]) -> (f64, f64) {
    let above = faces.iter().find(|face| face.1 > TOUCH_MM);
    // An outline has a furthest corner, so there is a face; none at all is out of reach.
    let nothing = (f64::NEG_INFINITY, f64::NEG_INFINITY);
    above.or(faces.last()).copied().unwrap_or(nothing)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A comb whose teeth end at x = 50, each between two heights, and whose back is at x = 0.
    fn teeth(heights: &[(f64, f64)]) -> Vec<(f64, f64)> {
        let mut points = Vec::new();
        for &(low, high) in heights {
            let corners = [(10.0, low), (50.0, low), (50.0, high), (10.0, high)];
            points.extend(corners.map(|(x, y)| Point::new(x, y)));
        }
        points.extend([Point::new(0.0, 90.0), Point::new(0.0, -90.0)]);
        faces(&Outline::new(points).unwrap(), 50.0)
    }

    #[test]
    fn of_several_faces_the_lowest_within_reach_is_touched() {
        let reach = |heights: &[(f64, f64)]| contact(&teeth(heights));
        assert_eq!(
            reach(&[(-20.0, -10.0), (5.0, 8.0), (20.0, 30.0)]),
            (5.0, 8.0)
        );
        assert_eq!(reach(&[(-20.0, 3.0), (5.0, 8.0)]), (-20.0, 3.0));
        assert_eq!(reach(&[(-40.0, -30.0), (-20.0, -10.0)]), (-20.0, -10.0));
    }
}

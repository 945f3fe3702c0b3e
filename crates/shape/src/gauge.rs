//! What the back gauge's stop would touch.

use crate::collision::TOUCH_MM;
use crate::{Chain, Facing, FoldState, ShapeError, pose};
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
    let heights = || {
        let furthest = outline.points().iter().filter(|p| x_mm - p.x <= TOUCH_MM);
        furthest.map(|p| p.y)
    };
    let face_low_mm = heights().fold(f64::INFINITY, f64::min);
    let face_high_mm = heights().fold(f64::NEG_INFINITY, f64::max);
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

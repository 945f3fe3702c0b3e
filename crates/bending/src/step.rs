//! Large radii by step bending: many small bends side by side.

use crate::number::length_of;
use units::{Degrees, Length};

/// A large radius broken into equal small bends.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Steps {
    /// Number of hits.
    pub count: u32,
    /// Bend angle of each hit, after springback.
    pub each: Degrees,
    /// Distance between hits along the sheet, in the flat.
    pub pitch: Length,
    /// How far the middle of a facet lies from the true arc, on the outside.
    pub facet_depth: Length,
}

/// More hits than this on one radius is a job for rolls, and a bound on the answer.
pub const MOST_STEPS: u32 = 10_000;

/// Why a radius cannot be stepped.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum StepError {
    /// Bend angle, radius, thickness or depth that is not above zero, or an angle above 360°.
    NotABend,
    /// Would take more than [`MOST_STEPS`] hits.
    TooManySteps,
}

impl std::fmt::Display for StepError {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            StepError::NotABend => {
                write!(
                    f,
                    "a stepped radius wants an angle, radius, thickness and depth above zero"
                )
            }
            StepError::TooManySteps => write!(f, "more than {MOST_STEPS} hits"),
        }
    }
}

impl std::error::Error for StepError {}

/// Breaks a radius into the fewest equal hits whose facets stay within a depth of the true arc.
///
/// **Formula** a facet over the angle θ lies Ro·(1 − cos(θ/2)) from the arc, Ro = R + t; so
/// θ ≤ 2·acos(1 − depth/Ro), n = ⌈A/θ⌉, each hit A/n, pitch A/n·π/180·(R + t/2).
///
/// **Source** geometry `[computed]`; the neutral line mid-sheet, as at any large radius.
///
/// **Valid for** R well above the natural radius of the V. A narrow V that spans no more than
/// about two pitches keeps each hit off its neighbour `[trade]`.
///
/// **Units** degrees (bend angle of the whole radius), lengths.
///
/// # Errors
/// [`StepError`] for what is no bend or would take too many hits.
///
/// **Example**
/// ```
/// use units::{Degrees, Length};
/// let mm = Length::from_whole_mm;
/// let steps = bending::step::steps(Degrees::of(90.0), mm(100), mm(2), Length::from_mm(0.5))?;
/// assert_eq!(steps.count, 8);
/// assert!((steps.pitch.mm() - 19.831).abs() < 0.001);
/// # Ok::<(), bending::step::StepError>(())
/// ```
pub fn steps(
    bend_angle: Degrees,
    r: Length,
    t: Length,
    facet_depth_most: Length,
) -> Result<Steps, StepError> {
    let whole = bend_angle.get();
    let measures = [r, t, facet_depth_most];
    if !(whole > 0.0 && whole <= 360.0) || measures.iter().any(|length| *length <= Length::ZERO) {
        return Err(StepError::NotABend);
    }
    let outer = (r + t).mm();
    // Deeper than the radius: even one hit of half a turn is near enough.
    let cosine = (1.0 - facet_depth_most.mm() / outer).max(-1.0);
    let largest = 2.0 * cosine.acos();
    let hits = (whole.to_radians() / largest - 1e-9).ceil().max(1.0);
    if !hits.is_finite() || hits > f64::from(MOST_STEPS) {
        return Err(StepError::TooManySteps);
    }
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // between 1 and MOST_STEPS
    let count = hits as u32;
    let each = whole / hits;
    Ok(Steps {
        count,
        each: Degrees::of(each),
        pitch: length_of(each.to_radians() * (r.mm() + t.mm() / 2.0)),
        facet_depth: length_of(outer * (1.0 - (each.to_radians() / 2.0).cos())),
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    const MM: fn(f64) -> Length = Length::from_mm;

    #[test]
    fn the_fewest_hits_within_the_depth() {
        for (angle, r, depth) in [(90.0, 100.0, 0.5), (180.0, 250.0, 0.2), (45.0, 60.0, 1.0)] {
            let found = steps(Degrees::of(angle), MM(r), MM(3.0), MM(depth)).unwrap();
            assert!(found.facet_depth <= MM(depth));
            let fewer = angle / f64::from(found.count - 1);
            let coarser = (r + 3.0) * (1.0 - (fewer.to_radians() / 2.0).cos());
            assert!(
                coarser > depth,
                "{angle} {r} {depth}: one hit fewer would do"
            );
        }
    }

    #[test]
    fn what_is_no_bend_is_refused() {
        let ask = |angle, r, t, depth| steps(Degrees::of(angle), MM(r), MM(t), MM(depth));
        assert_eq!(ask(0.0, 100.0, 2.0, 0.5), Err(StepError::NotABend));
        assert_eq!(ask(400.0, 100.0, 2.0, 0.5), Err(StepError::NotABend));
        assert_eq!(ask(90.0, 0.0, 2.0, 0.5), Err(StepError::NotABend));
        assert_eq!(ask(90.0, 100.0, 2.0, 0.0), Err(StepError::NotABend));
        assert_eq!(
            ask(360.0, 50_000.0, 2.0, 0.000_001),
            Err(StepError::TooManySteps)
        );
        assert_eq!(ask(30.0, 10.0, 2.0, 50.0).map(|steps| steps.count), Ok(1));
    }
}

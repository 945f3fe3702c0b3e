//! Hems: a sharp bend and a second hit that folds it flat.
//!
//! **Caution.** Flattening takes several times the force of the bend before it, over the same
//! length. No formula is given for it here: read the hemming chart of the tool and the machine.

use crate::developed::din_v;
use crate::flange;
use units::{Degrees, Length};

/// The two usual hems.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Hem {
    /// Folded down onto the sheet.
    Closed,
    /// Folded until this gap is left between the inside faces.
    Open {
        /// The gap.
        gap: Length,
    },
}

/// One of the two hits of a hem.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Hit {
    /// Bend in a sharp V to this included angle.
    Bend(Degrees),
    /// Fold until the inside faces stand this far apart.
    Flatten(Length),
}

/// The included angle a hem is bent to before it is folded `[trade]`; sharp dies stop near it.
pub const FIRST_BEND_DEGREES: f64 = 30.0;

/// The two hits of a hem, in order.
///
/// **Formula** bend to 30°, then fold to the gap (none when closed).
///
/// **Source** common practice `[trade]`.
///
/// **Valid for** hems made in two hits on a press brake.
///
/// **Units** degrees (included angle), lengths.
///
/// **Errors** none.
///
/// **Example**
/// ```
/// use bending::hem::{hits, Hem, Hit};
/// use units::{Degrees, Length};
/// let order = hits(Hem::Closed);
/// assert_eq!(order, [Hit::Bend(Degrees::of(30.0)), Hit::Flatten(Length::ZERO)]);
/// ```
#[must_use]
pub fn hits(hem: Hem) -> [Hit; 2] {
    let gap = match hem {
        Hem::Closed => Length::ZERO,
        Hem::Open { gap } => gap,
    };
    [
        Hit::Bend(Degrees::of(FIRST_BEND_DEGREES)),
        Hit::Flatten(gap),
    ]
}

/// What is to be added to the two legs of a hem, measured to the outer tangent of the fold.
///
/// **Formula** open: v of DIN 6935 at β = 0° with r = gap/2. Closed: π·t/2 − 2·t = −0.429·t, the
/// neutral line mid-sheet round a fold without inside radius; the trade's 0.43 t.
///
/// **Source** open [`din_v`]; closed 0.43·t `[trade]`, reproduced by the geometry `[computed]`.
///
/// **Valid for** open hems with a gap above about 0.1 t. A closed hem stretches by an amount that
/// depends on sheet and tool: measure the first one.
///
/// **Units** lengths; signed millimetres.
///
/// **Errors** none; a gap that is not above zero counts as closed.
///
/// **Example**
/// ```
/// use bending::hem::{compensation, Hem};
/// use units::Length;
/// let v = compensation(Hem::Closed, Length::from_whole_mm(1));
/// assert!((v + 0.43).abs() < 0.001);
/// ```
#[must_use]
pub fn compensation(hem: Hem, t: Length) -> f64 {
    match hem {
        Hem::Open { gap } if gap > Length::ZERO => din_v(Degrees::of(0.0), gap.half(), t),
        Hem::Open { .. } | Hem::Closed => (std::f64::consts::FRAC_PI_2 - 2.0) * t.mm(),
    }
}

/// The smallest hem leg the first, sharp bend can hold in a V.
///
/// **Formula** [`flange::smallest`] at 30°: 1.93·V.
///
/// **Source** geometry `[computed]`; published as 1.94·V `[source]`.
///
/// **Valid for** the leg to the outer vertex of the first bend.
///
/// **Units** lengths.
///
/// **Errors** none.
///
/// **Example**
/// ```
/// use units::Length;
/// let leg = bending::hem::smallest_leg(Length::from_whole_mm(8));
/// assert!((leg.mm() - 15.455).abs() < 0.001);
/// ```
#[must_use]
pub fn smallest_leg(v: Length) -> Length {
    flange::smallest(v, Degrees::of(FIRST_BEND_DEGREES))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_open_hem_is_the_half_round_and_its_tangents() {
        // r 4, t 2: half a turn at the neutral line, less radius and thickness at both legs.
        let gap = Length::from_whole_mm(8);
        let k: f64 = 0.65 + 0.5 * 2f64.log10();
        let expected = std::f64::consts::PI * (4.0 + k) - 12.0;
        let found = compensation(Hem::Open { gap }, Length::from_whole_mm(2));
        assert!((found - expected).abs() < 1e-9, "{found}");
    }

    #[test]
    fn a_hem_without_gap_is_closed() {
        let t = Length::from_mm(1.5);
        let shut = Hem::Open { gap: Length::ZERO };
        assert!((compensation(shut, t) - compensation(Hem::Closed, t)).abs() < 1e-12);
    }
}

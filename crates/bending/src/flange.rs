//! The smallest flange a V die can hold.

use crate::number::length_of;
use units::{Degrees, Length};

/// The smallest outside flange that stays on the die to the end of the bend.
///
/// **Formula** b = V/(2·sin(β/2)): at the end of the bend the leg, of length b from the corner,
/// still reaches the shoulder of the V.
///
/// **Source** geometry `[computed]`; rounded up to two decimals it gives the published factors b/V
/// 1.94 at 30°, 1.31 at 45°, 1.00 at 60°, 0.71 at 90°, 0.58 at 120°, 0.55 at 135°, 0.51 at 165°
/// `[source]`.
///
/// **Valid for** 0° < β ≤ 180° and sharp die shoulders; a flange this short leaves no margin for
/// slip, so shops add some.
///
/// **Units** lengths, degrees.
///
/// **Errors** none; β at or below 0° gives [`Length::UNLIMITED`].
///
/// **Caution** a flange that slips off the shoulder flies up at the operator.
///
/// **Example**
/// ```
/// use units::{Degrees, Length};
/// let shortest = bending::flange::smallest(Length::from_whole_mm(16), Degrees::of(90.0));
/// assert!((shortest.mm() - 11.314).abs() < 0.001);
/// ```
#[must_use]
pub fn smallest(v: Length, included: Degrees) -> Length {
    let half = (included.get().min(180.0) / 2.0).to_radians();
    if half <= 0.0 {
        return Length::UNLIMITED;
    }
    length_of(v.mm() / (2.0 * half.sin()))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn rounding_up_gives_the_published_factors() {
        let published = [
            (30.0, 1.94),
            (45.0, 1.31),
            (60.0, 1.00),
            (90.0, 0.71),
            (120.0, 0.58),
            (135.0, 0.55),
            (165.0, 0.51),
        ];
        for (included, factor) in published {
            let exact = smallest(Length::from_whole_mm(100), Degrees::of(included)).mm();
            // The lengths are whole nanometres, so a hundred-millimetre V resolves the factor to
            // eight decimals: binary noise is gone before rounding up.
            assert!(
                (exact.ceil() / 100.0 - factor).abs() < 1e-9,
                "{included}° {exact}"
            );
        }
    }

    #[test]
    fn a_folded_bend_holds_no_flange() {
        let v = Length::from_whole_mm(16);
        assert!(smallest(v, Degrees::of(0.0)).is_unlimited());
        assert!(smallest(v, Degrees::of(-5.0)).is_unlimited());
        assert_eq!(smallest(v, Degrees::of(180.0)), v.half());
    }
}

//! Offset (Z) bends: two opposite bends of the same angle, so that the sheet goes on parallel to
//! itself.

use crate::flange;
use crate::number::{half_bend_radians, length_of};
use units::{Degrees, Length};

/// The slanting leg of an offset, measured between the outer vertices of its two bends.
///
/// **Formula** D/sin A + t·tan(A/2), D the distance the face moves: the middle of the sheet runs
/// D/sin A between its vertices, and each outer vertex lies t/2·tan(A/2) beyond.
///
/// **Source** geometry `[computed]`.
///
/// **Valid for** 0° < β < 180°; at 90° it is D + t, the height over all.
///
/// **Units** lengths, degrees (included angle).
///
/// **Errors** none; a flat or folded angle gives [`Length::UNLIMITED`].
///
/// **Example**
/// ```
/// use units::{Degrees, Length};
/// let mm = Length::from_whole_mm;
/// let leg = bending::offset::slanting_leg(mm(10), mm(2), Degrees::of(90.0));
/// assert_eq!(leg, mm(12));
/// ```
#[must_use]
pub fn slanting_leg(displacement: Length, t: Length, included: Degrees) -> Length {
    let half = half_bend_radians(included);
    let rise = (2.0 * half).sin();
    if rise <= 1e-12 {
        return Length::UNLIMITED;
    }
    length_of(displacement.mm() / rise + t.mm() * half.tan())
}

/// The smallest offset that two separate hits over one V can make.
///
/// **Formula** D = (b − t·tan(A/2))·sin A, with b the smallest flange of the V: the slanting leg
/// must still reach the shoulder at the second hit.
///
/// **Source** geometry `[computed]`.
///
/// **Valid for** an ordinary V die. Smaller offsets want an offset tool that makes both bends in
/// one hit, with its own force chart.
///
/// **Units** lengths, degrees (included angle).
///
/// **Errors** none; never negative.
///
/// **Example**
/// ```
/// use units::{Degrees, Length};
/// let mm = Length::from_whole_mm;
/// let least = bending::offset::smallest_displacement(mm(16), mm(2), Degrees::of(90.0));
/// assert!((least.mm() - 9.314).abs() < 0.001);
/// ```
#[must_use]
pub fn smallest_displacement(v: Length, t: Length, included: Degrees) -> Length {
    let half = half_bend_radians(included);
    let leg = flange::smallest(v, included).mm();
    length_of(((leg - t.mm() * half.tan()) * (2.0 * half).sin()).max(0.0))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_smallest_offset_has_the_smallest_flange() {
        for included in [75.0, 90.0, 120.0, 150.0] {
            let (v, t) = (Length::from_whole_mm(16), Length::from_whole_mm(2));
            let least = smallest_displacement(v, t, Degrees::of(included));
            let leg = slanting_leg(least, t, Degrees::of(included));
            let flange = flange::smallest(v, Degrees::of(included));
            assert!(
                (leg - flange).abs() < Length::from_nanometres(3),
                "{included}"
            );
        }
    }

    #[test]
    fn a_flat_sheet_never_gets_there() {
        let mm = Length::from_whole_mm;
        assert!(slanting_leg(mm(10), mm(2), Degrees::of(180.0)).is_unlimited());
        assert!(slanting_leg(mm(10), mm(2), Degrees::of(0.0)).is_unlimited());
    }
}

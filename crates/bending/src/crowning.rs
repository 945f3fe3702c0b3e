//! What a bow of ram and bed does to the angle.
//!
//! Ram and bed bow under load, so the punch goes less deep in the middle than at the ends and the
//! bend stays more open there. How much they bow is a property of the machine and is measured, not
//! computed here: deep beams shear as well as bend, and a beam formula alone reads low.

use crate::number::half_bend_radians;
use units::{Degrees, Kilonewtons, Length};

/// How many degrees of bend a millimetre of punch travel is worth.
///
/// **Formula** 180/π ÷ dy/dA with dy/dA = (V/4)/cos²(A/2) − ((ri + t)/2)·tan(A/2)/cos(A/2), the
/// derivative of [`crate::travel::punch_travel`].
///
/// **Source** geometry `[computed]`. V16, t2, ri 2.56, 90° → 12.0° a millimetre, that is 0.12° for
/// each hundredth.
///
/// **Valid for** as the punch travel, with the radius constant.
///
/// **Units** lengths, degrees (included angle); degrees per millimetre.
///
/// **Errors** `None` where more travel no longer closes the bend (the legs leave the shoulders),
/// or at β ≤ 0°.
///
/// **Example**
/// ```
/// use units::{Degrees, Length};
/// let mm = Length::from_mm;
/// let worth = bending::crowning::degrees_per_mm(mm(16.0), mm(2.0), mm(2.56), Degrees::of(90.0));
/// assert!(worth.is_some_and(|degrees| (degrees - 12.0).abs() < 0.01));
/// ```
#[must_use]
pub fn degrees_per_mm(v: Length, t: Length, ri: Length, included: Degrees) -> Option<f64> {
    if included.get() <= 0.0 {
        return None;
    }
    let half = half_bend_radians(included);
    let cosine = half.cos();
    let per_radian = v.mm() / 4.0 / (cosine * cosine) - (ri + t).mm() / 2.0 * half.tan() / cosine;
    (per_radian > 0.0).then(|| 1f64.to_degrees() / per_radian)
}

/// The bow at a force, from the bow measured at the rated force.
///
/// **Formula** bow = bow at rated force · F/Fr.
///
/// **Source** linear elasticity: the bow is proportional to the load `[computed]`.
///
/// **Valid for** a load spread over the same length as when it was measured, below the rated force.
///
/// **Units** length, kN.
///
/// **Errors** `None` when the rated force is not above zero or the force is beyond it.
///
/// **Example**
/// ```
/// use units::{Kilonewtons, Length};
/// let bow = bending::crowning::bow(
///     Length::from_mm(0.4), Kilonewtons::of(250.0), Kilonewtons::of(1000.0));
/// assert_eq!(bow, Some(Length::from_mm(0.1)));
/// ```
#[must_use]
pub fn bow(at_rated: Length, force: Kilonewtons, rated: Kilonewtons) -> Option<Length> {
    if rated.get() <= 0.0 || force > rated {
        return None;
    }
    Some(crate::number::length_of(
        at_rated.mm() * force.get() / rated.get(),
    ))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::travel::punch_travel;

    #[test]
    fn agrees_with_the_travel_a_tenth_of_a_degree_either_side() {
        let mm = Length::from_mm;
        for (v, t, ri, included) in [
            (16.0, 2.0, 2.56, 90.0),
            (8.0, 1.0, 1.28, 135.0),
            (24.0, 3.0, 3.84, 60.0),
        ] {
            let travel = |beta| punch_travel(mm(v), mm(t), mm(ri), Degrees::of(beta)).mm();
            let measured = 0.2 / (travel(included - 0.1) - travel(included + 0.1));
            let worth = degrees_per_mm(mm(v), mm(t), mm(ri), Degrees::of(included)).unwrap();
            assert!((worth / measured - 1.0).abs() < 1e-4, "{worth} {measured}");
        }
    }

    #[test]
    fn no_answer_where_there_is_none() {
        let mm = Length::from_mm;
        assert_eq!(
            degrees_per_mm(mm(6.0), mm(6.0), mm(30.0), Degrees::of(90.0)),
            None
        );
        assert_eq!(
            degrees_per_mm(mm(16.0), mm(2.0), mm(2.0), Degrees::of(0.0)),
            None
        );
        assert_eq!(
            bow(mm(0.4), Kilonewtons::of(11.0), Kilonewtons::of(10.0)),
            None
        );
    }
}

//! From computed millimetres back to lengths, and the angles every formula shares.

use units::{Degrees, Length};

/// A length from a computed number of millimetres.
///
/// What is not a number or beyond every workshop becomes ±[`Length::UNLIMITED`], so that a limit
/// check on it fails and sums of a few such lengths do not overflow.
pub(crate) fn length_of(mm: f64) -> Length {
    if mm.is_nan() {
        return Length::UNLIMITED;
    }
    Length::from_mm(mm).clamp(-Length::UNLIMITED, Length::UNLIMITED)
}

/// The bend angle A = 180° − β in degrees, held to 0…180.
pub(crate) fn bend_angle_of(included: Degrees) -> f64 {
    (180.0 - included.get()).clamp(0.0, 180.0)
}

/// Half the bend angle in radians, held to 0…π/2.
pub(crate) fn half_bend_radians(included: Degrees) -> f64 {
    (bend_angle_of(included) / 2.0).to_radians()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_no_length_is_unlimited() {
        assert_eq!(length_of(f64::NAN), Length::UNLIMITED);
        assert_eq!(length_of(f64::INFINITY), Length::UNLIMITED);
        assert_eq!(length_of(f64::NEG_INFINITY), -Length::UNLIMITED);
        assert_eq!(length_of(1e300), Length::UNLIMITED);
        assert_eq!(length_of(12.7), Length::from_mm(12.7));
    }

    #[test]
    fn angles_beyond_flat_or_folded_are_held() {
        for (included, bend) in [(90.0, 90.0), (180.0, 0.0), (200.0, 0.0), (-10.0, 180.0)] {
            assert!(
                (bend_angle_of(Degrees::of(included)) - bend).abs() < 1e-12,
                "{included}"
            );
        }
    }
}

//! Engineering quantities: finite floating-point values that cannot be mixed up.

use std::fmt;

/// Why a number is not a quantity.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct QuantityError {
    /// The number refused.
    pub value: f64,
    /// The unit it was meant in.
    pub unit: &'static str,
}

impl fmt::Display for QuantityError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} {} is not a finite number", self.value, self.unit)
    }
}

impl std::error::Error for QuantityError {}

macro_rules! quantity {
    ($(#[$doc:meta])* $name:ident, $unit:literal) => {
        $(#[$doc])*
        #[derive(Clone, Copy, Debug, Default, PartialEq, PartialOrd)]
        pub struct $name(f64);

        impl $name {
            /// The unit's symbol.
            pub const UNIT: &'static str = $unit;

            /// Checks that the value is finite.
            ///
            /// # Errors
            /// [`QuantityError`] when `value` is NaN or infinite.
            pub fn new(value: f64) -> Result<$name, QuantityError> {
                if value.is_finite() {
                    Ok($name(value))
                } else {
                    Err(QuantityError { value, unit: $unit })
                }
            }

            /// From a value known to be finite (a constant, or a formula of checked quantities).
            /// A value that is not finite becomes the largest finite one, so that a limit check
            /// on it fails rather than passes.
            #[must_use]
            pub const fn of(value: f64) -> $name {
                if value.is_finite() { $name(value) } else { $name(f64::MAX) }
            }

            /// The bare number in this quantity's unit.
            #[must_use]
            pub const fn get(self) -> f64 {
                self.0
            }
        }

        /// The number in its unit, with the unit's symbol.
        impl fmt::Display for $name {
            fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                match f.precision() {
                    Some(p) => write!(f, "{:.*} {}", p, self.0, $unit),
                    None => write!(f, "{} {}", self.0, $unit),
                }
            }
        }
    };
}

quantity!(
    /// A force in kilonewtons.
    Kilonewtons, "kN");
quantity!(
    /// A line load in kilonewtons per metre of tool or bed.
    KilonewtonsPerMetre, "kN/m");
quantity!(
    /// A stress or modulus in megapascals (N/mm²).
    Megapascals, "MPa");
quantity!(
    /// An angle in degrees.
    Degrees, "°");
quantity!(
    /// A mass in kilograms.
    Kilograms, "kg");
quantity!(
    /// A speed in millimetres per second.
    MillimetresPerSecond, "mm/s");

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn refuses_what_is_not_finite() {
        assert!(Kilonewtons::new(f64::NAN).is_err());
        assert!(Megapascals::new(f64::INFINITY).is_err());
        assert_eq!(Degrees::new(90.0).map(Degrees::get), Ok(90.0));
        assert!(Kilonewtons::of(f64::NAN) > Kilonewtons::of(1e9));
    }
}

//! Lengths in whole nanometres.

use std::fmt;
use std::iter::Sum;
use std::ops::{Add, AddAssign, Neg, Sub, SubAssign};

/// A signed length in whole nanometres.
///
/// Exact for every millimetre value with up to six decimals and for every 1/64 inch. Range: about
/// ±9.2 million kilometres; arithmetic panics on overflow in debug builds like any integer, and the
/// readers refuse anything beyond 100 m, so overflow cannot be reached from input.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Length(i64);

impl Length {
    /// Zero length.
    pub const ZERO: Length = Length(0);
    /// A length longer than anything in a workshop: "no upper limit".
    pub const UNLIMITED: Length = Length(i64::MAX / 4);

    /// From whole nanometres.
    #[must_use]
    pub const fn from_nanometres(nm: i64) -> Length {
        Length(nm)
    }

    /// From whole millimetres.
    #[must_use]
    pub const fn from_whole_mm(mm: i64) -> Length {
        Length(mm * 1_000_000)
    }

    /// From millimetres, rounded to the nearest nanometre (half away from zero).
    ///
    /// Meant for computed engineering values; input text goes through [`crate::parse_length`],
    /// which is exact. A value that is not finite or beyond the range saturates.
    #[must_use]
    #[allow(clippy::cast_possible_truncation)] // `as` saturates, which is the documented behaviour
    pub fn from_mm(mm: f64) -> Length {
        Length((mm * 1e6).round() as i64)
    }

    /// Whole nanometres.
    #[must_use]
    pub const fn nanometres(self) -> i64 {
        self.0
    }

    /// Millimetres, for engineering formulas and display.
    #[must_use]
    #[allow(clippy::cast_precision_loss)]
    pub fn mm(self) -> f64 {
        self.0 as f64 / 1e6
    }

    /// Metres, for loads per metre.
    #[must_use]
    pub fn metres(self) -> f64 {
        self.mm() / 1e3
    }

    /// The absolute value.
    #[must_use]
    pub const fn abs(self) -> Length {
        Length(self.0.abs())
    }

    /// Half of this length, rounded toward zero to a nanometre.
    #[must_use]
    pub const fn half(self) -> Length {
        Length(self.0 / 2)
    }

    /// Whether this stands for "no upper limit".
    #[must_use]
    pub fn is_unlimited(self) -> bool {
        self >= Length::UNLIMITED
    }
}

impl Add for Length {
    type Output = Length;
    fn add(self, other: Length) -> Length {
        Length(self.0 + other.0)
    }
}
impl Sub for Length {
    type Output = Length;
    fn sub(self, other: Length) -> Length {
        Length(self.0 - other.0)
    }
}
impl Neg for Length {
    type Output = Length;
    fn neg(self) -> Length {
        Length(-self.0)
    }
}
impl AddAssign for Length {
    fn add_assign(&mut self, other: Length) {
        *self = *self + other;
    }
}
impl SubAssign for Length {
    fn sub_assign(&mut self, other: Length) {
        *self = *self - other;
    }
}
impl Sum for Length {
    fn sum<I: Iterator<Item = Length>>(iter: I) -> Length {
        iter.fold(Length::ZERO, Add::add)
    }
}

/// Millimetres with as few decimals as are needed, without a unit: `1250`, `12.7`, `0.396875`.
impl fmt::Display for Length {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let sign = if self.0 < 0 { "-" } else { "" };
        let nm = self.0.unsigned_abs();
        let (whole, fraction) = (nm / 1_000_000, nm % 1_000_000);
        if fraction == 0 {
            return f.pad(&format!("{sign}{whole}"));
        }
        let digits = format!("{fraction:06}");
        f.pad(&format!("{sign}{whole}.{}", digits.trim_end_matches('0')))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn display_is_exact_and_short() {
        let cases = [
            (0, "0"),
            (1_250_000_000, "1250"),
            (12_700_000, "12.7"),
            (396_875, "0.396875"),
            (-500_000, "-0.5"),
        ];
        for (nm, text) in cases {
            assert_eq!(Length::from_nanometres(nm).to_string(), text);
        }
    }

    #[test]
    fn millimetres_round_trip() {
        for nm in [-7, 0, 1, 999_999, 1_000_001, 25_400_000_000] {
            let length = Length::from_nanometres(nm);
            assert_eq!(Length::from_mm(length.mm()), length);
        }
    }
}

//! How far a vertical light curtain must stand from the tools.
//!
//! **Caution.** A check of arithmetic, not an approval. The distance is set by a competent person
//! from the stopping time measured on the machine, the maker's manuals and the local code.

use crate::number::length_of;
use std::fmt;
use units::Length;

/// Why no distance is given.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum SafeguardError {
    /// Resolution above 40 mm or not above zero: another formula of the standard holds.
    Resolution(Length),
    /// A stopping time below zero or not a number.
    StoppingTime(f64),
}

impl fmt::Display for SafeguardError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            SafeguardError::Resolution(d) => {
                write!(f, "resolution {d} mm; this formula holds up to 40 mm")
            }
            SafeguardError::StoppingTime(seconds) => {
                write!(f, "stopping time {seconds} s is not a time")
            }
        }
    }
}

impl std::error::Error for SafeguardError {}

/// Finest object the formula holds for, at most.
const COARSEST: Length = Length::from_whole_mm(40);

/// The least distance from a vertical light curtain to the point of operation.
///
/// **Formula** S = K·T + C, C = 8·(d − 14), at least 0. K = 2000 mm/s, and S at least 100 mm; where
/// that gives more than 500 mm, K = 1600 mm/s, and S at least 500 mm.
///
/// **Source** ISO 13855 as given in operating instructions of protective devices `[source]`. T
/// 0.32 s, d 14 mm → 512 mm; T 0.165 s → 330 mm.
///
/// **Valid for** an approach square to the field, d up to 40 mm. T is the stopping time of the
/// machine **and** the response time of the device. Close-proximity guards that move with the ram
/// follow other rules.
///
/// **Units** seconds, length.
///
/// # Errors
/// [`SafeguardError`] outside that range.
///
/// **Example**
/// ```
/// use units::Length;
/// let mm = Length::from_whole_mm;
/// assert_eq!(bending::safeguard::light_curtain_distance(0.32, mm(14)), Ok(mm(512)));
/// assert_eq!(bending::safeguard::light_curtain_distance(0.165, mm(14)), Ok(mm(330)));
/// ```
pub fn light_curtain_distance(stopping_s: f64, d: Length) -> Result<Length, SafeguardError> {
    if d <= Length::ZERO || d > COARSEST {
        return Err(SafeguardError::Resolution(d));
    }
    if !stopping_s.is_finite() || stopping_s < 0.0 {
        return Err(SafeguardError::StoppingTime(stopping_s));
    }
    let intrusion = (8.0 * (d.mm() - 14.0)).max(0.0);
    let fast = 2000.0 * stopping_s + intrusion;
    let distance = if fast <= 500.0 {
        fast.max(100.0)
    } else {
        (1600.0 * stopping_s + intrusion).max(500.0)
    };
    Ok(length_of(distance))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn both_floors_hold() {
        let ask = |seconds, d| light_curtain_distance(seconds, Length::from_mm(d)).map(Length::mm);
        for (seconds, d, mm) in [
            (0.0, 14.0, 100.0),
            (0.25, 14.0, 500.0),
            (0.26, 14.0, 500.0),
            (0.05, 40.0, 308.0),
            (0.2, 10.0, 400.0),
        ] {
            assert_eq!(ask(seconds, d), Ok(mm), "{seconds} {d}");
        }
    }

    #[test]
    fn nothing_is_said_outside_the_formula() {
        let ask = |seconds, mm| light_curtain_distance(seconds, Length::from_whole_mm(mm));
        assert!(ask(0.2, 41).is_err() && ask(0.2, 0).is_err());
        assert!(ask(-0.1, 14).is_err() && ask(f64::NAN, 14).is_err());
    }
}

//! Comparisons that the whole judge shares.

use units::{Length, Moment};

/// Share by which a limit may be passed, so that a number exactly on it is not refused for the
/// last bits of floating point. Larger would let real overloads through.
const RELATIVE: f64 = 1e-6;

/// Absolute companion of [`RELATIVE`] for limits at or near zero: a nanometre in millimetres.
const ABSOLUTE: f64 = 1e-6;

/// How far a length stated in the plan may be from the judge's own.
const STATED_MM: f64 = 0.01;

/// Whether `found` is at most `limit`. Never true of a number that is not one.
pub(crate) fn at_most(found: f64, limit: f64) -> bool {
    found <= limit + limit.abs() * RELATIVE + ABSOLUTE
}

/// Whether `found` is at least `limit`. Never true of a number that is not one.
pub(crate) fn at_least(found: f64, limit: f64) -> bool {
    found >= limit - limit.abs() * RELATIVE - ABSOLUTE
}

/// Whether a length stated in the plan is the one worked out here, in millimetres.
pub(crate) fn states(stated: Length, expected_mm: f64) -> bool {
    (stated.mm() - expected_mm).abs() <= STATED_MM + 1e-9
}

/// Nanometres in the wide integers that sums of any plan fit into.
pub(crate) fn nm(length: Length) -> i128 {
    i128::from(length.nanometres())
}

/// Millimetres of wide nanometres.
#[allow(clippy::cast_precision_loss)] // shown and compared at 1e-6; beds are metres long
pub(crate) fn mm(nanometres: i128) -> f64 {
    nanometres as f64 / 1e6
}

/// Seconds from one moment to another, for moments however far apart.
pub(crate) fn seconds_between(start: Moment, end: Moment) -> i128 {
    i128::from(end.0) - i128::from(start.0)
}

/// Thousandths rounded up to whole ones.
pub(crate) fn round_up_thousandths(thousandths: i128) -> i128 {
    (thousandths + 999).div_euclid(1000)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_exact_limit_passes_and_a_real_excess_does_not() {
        assert!(at_most(500.0, 500.0) && at_least(500.0, 500.0));
        assert!(at_most(500.000_1, 500.0));
        assert!(!at_most(500.01, 500.0) && !at_least(499.99, 500.0));
        assert!(!at_most(f64::NAN, 500.0) && !at_least(f64::NAN, 500.0));
        assert!(!at_most(0.001, 0.0));
    }

    #[test]
    fn thousandths_round_up() {
        for (thousandths, whole) in [(0, 0), (1, 1), (1000, 1), (1001, 2), (-1, 0)] {
            assert_eq!(round_up_thousandths(thousandths), whole);
        }
    }
}

//! Time inside the engine: whole seconds and instants counted in them.

use std::fmt;
use std::iter::Sum;
use std::ops::{Add, AddAssign, Sub};

/// A duration in whole seconds.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Seconds(pub i64);

impl Seconds {
    /// No time at all.
    pub const ZERO: Seconds = Seconds(0);

    /// From whole minutes.
    #[must_use]
    pub const fn from_minutes(minutes: i64) -> Seconds {
        Seconds(minutes * 60)
    }

    /// The one rounding frontier from engineering estimates to the schedule: rounds up, so that a
    /// plan never promises less time than the estimate. Not finite or negative becomes zero.
    #[must_use]
    #[allow(clippy::cast_possible_truncation)] // saturates far beyond any horizon
    pub fn from_estimate(seconds: f64) -> Seconds {
        // Strip binary noise first, so that 3 x 0.1 s does not cost a second more than 0.3 s.
        let cleaned = (seconds * 1e6).round() / 1e6;
        if cleaned.is_finite() && cleaned > 0.0 {
            Seconds(cleaned.ceil() as i64)
        } else {
            Seconds::ZERO
        }
    }

    /// Minutes, for display.
    #[must_use]
    #[allow(clippy::cast_precision_loss)]
    pub fn minutes(self) -> f64 {
        self.0 as f64 / 60.0
    }

    /// Hours, for display.
    #[must_use]
    #[allow(clippy::cast_precision_loss)]
    pub fn hours(self) -> f64 {
        self.0 as f64 / 3600.0
    }
}

impl Add for Seconds {
    type Output = Seconds;
    fn add(self, other: Seconds) -> Seconds {
        Seconds(self.0 + other.0)
    }
}
impl Sub for Seconds {
    type Output = Seconds;
    fn sub(self, other: Seconds) -> Seconds {
        Seconds(self.0 - other.0)
    }
}
impl AddAssign for Seconds {
    fn add_assign(&mut self, other: Seconds) {
        self.0 += other.0;
    }
}
impl Sum for Seconds {
    fn sum<I: Iterator<Item = Seconds>>(iter: I) -> Seconds {
        iter.fold(Seconds::ZERO, Add::add)
    }
}

/// `1 h 05 min`, `12 min`, `40 s`.
impl fmt::Display for Seconds {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let total = self.0;
        if total.abs() < 60 {
            return write!(f, "{total} s");
        }
        let minutes = (total + 30).div_euclid(60);
        if minutes.abs() < 60 {
            write!(f, "{minutes} min")
        } else {
            write!(
                f,
                "{} h {:02} min",
                minutes.div_euclid(60),
                minutes.rem_euclid(60)
            )
        }
    }
}

/// An instant: whole seconds since 1970-01-01T00:00:00Z, without leap seconds.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Moment(pub i64);

impl Add<Seconds> for Moment {
    type Output = Moment;
    fn add(self, duration: Seconds) -> Moment {
        Moment(self.0 + duration.0)
    }
}
impl Sub<Seconds> for Moment {
    type Output = Moment;
    fn sub(self, duration: Seconds) -> Moment {
        Moment(self.0 - duration.0)
    }
}
impl Sub for Moment {
    type Output = Seconds;
    fn sub(self, earlier: Moment) -> Seconds {
        Seconds(self.0 - earlier.0)
    }
}

/// A half-open span of time `[start, end)`.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Window {
    /// First second inside.
    pub start: Moment,
    /// First second after.
    pub end: Moment,
}

impl Window {
    /// The seconds inside; zero when the end is not after the start.
    #[must_use]
    pub fn length(self) -> Seconds {
        Seconds((self.end.0 - self.start.0).max(0))
    }

    /// Whether the two share at least one second.
    #[must_use]
    pub fn overlaps(self, other: Window) -> bool {
        self.start < other.end && other.start < self.end
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn estimates_round_up_but_not_on_noise() {
        let cases = [
            (0.0, 0),
            (0.1, 1),
            (1.0, 1),
            (0.1 + 0.2, 1),
            (60.000_000_01, 60),
            (-4.0, 0),
        ];
        for (estimate, seconds) in cases {
            assert_eq!(
                Seconds::from_estimate(estimate),
                Seconds(seconds),
                "{estimate}"
            );
        }
        assert_eq!(Seconds::from_estimate(f64::NAN), Seconds::ZERO);
    }

    #[test]
    fn durations_read_like_speech() {
        assert_eq!(Seconds(40).to_string(), "40 s");
        assert_eq!(Seconds(725).to_string(), "12 min");
        assert_eq!(Seconds(3_900).to_string(), "1 h 05 min");
    }
}

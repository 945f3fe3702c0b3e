//! How long one stroke of the ram takes.

use units::{Length, MillimetresPerSecond};

/// The fastest closing speed with the protective device muted, mm/s: EN 12622 `[memory]`.
pub const SLOW_CLOSING_MOST: MillimetresPerSecond = MillimetresPerSecond::of(10.0);
/// The greatest muting height above the sheet with close-proximity laser guarding: EN 12622
/// `[memory]`. Shops commonly work with 1/4 in, up to 3/8 in `[trade]`; the guard's manual decides.
pub const MUTE_HEIGHT_MOST: Length = Length::from_whole_mm(6);

/// The four speeds of a stroke.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct StrokeSpeeds {
    /// Closing, until the protective device is muted.
    pub fast: MillimetresPerSecond,
    /// Closing, from muting to the sheet. Commonly held to [`SLOW_CLOSING_MOST`].
    pub slow: MillimetresPerSecond,
    /// Bending.
    pub bend: MillimetresPerSecond,
    /// Opening.
    pub back: MillimetresPerSecond,
}

/// The time of one stroke, down and up.
///
/// **Formula** (approach − mute)/fast + mute/slow + travel/bend + dwell + (approach + travel)/back.
///
/// **Source** kinematics at constant speeds `[computed]`. Approach 100, mute 6, travel 6.111 mm,
/// 100, 10, 10 and 120 mm/s, dwell 0.3 s → 3.335 s.
///
/// **Valid for** an estimate: ramps between speeds are left out, so a real stroke is a little
/// longer.
///
/// **Units** lengths, mm/s, seconds. `approach` runs from the open ram to touching the sheet,
/// `mute` is the last part of it.
///
/// **Errors** none; a muting distance longer than the approach counts as the whole approach,
/// distances and dwell below zero count as zero, and a speed that is not above zero over a distance
/// that is gives an infinite time.
///
/// **Caution** the muting height and slow speed are safety functions, set by the guard's maker and
/// the local code, never by a time target.
///
/// **Example**
/// ```
/// use bending::stroke::{stroke_seconds, StrokeSpeeds};
/// use units::{Length, MillimetresPerSecond};
/// let speed = MillimetresPerSecond::of;
/// let speeds =
/// StrokeSpeeds { fast: speed(100.0), slow: speed(10.0), bend: speed(10.0), back: speed(120.0) };
/// let mm = Length::from_mm;
/// assert!((stroke_seconds(speeds, mm(100.0), mm(6.0), mm(6.111), 0.3) - 3.335).abs() < 0.001);
/// ```
#[must_use]
pub fn stroke_seconds(
    speeds: StrokeSpeeds,
    approach: Length,
    mute: Length,
    travel: Length,
    dwell_s: f64,
) -> f64 {
    let approach = approach.max(Length::ZERO);
    let mute = mute.clamp(Length::ZERO, approach);
    let travel = travel.max(Length::ZERO);
    over(approach - mute, speeds.fast)
        + over(mute, speeds.slow)
        + over(travel, speeds.bend)
        + dwell_s.max(0.0)
        + over(approach + travel, speeds.back)
}

fn over(distance: Length, speed: MillimetresPerSecond) -> f64 {
    if distance == Length::ZERO {
        0.0
    } else if speed.get() > 0.0 {
        distance.mm() / speed.get()
    } else {
        f64::INFINITY
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn speeds(slow: f64) -> StrokeSpeeds {
        let speed = MillimetresPerSecond::of;
        StrokeSpeeds {
            fast: speed(100.0),
            slow: speed(slow),
            bend: speed(10.0),
            back: speed(120.0),
        }
    }

    #[test]
    fn muting_earlier_costs_time() {
        let mm = Length::from_whole_mm;
        let short = stroke_seconds(speeds(10.0), mm(100), mm(6), mm(6), 0.0);
        let long = stroke_seconds(speeds(10.0), mm(100), mm(16), mm(6), 0.0);
        assert!(
            (long - short - 0.9).abs() < 1e-9,
            "10 mm at 10 instead of 100 mm/s"
        );
    }

    #[test]
    fn a_standing_ram_never_arrives() {
        let mm = Length::from_whole_mm;
        assert!(stroke_seconds(speeds(0.0), mm(100), mm(6), mm(6), 0.0).is_infinite());
        assert!(stroke_seconds(speeds(0.0), mm(100), mm(0), mm(6), 0.0).is_finite());
        let whole = stroke_seconds(speeds(10.0), mm(4), mm(6), mm(0), -1.0);
        assert!((whole - (0.4 + 4.0 / 120.0)).abs() < 1e-9);
    }
}

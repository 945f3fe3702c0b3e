//! How far the punch goes, how near ram and bed come, how much daylight is left.

use crate::Validity;
use crate::number::{half_bend_radians, length_of};
use units::{Degrees, Length};

/// How far the punch travels from touching the sheet to the finished angle.
///
/// **Formula** y = (V/2)·tan(A/2) − (ri + t)·(1/cos(A/2) − 1), A = 180° − β.
///
/// **Source** geometry of a sheet on two sharp shoulders `[computed]`. At 90°, ri 0.16·V and
/// V 8t it is 0.382·V; a manual says about 40 % of V `[source]`. V8 t1 3.056 mm, V16 t2 6.111 mm,
/// V24 t3 9.167 mm.
///
/// **Valid for** legs that touch the shoulders on their straight part ([`rests_on_straight_legs`]),
/// no thinning, no springback: use the angle under load.
///
/// **Units** lengths, degrees.
///
/// **Errors** none; never negative, and [`Length::UNLIMITED`] for β at or below 0°, which no air
/// bend reaches.
///
/// **Example**
/// ```
/// use units::{Degrees, Length};
/// let mm = Length::from_whole_mm;
/// let ri = Length::from_mm(2.56);
/// let travel = bending::travel::punch_travel(mm(16), mm(2), ri, Degrees::of(90.0));
/// assert!((travel.mm() - 6.111).abs() < 0.001);
/// ```
#[must_use]
pub fn punch_travel(v: Length, t: Length, ri: Length, included: Degrees) -> Length {
    if included.get() <= 0.0 {
        return Length::UNLIMITED;
    }
    let half = half_bend_radians(included);
    let sinks = v.mm() / 2.0 * half.tan() - (ri + t).mm() * (1.0 / half.cos() - 1.0);
    length_of(sinks.max(0.0))
}

/// Whether the legs touch the die's shoulders on their straight part, as [`punch_travel`] takes
/// for granted.
///
/// **Formula** V/2 ≥ (ri + t)·sin(A/2).
///
/// **Source** geometry `[computed]`.
///
/// **Valid for** sharp shoulders.
///
/// **Units** lengths, degrees.
///
/// **Errors** none.
///
/// **Example**
/// ```
/// use units::{Degrees, Length};
/// let mm = Length::from_whole_mm;
/// let check = |v| bending::travel::rests_on_straight_legs(mm(v), mm(6), mm(1), Degrees::of(90.0));
/// assert_eq!(check(48).range_left(), None);
/// assert!(check(8).range_left().is_some());
/// ```
#[must_use]
pub fn rests_on_straight_legs(v: Length, t: Length, ri: Length, included: Degrees) -> Validity {
    if v.mm() / 2.0 >= (ri + t).mm() * half_bend_radians(included).sin() {
        Validity::Inside
    } else {
        Validity::Outside("punch travel: half the V opening reaches past the bend's outer arc")
    }
}

/// Ram-to-bed distance at the bottom of a bend.
///
/// **Formula** stack − (travel − t), stack = holders + punch + die: the punch tip touches the sheet
/// at stack + t.
///
/// **Source** geometry `[computed]`. Holders 100, punch 120, die 80, V16, t2, 90° → 295.889 mm.
///
/// **Valid for** heights measured seat to tip and seat to die top.
///
/// **Units** lengths.
///
/// **Errors** none.
///
/// **Example**
/// ```
/// use units::Length;
/// let mm = Length::from_whole_mm;
/// let bottom = bending::travel::ram_to_bed(mm(300), Length::from_mm(6.111), mm(2));
/// assert_eq!(bottom, Length::from_mm(295.889));
/// ```
#[must_use]
pub fn ram_to_bed(stack: Length, travel: Length, t: Length) -> Length {
    stack - (travel - t)
}

/// Daylight between punch tip and die when the ram is up.
///
/// **Formula** open height − stack.
///
/// **Source** geometry `[computed]`. Open height 470, stack 300 → 170 mm.
///
/// **Valid for** the open height ram seat to bed seat. It must pass the deepest flange already
/// bent, plus clearance for hands and sheet; negative means the tools do not fit at all.
///
/// **Units** lengths.
///
/// **Errors** none.
///
/// **Example**
/// ```
/// use units::Length;
/// let mm = Length::from_whole_mm;
/// assert_eq!(bending::travel::daylight(mm(470), mm(300)), mm(170));
/// ```
#[must_use]
pub fn daylight(open_height: Length, stack: Length) -> Length {
    open_height - stack
}

#[cfg(test)]
mod tests {
    use super::*;

    const MM: fn(i64) -> Length = Length::from_whole_mm;

    #[test]
    fn a_flat_sheet_needs_no_travel_and_a_fold_is_out_of_reach() {
        assert_eq!(
            punch_travel(MM(16), MM(2), MM(3), Degrees::of(180.0)),
            Length::ZERO
        );
        assert!(punch_travel(MM(16), MM(2), MM(3), Degrees::of(0.0)).is_unlimited());
        assert_eq!(
            punch_travel(MM(6), MM(6), MM(30), Degrees::of(90.0)),
            Length::ZERO
        );
    }

    #[test]
    fn sharper_bends_travel_further() {
        let mut last = Length::ZERO;
        for included in [175.0, 150.0, 120.0, 90.0, 60.0, 40.0] {
            let travel = punch_travel(MM(16), MM(2), Length::from_mm(2.56), Degrees::of(included));
            assert!(travel > last, "{included}");
            last = travel;
        }
    }
}

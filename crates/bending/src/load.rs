//! Where the force goes: shares of two drives, load over a short length, the weakest link.
//!
//! **Caution.** These are statics on an ideal frame. The off-centre and concentrated-load diagrams
//! in the machine's own manual go first; a load outside them bends the ram or breaks a drive.

use crate::number::length_of;
use units::{Kilonewtons, KilonewtonsPerMetre, Length};

/// What each of two drives carries when the bend stands off centre.
///
/// **Formula** F1 = F·(1/2 + e/s), F2 = F·(1/2 − e/s); the same as F1 = F·b/s, F2 = F·a/s with a
/// and b the distances from the load to drives 1 and 2.
///
/// **Source** statics of a beam on two supports `[computed]`. 600 kN, 2600 mm apart, 400 mm off
/// centre → 392.3 kN and 207.7 kN.
///
/// **Valid for** |e| ≤ s/2; beyond a drive the far share is negative, that is, it lifts.
///
/// **Units** kN, lengths. `span` s is the distance between the drives, `offset` e the load's
/// distance from the centre, positive towards the first drive.
///
/// **Errors** none; a span that is not above zero gives the largest force on both.
///
/// **Example**
/// ```
/// use units::{Kilonewtons, Length};
/// let mm = Length::from_whole_mm;
/// let (near, far) = bending::load::off_centre_shares(Kilonewtons::of(600.0), mm(2600), mm(400));
/// assert!((near.get() - 392.3).abs() < 0.05 && (far.get() - 207.7).abs() < 0.05);
/// ```
#[must_use]
pub fn off_centre_shares(
    force: Kilonewtons,
    span: Length,
    offset: Length,
) -> (Kilonewtons, Kilonewtons) {
    if span <= Length::ZERO {
        let largest = Kilonewtons::of(f64::INFINITY);
        return (largest, largest);
    }
    let shift = offset.mm() / span.mm();
    (
        Kilonewtons::of(force.get() * (0.5 + shift)),
        Kilonewtons::of(force.get() * (0.5 - shift)),
    )
}

/// The largest distance off centre at which neither of two drives exceeds half the rated force.
///
/// **Formula** e = (s/2)·(Fr/F − 1), from F·(1/2 + e/s) ≤ Fr/2.
///
/// **Source** statics `[computed]`; that each drive holds half the rated force is the usual
/// construction `[trade]`.
///
/// **Valid for** two equal drives. For a small force the answer lies beyond the drives: the bed
/// and the manual's diagram bind first.
///
/// **Units** kN, lengths; the answer holds for both sides.
///
/// **Errors** `None` when the force alone is more than the rated force, or the rated force or span
/// is not above zero. A force that is not above zero may stand anywhere
/// ([`Length::UNLIMITED`]).
///
/// **Example**
/// ```
/// use units::{Kilonewtons, Length};
/// let kn = Kilonewtons::of;
/// let span = Length::from_whole_mm(2600);
/// let most = bending::load::max_offset(kn(800.0), kn(1000.0), span);
/// assert_eq!(most, Some(Length::from_whole_mm(325)));
/// assert_eq!(bending::load::max_offset(kn(1001.0), kn(1000.0), span), None);
/// ```
#[must_use]
pub fn max_offset(force: Kilonewtons, rated: Kilonewtons, span: Length) -> Option<Length> {
    if force > rated || rated.get() <= 0.0 || span <= Length::ZERO {
        return None;
    }
    if force.get() <= 0.0 {
        return Some(Length::UNLIMITED);
    }
    Some(length_of(
        span.mm() / 2.0 * (rated.get() / force.get() - 1.0),
    ))
}

/// The line load above which a short piece overloads ram and bed.
///
/// **Formula** q = Fr/(0.6·W): full rated force belongs on no less than 60 % of the distance
/// between the frames.
///
/// **Source** trade article `[source]`: 150 ton over 120 in between frames → 2.08 ton/in, so 25 ton
/// on a 12 in part.
///
/// **Valid for** a rule of thumb where the machine's manual gives no figure; the manual goes first.
///
/// **Units** kN, length, kN/m.
///
/// **Errors** none; a distance that is not above zero gives 0 kN/m, which nothing passes.
///
/// **Example**
/// ```
/// use units::{Kilonewtons, Length};
/// let between = Length::from_whole_mm(3000);
/// let most = bending::load::short_length_limit(Kilonewtons::of(900.0), between);
/// assert!((most.get() - 500.0).abs() < 1e-9);
/// ```
#[must_use]
pub fn short_length_limit(rated: Kilonewtons, between_frames: Length) -> KilonewtonsPerMetre {
    if between_frames <= Length::ZERO {
        return KilonewtonsPerMetre::of(0.0);
    }
    KilonewtonsPerMetre::of(rated.get() / (0.6 * between_frames.metres()))
}

/// The link of the load path that carries least, with its name.
///
/// **Formula** the least of ram clamp, holder, punch, die, die rail, bed (kN/m each).
///
/// **Source** statics: the same line load passes through every link.
///
/// **Valid for** links loaded over the same length; horn and cut-out sections want their own,
/// lower, figure.
///
/// **Units** kN/m.
///
/// **Errors** `None` for an empty path. Of equals the first is named.
///
/// **Example**
/// ```
/// use units::KilonewtonsPerMetre;
/// let q = KilonewtonsPerMetre::of;
/// let path = [("punch", q(1000.0)), ("die", q(700.0))];
/// assert_eq!(bending::load::weakest_link(&path).map(|(name, _)| name), Some("die"));
/// ```
#[must_use]
pub fn weakest_link(
    links: &[(&'static str, KilonewtonsPerMetre)],
) -> Option<(&'static str, KilonewtonsPerMetre)> {
    links
        .iter()
        .copied()
        .min_by(|a, b| a.1.get().total_cmp(&b.1.get()))
}

#[cfg(test)]
mod tests {
    use super::*;

    const MM: fn(i64) -> Length = Length::from_whole_mm;
    const KN: fn(f64) -> Kilonewtons = Kilonewtons::of;

    #[test]
    fn the_largest_offset_loads_one_drive_to_exactly_half() {
        for (force, rated) in [
            (600.0, 1000.0),
            (999.0, 1000.0),
            (1000.0, 1000.0),
            (50.0, 1700.0),
        ] {
            let offset = max_offset(KN(force), KN(rated), MM(2600)).unwrap();
            let (near, far) = off_centre_shares(KN(force), MM(2600), offset);
            assert!(
                (near.get() - rated / 2.0).abs() < 1e-6,
                "{force} of {rated}"
            );
            assert!(far.get() <= near.get());
            assert!((near.get() + far.get() - force).abs() < 1e-9);
        }
    }

    #[test]
    fn limits_fail_closed() {
        assert_eq!(max_offset(KN(10.0), KN(0.0), MM(2600)), None);
        assert_eq!(max_offset(KN(10.0), KN(100.0), MM(0)), None);
        assert_eq!(
            max_offset(KN(0.0), KN(100.0), MM(2600)),
            Some(Length::UNLIMITED)
        );
        assert!(short_length_limit(KN(100.0), MM(0)).get() <= 0.0);
        assert!(off_centre_shares(KN(1.0), MM(0), MM(0)).0.get() > 1e12);
        assert_eq!(weakest_link(&[]), None);
    }

    #[test]
    fn the_first_of_equal_links_is_named() {
        let q = KilonewtonsPerMetre::of;
        let path = [("clamp", q(900.0)), ("punch", q(700.0)), ("die", q(700.0))];
        assert_eq!(weakest_link(&path), Some(("punch", q(700.0))));
    }
}

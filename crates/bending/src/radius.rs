//! The inside radius an air bend takes by itself, and the smallest one a sheet should take.

use crate::number::length_of;
use units::{Degrees, Length, Megapascals};

/// Share of the V opening an air bend in mild steel takes as its inside radius: 5/32 `[source]`.
pub const MILD_STEEL_SHARE: f64 = 0.16;
/// The same for austenitic stainless steel: 20–22 % `[trade]`, the middle.
pub const STAINLESS_SHARE: f64 = 0.21;
/// The same for soft aluminium: 13–15 % `[trade]`, the middle.
pub const SOFT_ALUMINIUM_SHARE: f64 = 0.14;

/// The inside radius an air bend takes by itself.
///
/// **Formula** ri = share·V.
///
/// **Source** about 0.16·V (5/32·V) in mild steel `[source]`; 20–22 % in austenitic stainless steel
/// and 13–15 % in soft aluminium `[trade]`.
///
/// **Valid for** V near 8 thicknesses; measured radii depart from it elsewhere `[source]`.
///
/// **Units** lengths.
///
/// **Errors** none.
///
/// **Example**
/// ```
/// use bending::radius::{natural, MILD_STEEL_SHARE};
/// use units::Length;
/// assert_eq!(natural(Length::from_whole_mm(16), MILD_STEEL_SHARE), Length::from_mm(2.56));
/// ```
#[must_use]
pub fn natural(v: Length, share_of_v: f64) -> Length {
    length_of(v.mm() * share_of_v)
}

/// The inside radius of an air bend under a given punch.
///
/// **Formula** ri = max(share·V, tip radius).
///
/// **Source** [`natural`]; a sheet cannot bend tighter than the tip it is pressed round `[trade]`.
///
/// **Valid for** air bending. A tip much sharper than the natural radius creases the sheet;
/// see [`tip_creases`].
///
/// **Units** lengths.
///
/// **Errors** none.
///
/// **Example**
/// ```
/// use units::Length;
/// let mm = Length::from_whole_mm;
/// assert_eq!(bending::radius::inside(mm(16), 0.16, mm(5)), mm(5));
/// assert_eq!(bending::radius::inside(mm(16), 0.16, mm(1)), Length::from_mm(2.56));
/// ```
#[must_use]
pub fn inside(v: Length, share_of_v: f64, punch_tip: Length) -> Length {
    natural(v, share_of_v).max(punch_tip)
}

/// A tip sharper than this share of the thickness creases the sheet `[trade]`.
pub const CREASE_SHARE: f64 = 0.63;

/// Whether a punch tip is so sharp that it creases the sheet.
///
/// **Formula** tip < 0.63·t, and tip below the natural radius.
///
/// **Source** common practice `[trade]`; the trade's figure for steel, not a limit of any standard.
///
/// **Valid for** air bending of steel; a warning, never a refusal. A creased bend opens in service
/// and varies from piece to piece.
///
/// **Units** lengths.
///
/// **Errors** none.
///
/// **Example**
/// ```
/// use units::Length;
/// let mm = Length::from_mm;
/// assert!(bending::radius::tip_creases(mm(1.0), mm(4.0), mm(5.1)));
/// assert!(!bending::radius::tip_creases(mm(1.0), mm(1.5), mm(1.9)));
/// ```
#[must_use]
pub fn tip_creases(punch_tip: Length, t: Length, natural_radius: Length) -> bool {
    punch_tip < natural_radius && punch_tip.mm() < CREASE_SHARE * t.mm()
}

/// Upper ends of the thickness rows of the minimum-radius table, millimetres.
const ROW_THICKNESS_MM: [f64; 11] = [1.0, 1.5, 2.5, 3.0, 4.0, 5.0, 6.0, 7.0, 8.0, 10.0, 12.0];

/// Upper end of each band of tensile strength (MPa) and its column of radii (mm), one for each row
/// of [`ROW_THICKNESS_MM`].
const BANDS: [(f64, [f64; 11]); 3] = [
    (
        390.0,
        [1.0, 1.6, 2.5, 3.0, 5.0, 6.0, 8.0, 10.0, 12.0, 16.0, 20.0],
    ),
    (
        490.0,
        [1.2, 2.0, 3.0, 4.0, 5.0, 8.0, 10.0, 12.0, 16.0, 20.0, 25.0],
    ),
    (
        640.0,
        [1.6, 2.5, 4.0, 5.0, 6.0, 8.0, 10.0, 12.0, 16.0, 20.0, 25.0],
    ),
];

/// Bend angles above this take the next higher radius of the column.
const WIDE_BEND_DEGREES: f64 = 120.0;

/// The smallest inside radius for a bend across the rolling direction.
///
/// **Formula** a table by tensile strength (up to 390, 490, 640 MPa) and thickness (up to 12 mm);
/// above a bend angle of 120° the next higher value of the same column.
///
/// **Source** DIN 6935, table of smallest radii for steel `[memory]`; the one point read in a
/// published text is St 42-2, 6 mm, across: 10 mm, and 12 mm above 120° `[source]`.
///
/// **Valid for** flat steel, cold, across the rolling direction. It is a recommendation with room
/// in it: an air bend over V12 in 2 mm sheet takes 1.9 mm, tighter than the table asks of strong
/// steel, and holds. Warn by it, never refuse.
///
/// **Units** MPa, length, degrees (bend angle).
///
/// **Errors** `None` outside the table: strength above 640 MPa, thickness above 12 mm or not above
/// zero, and the last row above 120°, whose next value is not in the column.
///
/// **Example**
/// ```
/// use units::{Degrees, Length, Megapascals};
/// let smallest = bending::radius::minimum(
///     Megapascals::of(450.0), Length::from_whole_mm(6), Degrees::of(90.0));
/// assert_eq!(smallest, Some(Length::from_whole_mm(10)));
/// ```
#[must_use]
pub fn minimum(rm: Megapascals, t: Length, bend_angle: Degrees) -> Option<Length> {
    if t <= Length::ZERO {
        return None;
    }
    let (_, column) = BANDS.iter().find(|(most, _)| rm.get() <= *most)?;
    let row = ROW_THICKNESS_MM
        .iter()
        .position(|most| t <= Length::from_mm(*most))?;
    let first = *column.get(row)?;
    let asked = if bend_angle.get() > WIDE_BEND_DEGREES {
        column.iter().copied().find(|radius| *radius > first)?
    } else {
        first
    };
    Some(Length::from_mm(asked))
}

/// How a bend line lies to the rolling direction of the sheet.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Grain {
    /// The bend line runs across the rolling direction: the fibres run through the bend.
    Across,
    /// About half way between.
    Diagonal,
    /// The bend line runs along the rolling direction: the sheet cracks soonest.
    Along,
}

impl Grain {
    /// From the angle between the bend line and the rolling direction, any sign, any turn.
    ///
    /// Below 30° counts as along, above 60° as across `[trade]`.
    ///
    /// ```
    /// use bending::radius::Grain;
    /// use units::Degrees;
    /// assert_eq!(Grain::from_angle(Degrees::of(90.0)), Grain::Across);
    /// assert_eq!(Grain::from_angle(Degrees::of(-170.0)), Grain::Along);
    /// ```
    #[must_use]
    pub fn from_angle(between: Degrees) -> Grain {
        let turned = between.get().rem_euclid(180.0);
        let acute = turned.min(180.0 - turned);
        if acute < 30.0 {
            Grain::Along
        } else if acute > 60.0 {
            Grain::Across
        } else {
            Grain::Diagonal
        }
    }
}

/// The warning, if any, that a planned radius deserves.
///
/// **Formula** compare ri with [`minimum`]; along the grain the table does not hold at all.
///
/// **Source** [`minimum`]; that a bend along the rolling direction cracks sooner `[trade]`.
///
/// **Valid for** as [`minimum`].
///
/// **Units** MPa, lengths, degrees (bend angle).
///
/// **Errors** none; `None` means no warning is due, or that the table says nothing.
///
/// **Example**
/// ```
/// use bending::radius::{warning, Grain};
/// use units::{Degrees, Length, Megapascals};
/// let mm = Length::from_mm;
/// let (rm, square) = (Megapascals::of(360.0), Degrees::of(90.0));
/// assert!(warning(rm, mm(2.0), square, mm(2.6), Grain::Across).is_none());
/// assert!(warning(rm, mm(2.0), square, mm(1.0), Grain::Across).is_some());
/// ```
#[must_use]
pub fn warning(
    rm: Megapascals,
    t: Length,
    bend_angle: Degrees,
    ri: Length,
    grain: Grain,
) -> Option<&'static str> {
    let smallest = minimum(rm, t, bend_angle)?;
    match grain {
        _ if ri < smallest => {
            Some("radius below the table of smallest radii: try a test bend and look for cracks")
        }
        Grain::Along => {
            Some("bend along the rolling direction: the table holds across it; look for cracks")
        }
        Grain::Across | Grain::Diagonal => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn asked(rm: f64, t: f64, bend_angle: f64) -> Option<f64> {
        minimum(
            Megapascals::of(rm),
            Length::from_mm(t),
            Degrees::of(bend_angle),
        )
        .map(Length::mm)
    }

    #[test]
    fn rows_and_bands_end_where_they_say() {
        let cases = [
            (390.0, 1.0, 90.0, Some(1.0)),
            (390.0, 1.000_001, 90.0, Some(1.6)),
            (390.1, 1.0, 90.0, Some(1.2)),
            (490.0, 6.0, 120.0, Some(10.0)),
            (490.0, 6.0, 120.1, Some(12.0)),
            (640.0, 12.0, 90.0, Some(25.0)),
            (640.0, 12.0, 130.0, None),
            (640.1, 2.0, 90.0, None),
            (400.0, 12.1, 90.0, None),
            (400.0, 0.0, 90.0, None),
        ];
        for (rm, t, angle, radius) in cases {
            assert_eq!(asked(rm, t, angle), radius, "{rm} {t} {angle}");
        }
    }

    #[test]
    fn the_table_never_falls() {
        for (_, column) in BANDS {
            assert!(column.windows(2).all(|pair| pair[0] < pair[1]));
        }
        for pair in BANDS.windows(2) {
            assert!((0..11).all(|row| pair[0].1[row] <= pair[1].1[row]));
        }
    }

    #[test]
    fn grain_is_told_from_any_turn() {
        for (angle, grain) in [
            (0.0, Grain::Along),
            (29.9, Grain::Along),
            (45.0, Grain::Diagonal),
            (60.1, Grain::Across),
            (135.0, Grain::Diagonal),
            (179.0, Grain::Along),
            (270.0, Grain::Across),
        ] {
            assert_eq!(Grain::from_angle(Degrees::of(angle)), grain, "{angle}");
        }
        let along = warning(
            Megapascals::of(360.0),
            Length::from_whole_mm(2),
            Degrees::of(90.0),
            Length::from_whole_mm(5),
            Grain::Along,
        );
        assert!(along.is_some_and(|text| text.contains("rolling direction")));
    }
}

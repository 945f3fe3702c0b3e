//! How far a bend opens when the ram lets go, and the angle the tools must reach before.

use crate::Judged;
use crate::number::{bend_angle_of, length_of};
use units::{Degrees, Length, Megapascals};

/// The ratio of the inside radius under load to the one left after springback.
///
/// **Formula** Ri/Rf = 4x³ − 3x + 1, x = Ri·Y/(E·T).
///
/// **Source** Kalpakjian & Schmid, sheet-metal chapter, after Gardiner (from memory, verify in the
/// book) `[memory]`. T 0.0359 in, Ri 0.5 in, Y 40 000 psi, E 29·10⁶ psi → 0.942, Rf 0.531 in
/// `[memory+computed]`.
///
/// **Valid for** 0 ≤ x < 0.5; at 0.5 the sheet springs back flat. It omits the elastic recovery of
/// the legs, and reads low in air bending: about 0.6° for 1 mm stainless sheet where practice sees
/// 2 to 3° `[trade]`.
///
/// **Units** lengths, MPa; dimensionless.
///
/// **Errors** none; beyond x = 0.5 the ratio is held at 0, flagged.
///
/// **Example**
/// ```
/// use units::{parse_length, LengthUnit, Megapascals};
/// let inch = |text| parse_length(text, LengthUnit::Inch).unwrap();
/// let psi = |value: f64| Megapascals::of(value * 0.006_894_757_293_168);
/// let ratio = bending::springback::radius_ratio(
///     inch("0.5"), psi(40_000.0), psi(29e6), inch("0.0359"));
/// assert!((ratio.value - 0.942).abs() < 0.0005);
/// ```
#[must_use]
pub fn radius_ratio(
    ri: Length,
    yield_strength: Megapascals,
    modulus: Megapascals,
    t: Length,
) -> Judged<f64> {
    const RANGE: &str = "springback: Ri·Y/(E·T) from 0 to 0.5";
    let x = ri.mm() * yield_strength.get() / (modulus.get() * t.mm());
    if x.is_nan() || x >= 0.5 {
        return Judged::outside(0.0, RANGE);
    }
    let ratio = 4.0 * x.powi(3) - 3.0 * x + 1.0;
    if x < 0.0 {
        Judged::outside(ratio, RANGE)
    } else {
        Judged::inside(ratio)
    }
}

/// The inside radius left after springback.
///
/// **Formula** Rf = Ri/(Ri/Rf), the ratio from [`radius_ratio`].
///
/// **Source**, **Valid for** as [`radius_ratio`].
///
/// **Units** lengths, MPa.
///
/// **Errors** none; a sheet that springs back flat has the radius [`Length::UNLIMITED`], flagged.
///
/// **Example**
/// ```
/// use units::{Length, Megapascals};
/// let mm = Length::from_mm;
/// let free = bending::springback::free_radius(
///     mm(12.7), Megapascals::of(275.79), Megapascals::of(199_948.0), mm(0.91186));
/// assert!((free.value.mm() / 25.4 - 0.531).abs() < 0.0005);
/// ```
#[must_use]
pub fn free_radius(
    ri: Length,
    yield_strength: Megapascals,
    modulus: Megapascals,
    t: Length,
) -> Judged<Length> {
    radius_ratio(ri, yield_strength, modulus, t).map(|ratio| length_of(ri.mm() / ratio))
}

/// Degrees a bend opens, from the radii under load and after.
///
/// **Formula** the neutral line, taken mid-sheet, keeps its length: A_load·(Ri + T/2) =
/// A_free·(Rf + T/2), so the bend opens by A_free·((Rf + T/2)/(Ri + T/2) − 1).
///
/// **Source** geometry `[computed]`, with the radii of [`free_radius`].
///
/// **Valid for** as [`radius_ratio`]: a lower estimate.
///
/// **Units** degrees (included angle wanted after springback), lengths; degrees.
///
/// **Errors** none; at a radius that is not above −T/2 it gives 0.
///
/// **Example**
/// ```
/// use units::{Degrees, Length};
/// let mm = Length::from_mm;
/// let opens = bending::springback::opening(Degrees::of(90.0), mm(2.0), mm(2.02), mm(1.0));
/// assert!((opens.get() - 0.72).abs() < 1e-9);
/// ```
#[must_use]
pub fn opening(included: Degrees, ri: Length, rf: Length, t: Length) -> Degrees {
    let (load, free) = (ri.mm() + t.mm() / 2.0, rf.mm() + t.mm() / 2.0);
    if load <= 0.0 {
        return Degrees::of(0.0);
    }
    Degrees::of(bend_angle_of(included) * (free / load - 1.0))
}

/// Families of sheet with their usual springback.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Family {
    /// Copper and soft brass.
    Copper,
    /// Mild steel, bare or coated.
    MildSteel,
    /// Soft aluminium.
    SoftAluminium,
    /// Age-hardened and strain-hardened aluminium.
    HardAluminium,
    /// Austenitic stainless steel.
    Stainless,
    /// High-strength steel, yield about 700 MPa.
    HighStrengthSteel,
}

/// The usual springback of a square air bend over about 8 thicknesses, from and to.
///
/// **Formula** a table.
///
/// **Source** common practice `[trade]`. Printed figures for one material differ two-fold, which is
/// why this is a band: measure a test bend and keep the result in the shop's table.
///
/// **Valid for** choosing the angle of the tools, not for programming the bend.
///
/// **Units** degrees.
///
/// **Errors** none.
///
/// **Example**
/// ```
/// use bending::springback::{typical, Family};
/// let (least, most) = typical(Family::Stainless);
/// assert!(least.get() <= 2.0 && most.get() >= 3.0);
/// ```
#[must_use]
pub fn typical(family: Family) -> (Degrees, Degrees) {
    let (least, most) = match family {
        Family::Copper => (0.25, 0.5),
        Family::MildSteel => (0.75, 1.5),
        Family::SoftAluminium => (1.0, 2.0),
        Family::HardAluminium => (2.0, 4.0),
        Family::Stainless => (2.0, 4.0),
        Family::HighStrengthSteel => (5.0, 10.0),
    };
    (Degrees::of(least), Degrees::of(most))
}

/// One springback the shop measured.
#[derive(Clone, Debug, PartialEq)]
pub struct MeasuredSpringback {
    /// Material, as the shop calls it.
    pub material: String,
    /// Thickness.
    pub t: Length,
    /// V opening.
    pub v: Length,
    /// Degrees the bend opened.
    pub opening: Degrees,
}

/// Where an expected springback comes from.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Origin {
    /// The shop's own test bend in this material, thickness and V.
    Measured,
    /// The upper end of the usual band of the family `[trade]`.
    Typical,
}

/// The springback to reckon with: the shop's own first, else the upper end of the usual band.
///
/// **Formula** exact match of material, thickness and V in the shop's table; else [`typical`].
///
/// **Source** the shop's test bends, else `[trade]`.
///
/// **Valid for** as its origin says. The upper end, because a tool that closes too little cannot
/// make the bend at all, while one that closes more is stopped earlier.
///
/// **Units** degrees.
///
/// **Errors** none.
///
/// **Example**
/// ```
/// use bending::springback::{expected, Family, Origin};
/// use units::Length;
/// let mm = Length::from_whole_mm;
/// let (opening, origin) = expected(&[], "S235", mm(2), mm(16), Family::MildSteel);
/// assert_eq!((opening.get(), origin), (1.5, Origin::Typical));
/// ```
#[must_use]
pub fn expected(
    measured: &[MeasuredSpringback],
    material: &str,
    t: Length,
    v: Length,
    family: Family,
) -> (Degrees, Origin) {
    measured
        .iter()
        .find(|row| row.material == material && row.t == t && row.v == v)
        .map_or((typical(family).1, Origin::Typical), |row| {
            (row.opening, Origin::Measured)
        })
}

/// The included angle to press to, so that the bend opens to the one wanted. Punch and die must
/// both be at least as sharp.
///
/// **Formula** β_load = β − springback, never below 0°.
///
/// **Source** the definition of springback.
///
/// **Valid for** air bending.
///
/// **Units** degrees.
///
/// **Errors** none.
///
/// **Example**
/// ```
/// use units::Degrees;
/// let pressed = bending::springback::angle_under_load(Degrees::of(90.0), Degrees::of(2.5));
/// assert_eq!(pressed, Degrees::of(87.5));
/// ```
#[must_use]
pub fn angle_under_load(included: Degrees, springback: Degrees) -> Degrees {
    Degrees::of((included.get() - springback.get()).max(0.0))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_sheet_bent_too_gently_springs_back_flat() {
        let (mpa, mm) = (Megapascals::of, Length::from_whole_mm);
        let flat = free_radius(mm(500), mpa(230.0), mpa(200_000.0), mm(1));
        assert!(!flat.is_inside() && flat.value.is_unlimited());
        let none = radius_ratio(mm(0), mpa(230.0), mpa(200_000.0), mm(1));
        assert!(none.is_inside() && (none.value - 1.0).abs() < 1e-12);
        assert!(!radius_ratio(mm(5), mpa(230.0), mpa(0.0), mm(1)).is_inside());
    }

    #[test]
    fn the_formula_reads_below_practice_for_thin_stainless() {
        let (mpa, mm) = (Megapascals::of, Length::from_mm);
        let ri = mm(1.68);
        let rf = free_radius(ri, mpa(300.0), mpa(200_000.0), mm(1.0)).value;
        let computed = opening(Degrees::of(90.0), ri, rf, mm(1.0)).get();
        assert!((0.4..0.8).contains(&computed), "{computed}");
        assert!(computed < typical(Family::Stainless).0.get());
    }

    #[test]
    fn the_shop_goes_first() {
        let mm = Length::from_whole_mm;
        let rows = [MeasuredSpringback {
            material: "S235".into(),
            t: mm(2),
            v: mm(16),
            opening: Degrees::of(0.9),
        }];
        let ask = |v| expected(&rows, "S235", mm(2), mm(v), Family::MildSteel);
        assert_eq!(ask(16), (Degrees::of(0.9), Origin::Measured));
        assert_eq!(ask(12).1, Origin::Typical);
    }
}

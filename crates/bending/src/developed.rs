//! Developed length of one bend: allowance, setback, deduction.
//!
//! **Two ways to measure a leg, two corrections.** With legs to the outer vertex (where the
//! outside faces would meet) the flat length is a + b − BD. With legs to the outer tangents (the
//! overall size square to the leg) it is a + b + v. At a square corner both are the same; below
//! 90° they are not, and above 90° only the vertex can be measured.
//! [`crate::leg`] carries the convention in the type.

use crate::number::{bend_angle_of, length_of};
use units::{Degrees, Length};

/// Above this ratio of radius to thickness the neutral line lies in the middle: k = 1.
const WIDE_RATIO: f64 = 5.0;
/// Above this included angle the standard takes the correction for zero.
const NEARLY_FLAT: f64 = 165.0;

/// The correction factor k of the neutral line.
///
/// **Formula** k = 0.65 + 0.5·log10(r/s) for r/s ≤ 5, else 1. k multiplies **s/2**: the engineering
/// K-factor, which multiplies s, is k/2.
///
/// **Source** DIN 6935:2011-10; ranges `[source]`, body `[memory]`.
///
/// **Valid for** r/s above about 0.05, below which the logarithm turns negative; it is then held at
/// 0, the neutral line on the inside face.
///
/// **Units** lengths, dimensionless.
///
/// **Errors** none.
///
/// **Example**
/// ```
/// use units::Length;
/// let mm = Length::from_whole_mm;
/// assert_eq!(bending::developed::din_k(mm(2), mm(2)), 0.65);
/// assert_eq!(bending::developed::din_k(mm(12), mm(2)), 1.0);
/// ```
#[must_use]
pub fn din_k(r: Length, s: Length) -> f64 {
    let ratio = r.mm() / s.mm();
    if ratio > WIDE_RATIO {
        1.0
    } else if ratio > 0.0 {
        (0.65 + 0.5 * ratio.log10()).max(0.0)
    } else {
        0.0
    }
}

/// The compensation v, to be added to the two legs: L = a + b + v.
///
/// **Formula**
/// 0° ≤ β ≤ 90°: v = π·(180 − β)/180·(r + k·s/2) − 2·(r + s);
/// 90° < β ≤ 165°: v = π·(180 − β)/180·(r + k·s/2) − 2·(r + s)·tan((180 − β)/2);
/// β > 165°: v = 0.
///
/// **Source** DIN 6935:2011-10; ranges `[source]`, bodies `[memory]`.
///
/// **Valid for** legs measured **to the outer tangents up to 90°, to the outer vertex above**. Not
/// for legs to the vertex below 90°: use [`deduction_din`].
///
/// **Units** degrees (included angle), lengths; signed millimetres.
///
/// **Errors** none; β is held to 0…180°.
///
/// **Example**
/// ```
/// use units::{Degrees, Length};
/// let mm = Length::from_whole_mm;
/// let v = bending::developed::din_v(Degrees::of(90.0), mm(2), mm(2));
/// assert!((v + 3.8374).abs() < 5e-5);
/// ```
#[must_use]
pub fn din_v(beta: Degrees, r: Length, s: Length) -> f64 {
    if beta.get() > NEARLY_FLAT {
        return 0.0;
    }
    let bend_angle = bend_angle_of(beta);
    let arc = bend_angle.to_radians() * (r.mm() + din_k(r, s) * s.mm() / 2.0);
    let legs_overlap = 2.0 * (r + s).mm();
    if bend_angle >= 90.0 {
        arc - legs_overlap
    } else {
        arc - legs_overlap * (bend_angle / 2.0).to_radians().tan()
    }
}

/// Outside setback: from the tangent point of the bend to the outer vertex.
///
/// **Formula** OSSB = tan(A/2)·(T + R).
///
/// **Source** geometry `[computed]`. A 90°, R 2, T 2 → 4.0000 mm; 60°, 4.75, 3.2 → 4.5899 mm.
///
/// **Valid for** 0° ≤ A < 180°.
///
/// **Units** degrees (bend angle), lengths; millimetres.
///
/// **Errors** none; infinite at A ≥ 180°, where the outside faces never meet.
///
/// **Example**
/// ```
/// use units::{Degrees, Length};
/// let mm = Length::from_whole_mm;
/// let setback = bending::developed::outside_setback(Degrees::of(90.0), mm(2), mm(2));
/// assert!((setback - 4.0).abs() < 1e-9);
/// ```
#[must_use]
pub fn outside_setback(bend_angle: Degrees, r: Length, t: Length) -> f64 {
    if bend_angle.get() >= 180.0 {
        return f64::INFINITY;
    }
    (bend_angle.get().max(0.0) / 2.0).to_radians().tan() * (r + t).mm()
}

/// Bend allowance: the length of the neutral line round the bend.
///
/// **Formula** BA = A·π/180·(R + K·T).
///
/// **Source** geometry; K alone is measured `[computed]`. A 90°, R 2, T 2, K 0.33 → 4.1783 mm.
///
/// **Valid for** 0° ≤ A ≤ 180°, 0 ≤ K ≤ 0.5 for ordinary sheet.
///
/// **Units** degrees (bend angle), lengths; millimetres.
///
/// **Errors** none.
///
/// **Example**
/// ```
/// use units::{Degrees, Length};
/// let mm = Length::from_whole_mm;
/// let allowance = bending::developed::bend_allowance(Degrees::of(90.0), mm(2), mm(2), 0.33);
/// assert!((allowance - 4.1783).abs() < 5e-5);
/// ```
#[must_use]
pub fn bend_allowance(bend_angle: Degrees, r: Length, t: Length, k_factor: f64) -> f64 {
    bend_angle.get().max(0.0).to_radians() * (r.mm() + k_factor * t.mm())
}

/// Bend deduction: what the legs to the outer vertex count twice, less the bend itself.
///
/// **Formula** BD = 2·OSSB − BA, so that the flat length is a + b − BD.
///
/// **Source** geometry `[computed]`. (A, R, T, K) = (90, 2, 2, 0.33) → 3.8217; (90, 3, 2, 0.42) →
/// 3.9681; (60, 4.75, 3.2, 0.33) → 3.0998; (120, 3, 2, 0.42) → 9.2780 mm.
///
/// **Valid for** 0° ≤ A < 180°, legs to the outer vertex. A hem has no vertex:
/// see [`crate::hem`].
///
/// **Units** degrees (bend angle), lengths; millimetres.
///
/// **Errors** none; infinite at A ≥ 180°.
///
/// **Example**
/// ```
/// use units::{Degrees, Length};
/// let mm = Length::from_whole_mm;
/// let less = bending::developed::deduction(Degrees::of(90.0), mm(2), mm(2), 0.33);
/// assert!((less - 3.8217).abs() < 5e-5);
/// ```
#[must_use]
pub fn deduction(bend_angle: Degrees, r: Length, t: Length, k_factor: f64) -> f64 {
    2.0 * outside_setback(bend_angle, r, t) - bend_allowance(bend_angle, r, t, k_factor)
}

/// Bend deduction with the neutral line of DIN 6935, legs to the outer vertex, for every β.
///
/// **Formula** [`deduction`] with A = 180° − β and K = k/2, k from [`din_k`].
///
/// **Source** [`din_k`]. At 90°: BD(R 4, T 2) = 4.4594 = −v `[computed]`.
///
/// **Valid for** 0° < β ≤ 180°. From 90° to 165° it is −[`din_v`] exactly; below 90° the standard
/// measures to the tangents and the two differ; above 165° the standard drops the correction and
/// this does not (a fraction of a millimetre).
///
/// **Units** degrees (included angle), lengths; millimetres.
///
/// **Errors** none; infinite at β ≤ 0°.
///
/// **Example**
/// ```
/// use units::{Degrees, Length};
/// let mm = Length::from_whole_mm;
/// let less = bending::developed::deduction_din(Degrees::of(90.0), mm(4), mm(2));
/// assert!((less - 4.4594).abs() < 5e-5);
/// ```
#[must_use]
pub fn deduction_din(included: Degrees, r: Length, t: Length) -> f64 {
    deduction(
        Degrees::of(bend_angle_of(included)),
        r,
        t,
        din_k(r, t) / 2.0,
    )
}

/// Where the back gauge stands for a free edge: from the edge to the bend line, in the flat.
///
/// **Formula** X = outside leg − BD/2: the straight part of the leg and half the bend.
///
/// **Source** geometry `[computed]`.
///
/// **Valid for** a leg to the outer vertex with the gauge on its free edge. Against a leg already
/// bent the earlier bends' deductions come off as well.
///
/// **Units** length, millimetres, length.
///
/// **Errors** none; a deduction that is not finite gives ∓[`Length::UNLIMITED`].
///
/// **Example**
/// ```
/// use units::Length;
/// let x = bending::developed::gauge_x(Length::from_whole_mm(25), 4.4594);
/// assert_eq!(x, Length::from_mm(22.7703));
/// ```
#[must_use]
pub fn gauge_x(outside_leg: Length, deduction_mm: f64) -> Length {
    length_of(outside_leg.mm() - deduction_mm / 2.0)
}

/// By how much the legs of a finished part grow when a blank cut for one inside radius is bent
/// with another, as another V opening gives.
///
/// **Formula** Σ BD(r made) − Σ BD(r cut), each by [`deduction_din`]: the blank is what it is, so
/// Σ legs = blank + Σ BD.
///
/// **Source** geometry `[computed]`.
///
/// **Valid for** as [`deduction_din`]. It is the sum over the whole part; where the error lands
/// depends on which edges are gauged.
///
/// **Units** degrees (included angles), lengths; signed millimetres, positive when the part comes
/// out longer.
///
/// **Errors** none; infinite or not a number when an angle is at or below 0°.
///
/// **Example**
/// ```
/// use units::{Degrees, Length};
/// let square = Degrees::of(90.0);
/// let (cut, made) = (Length::from_mm(2.56), Length::from_mm(3.2));
/// let t = Length::from_whole_mm(2);
/// let grows = bending::developed::summed_error(&[square, square], t, cut, made);
/// assert!((grows - 0.3971).abs() < 1e-4);
/// ```
#[must_use]
pub fn summed_error(included: &[Degrees], t: Length, cut_for: Length, made_with: Length) -> f64 {
    included
        .iter()
        .map(|&angle| deduction_din(angle, made_with, t) - deduction_din(angle, cut_for, t))
        .sum()
}

//! Legs of a bent part, with the way they are measured in their type.
//!
//! The same bend has legs of different lengths by the way they are measured, and below 90° the
//! difference is far above any tolerance. A [`Leg`] therefore carries its convention in its type,
//! and legs of two conventions cannot be added up by mistake.

use crate::developed::{bend_allowance, din_k, outside_setback};
use crate::number::{bend_angle_of, length_of};
use std::fmt;
use std::marker::PhantomData;
use units::{Degrees, Length};

/// One bend as far as lengths are concerned.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct BendShape {
    /// Included angle β.
    pub included: Degrees,
    /// Inside radius.
    pub r: Length,
    /// Thickness.
    pub t: Length,
}

impl BendShape {
    fn bend_angle(&self) -> Degrees {
        Degrees::of(bend_angle_of(self.included))
    }

    /// Length of the neutral line round the bend, with K = k/2 of DIN 6935; millimetres.
    #[must_use]
    pub fn allowance_mm(&self) -> f64 {
        bend_allowance(
            self.bend_angle(),
            self.r,
            self.t,
            din_k(self.r, self.t) / 2.0,
        )
    }
}

/// Why legs do not make a part.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum LegError {
    /// Above 90° the bend never turns square to the leg, so there is no outer tangent.
    NoOuterTangent(Degrees),
    /// At 0° the outside faces are parallel, so there is no outer vertex.
    NoOuterVertex(Degrees),
    /// The bends at its ends need more than the leg has; the straight part left, in mm.
    TooShort(f64),
    /// A part has one leg more than bends.
    Count {
        /// Legs given.
        legs: usize,
        /// Bends given.
        bends: usize,
    },
}

impl fmt::Display for LegError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            LegError::NoOuterTangent(beta) => {
                write!(
                    f,
                    "a bend of {beta} has no outer tangent; measure to the outer vertex"
                )
            }
            LegError::NoOuterVertex(beta) => {
                write!(
                    f,
                    "a bend of {beta} has no outer vertex; measure to the outer tangents"
                )
            }
            LegError::TooShort(left) => {
                write!(f, "leg too short for its bends by {:.3} mm", -left)
            }
            LegError::Count { legs, bends } => {
                write!(
                    f,
                    "{legs} legs and {bends} bends; a part has one leg more than bends"
                )
            }
        }
    }
}

impl std::error::Error for LegError {}

/// A way to measure a leg.
pub trait Convention {
    /// What a leg counts beyond its straight part at a bend, in millimetres.
    ///
    /// # Errors
    /// [`LegError`] when a leg cannot be measured this way at such a bend.
    fn beyond_straight_mm(bend: &BendShape) -> Result<f64, LegError>;
}

/// To where the outside faces would meet.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum ToOuterVertex {}
/// To the outside of the bend, square to the leg: the overall size a caliper finds.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum ToOuterTangent {}
/// The straight part alone, to where the bend begins.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum StraightOnly {}

impl Convention for ToOuterVertex {
    fn beyond_straight_mm(bend: &BendShape) -> Result<f64, LegError> {
        if bend.included.get() <= 0.0 {
            return Err(LegError::NoOuterVertex(bend.included));
        }
        Ok(outside_setback(bend.bend_angle(), bend.r, bend.t))
    }
}

impl Convention for ToOuterTangent {
    fn beyond_straight_mm(bend: &BendShape) -> Result<f64, LegError> {
        if bend.included.get() > 90.0 {
            return Err(LegError::NoOuterTangent(bend.included));
        }
        Ok((bend.r + bend.t).mm())
    }
}

impl Convention for StraightOnly {
    fn beyond_straight_mm(_: &BendShape) -> Result<f64, LegError> {
        Ok(0.0)
    }
}

/// A leg measured in the way `C`.
pub struct Leg<C> {
    length: Length,
    convention: PhantomData<C>,
}

// Written out, because a derive would ask the same of `C`, which is never a value.
impl<C> Clone for Leg<C> {
    fn clone(&self) -> Leg<C> {
        *self
    }
}
impl<C> Copy for Leg<C> {}
impl<C> fmt::Debug for Leg<C> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "Leg({} mm)", self.length)
    }
}
impl<C> PartialEq for Leg<C> {
    fn eq(&self, other: &Leg<C>) -> bool {
        self.length == other.length
    }
}

impl<C: Convention> Leg<C> {
    /// A leg of that length.
    #[must_use]
    pub const fn new(length: Length) -> Leg<C> {
        Leg {
            length,
            convention: PhantomData,
        }
    }

    /// Its length, measured in the way `C`.
    #[must_use]
    pub const fn length(self) -> Length {
        self.length
    }

    /// The straight part between the bends at its ends (one at an outer leg, two inside a part).
    fn straight_mm(self, ends: &[BendShape]) -> Result<f64, LegError> {
        let mut straight = self.length.mm();
        for bend in ends {
            straight -= C::beyond_straight_mm(bend)?;
        }
        // A nanometre of rounding is not a leg too short.
        if straight < -1e-6 {
            Err(LegError::TooShort(straight))
        } else {
            Ok(straight)
        }
    }

    /// The same leg measured in the way `D`.
    ///
    /// **Formula** take off what `C` counts beyond the straight part, add what `D` does: OSSB to
    /// the outer vertex, r + t to the outer tangent, nothing to the end of the straight part.
    ///
    /// **Source** geometry `[computed]`.
    ///
    /// **Valid for** the bends at the ends of this leg; the result is rounded to a nanometre.
    ///
    /// **Units** lengths, degrees.
    ///
    /// # Errors
    /// [`LegError`] when either way cannot be used at such a bend, or the leg is too short.
    ///
    /// **Example**
    /// ```
    /// use bending::leg::{BendShape, Leg, ToOuterTangent, ToOuterVertex};
    /// use units::{Degrees, Length};
    /// let mm = Length::from_whole_mm;
    /// let acute = BendShape { included: Degrees::of(60.0), r: mm(6), t: mm(3) };
    /// let vertex = Leg::<ToOuterVertex>::new(mm(50));
    /// let tangent = vertex.restate::<ToOuterTangent>(&[acute])?;
    /// assert!((tangent.length().mm() - 43.4115).abs() < 1e-4);
    /// # Ok::<(), bending::leg::LegError>(())
    /// ```
    pub fn restate<D: Convention>(self, ends: &[BendShape]) -> Result<Leg<D>, LegError> {
        let mut length = self.straight_mm(ends)?;
        for bend in ends {
            length += D::beyond_straight_mm(bend)?;
        }
        Ok(Leg::new(length_of(length)))
    }
}

/// Flat length of an open part: the straight parts and the neutral line round each bend.
///
/// **Formula** L = Σ straight parts + Σ BA, with K = k/2 of DIN 6935. To the outer vertex that is
/// Σ legs − Σ BD; to the outer tangents Σ legs + Σ v.
///
/// **Source** geometry and [`crate::developed::din_k`]. 25 + 20 + 15 mm, t 2, r 4, two square bends
/// → 51.08 mm; the handbook rounds to 51 `[memory]`.
///
/// **Valid for** an open part: leg, bend, leg, …, bend, leg.
///
/// **Units** lengths, degrees.
///
/// # Errors
/// [`LegError`] when the counts do not match, a leg cannot be measured this way, or is too short.
///
/// **Example**
/// ```
/// use bending::leg::{flat_length, BendShape, Leg, ToOuterVertex};
/// use units::{Degrees, Length};
/// let mm = Length::from_whole_mm;
/// let square = BendShape { included: Degrees::of(90.0), r: mm(4), t: mm(2) };
/// let legs = [25, 20, 15].map(|length| Leg::<ToOuterVertex>::new(mm(length)));
/// let flat = flat_length(&legs, &[square, square])?;
/// assert!((flat.mm() - 51.08).abs() < 0.005);
/// # Ok::<(), bending::leg::LegError>(())
/// ```
pub fn flat_length<C: Convention>(
    legs: &[Leg<C>],
    bends: &[BendShape],
) -> Result<Length, LegError> {
    if legs.len() != bends.len() + 1 {
        return Err(LegError::Count {
            legs: legs.len(),
            bends: bends.len(),
        });
    }
    let mut flat = bends.iter().map(BendShape::allowance_mm).sum::<f64>();
    for (index, leg) in legs.iter().enumerate() {
        // The bend before this leg and the bend after it, where there is one.
        let ends = bends
            .get(index.saturating_sub(1)..bends.len().min(index + 1))
            .unwrap_or(&[]);
        flat += leg.straight_mm(ends)?;
    }
    Ok(length_of(flat))
}

/// Flat length from legs to the outer vertex and a deduction for each bend, as a shop's own table
/// gives them.
///
/// **Formula** L = Σ legs − Σ BD.
///
/// **Source** the definition of the deduction.
///
/// **Valid for** an open part.
///
/// **Units** lengths, millimetres.
///
/// # Errors
/// [`LegError::Count`] unless there is one leg more than deductions.
///
/// **Example**
/// ```
/// use bending::leg::{flat_from_deductions, Leg, ToOuterVertex};
/// use units::Length;
/// let legs = [25, 20, 15].map(|mm| Leg::<ToOuterVertex>::new(Length::from_whole_mm(mm)));
/// assert_eq!(flat_from_deductions(&legs, &[4.5, 4.5]), Ok(Length::from_whole_mm(51)));
/// ```
pub fn flat_from_deductions(
    legs: &[Leg<ToOuterVertex>],
    deductions_mm: &[f64],
) -> Result<Length, LegError> {
    if legs.len() != deductions_mm.len() + 1 {
        return Err(LegError::Count {
            legs: legs.len(),
            bends: deductions_mm.len(),
        });
    }
    let outside: Length = legs.iter().map(|leg| leg.length).sum();
    Ok(length_of(outside.mm() - deductions_mm.iter().sum::<f64>()))
}

#[cfg(test)]
mod tests {
    use super::*;

    const MM: fn(i64) -> Length = Length::from_whole_mm;

    fn bend(included: f64) -> BendShape {
        BendShape {
            included: Degrees::of(included),
            r: MM(6),
            t: MM(3),
        }
    }

    #[test]
    fn a_flat_sheet_is_its_own_flat_length() {
        let sheet = [Leg::<ToOuterTangent>::new(MM(120))];
        assert_eq!(flat_length(&sheet, &[]), Ok(MM(120)));
        let halves = [Leg::<ToOuterVertex>::new(MM(50)), Leg::new(MM(70))];
        assert_eq!(flat_length(&halves, &[bend(180.0)]), Ok(MM(120)));
    }

    #[test]
    fn what_cannot_be_measured_is_refused() {
        let tangents = [Leg::<ToOuterTangent>::new(MM(50)); 2];
        let vertices = [Leg::<ToOuterVertex>::new(MM(50)); 2];
        let obtuse = bend(120.0);
        let folded = bend(0.0);
        assert_eq!(
            flat_length(&tangents, &[obtuse]),
            Err(LegError::NoOuterTangent(obtuse.included))
        );
        assert_eq!(
            flat_length(&vertices, &[folded]),
            Err(LegError::NoOuterVertex(folded.included))
        );
        assert!(flat_length(&tangents, &[folded]).is_ok());
        assert_eq!(
            flat_length(&tangents, &[]),
            Err(LegError::Count { legs: 2, bends: 0 })
        );
        assert_eq!(
            flat_from_deductions(&[], &[]),
            Err(LegError::Count { legs: 0, bends: 0 })
        );
    }

    #[test]
    fn a_leg_shorter_than_its_bends_says_by_how_much() {
        let legs = [50, 17, 50].map(|mm| Leg::<ToOuterVertex>::new(MM(mm)));
        let error = flat_length(&legs, &[bend(90.0), bend(90.0)]).unwrap_err();
        assert_eq!(error.to_string(), "leg too short for its bends by 1.000 mm");
    }
}

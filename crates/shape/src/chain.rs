//! A part's section as a chain of flats and folds.

use crate::ShapeError;
use units::{Degrees, Length};

/// One fold of a chain, as it is when made.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Fold {
    /// The angle between the two legs: 90° for a square corner, 180° for no fold at all.
    pub included: Degrees,
    /// The radius of the inner surface. At least the punch's tip radius: a punch blunter than the
    /// fold presses into its legs, and is reported as a collision with the punch.
    pub inside_radius: Length,
    /// Whether the later flats rise when the chain is walked from front to back with its upper
    /// face up; `false` folds down.
    pub up: bool,
}

/// Whether a fold has been made.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum FoldState {
    /// Still flat.
    Flat,
    /// Made, at its own included angle and radius.
    Made,
}

/// Which way round the piece lies on the die.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Facing {
    /// The chain's last flat at the back, on the gauge side.
    AsDrawn,
    /// Turned front to back: the chain's first flat on the gauge side.
    Turned,
}

/// A sheet of one thickness whose section is n + 1 straight flats joined by n folds.
///
/// A fold consumes a strip of the sheet: its bend angle times the radius of the sheet's middle,
/// inside radius + half the thickness. The strip lies flat until the fold is made. So the developed
/// length is the flats plus the strips. A blank cut with a K-factor below one half is shorter: the
/// folded shape here is that of the part, but strips still flat are longer by
/// bend angle · (1/2 − K) · thickness each.
#[derive(Clone, Debug, PartialEq)]
pub struct Chain {
    thickness: Length,
    flats: Vec<Length>,
    folds: Vec<Fold>,
}

impl Chain {
    /// Checks and keeps the section.
    ///
    /// `flats` are the straight lengths between tangent points, one more than `folds`; a flat may
    /// be zero, where one arc runs into the next.
    ///
    /// # Errors
    /// [`ShapeError`] for a thickness not above zero, a number of flats that is not folds + 1, a
    /// negative flat or radius, or an included angle outside 0° (excluded) to 180°.
    pub fn new(
        thickness: Length,
        flats: Vec<Length>,
        folds: Vec<Fold>,
    ) -> Result<Chain, ShapeError> {
        if thickness <= Length::ZERO {
            return Err(ShapeError::NoThickness);
        }
        if flats.len() != folds.len() + 1 {
            return Err(ShapeError::FoldsAndFlats {
                folds: folds.len(),
                flats: flats.len(),
            });
        }
        if let Some(flat) = flats.iter().position(|&flat| flat < Length::ZERO) {
            return Err(ShapeError::NegativeFlat { flat });
        }
        for (index, fold) in folds.iter().enumerate() {
            check_included(fold.included)?;
            if fold.inside_radius < Length::ZERO {
                return Err(ShapeError::NegativeRadius { fold: index });
            }
        }
        Ok(Chain {
            thickness,
            flats,
            folds,
        })
    }

    /// The sheet's thickness.
    #[must_use]
    pub fn thickness(&self) -> Length {
        self.thickness
    }

    /// The straight lengths between tangent points, front to back.
    #[must_use]
    pub fn flats(&self) -> &[Length] {
        &self.flats
    }

    /// The folds, front to back.
    #[must_use]
    pub fn folds(&self) -> &[Fold] {
        &self.folds
    }

    /// One fold.
    ///
    /// # Errors
    /// [`ShapeError::NoSuchFold`] beyond the last.
    pub fn fold(&self, at: usize) -> Result<&Fold, ShapeError> {
        self.folds.get(at).ok_or(ShapeError::NoSuchFold {
            fold: at,
            folds: self.folds.len(),
        })
    }

    /// The length of the sheet's middle when everything is flat, in mm.
    #[must_use]
    pub fn developed_mm(&self) -> f64 {
        let flats: f64 = self.flats.iter().map(|flat| flat.mm()).sum();
        let strips: f64 = self.folds.iter().map(|fold| self.strip_mm(fold)).sum();
        flats + strips
    }

    /// The same part described from its other end.
    #[must_use]
    pub fn reversed(&self) -> Chain {
        let mut other = self.clone();
        other.flats.reverse();
        other.folds.reverse();
        other
    }

    /// The same part lying on its other face: every fold goes the other way.
    #[must_use]
    pub fn flipped(&self) -> Chain {
        let mut other = self.clone();
        for fold in &mut other.folds {
            fold.up = !fold.up;
        }
        other
    }

    /// The width of the strip that a fold takes out of the blank, in mm.
    pub(crate) fn strip_mm(&self, fold: &Fold) -> f64 {
        bend_radians(fold.included) * (fold.inside_radius.mm() + self.thickness.mm() / 2.0)
    }

    /// Checks that there is one state for each fold.
    pub(crate) fn check_states(&self, state: &[FoldState]) -> Result<(), ShapeError> {
        if state.len() == self.folds.len() {
            return Ok(());
        }
        Err(ShapeError::States {
            states: state.len(),
            folds: self.folds.len(),
        })
    }
}

/// The bend angle A = 180° − included, in radians.
pub(crate) fn bend_radians(included: Degrees) -> f64 {
    (180.0 - included.get()).to_radians()
}

/// Refuses an included angle outside 0° (excluded) to 180°.
pub(crate) fn check_included(included: Degrees) -> Result<(), ShapeError> {
    let degrees = included.get();
    if degrees > 0.0 && degrees <= 180.0 {
        return Ok(());
    }
    Err(ShapeError::Angle { degrees })
}

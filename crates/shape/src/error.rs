//! Why a section or a tool cannot be described.

use std::fmt;

/// Why a chain, an outline, a pose or a tool is refused.
#[derive(Clone, Debug, PartialEq)]
pub enum ShapeError {
    /// A sheet needs a thickness above zero.
    NoThickness,
    /// A chain of n folds has n + 1 flats.
    FoldsAndFlats {
        /// How many folds were given.
        folds: usize,
        /// How many flats were given.
        flats: usize,
    },
    /// A flat is shorter than nothing.
    NegativeFlat {
        /// Which flat, from 0.
        flat: usize,
    },
    /// A fold's inside radius is below zero.
    NegativeRadius {
        /// Which fold, from 0.
        fold: usize,
    },
    /// An included angle lies outside 0° (excluded) to 180° (a flat sheet, included).
    Angle {
        /// The angle in degrees.
        degrees: f64,
    },
    /// A fold that the chain does not have.
    NoSuchFold {
        /// The fold asked for, from 0.
        fold: usize,
        /// How many folds there are.
        folds: usize,
    },
    /// One state is needed for each fold.
    States {
        /// How many states were given.
        states: usize,
        /// How many folds there are.
        folds: usize,
    },
    /// The preferred order must name each fold of the chain once.
    NotAnOrder,
    /// A stroke needs at least one step.
    NoSteps,
    /// A dimension of a tool, or a die's opening, is out of its range.
    Dimension {
        /// Which dimension.
        name: &'static str,
        /// The value in the dimension's unit.
        value: f64,
        /// What it must be.
        must: &'static str,
    },
    /// An outline needs three corners with finite coordinates and some area.
    NoArea,
    /// An outline crosses itself.
    CrossesItself,
}

impl fmt::Display for ShapeError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            ShapeError::NoThickness => write!(f, "the sheet's thickness must be above zero"),
            ShapeError::FoldsAndFlats { folds, flats } => {
                write!(f, "{folds} folds need {} flats, not {flats}", folds + 1)
            }
            ShapeError::NegativeFlat { flat } => {
                write!(f, "flat {} is shorter than zero", flat + 1)
            }
            ShapeError::NegativeRadius { fold } => {
                write!(f, "the inside radius of fold {} is below zero", fold + 1)
            }
            ShapeError::Angle { degrees } => {
                write!(
                    f,
                    "an included angle of {degrees}° is not above 0° and up to 180°"
                )
            }
            ShapeError::NoSuchFold { fold, folds } => {
                write!(f, "there is no fold {} among {folds}", fold + 1)
            }
            ShapeError::States { states, folds } => {
                write!(f, "{states} fold states were given for {folds} folds")
            }
            ShapeError::NotAnOrder => {
                write!(f, "the preferred order must name each fold once")
            }
            ShapeError::NoSteps => write!(f, "a stroke needs at least one step"),
            ShapeError::Dimension { name, value, must } => {
                write!(f, "{name} is {value}, and must be {must}")
            }
            ShapeError::NoArea => {
                write!(f, "an outline needs three finite corners and some area")
            }
            ShapeError::CrossesItself => write!(f, "the outline crosses itself"),
        }
    }
}

impl std::error::Error for ShapeError {}

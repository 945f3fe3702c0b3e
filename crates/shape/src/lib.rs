//! The cross-section of a bent sheet between its tools, in millimetres.
//!
//! A [`Chain`] says what a part's section is: flats and folds. [`pose`] places it on the die with
//! some folds made and one being made, [`swept`] follows the stroke, [`collision`] finds the first
//! place where the sheet would run into punch, die, ram, bed or stop, and [`clear_order`] looks for
//! an order of folds without any. [`gauge_edge`] says what the stop would touch, [`svg`] and
//! [`ascii`] draw it.
//!
//! Coordinates are the brake's, seen from its left end: x from front to back (the gauge side is
//! positive), y up, the die's shoulders at y = 0, the punch's centre line at x = 0. Lengths that
//! come in are [`units::Length`]; coordinates are `f64` millimetres.
//!
//! What a section cannot see: box ends, flanges that begin or end along the bend, tools that stand
//! beside the part, getting the part in and out, sagging, and the sheet's own elasticity.
//!
//! **Caution.** A press brake maims and kills. A picture that clears is no permission to press: the
//! manuals of the machine and the tools, the local safety code, a trained person and a slow test
//! bend decide.
//!
//! Invariant: pure functions of their arguments; no I/O, no clock, no randomness, and no
//! dependency but `units`.

mod chain;
mod error;
mod outline;
mod pose;

mod collision;
mod depth;
mod order;
mod tools;

mod gauge;

mod ascii;
mod svg;

pub use ascii::ascii;
pub use chain::{Chain, Facing, Fold, FoldState};
pub use collision::{Collision, TOUCH_MM, With, collision, reach};
pub use error::ShapeError;
pub use gauge::{GaugeView, gauge_edge};
pub use order::{Order, Search, Stuck, clear_order};
pub use outline::{Bounds, Outline, Point};
pub use pose::{CHORD_MM, Pose, pose, swept, swept_finely};
pub use svg::{Picture, svg};
pub use tools::{
    Gooseneck, ToolSection, bed, gauge_stop, gooseneck_punch, ram, straight_punch, v_die,
};

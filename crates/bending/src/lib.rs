//! Press-brake mechanics, one formula family per file.
//!
//! Every public formula carries the same head: what it is, **Formula**, **Source** with a mark,
//! **Valid for**, **Units**, **Errors**, **Example**. The marks say how sure a figure is:
//!
//! - `[source]` read in a published text, or a published formula whose printed answer was
//!   reproduced;
//! - `[memory]` recalled from the named text: verify in the book before relying on it;
//! - `[computed]` the stated formula evaluated: proves the arithmetic only;
//! - `[trade]` common practice without a source.
//!
//! Conventions: β is the included angle between the legs of the finished bend (90° for a square
//! corner, 180° for a flat sheet); the bend angle is A = 180° − β. The inside radius is r or ri,
//! the thickness t or s, the V opening V.
//!
//! **Caution.** A press brake maims and kills. Nothing computed here replaces the manuals of the
//! machine and the tools, the load marked on each tool, the local safety codes, a licensed
//! engineer's judgement, or a test bend.
//!
//! Invariant: pure functions of their arguments; no I/O, no clock, no randomness, and no
//! dependency but `units`.

mod judged;
mod number;

pub mod force;
pub mod load;

pub mod flange;
pub mod opening;
pub mod radius;
pub mod springback;
pub mod travel;

pub mod developed;
pub mod handbook;
pub mod leg;
pub mod shop_table;

pub mod hem;
pub mod offset;
pub mod step;

pub mod crowning;
pub mod handling;
pub mod lifting;
pub mod safeguard;
pub mod stroke;

pub use judged::{Judged, Validity};

//! Deductions a shop has measured.

use units::{Degrees, Length, MaterialId};

/// One measured deduction: two outside legs less the developed length of the bend between them.
#[derive(Clone, Debug, PartialEq)]
pub struct Deduction {
    /// Material.
    pub material: MaterialId,
    /// Thickness it was measured on; no other is inferred.
    pub thickness: Length,
    /// V opening it was measured in.
    pub v: Length,
    /// Included angle.
    pub angle: Degrees,
    /// The deduction.
    pub deduction: Length,
}

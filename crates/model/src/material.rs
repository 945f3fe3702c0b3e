//! Sheet materials.

use units::{Degrees, MaterialId, Megapascals};

/// The kind of metal, for defaults that hold for a whole kind.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Family {
    /// Unalloyed and low-alloy steel, coated or not.
    Steel,
    /// Austenitic or ferritic stainless steel.
    Stainless,
    /// Aluminium alloys.
    Aluminium,
    /// Copper and brass.
    Copper,
}

/// A sheet material as the shop buys it.
#[derive(Clone, Debug, PartialEq)]
pub struct Material {
    /// Its id in the shop's files.
    pub id: MaterialId,
    /// What people call it.
    pub name: String,
    /// Kind of metal.
    pub family: Family,
    /// Tensile strength used for limits when an order carries no certificate value.
    pub strength_typical: Megapascals,
    /// Upper end of the standard's range of tensile strength; warns, never refuses.
    pub strength_highest: Megapascals,
    /// Yield or 0.2 % proof strength.
    pub yield_strength: Megapascals,
    /// Modulus of elasticity.
    pub modulus: Megapascals,
    /// Density in kg/m³.
    pub density: f64,
    /// Natural inside radius of an air bend as a share of the V opening (0.05 to 0.5).
    pub radius_share_of_v: f64,
    /// Springback of a right-angled bend: how far the part opens after the punch lifts.
    pub springback: Degrees,
    /// The smallest and largest V opening as multiples of thickness, when this material wants
    /// other ones than the shop's rule.
    pub v_over_t: Option<(f64, f64)>,
    /// Where the figures come from and how sure they are.
    pub source: String,
}

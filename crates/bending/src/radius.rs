//! The inside radius an air bend takes by itself, and the smallest one a sheet should take.

use crate::number::length_of;
use units::Length;

/// Share of the V opening an air bend in mild steel takes as its inside radius: 5/32 [source].
pub const MILD_STEEL_SHARE: f64 = 0.16;
/// The same for austenitic stainless steel: 20–22 % [trade], the middle.
pub const STAINLESS_SHARE: f64 = 0.21;
/// The same for soft aluminium: 13–15 % [trade], the middle.
pub const SOFT_ALUMINIUM_SHARE: f64 = 0.14;

/// The inside radius an air bend takes by itself.
///
/// **Formula** ri = share·V.
///
/// **Source** about 0.16·V (5/32·V) in mild steel [source]; 20–22 % in austenitic stainless steel
/// and 13–15 % in soft aluminium [trade].
///
/// **Valid for** V near 8 thicknesses; measured radii depart from it elsewhere [source].
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
/// **Source** [`natural`]; a sheet cannot bend tighter than the tip it is pressed round [trade].
///
/// **Valid for** air bending. A tip much sharper than the natural radius creases the sheet.

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

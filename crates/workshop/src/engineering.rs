//! A part, bend by bend, on every brake: what `bends` shows.

use model::Shop;
use units::PartId;

pub use study::{Ask, PartStudy};

/// Engineers a part on every brake of the shop, as deep as is asked. `None` when the shop has no such
/// part.
#[must_use]
pub fn part_sheet(shop: &Shop, part: &PartId, ask: Ask) -> Option<PartStudy> {
    study::part_study(shop, part, ask)
}

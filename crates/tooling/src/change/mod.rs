//! From one bed to the next: what comes off, what stays, what is turned or slid, what goes on,
//! where, and what it costs.
//!
//! One meaning, one home: the search minimises [`change_steps`], and the changeover sheet prints
//! it.

mod draft;
mod fresh;
mod places;
mod steps;

pub(crate) use draft::off_centre;
pub use steps::{StepTime, change_steps};

use crate::bed::{Bed, Stand};
use crate::compose::Composer;
use crate::keep::Keep;
use crate::options::ToolingOption;
use crate::stock::Stock;
use draft::{Draft, Old};
use model::Brake;
use std::sync::Arc;
use units::Length;

/// Where sections are that are not on this bed.
pub trait Custody {
    /// Whether the section is on the bed that is to be changed.
    fn on_this_bed(&self, section: usize) -> bool;
    /// Seconds until this brake could have the section, zero when it lies free; `None` when it
    /// cannot be had at all.
    fn wait(&self, section: usize) -> Option<i64>;
    /// Whether another brake will want one of the station's sections.
    fn wanted_elsewhere(&self, stand: &Stand) -> bool;
}

/// What a bed is to be changed for.
#[derive(Clone, Copy, Debug)]
pub struct Request<'a> {
    /// The brake.
    pub brake: &'a Brake,
    /// The run's tooling.
    pub option: &'a ToolingOption,
    /// Tooling of the runs after it on this brake, the next first: what they need is left on the
    /// bed where there is room, and new stations are made long enough for them where they can be.
    pub later: &'a [&'a ToolingOption],
}

/// A changed bed.
#[derive(Clone, Debug)]
pub struct BedChange {
    /// The bed after.
    pub bed: Bed,
    /// For each need of the option, the index of its station on the bed after.
    pub stand_of_need: Vec<usize>,
    /// Stations taken off.
    pub removed: Vec<Arc<Stand>>,
    /// Stations whose die block is turned.
    pub turned: Vec<Turned>,
    /// Stations slid along the bed.
    pub slid: Vec<Slid>,
    /// Indices on the bed after of the stations put on.
    pub inserted: Vec<usize>,
    /// Seconds until the last section needed can be had.
    pub wait: i64,
}

/// A station whose die block is turned to another V.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Turned {
    /// Index on the bed after.
    pub stand: usize,
    /// Die profile it showed before.
    pub from: usize,
}

/// A station slid along the bed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Slid {
    /// Index on the bed after.
    pub stand: usize,
    /// Its left end before.
    pub from: Length,
}

/// What the brake did before.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Previous {
    /// Index of the part.
    pub part: usize,
    /// Tallest punch plus die used.
    pub tallest: Length,
}

/// Changes a bed for a run. Stations that serve the run stay where they are, or are turned or slid
/// where that takes less than a new one; others stay as long as they are in nobody's way, so that
/// what a later run needs need not be put on again. `None` when the sections cannot be had.
#[must_use]
pub fn change(
    stock: &Stock<'_>,
    composer: &mut Composer,
    bed: &Bed,
    request: &Request<'_>,
    custody: &dyn Custody,
) -> Option<BedChange> {
    change_keeping(stock, composer, bed, request, custody, Keep::Serving)
}

/// [`change`] by another rule of keeping, to measure what that rule is worth.
#[must_use]
pub fn change_keeping(
    stock: &Stock<'_>,
    composer: &mut Composer,
    bed: &Bed,
    request: &Request<'_>,
    custody: &dyn Custody,
    keep: Keep,
) -> Option<BedChange> {
    let draft = |old| Draft::new(stock, bed, request, custody, (keep, old));
    let mut first = draft(Old::Altered);
    let mut kept = first.finish(composer);
    if kept.is_none() && first.alters() {
        kept = draft(Old::AsItStands).finish(composer);
    }
    // Stations that serve the run may stand where nothing else fits beside them, or only with more
    // sliding than it takes to lay the bed anew.
    let Some(kept) = kept else {
        return draft(Old::Nothing).finish(composer);
    };
    if !first.sliding_may_cost_more(&kept) {
        return Some(kept);
    }
    let anew = draft(Old::Nothing).finish(composer);
    let cheaper = |anew: &BedChange| first.price(anew) < first.price(&kept);
    anew.filter(cheaper).or(Some(kept))
}

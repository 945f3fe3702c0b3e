//! How far behind the bend line the stop meets the part, as the bend lines have it.

use shape::{Facing, FoldState, gauge_edge};
use tooling::{Job, Placed, strip_mm};

/// From the bend line to the stop's contact, in mm.
///
/// A drawn section has its folds at the length of the sheet's middle. The blank has them at their
/// developed length, which is less, so what is still flat behind the line is shortened to that.
pub(crate) fn stop_mm(job: &Job<'_>, placed: &Placed) -> Option<f64> {
    let view = gauge_edge(&placed.chain, &placed.state, placed.at, Facing::AsDrawn).ok()?;
    let half_sheet = placed.chain.thickness().mm() / 2.0;
    let folds = placed.chain.folds().iter().zip(&placed.state).enumerate();
    let too_long: f64 = folds
        .skip(placed.at)
        .map(|(at, (fold, state))| {
            let bend = (180.0 - fold.included.get()).to_radians();
            let drawn = bend * (fold.inside_radius.mm() + half_sheet);
            let excess = drawn - strip_mm(job, fold.included, fold.inside_radius);
            match state {
                // Of the fold made now, the half behind its line.
                _ if at == placed.at => excess / 2.0,
                FoldState::Flat => excess,
                FoldState::Made => 0.0,
            }
        })
        .sum();
    Some(view.x_mm - too_long)
}

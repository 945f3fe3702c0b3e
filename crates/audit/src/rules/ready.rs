//! Bending starts when blanks and order are there.

use super::{Rule, broken};
use crate::case::Case;
use model::Violation;

pub(super) const STATED: Rule = (
    "A111",
    "wrong-ready",
    "a run's `ready` is not the order's and its blanks' moment",
);
pub(super) const EARLY: Rule = (
    "A112",
    "before-ready",
    "a run starts before its blanks and order are ready",
);

pub(super) fn check(case: &Case, out: &mut Vec<Violation>) {
    for run in &case.runs {
        let Some(share) = run.share else { continue };
        if run.run.ready != share.ready {
            let text = format!(
                "ready {}, but blanks and order are there {}",
                case.show(run.run.ready),
                case.show(share.ready)
            );
            broken(out, &STATED, &run.run.name, text);
        }
        if run.run.start < share.ready {
            let text = format!(
                "starts {}, ready {}",
                case.show(run.run.start),
                case.show(share.ready)
            );
            broken(out, &EARLY, &run.run.name, text);
        }
    }
}

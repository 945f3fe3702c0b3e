//! Station lengths against bends, and horns in boxes.

use super::{Rule, broken};
use crate::case::Case;
use crate::made::Made;
use crate::numbers::{at_least, at_most};
use model::{Horn, Violation};

pub(super) const SHORT: Rule = (
    "A141",
    "station-too-short",
    "punch or die is shorter than the bend needs",
);
pub(super) const BOX: Rule = (
    "A142",
    "punch-too-long-for-box",
    "the punch does not fit between the box sides",
);
pub(super) const HORNS: Rule = (
    "A143",
    "horns-missing",
    "a box with returned sides is bent without a horn at either end",
);

pub(super) fn check(case: &Case, out: &mut Vec<Violation>) {
    for run in &case.runs {
        for made in &run.bends {
            let mut tell = |rule: &Rule, text: String| {
                let text = format!("{}: {text}", made.describe());
                broken(out, rule, &run.run.name, text);
            };
            let length = made.bend.length.mm();
            let short = made
                .bend
                .inside
                .map_or(0.0, |_| case.shop.rules.box_short.mm());
            for (tool, has) in [("punch", made.punch_length), ("die", made.die_length)] {
                if !at_least(has, length - short) {
                    tell(
                        &SHORT,
                        format!("{tool} {has} mm, {} mm needed", length - short),
                    );
                }
            }
            if let Some(inside) = made.bend.inside
                && !at_most(made.punch_length, inside.mm())
            {
                tell(
                    &BOX,
                    format!("punch {} mm, {inside} mm between sides", made.punch_length),
                );
            }
            if made.bend.side_return.nanometres() > 0 && !has_horns(case, made) {
                let text = if made.place.reversed {
                    "turned about, the first section must be a right horn, the last a left horn"
                } else {
                    "first section must be a left horn, last a right horn"
                };
                tell(&HORNS, text.to_owned());
            }
        }
    }
}

/// Horns turned about change hands.
fn has_horns(case: &Case, made: &Made) -> bool {
    let horn = |id| case.lookup.sections.get(id).map(|section| section.horn);
    let sections = &made.place.punch_sections;
    let (leftmost, rightmost) = if made.place.reversed {
        (Horn::Right, Horn::Left)
    } else {
        (Horn::Left, Horn::Right)
    };
    sections.first().copied().and_then(horn) == Some(leftmost)
        && sections.last().copied().and_then(horn) == Some(rightmost)
}

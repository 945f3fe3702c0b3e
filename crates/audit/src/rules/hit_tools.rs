//! Tools that flatten, and radii that are stepped.

use super::{Rule, broken};
use crate::case::Case;
use crate::hit::Hit;
use crate::made::Made;
use crate::numbers::at_least;
use model::Violation;

pub(super) const FLATTENING: Rule = (
    "A194",
    "flattening-tools",
    "a hem is not flattened between two flattening tools, or such a tool bends in air",
);
pub(super) const STEPPED: Rule = (
    "A195",
    "stepped-radius",
    "a stepped bend asks no radius, or one tighter than a single stroke makes",
);

pub(super) fn check(case: &Case, out: &mut Vec<Violation>) {
    for run in &case.runs {
        for made in &run.bends {
            let mut tell = |rule: &Rule, text: String| {
                let text = format!("{}: {text}", made.describe());
                broken(out, rule, &run.run.name, text);
            };
            check_tools(made, &mut tell);
            if made.hit == Hit::Stepped {
                check_radius(made, &mut tell);
            }
        }
    }
}

fn check_tools(made: &Made, tell: &mut impl FnMut(&Rule, String)) {
    let tools = [
        ("punch", made.punch.flattening),
        ("die", made.die.flattening),
    ];
    for (tool, flattens) in tools {
        if flattens != made.hit.flattens() {
            let can = if flattens {
                "flattens"
            } else {
                "does not flatten"
            };
            tell(&FLATTENING, format!("the {tool} {can}"));
        }
    }
}

fn check_radius(made: &Made, tell: &mut impl FnMut(&Rule, String)) {
    let natural = made.stroke.natural_radius;
    match made.bend.radius {
        None => tell(&STEPPED, "stepped without a radius".to_owned()),
        Some(asked) if !at_least(asked.mm(), natural) => {
            let text = format!("radius {asked} mm asked, one stroke makes {natural:.3} mm");
            tell(&STEPPED, text);
        }
        Some(_) => {}
    }
}

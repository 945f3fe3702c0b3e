//! Blanks developed for one V and bent over another, and the V openings the shop has measured.

use super::{Rule, broken};
use crate::case::{Case, RunCase};
use crate::deductions::{Deducted, deducted};
use crate::hit::Hit;
use crate::made::Made;
use crate::numbers::at_most;
use model::{Material, Part, Violation};
use units::Length;

pub(super) const DEVELOPED: Rule = (
    "A127",
    "developed-for-another-v",
    "the blank's length is off by more than its tolerance",
);
pub(super) const OUTSIDE: Rule = (
    "A198",
    "outside-own-deductions",
    "the shop's own deductions do not reach a V used or developed for",
);

pub(super) fn check(case: &Case, out: &mut Vec<Violation>) {
    for run in &case.runs {
        let (Some(part), Some(material)) = (run.part, run.material) else {
            continue;
        };
        for made in &run.bends {
            let v = made.die.v.mm();
            tell_outside(run, made, v, made.stroke.deduction, out);
        }
        if let Some(v) = part.developed_for_v {
            check_length(case, run, part, material, v, out);
        }
    }
}

/// The sum of what the bends' deductions differ by. A hem counts once, by its first hit.
fn check_length(
    case: &Case,
    run: &RunCase,
    part: &Part,
    material: &Material,
    v: Length,
    out: &mut Vec<Violation>,
) {
    let mut off = 0.0;
    for made in run.bends.iter().filter(|made| !made.hit.flattens()) {
        let radius = match made.hit {
            // A stepped radius is the one asked for, over whatever V.
            Hit::Stepped => made.stroke.radius,
            _ => material.radius_share_of_v * v.mm(),
        };
        let planned = deducted(case.shop, part, made.bend, made.hit, v.mm(), radius);
        tell_outside(run, made, v.mm(), planned, out);
        off += made.stroke.deduction.mm - planned.mm;
    }
    if !at_most(off.abs(), part.length_tolerance.mm()) {
        let text = format!(
            "developed for V {v}: length off by {off:.3} mm, {} allowed",
            part.length_tolerance
        );
        broken(out, &DEVELOPED, &run.run.name, text);
    }
}

fn tell_outside(run: &RunCase, made: &Made, v: f64, found: Deducted, out: &mut Vec<Violation>) {
    if let Some((least, most)) = found.outside {
        let text = format!(
            "{}: V {v} mm, the shop's own deductions go from V {least} to {most}",
            made.name()
        );
        broken(out, &OUTSIDE, &run.run.name, text);
    }
}

//! Back-gauge positions and fingers.

use super::{Rule, broken};
use crate::case::{Case, RunCase};
use crate::clock::local_date;
use crate::family::{family_of, is_known};
use crate::made::Made;
use crate::numbers::{at_least, at_most, states};
use model::{Axis, Brake, Violation, ZDrive};

pub(super) const STATED: Rule = (
    "A136",
    "wrong-position",
    "a bend's stated gauge X, declared gauge R or inside radius is more than 0.01 mm off",
);
pub(super) const X: Rule = ("A137", "gauge-x", "gauge X is outside its axis");
pub(super) const R: Rule = (
    "A138",
    "gauge-r",
    "an edge is met at a gauge height that the brake does not have",
);
pub(super) const TAPER: Rule = (
    "A139",
    "gauge-taper",
    "a tapered edge needs more X1/X2 difference than the brake has",
);
pub(super) const FINGERS: Rule = (
    "A140",
    "fingers",
    "fingers slid by hand do not suffice for the stations used",
);

pub(super) fn check(case: &Case, out: &mut Vec<Violation>) {
    for run in &case.runs {
        let Some(brake) = run.brake else { continue };
        for made in &run.bends {
            let mut tell = |rule: &Rule, text: String| {
                let text = format!("{}: {text}", made.name());
                broken(out, rule, &run.run.name, text);
            };
            // Where the section is known, the height follows from the part as bent so far.
            let known = run
                .part
                .is_some_and(|part| is_known(part, family_of(made.bend.edge)));
            let lift = (!known).then_some(made.bend.lift.mm());
            check_stated(made, lift, &mut tell);
            check_axes(case, brake, made, lift, &mut tell);
        }
        check_fingers(run, brake, out);
    }
}

fn check_stated(made: &Made, lift: Option<f64>, tell: &mut impl FnMut(&Rule, String)) {
    let numbers = [
        ("gauge X", made.used.x, Some(made.x)),
        ("gauge R", made.used.r, lift),
        ("radius", made.used.radius, Some(made.stroke.radius)),
    ];
    for (word, stated, expected) in numbers {
        if let Some(expected) = expected
            && !states(stated, expected)
        {
            tell(
                &STATED,
                format!("{word} {stated} mm stated, {expected:.4} mm worked out"),
            );
        }
    }
}

fn check_axes(
    case: &Case,
    brake: &Brake,
    made: &Made,
    lift: Option<f64>,
    tell: &mut impl FnMut(&Rule, String),
) {
    let gauge = &brake.gauge;
    match fitted(case, Some(gauge.x)) {
        None => tell(&X, "the X axis is not fitted yet".to_owned()),
        Some(axis) if !inside(axis, made.x) => {
            tell(
                &X,
                format!("X {:.3} mm, axis {} to {} mm", made.x, axis.from, axis.to),
            );
        }
        Some(_) => {}
    }
    if let Some(lift) = lift.filter(|lift| *lift != 0.0) {
        match fitted(case, gauge.r) {
            None => tell(&R, format!("lift {lift} mm, no R axis fitted")),
            Some(axis) if !inside(axis, lift) => {
                tell(
                    &R,
                    format!("lift {lift} mm, axis {} to {} mm", axis.from, axis.to),
                );
            }
            Some(_) => {}
        }
    }
    let taper = made.bend.taper.get();
    if taper != 0.0 {
        let difference = made.bend.length.mm() * taper.to_radians().tan().abs();
        match fitted(case, gauge.x_difference) {
            None => tell(&TAPER, format!("taper {taper}°, no X1/X2 fitted")),
            Some(axis) if !at_most(difference, axis.to.mm()) => {
                tell(
                    &TAPER,
                    format!("{difference:.3} mm needed, at most {} mm", axis.to),
                );
            }
            Some(_) => {}
        }
    }
}

/// The axis when it is fitted by the plan's first local day.
pub(super) fn fitted(case: &Case, axis: Option<Axis>) -> Option<Axis> {
    axis.filter(|axis| {
        axis.fitted.is_none_or(|day| {
            local_date(case.shop.zone, case.plan.from).is_some_and(|today| day <= today)
        })
    })
}

pub(super) fn inside(axis: Axis, position: f64) -> bool {
    at_least(position, axis.from.mm()) && at_most(position, axis.to.mm())
}

fn check_fingers(run: &RunCase, brake: &Brake, out: &mut Vec<Violation>) {
    let needed = 2 * run.stations_used().len();
    if brake.gauge.z == ZDrive::Hand && needed > usize::from(brake.gauge.fingers) {
        let text = format!(
            "{needed} fingers for {} stations, {} has {}",
            needed / 2,
            brake.id,
            brake.gauge.fingers
        );
        broken(out, &FINGERS, &run.run.name, text);
    }
}

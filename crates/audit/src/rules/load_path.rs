//! Forces and what carries them. Overload breaks tools and hurts people: the machine's manual and
//! the tool maker's ratings rule wherever they are stricter.

use super::{Rule, broken};
use crate::case::{Case, RunCase};
use crate::made::Made;
use crate::numbers::at_most;
use model::{Brake, Violation};

pub(super) const FORM: Rule = (
    "A131",
    "force-form",
    "the shop's force form is not known, so no force can be judged",
);
pub(super) const STATED: Rule = (
    "A132",
    "wrong-force",
    "a bend's stated force is more than 0.1 % off",
);
pub(super) const FORCE: Rule = (
    "A133",
    "force",
    "a bend needs more force than the brake is rated for",
);
pub(super) const LINE: Rule = (
    "A134",
    "line-load",
    "a bend loads the weakest link of the load path above its rating",
);
pub(super) const OFF_CENTRE: Rule = (
    "A135",
    "off-centre",
    "a bend off the bed's centre loads one drive above half the rated force",
);

/// How far a stated force may be from the judge's own, as a share of it.
const STATED_SHARE: f64 = 1e-3;

pub(super) fn check(case: &Case, out: &mut Vec<Violation>) {
    for run in &case.runs {
        let Some(brake) = run.brake else { continue };
        for made in &run.bends {
            match made.stroke.force {
                Some(force) => check_force(run, brake, made, force, out),
                None => {
                    let text = format!("force form {:?}", case.shop.rules.force_form);
                    broken(out, &FORM, &run.run.name, text);
                }
            }
        }
    }
}

fn check_force(run: &RunCase, brake: &Brake, made: &Made, force: f64, out: &mut Vec<Violation>) {
    let mut tell = |rule: &Rule, text: String| {
        let text = format!("{}: {text}", made.describe());
        broken(out, rule, &run.run.name, text);
    };
    let stated = made.used.force.get();
    if !at_most((stated - force).abs(), STATED_SHARE * force) {
        tell(
            &STATED,
            format!("{stated:.2} kN stated, {force:.2} kN worked out"),
        );
    }
    let rated = brake.force.get();
    if !at_most(force, rated) {
        tell(
            &FORCE,
            format!("{force:.2} kN needed, {} rated {rated} kN", brake.id),
        );
    }
    let length = made.bend.length.mm().min(made.punch_length);
    let load = force / (length / 1_000.0);
    let (link, bears) = weakest_link(brake, made);
    if !at_most(load, bears) {
        tell(
            &LINE,
            format!("{load:.2} kN/m over {length} mm, the {link} bears {bears:.2} kN/m"),
        );
    }
    let centre = made.place.left.mm() + made.punch_length / 2.0;
    let off = (centre - brake.bed.mm() / 2.0).abs();
    let share = force * (0.5 + off / brake.drive_span.mm());
    if !at_most(share, rated / 2.0) {
        tell(
            &OFF_CENTRE,
            format!(
                "{off:.1} mm off centre one drive carries {share:.2} kN of {:.2} kN",
                rated / 2.0
            ),
        );
    }
}

/// The link of the load path that bears least per metre.
fn weakest_link(brake: &Brake, made: &Made) -> (&'static str, f64) {
    let from_rating = || brake.force.get() / (0.6 * brake.between_frames.metres());
    let links = [
        ("clamp", brake.clamp_load.get()),
        ("holder", brake.holder_load.get()),
        ("rail", brake.rail_load.get()),
        (
            "bed",
            brake.bed_load.map_or_else(from_rating, |load| load.get()),
        ),
        ("punch", made.punch.load.get()),
        ("die", made.die.load.get()),
    ];
    let weaker = |a: (&'static str, f64), b: (&'static str, f64)| if b.1 < a.1 { b } else { a };
    links.into_iter().fold(("path", f64::MAX), weaker)
}

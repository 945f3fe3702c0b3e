//! What the part, the tools and the brake allow of each bend, loads and gauge apart.

use super::{Rule, broken};
use crate::case::{Case, Made, RunCase};
use crate::mechanics::{deduction, smallest_leg};
use crate::numbers::{at_least, at_most};
use model::{Brake, Material, Part, Violation};

pub(super) const V: Rule = (
    "A119",
    "v-opening",
    "the V opening is outside the range for the thickness",
);
pub(super) const RADIUS: Rule = (
    "A120",
    "inside-radius",
    "the inside radius is too far from the one asked for",
);
pub(super) const FLANGE: Rule = (
    "A121",
    "flange-too-short",
    "the leg does not span the V opening",
);
pub(super) const ANGLE: Rule = (
    "A122",
    "tool-angle",
    "punch or die angle leaves no room for springback",
);
pub(super) const RELIEF: Rule = (
    "A123",
    "punch-relief",
    "the punch does not clear the returned flange",
);
pub(super) const STROKE: Rule = ("A124", "stroke", "the ram cannot go down far enough");
pub(super) const DAYLIGHT: Rule = (
    "A125",
    "daylight",
    "the deepest flange does not pass between the open tools",
);
pub(super) const THROAT: Rule = (
    "A126",
    "throat",
    "a bend longer than the frames' distance reaches deeper than the throat",
);
pub(super) const DEVELOPED: Rule = (
    "A127",
    "developed-for-another-v",
    "the blank's length is off by more than its tolerance",
);
pub(super) const ACCURACY: Rule = (
    "A128",
    "angle-accuracy",
    "the brake does not hold the part's angle tolerance",
);
pub(super) const MOUNT: Rule = (
    "A129",
    "mount",
    "a punch's tang or a die's mount does not fit the brake",
);
pub(super) const MASS: Rule = (
    "A130",
    "too-heavy",
    "the piece is too heavy to bend by hand",
);

pub(super) fn check(case: &Case, out: &mut Vec<Violation>) {
    for run in &case.runs {
        let (Some(brake), Some(part), Some(material)) = (run.brake, run.part, run.material) else {
            continue;
        };
        for made in &run.bends {
            let mut tell = |rule: &Rule, text: String| {
                let text = format!(
                    "bend {} at {}: {text}",
                    made.bend.number,
                    made.place.describe()
                );
                broken(out, rule, &run.run.name, text);
            };
            check_v_and_radius(case, part, material, made, &mut tell);
            check_tools(brake, part, material, made, &mut tell);
            check_room(case, brake, made, &mut tell);
        }
        check_part(case, run, brake, part, material, out);
    }
}

fn check_v_and_radius(
    case: &Case,
    part: &Part,
    material: &Material,
    made: &Made,
    tell: &mut impl FnMut(&Rule, String),
) {
    let (t, v) = (part.thickness.mm(), made.die.v.mm());
    if let Some((least, most)) = v_range(case, part, material)
        && !(at_least(v, least * t) && at_most(v, most * t))
    {
        tell(
            &V,
            format!(
                "V {v} mm, allowed {} to {} mm for {t} mm",
                least * t,
                most * t
            ),
        );
    }
    if let Some(asked) = made.bend.radius {
        let tolerance = case.shop.rules.radius_tolerance * asked.mm();
        if !at_most((made.radius - asked.mm()).abs(), tolerance) {
            tell(
                &RADIUS,
                format!(
                    "radius {:.3} mm, asked {asked} mm ± {tolerance:.3}",
                    made.radius
                ),
            );
        }
    }
    let leg = smallest_leg(v, made.bend.angle.get());
    if !at_least(made.bend.leg.mm(), leg) {
        tell(
            &FLANGE,
            format!("leg {} mm, V {v} needs {leg:.3} mm", made.bend.leg),
        );
    }
}

/// Smallest and largest V over thickness.
fn v_range(case: &Case, part: &Part, material: &Material) -> Option<(f64, f64)> {
    material.v_over_t.or_else(|| {
        let rows = &case.shop.rules.v_rules;
        let row = rows
            .iter()
            .find(|row| part.thickness <= row.thickness_to)
            .or(rows.last())?;
        Some((row.least, row.most))
    })
}

fn check_tools(
    brake: &Brake,
    part: &Part,
    material: &Material,
    made: &Made,
    tell: &mut impl FnMut(&Rule, String),
) {
    let included = made.bend.angle.get();
    let most = included - material.springback.get() * (180.0 - included) / 90.0;
    for (tool, angle) in [
        ("punch", made.punch.angle.get()),
        ("die", made.die.angle.get()),
    ] {
        if !at_most(angle, most) {
            tell(
                &ANGLE,
                format!("{tool} of {angle}°, at most {most:.3}° for a bend of {included}°"),
            );
        }
    }
    if made.punch.relief < made.bend.return_depth {
        let (relief, depth) = (made.punch.relief, made.bend.return_depth);
        tell(
            &RELIEF,
            format!("punch clears {relief} mm, flange returns {depth} mm"),
        );
    }
    let (accuracy, tolerance) = (brake.angle_accuracy.get(), part.angle_tolerance.get());
    if !at_most(accuracy, tolerance) {
        tell(
            &ACCURACY,
            format!("brake holds ±{accuracy}°, part wants ±{tolerance}°"),
        );
    }
    if made.punch.tang != brake.tang {
        tell(
            &MOUNT,
            format!(
                "punch tang {:?}, brake takes {:?}",
                made.punch.tang, brake.tang
            ),
        );
    }
    if made.die.mount != brake.die_mount {
        tell(
            &MOUNT,
            format!(
                "die mount {:?}, brake takes {:?}",
                made.die.mount, brake.die_mount
            ),
        );
    }
}

fn check_room(case: &Case, brake: &Brake, made: &Made, tell: &mut impl FnMut(&Rule, String)) {
    let lowest = brake.open_height.mm() - brake.stroke.mm();
    if !at_least(made.ram_to_bed, lowest) {
        tell(
            &STROKE,
            format!(
                "ram to bed {:.3} mm at the bottom, the ram reaches {lowest:.3} mm",
                made.ram_to_bed
            ),
        );
    }
    let daylight = brake.open_height.mm() - made.stack;
    let needed = made.bend.flange_height.mm() + case.shop.rules.daylight_clearance.mm();
    if !at_least(daylight, needed) {
        tell(
            &DAYLIGHT,
            format!("{daylight:.3} mm between open tools, {needed:.3} mm needed"),
        );
    }
    if made.bend.length > brake.between_frames && made.bend.leg > brake.throat {
        tell(
            &THROAT,
            format!(
                "{} mm long over {} mm between frames with a leg of {} mm, throat {} mm",
                made.bend.length, brake.between_frames, made.bend.leg, brake.throat
            ),
        );
    }
}

/// What holds of the part as a whole on this brake.
fn check_part(
    case: &Case,
    run: &RunCase,
    brake: &Brake,
    part: &Part,
    material: &Material,
    out: &mut Vec<Violation>,
) {
    let name = &run.run.name;
    if let Some(v) = part.developed_for_v {
        let radius = material.radius_share_of_v * v.mm();
        let k = case.shop.rules.k_factor;
        let t = part.thickness.mm();
        let off: f64 = run
            .bends
            .iter()
            .map(|made| made.deduction - deduction(made.bend.angle.get(), radius, t, k))
            .sum();
        if !at_most(off.abs(), part.length_tolerance.mm()) {
            let text = format!(
                "developed for V {v}: length off by {off:.3} mm, {} allowed",
                part.length_tolerance
            );
            broken(out, &DEVELOPED, name, text);
        }
    }
    let most = case.shop.rules.two_person_mass.get();
    if let Some(mass) = run.mass()
        && !at_most(mass, most)
    {
        broken(
            out,
            &MASS,
            name,
            format!("{mass:.2} kg on {}, at most {most} kg", brake.id),
        );
    }
}

//! What the part, the tools and the brake allow of each bend, loads and gauge apart.

use super::{Rule, broken};
use crate::case::{Case, RunCase};
use crate::family::{family_of, is_known};
use crate::hit::{Hit, SHARP};
use crate::made::Made;
use crate::mechanics::smallest_leg;
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
                let text = format!("{}: {text}", made.describe());
                broken(out, rule, &run.run.name, text);
            };
            check_mounts(brake, made, &mut tell);
            if !made.hit.flattens() {
                check_v_and_radius(case, part, material, made, &mut tell);
                check_tools(brake, part, material, made, &mut tell);
            }
            check_room(case, brake, made, &mut tell);
        }
        check_mass(case, run, brake, out);
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
    if let (Hit::Air, Some(asked)) = (made.hit, made.bend.radius) {
        let tolerance = case.shop.rules.radius_tolerance * asked.mm();
        if !at_most((made.stroke.radius - asked.mm()).abs(), tolerance) {
            tell(
                &RADIUS,
                format!(
                    "radius {:.3} mm, asked {asked} mm ± {tolerance:.3}",
                    made.stroke.radius
                ),
            );
        }
    }
    let leg = smallest_leg(v, made.stroke.included);
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
    let included = made.stroke.included;
    let most = match made.hit {
        // The first hit of a hem need only come near its angle: no springback is allowed for.
        Hit::Sharp => SHARP,
        _ => included - material.springback.get() * (180.0 - included) / 90.0,
    };
    for (tool, angle) in [
        ("punch", made.punch.angle.get()),
        ("die", made.die.angle.get()),
    ] {
        if !at_most(angle, most) {
            tell(
                &ANGLE,
                format!("{tool} of {angle}°, at most {most:.3}° for a bend to {included:.3}°"),
            );
        }
    }
    // Where the cross section is known, the outlines decide.
    let known = is_known(part, family_of(made.bend.edge));
    if !known && made.punch.relief < made.bend.return_depth {
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
}

fn check_mounts(brake: &Brake, made: &Made, tell: &mut impl FnMut(&Rule, String)) {
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
    if !at_least(made.stroke.ram_to_bed, lowest) {
        tell(
            &STROKE,
            format!(
                "ram to bed {:.3} mm at the bottom, the ram reaches {lowest:.3} mm",
                made.stroke.ram_to_bed
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

fn check_mass(case: &Case, run: &RunCase, brake: &Brake, out: &mut Vec<Violation>) {
    let most = case.shop.rules.two_person_mass.get();
    if let Some(mass) = run.mass()
        && !at_most(mass, most)
    {
        let text = format!("{mass:.2} kg on {}, at most {most} kg", brake.id);
        broken(out, &MASS, &run.run.name, text);
    }
}

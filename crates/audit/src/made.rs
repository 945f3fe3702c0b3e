//! One hit of a bend at one station, engineered again.

use crate::bed::Placed;
use crate::case::RunCase;
use crate::deductions::{Deducted, deducted};
use crate::hit::{Hit, SHARP};
use crate::lookup::Lookup;
use crate::mechanics;
use crate::numbers::mm;
use model::{Bend, BendUse, Die, Material, Part, Punch, Shop};

/// One hit at one station. Lengths in millimetres, angles in degrees, force in kilonewtons.
pub(crate) struct Made<'a> {
    pub(crate) used: &'a BendUse,
    pub(crate) bend: &'a Bend,
    pub(crate) hit: Hit,
    pub(crate) place: Placed<'a>,
    pub(crate) punch: &'a Punch,
    pub(crate) die: &'a Die,
    pub(crate) punch_length: f64,
    pub(crate) die_length: f64,
    pub(crate) stroke: Stroke,
    /// Holders, punch and die.
    pub(crate) stack: f64,
    pub(crate) x: f64,
}

/// What the tools of a station make of a hit.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Stroke {
    /// Included angle that each stroke bends to.
    pub(crate) included: f64,
    /// Strokes in one place.
    pub(crate) strokes: f64,
    /// Inside radius that V and punch tip give one stroke.
    pub(crate) natural_radius: f64,
    /// Inside radius of the finished bend.
    pub(crate) radius: f64,
    /// `None` when the shop's force form is not known.
    pub(crate) force: Option<f64>,
    pub(crate) travel: f64,
    /// Ram to bed at the bottom.
    pub(crate) ram_to_bed: f64,
    pub(crate) deduction: Deducted,
}

impl Made<'_> {
    /// `bend 2`, or `bend 2 hit 1` of a hem.
    pub(crate) fn name(&self) -> String {
        match self.hit {
            Hit::Air | Hit::Stepped => format!("bend {}", self.bend.number),
            Hit::Sharp | Hit::Flatten { .. } => {
                format!("bend {} hit {}", self.bend.number, self.used.hit)
            }
        }
    }

    /// The same with its tools: `bend 2 at PA over D16 at 1000`.
    pub(crate) fn describe(&self) -> String {
        format!("{} at {}", self.name(), self.place.describe())
    }
}

/// What a hit asks for, tools apart.
struct Task<'s> {
    shop: &'s Shop,
    part: &'s Part,
    material: &'s Material,
    bend: &'s Bend,
    hit: Hit,
    strength: f64,
}

/// Engineers a hit at its station; `None` when something it names does not exist.
pub(crate) fn make<'a>(
    shop: &'a Shop,
    lookup: &Lookup<'a>,
    run: &RunCase<'a>,
    used: &'a BendUse,
) -> Option<Made<'a>> {
    let (brake, part, material) = (run.brake?, run.part?, run.material?);
    let bend = part.bends.iter().find(|bend| bend.number == used.bend)?;
    let hit = Hit::of(bend, used.hit)?;
    let place = Placed::from_plan(run.run.bed.get(used.station)?);
    let (punch, die) = place.profiles(lookup)?;

    let certificate = run.order.and_then(|order| order.certificate);
    let task = Task {
        shop,
        part,
        material,
        bend,
        hit,
        strength: certificate.unwrap_or(material.strength_typical).get(),
    };
    let stack =
        brake.upper_holder.mm() + punch.height.mm() + die.height.mm() + brake.lower_holder.mm();
    let stroke = match hit {
        Hit::Flatten { gap } => {
            // Where the sheet is gauged and how it is developed was settled by the first hit.
            let mut others = run.run.bends.iter();
            let first = others.find(|other| other.bend == used.bend && other.hit == 1)?;
            let first = make(shop, lookup, run, first)?;
            flattening(&task, gap, stack, first.stroke)
        }
        Hit::Air | Hit::Sharp | Hit::Stepped => in_a_v(&task, punch, die, stack),
    };
    Some(Made {
        used,
        bend,
        hit,
        punch,
        die,
        punch_length: mm(place.punch_length(lookup)),
        die_length: mm(place.die_length(lookup)),
        place,
        stroke,
        stack,
        x: bend.leg.mm() - stroke.deduction.mm / 2.0,
    })
}

/// Air hits, the sharp ones of hems and the many of a stepped radius among them.
fn in_a_v(task: &Task, punch: &Punch, die: &Die, stack: f64) -> Stroke {
    let (t, v) = (task.part.thickness.mm(), die.v.mm());
    let rules = &task.shop.rules;
    let natural_radius = (task.material.radius_share_of_v * v).max(punch.tip_radius.mm());
    let angle = task.bend.angle.get();
    let (included, strokes, radius) = match task.hit {
        Hit::Air => (angle, 1.0, natural_radius),
        Hit::Sharp | Hit::Flatten { .. } => (SHARP, 1.0, natural_radius),
        Hit::Stepped => {
            let asked = task
                .bend
                .radius
                .map_or(natural_radius, |radius| radius.mm());
            let depth = rules.step_depth.mm();
            let strokes = mechanics::steps(180.0 - angle, asked, t, depth);
            (180.0 - (180.0 - angle) / strokes, strokes, asked)
        }
    };
    let length = task.bend.length.mm();
    let travel = mechanics::travel(v, t, natural_radius, included);
    Stroke {
        included,
        strokes,
        natural_radius,
        radius,
        force: mechanics::force(&rules.force_form, task.strength, length, t, v),
        travel,
        ram_to_bed: stack - (travel - t),
        deduction: deducted(task.shop, task.part, task.bend, task.hit, v, radius),
    }
}

fn flattening(task: &Task, gap: f64, stack: f64, first: Stroke) -> Stroke {
    let t = task.part.thickness.mm();
    let factor = task.shop.rules.flatten_factor;
    let length = task.bend.length.mm();
    Stroke {
        included: task.bend.angle.get(),
        strokes: 1.0,
        natural_radius: gap / 2.0,
        radius: gap / 2.0,
        force: Some(mechanics::flattening_force(
            factor,
            task.strength,
            length,
            t,
        )),
        travel: 0.0,
        ram_to_bed: stack + 2.0 * t + gap,
        // Told once, of the first hit.
        deduction: Deducted {
            outside: None,
            ..first.deduction
        },
    }
}

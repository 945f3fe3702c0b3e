//! The inside radius of one hit, and what sheet and grain say to it.

use bending::radius::{self, Grain};
use model::{BendKind, Edge, Family, Part, Punch};
use tooling::{BendWork, Form, Hit, Job};
use units::{Degrees, Length};

/// What decides the inside radius.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum RadiusBy {
    /// The V: the radius an air bend takes by itself.
    Natural,
    /// The punch's tip, which is larger.
    Tip,
    /// Steps round a larger radius.
    Steps,
    /// The gap of a hem.
    Gap,
}

/// Radii of one hit.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct RadiusStudy {
    /// Inside radius made.
    pub inside: Length,
    /// What decides it.
    pub by: RadiusBy,
    /// The natural radius of the V; `None` for flattening.
    pub natural: Option<Length>,
    /// The punch's tip radius.
    pub tip: Length,
    /// The radius asked for.
    pub asked: Option<Length>,
    /// The smallest radius the table for steel recommends; `None` for other metals, outside the
    /// table and for hems.
    pub smallest: Option<Length>,
    /// Whether the bend runs along the rolling direction; `None` when that is not known.
    pub along_grain: Option<bool>,
    /// What the table and the grain say against it.
    pub warning: Option<&'static str>,
    /// Whether the tip is so sharp that it creases the sheet.
    pub creases: bool,
}

pub(crate) fn radius_study(
    job: &Job<'_>,
    hit: &Hit,
    work: &BendWork,
    punch: &Punch,
    v: Option<Length>,
) -> RadiusStudy {
    let bend = &job.part.bends[hit.bend];
    let t = job.part.thickness;
    let natural = v.map(|v| radius::natural(v, job.material.radius_share_of_v));
    let by = match (hit.form, natural) {
        (Form::Flatten { .. }, _) | (_, None) => RadiusBy::Gap,
        (Form::Stepped { .. }, _) => RadiusBy::Steps,
        (Form::Air, Some(natural)) if natural < punch.tip_radius => RadiusBy::Tip,
        (Form::Air, Some(_)) => RadiusBy::Natural,
    };
    let along_grain = along(job.part, bend.edge);
    // A hem is folded flat whatever the table says.
    let hem = matches!(bend.kind, BendKind::Hem { .. });
    let steel = job.material.family == Family::Steel && !hem;
    let bend_angle = Degrees::of(180.0 - hit.angle.get());
    let smallest = || radius::minimum(job.strength, t, bend_angle);
    RadiusStudy {
        inside: work.radius,
        by,
        natural,
        tip: punch.tip_radius,
        asked: bend.radius,
        smallest: if steel { smallest() } else { None },
        along_grain,
        warning: warning(job, steel, bend_angle, work.radius, along_grain),
        creases: steel
            && natural.is_some_and(|natural| radius::tip_creases(punch.tip_radius, t, natural)),
    }
}

/// The table is one for steel; along the grain every metal cracks sooner.
fn warning(
    job: &Job<'_>,
    steel: bool,
    bend_angle: Degrees,
    inside: Length,
    along_grain: Option<bool>,
) -> Option<&'static str> {
    let along = along_grain == Some(true);
    if steel {
        let grain = if along { Grain::Along } else { Grain::Across };
        return radius::warning(job.strength, job.part.thickness, bend_angle, inside, grain);
    }
    along.then_some("bend along the rolling direction: look for cracks")
}

fn along(part: &Part, edge: Edge) -> Option<bool> {
    let with_long_side = matches!(edge, Edge::A | Edge::B);
    part.grain
        .map(|grain| (grain == model::Grain::Long) == with_long_side)
}

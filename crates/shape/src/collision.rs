//! The first place in a stroke where the sheet would run into a tool.

use crate::depth::Solid;
use crate::{Outline, Point, Pose, ToolSection};
use units::Degrees;

/// How deep two outlines may lie in one another and still only touch, in mm. Arcs drawn in chords
/// are off by up to 0.01 mm; tools are ground, and sheets rolled, to a few hundredths.
pub const TOUCH_MM: f64 = 0.05;

/// What the sheet would run into.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum With {
    /// The punch.
    Punch,
    /// The die.
    Die,
    /// The ram, with whatever holds the punch.
    Ram,
    /// The bed, with whatever holds the die.
    Bed,
    /// The stop of the back gauge.
    Gauge,
}

/// Where and when the sheet would run into something.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Collision {
    /// What it runs into.
    pub with: With,
    /// The deepest point, in the brake's coordinates.
    pub at: Point,
    /// The included angle of the fold being made at that moment; 180° when the piece cannot even
    /// be laid on the die.
    pub included: Degrees,
    /// How deep, in mm.
    pub overlap_mm: f64,
}

/// The earliest collision in a stroke: of the first pose with any, the deepest.
///
/// The punch and the ram go down with the sheet's inside vertex; die, bed and stop stand still. A
/// stop that is withdrawn before the sheet moves is left out of the tools.
///
/// **What counts.** A point of the sheet's border more than [`TOUCH_MM`] inside a tool, or a point
/// of a tool's border more than that inside the sheet. So lying on the die, and resting on its
/// shoulders, are no collisions: there the outlines meet without depth. The one place where the
/// sheet and a tool may overlap by intent is the punch's nose, under which the radius forms: a disc
/// around the tip of twice its radius is spared. Nothing but the bend itself can be in that disc,
/// since everything else would have to pass the flanks first. Beyond it all counts, also for the
/// bend's own legs: a punch wider than the fold's angle, a tip blunter than its radius, or a die
/// wider than its angle are found as collisions.
#[must_use]
pub fn collision(poses: &[Pose], tools: &ToolSection) -> Option<Collision> {
    let standing = [
        Some((With::Die, &tools.die)),
        Some((With::Bed, &tools.bed)),
        tools.gauge.as_ref().map(|gauge| (With::Gauge, gauge)),
    ];
    let standing: Vec<Body> = standing
        .into_iter()
        .flatten()
        .map(|(with, outline)| Body::new(with, outline.clone()))
        .collect();
    poses.iter().find_map(|pose| {
        let sunk = |outline: &Outline| outline.translated(pose.tip.x, pose.tip.y);
        let moving = [
            Body::new(With::Punch, sunk(&tools.punch)),
            Body::new(With::Ram, sunk(&tools.ram)),
        ];
        let nose = (pose.tip, 2.0 * tools.tip_radius.mm());
        deepest(pose, moving.iter().chain(&standing), nose)
    })
}

/// How deep the sheet reaches into one tool in any of the poses, outside of a disc about the middle
/// of the V in which the bend itself is made; in mm, zero when nowhere deeper than `floor_mm`.
///
/// A tool that `follows` the ram stands with the punch's tip at the sheet's inside vertex, as in
/// [`collision`]. The depth of a point counts at most by how far it lies outside of the disc, of
/// radius `spared_mm`.
#[must_use]
pub fn reach(poses: &[Pose], tool: &Outline, follows: bool, spared_mm: f64, floor_mm: f64) -> f64 {
    let solid = Solid::of(tool);
    poses.iter().fold(0.0, |deepest: f64, pose| {
        // The sheet is moved to the tool and not the tool to the sheet: it is prepared once.
        let lower = if follows { -pose.tip.y } else { 0.0 };
        let moved;
        let sheet = if follows {
            moved = pose.outline.translated(-pose.tip.x, lower);
            &moved
        } else {
            &pose.outline
        };
        let spared = Some((Point::new(0.0, lower), spared_mm));
        let found = sheet.deepest_in(&solid, deepest.max(floor_mm), spared);
        found.map_or(deepest, |(_, depth)| depth)
    })
}

/// A tool where it stands at one moment.
struct Body {
    with: With,
    outline: Outline,
    solid: Solid,
}

impl Body {
    fn new(with: With, outline: Outline) -> Body {
        Body {
            with,
            solid: Solid::of(&outline),
            outline,
        }
    }
}

fn deepest<'a>(
    pose: &Pose,
    bodies: impl Iterator<Item = &'a Body>,
    nose: (Point, f64),
) -> Option<Collision> {
    let sheet = Solid::of(&pose.outline);
    let mut found: Option<Collision> = None;
    for body in bodies {
        let spared = (body.with == With::Punch).then_some(nose);
        let floor = found.map_or(TOUCH_MM, |collision| collision.overlap_mm);
        let inside = pose.outline.deepest_in(&body.solid, floor, spared);
        let floor = inside.map_or(floor, |(_, depth)| depth);
        let around = body.outline.deepest_in(&sheet, floor, spared);
        if let Some((at, overlap_mm)) = around.or(inside) {
            found = Some(Collision {
                with: body.with,
                at,
                included: pose.included,
                overlap_mm,
            });
        }
    }
    found
}

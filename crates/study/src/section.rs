//! The cross section at one hit between its tools: drawn, and where it collides.

use crate::name_of;
use crate::part::Case;
use bending::radius;
use model::{Die, Punch, Refusal};
use shape::{FoldState, Outline, Point, Pose, ToolSection, With, gauge_stop, pose, reach};
use tooling::{CrossSection, StrokeView, ToolingOption, Ways, engineer, tool_section};
use units::{Degrees, Length, ProfileId};

/// How far points stand apart in which the deepest is looked for, in mm.
const BETWEEN_MM: f64 = 0.5;
/// Length of a stop as drawn, front to back.
pub(crate) const STOP_LENGTH: Length = Length::from_whole_mm(40);

/// The section at one hit.
#[derive(Clone, Debug)]
pub struct SectionStudy {
    /// Lying on the die before the stroke.
    pub lying: Pose,
    /// Between the tools at the finished angle.
    pub finished: Pose,
    /// Punch, die, ram, bed and, where it stands, the stop.
    pub tools: ToolSection,
    /// Whether the punch is drawn turned about.
    pub reversed: bool,
    /// The deepest the sheet reaches into a tool anywhere in the stroke, in mm; zero when it is clear.
    pub deepest_mm: f64,
    /// Into what.
    pub into: Option<With>,
    /// How deep it may.
    pub allowance_mm: f64,
}

/// Where a part as bent so far runs into its tools.
#[derive(Clone, Debug, PartialEq)]
pub struct CollisionStudy {
    /// Bend number.
    pub bend: u8,
    /// Punch.
    pub punch: ProfileId,
    /// Die.
    pub die: ProfileId,
    /// What it runs into.
    pub with: With,
    /// Included angle of the bend when it first does; 180° is flat.
    pub included: Degrees,
    /// How deep it gets, in mm, and how deep it may.
    pub depth_mm: f64,
    /// How deep it may.
    pub allowance_mm: f64,
    /// Where, when it first does, in mm: behind the bend line (negative: in front), above the die's
    /// shoulders.
    pub at: Point,
}

impl CollisionStudy {
    /// In words.
    #[must_use]
    pub fn text(&self) -> String {
        format!(
            "bend {} with {} over {} runs into the {} when it is bent to {:.0}°, {} and {}; {:.1} mm deep \
             in the end, {} mm is allowed",
            self.bend,
            self.punch,
            self.die,
            name_of(self.with),
            self.included.get(),
            from_the_line(self.at.x),
            from_the_shoulders(self.at.y),
            self.depth_mm,
            self.allowance_mm,
        )
    }
}

/// Where a point lies front to back, to the millimetre.
fn from_the_line(x: f64) -> String {
    match x.abs() {
        near if near < 0.5 => "on the bend line".to_owned(),
        far if x < 0.0 => format!("{far:.0} mm in front of the bend line"),
        far => format!("{far:.0} mm behind the bend line"),
    }
}

/// How high a point lies, to the millimetre.
fn from_the_shoulders(y: f64) -> String {
    match y.abs() {
        near if near < 0.5 => "level with the die's shoulders".to_owned(),
        far if y < 0.0 => format!("{far:.0} mm below the die's shoulders"),
        far => format!("{far:.0} mm above the die's shoulders"),
    }
}

/// The section of a hit as its option makes it; `None` where the section is not known.
pub(crate) fn section_study(
    case: &Case<'_, '_>,
    option: &ToolingOption,
    at: usize,
) -> Option<SectionStudy> {
    let section = case.sections.iter().find(|section| section.has(at))?;
    let need = &option.needs[option.need_of_hit[at]];
    let (punch, die) = (case.stock.punch(need.punch)?, case.stock.die(need.die)?);
    let radius = |hit: usize| option.works[hit].radius;
    let view = StrokeView::of((case.job, &option.hits), section, at, die.v, &radius)?;
    let reversed = !need.ways.plain;
    let mut tools = tool_section(case.job.brake, (punch, die), reversed)?;
    let work = &option.works[at];
    let stop = case.job.shop.rules.stop_height;
    tools.gauge = view.gauge.and_then(|gauge| {
        let x = Length::from_mm(gauge.x_mm);
        gauge_stop(x, work.r + stop.half(), stop, STOP_LENGTH).ok()
    });
    let worst = deepest(&view, &tools, 0.0);
    let placed = &view.placed;
    let flat = Degrees::of(180.0);
    Some(SectionStudy {
        lying: pose(&placed.chain, &placed.state, placed.at, flat, die.v).ok()?,
        finished: view.poses.last()?.clone(),
        reversed,
        deepest_mm: worst.map_or(0.0, |worst| worst.1),
        into: worst.map(|worst| worst.0),
        allowance_mm: case.job.shop.rules.touch_allowance.mm(),
        tools,
    })
}

/// The tools as the sheet may run into them, and whether they follow the ram.
fn bodies(tools: &ToolSection) -> [(With, &Outline, bool); 4] {
    [
        (With::Punch, &tools.punch, true),
        (With::Ram, &tools.ram, true),
        (With::Die, &tools.die, false),
        (With::Bed, &tools.bed, false),
    ]
}

/// What the sheet reaches into deepest in the stroke, and how deep, if deeper than a floor.
pub(crate) fn deepest(
    view: &StrokeView,
    tools: &ToolSection,
    floor_mm: f64,
) -> Option<(With, f64)> {
    let mut worst: Option<(With, f64)> = None;
    for (with, outline, follows) in bodies(tools) {
        let floor = worst.map_or(floor_mm, |worst| worst.1);
        let depth = reach(&view.poses, outline, follows, view.spared_mm, floor);
        if depth > floor {
            worst = Some((with, depth));
        }
    }
    worst
}

/// Where the bend of a refusal collides: with the tools the refusal names, the punch standing the way
/// in which it reaches less deep.
pub(crate) fn collision_of(case: &Case<'_, '_>, refusal: &Refusal) -> Option<CollisionStudy> {
    let number = refusal.bend?;
    let of_bend = |hit: &tooling::Hit| case.job.part.bends[hit.bend].number == number;
    let at = case.hits.iter().position(of_bend)?;
    let section = case.sections.iter().find(|section| section.has(at))?;
    let named = |(punch, die): &(&Punch, &Die)| {
        refusal
            .text
            .ends_with(&format!(" {} over {}", punch.id, die.id))
    };
    let (punch, die) = makers(case, at).into_iter().find(named)?;
    let view = view_of(case, section, at, punch, die)?;
    let standing = ways(punch).into_iter().filter_map(|reversed| {
        let tools = tool_section(case.job.brake, (punch, die), reversed)?;
        let depth = deepest(&view, &tools, 0.0).map_or(0.0, |worst| worst.1);
        Some((depth, tools))
    });
    let (_, tools) = standing.min_by(|a, b| a.0.total_cmp(&b.0))?;
    first_collision(case, number, (punch, die), &view, &tools)
}

/// The ways in which a punch can stand.
pub(crate) fn ways(punch: &Punch) -> Vec<bool> {
    if Ways::of(punch).reversed {
        vec![false, true]
    } else {
        vec![false]
    }
}

/// The stroke of a hit with the part bent so far with the same tools.
pub(crate) fn view_of(
    case: &Case<'_, '_>,
    section: &CrossSection,
    at: usize,
    punch: &Punch,
    die: &Die,
) -> Option<StrokeView> {
    let share = case.job.material.radius_share_of_v;
    let inside = radius::inside(die.v, share, punch.tip_radius);
    StrokeView::of((case.job, &case.hits), section, at, die.v, &|_| inside)
}

/// The pairs of owned tools that make a hit, the part's clearances aside.
pub(crate) fn makers<'s>(case: &Case<'_, 's>, at: usize) -> Vec<(&'s Punch, &'s Die)> {
    let owned = |profile: &usize| !case.stock.classes_of(*profile).is_empty();
    let profiles: Vec<usize> = (0..case.stock.shop().profiles.len())
        .filter(owned)
        .collect();
    let mut out = Vec::new();
    for &upper in &profiles {
        for &lower in &profiles {
            let (Some(punch), Some(die)) = (case.stock.punch(upper), case.stock.die(lower)) else {
                continue;
            };
            if engineer(case.job, &case.hits[at], punch, die).is_ok() {
                out.push((punch, die));
            }
        }
    }
    out
}

/// The first of the stroke's stations at which the sheet is too deep in a tool.
fn first_collision(
    case: &Case<'_, '_>,
    number: u8,
    (punch, die): (&Punch, &Die),
    view: &StrokeView,
    tools: &ToolSection,
) -> Option<CollisionStudy> {
    let allowance_mm = case.job.shop.rules.touch_allowance.mm();
    let (_, depth_mm) = deepest(view, tools, allowance_mm)?;
    view.poses.iter().find_map(|pose| {
        let alone = StrokeView {
            poses: vec![pose.clone()],
            ..view.clone()
        };
        let (with, _) = deepest(&alone, tools, allowance_mm)?;
        let outline = bodies(tools)
            .into_iter()
            .find_map(|(which, outline, follows)| {
                let lowered = if follows { pose.tip.y } else { 0.0 };
                (which == with).then(|| outline.translated(0.0, lowered))
            })?;
        Some(CollisionStudy {
            bend: number,
            punch: punch.id.clone(),
            die: die.id.clone(),
            with,
            included: pose.included,
            depth_mm,
            allowance_mm,
            at: deepest_point(&pose.outline, &outline, view.spared_mm),
        })
    })
}

/// The point of the sheet's border deepest in a tool, outside of the bend itself.
fn deepest_point(sheet: &Outline, tool: &Outline, spared_mm: f64) -> Point {
    let origin = Point::default();
    let mut best = (origin, f64::NEG_INFINITY);
    let corners = sheet.points();
    let next = corners.iter().cycle().skip(1);
    for (&from, &to) in corners.iter().zip(next) {
        let length = from.distance(to);
        #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // clamped
        let steps = (length / BETWEEN_MM).ceil().clamp(1.0, 4_000.0) as u32;
        for step in 0..=steps {
            let share = f64::from(step) / f64::from(steps);
            let point = Point::new(
                from.x + (to.x - from.x) * share,
                from.y + (to.y - from.y) * share,
            );
            let depth = tool.depth(point);
            if point.distance(origin) > spared_mm && depth > best.1 {
                best = (point, depth);
            }
        }
    }
    best.0
}

/// Whether a section is bent so far that a fold counts as made.
pub(crate) fn fold_state(made: bool) -> FoldState {
    if made {
        FoldState::Made
    } else {
        FoldState::Flat
    }
}

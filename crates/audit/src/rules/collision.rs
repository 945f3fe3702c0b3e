//! The part as bent so far meets no tool, ram or bed. A caught flange flies up or drags the sheet
//! along: the outlines here are plain ones, and the tool maker's drawing and a slow first stroke
//! come before them.

use super::{Rule, broken};
use crate::bent::Pose;
use crate::case::{Case, RunCase};
use crate::family::{FAMILIES, Family, Strip, Tools, hits_in, zero_at_gauge};
use crate::made::Made;
use crate::numbers::{at_least, at_most};
use crate::outline::{
    Outline, Point, bed_outline, depth, die_outlines, punch_outline, raised, ram_outline, turned,
};
use model::{Brake, Violation};
use std::collections::BTreeMap;
use units::{BrakeId, PartId};

pub(super) const OVERLAP: Rule = (
    "A196",
    "bends-overlap-on-blank",
    "two bends, or a bend and an edge, overlap on the flat blank",
);
pub(super) const COLLISION: Rule = (
    "A197",
    "collision",
    "the part as bent so far reaches into punch, ram, die or bed",
);

/// Depth in millimetres that is let pass beyond the shop's touch allowance. The judge looks at
/// points a millimetre apart and an engine may look at others, nearer or further; both round. An
/// honest plan must not be refused for that, and no real obstacle is so thin.
const ROUNDING: f64 = 0.4;
/// Moments of the stroke that are looked at.
const MOMENTS: u8 = 8;

/// The deepest that a hit reaches into an outline.
#[derive(Clone, Copy)]
struct Deepest {
    depth: f64,
    into: &'static str,
    moment: u8,
}

impl Deepest {
    const NOTHING: Deepest = Deepest {
        depth: 0.0,
        into: "nothing",
        moment: 0,
    };

    fn or(self, other: Deepest) -> Deepest {
        if other.depth > self.depth {
            other
        } else {
            self
        }
    }
}

/// What decides how deep a hit reaches: the part, the brake, the hit, whether its punch is reversed,
/// and the tools of all hits of its family.
type Key<'a> = (&'a PartId, &'a BrakeId, u8, bool, Tools<'a>);

pub(super) fn check(case: &Case, out: &mut Vec<Violation>) {
    let mut seen: BTreeMap<Key, Deepest> = BTreeMap::new();
    for run in &case.runs {
        let Some(brake) = run.brake else { continue };
        for family in FAMILIES {
            let Some(strip) = Strip::of(run, family, case.shop.rules.k_factor) else {
                continue;
            };
            let shortest = strip.shortest_flat();
            if !at_least(shortest, 0.0) {
                let edges = match family {
                    Family::Width => "A and B",
                    Family::Length => "C and D",
                };
                let text = format!("bends on {edges}: shortest flat {shortest:.3} mm");
                broken(out, &OVERLAP, &run.run.name, text);
                continue;
            }
            let tools = strip.tools(run);
            for made in hits_in(run, family) {
                let (part, reversed) = (run.part_id(), made.place.reversed);
                let key = (
                    part,
                    run.brake_id,
                    made.bend.number,
                    reversed,
                    tools.clone(),
                );
                let deepest = *seen
                    .entry(key)
                    .or_insert_with(|| through_the_stroke(brake, &strip, made));
                tell(case, run, made, deepest, out);
            }
        }
    }
}

fn tell(case: &Case, run: &RunCase, made: &Made, deepest: Deepest, out: &mut Vec<Violation>) {
    let allowed = case.shop.rules.touch_allowance.mm();
    let Deepest {
        depth,
        into,
        moment,
    } = deepest;
    if !at_most(depth, allowed + ROUNDING) {
        let text = format!(
            "{}: {depth:.2} mm into the {into} at {moment}/{MOMENTS} of the bend, {allowed} mm \
             allowed and {ROUNDING} for rounding",
            made.describe()
        );
        broken(out, &COLLISION, &run.run.name, text);
    }
}

/// Runs through the stroke of a hit, its punch as its station stands.
fn through_the_stroke(brake: &Brake, strip: &Strip, made: &Made) -> Deepest {
    let mut folds = strip.folds.iter().enumerate();
    let Some((now, fold)) = folds.find(|(_, fold)| fold.number == made.bend.number) else {
        return Deepest::NOTHING;
    };
    let mut punch = punch_outline(made.punch);
    if made.place.reversed {
        punch = turned(&punch);
    }
    let (ram, height) = (ram_outline(brake), made.punch.height.mm());
    let dies = die_outlines(made.die);
    let bed = bed_outline(brake, made.die.height.mm());
    let v = made.die.v.mm();
    // Nearer than this to the middle of the shoulders is the bend itself.
    let itself = v / 2.0_f64.sqrt() + 2.0 * strip.thickness;

    let mut worst = Deepest::NOTHING;
    for moment in 1..=MOMENTS {
        let pose = Pose {
            strip,
            now,
            zero_at_gauge: zero_at_gauge(made.bend.edge),
            reached: fold.angle * f64::from(moment) / f64::from(MOMENTS),
            v,
        };
        let mut points = pose.points();
        points.retain(|p| p.x.hypot(p.y) > itself);
        let tip = pose.tip(fold);
        let reach = |outline: &Outline, into| Deepest {
            depth: deepest(outline, &points),
            into,
            moment,
        };
        worst = worst
            .or(reach(&raised(&punch, tip), "punch"))
            .or(reach(&raised(&ram, tip + height), "ram"))
            .or(reach(&bed, "bed"));
        for die in &dies {
            worst = worst.or(reach(die, "die"));
        }
    }
    worst
}

fn deepest(outline: &Outline, points: &[Point]) -> f64 {
    let extent = |of: fn(&Point) -> f64| {
        let all = outline.iter().map(of);
        let least = all.clone().fold(f64::INFINITY, f64::min);
        (least, all.fold(f64::NEG_INFINITY, f64::max))
    };
    let (left, right) = extent(|p| p.x);
    let (low, high) = extent(|p| p.y);
    points
        .iter()
        .filter(|p| left <= p.x && p.x <= right && low <= p.y && p.y <= high)
        .map(|p| depth(outline, *p))
        .fold(0.0, f64::max)
}

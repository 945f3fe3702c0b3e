//! The part as bent so far, stroke by stroke, and which tools it clears; docs/rules.md sections 2b
//! and 2c.
//!
//! What a stroke needs is worked out once for a part, whatever the brakes and tools compared: the
//! sheet depends on the V and the radii alone, and tools of one section are one shape.

use crate::clearance::{CrossSection, Ways};
use crate::engineer::Job;
use crate::hits::Hit;
use crate::outlines::ToolShape;
use model::{Brake, Die, Punch};
use rustc_hash::FxHashMap;
use shape::{Facing, GaugeView, Pose, gauge_edge, pose, reach};
use std::collections::hash_map::Entry;
use units::{Degrees, Length};

/// Stations of the stroke that are looked at.
const STATIONS: u32 = 8;

/// Strokes of the part at hand.
#[derive(Clone, Debug, Default)]
pub(crate) struct Strokes {
    part: Option<usize>,
    known: FxHashMap<Key, Option<Stroke>>,
}

#[derive(Clone, Debug, PartialEq, Eq, Hash)]
struct Key {
    hit: usize,
    v: Length,
    /// Inside radii of the section's folds, from the first edge on.
    radii: Vec<Length>,
}

/// One hit in one V: where the sheet is on its way, and how deep it reaches into the tools tried.
#[derive(Clone, Debug)]
pub(crate) struct Stroke {
    poses: Vec<Pose>,
    spared_mm: f64,
    gauge: Option<GaugeView>,
    reaches: FxHashMap<ToolShape, f64>,
}

impl Strokes {
    /// Forgets the strokes of another part.
    pub(crate) fn begin(&mut self, part: usize) {
        if self.part != Some(part) {
            self.part = Some(part);
            self.known.clear();
        }
    }

    /// The stroke of a hit in a V with the radii of all hits. `None` when the bend lines are closer
    /// than the bends themselves.
    pub(crate) fn of(
        &mut self,
        (job, hits): (&Job<'_>, &[Hit]),
        section: &CrossSection,
        hit: usize,
        v: Length,
        radius_of: &dyn Fn(usize) -> Length,
    ) -> Option<&mut Stroke> {
        let key = Key {
            hit,
            v,
            radii: section.hits().iter().map(|&hit| radius_of(hit)).collect(),
        };
        let stroke = match self.known.entry(key) {
            Entry::Occupied(known) => known.into_mut(),
            Entry::Vacant(free) => {
                free.insert(Stroke::new((job, hits), section, hit, v, radius_of))
            }
        };
        stroke.as_mut()
    }
}

impl Stroke {
    fn new(
        (job, hits): (&Job<'_>, &[Hit]),
        section: &CrossSection,
        hit: usize,
        v: Length,
        radius_of: &dyn Fn(usize) -> Length,
    ) -> Option<Stroke> {
        let placed = section.placed(job, hits, hit, radius_of)?;
        let bend = &job.part.bends[hits[hit].bend];
        let whole = 180.0 - bend.angle.get();
        let poses = (1..=STATIONS).filter_map(|station| {
            let reached = whole * f64::from(station) / f64::from(STATIONS);
            let included = Degrees::of(180.0 - reached);
            pose(&placed.chain, &placed.state, placed.at, included, v).ok()
        });
        Some(Stroke {
            poses: poses.collect(),
            spared_mm: v.mm() / std::f64::consts::SQRT_2 + 2.0 * job.part.thickness.mm(),
            gauge: gauge_edge(&placed.chain, &placed.state, placed.at, Facing::AsDrawn).ok(),
            reaches: FxHashMap::default(),
        })
    }

    /// What the gauge's stop meets before the stroke.
    pub(crate) fn gauge(&self) -> Option<GaugeView> {
        self.gauge
    }

    /// Which way round the punch clears the sheet.
    ///
    /// # Errors
    /// The depth in mm, when neither way round does: of the way in which it is less.
    pub(crate) fn ways(
        &mut self,
        brake: &Brake,
        (punch, die): (&Punch, &Die),
        allowance_mm: f64,
    ) -> Result<Ways, f64> {
        let standing = [
            ToolShape::die(die),
            ToolShape::Bed {
                width: brake.bed_thickness,
                below: die.height,
            },
            ToolShape::Ram {
                width: brake.ram_thickness,
                above: punch.height,
            },
        ];
        let mut depth = |tool: ToolShape| self.depth(tool, allowance_mm);
        let beside_punch = standing.into_iter().map(&mut depth).fold(0.0, f64::max);
        let plain = depth(ToolShape::punch(punch, false)).max(beside_punch);
        let reversed = if Ways::of(punch).reversed {
            depth(ToolShape::punch(punch, true)).max(beside_punch)
        } else {
            f64::INFINITY
        };
        let ways = Ways {
            plain: plain <= allowance_mm,
            reversed: reversed <= allowance_mm,
        };
        if ways.any() {
            Ok(ways)
        } else {
            Err(plain.min(reversed))
        }
    }

    fn depth(&mut self, tool: ToolShape, floor_mm: f64) -> f64 {
        if let Some(&known) = self.reaches.get(&tool) {
            return known;
        }
        let depth = tool.outline().map_or(0.0, |outline| {
            let follows = tool.follows_the_ram();
            reach(&self.poses, &outline, follows, self.spared_mm, floor_mm)
        });
        self.reaches.insert(tool, depth);
        depth
    }
}

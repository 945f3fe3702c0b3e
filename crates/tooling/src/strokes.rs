//! The part as bent so far, stroke by stroke, and which tools it clears; docs/rules.md sections 2b
//! and 2c.
//!
//! What a stroke needs is worked out once for a part, whatever the brakes and tools compared: the
//! sheet depends on the V and the radii alone, and tools of one section are one shape.

use crate::clearance::{CrossSection, Placed, Ways};
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

/// One hit in one V: where the sheet is on its way.
#[derive(Clone, Debug)]
pub struct StrokeView {
    /// The sheet at the eight stations of the stroke, the last at the finished angle.
    pub poses: Vec<Pose>,
    /// Nearer than this to the middle of the V is the bend itself, in mm.
    pub spared_mm: f64,
    /// What the gauge's stop meets before the stroke.
    pub gauge: Option<GaugeView>,
    /// The section before the stroke.
    pub placed: Placed,
}

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

/// A stroke, and how deep the sheet reaches into the tools tried.
#[derive(Clone, Debug)]
pub(crate) struct Stroke {
    view: StrokeView,
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

impl StrokeView {
    /// The stroke of a hit of a known section in a V, with the inside radius of each hit. `None`
    /// when the bend lines are closer than the bends themselves.
    #[must_use]
    pub fn of(
        (job, hits): (&Job<'_>, &[Hit]),
        section: &CrossSection,
        hit: usize,
        v: Length,
        radius_of: &dyn Fn(usize) -> Length,
    ) -> Option<StrokeView> {
        let placed = section.placed(job, hits, hit, radius_of)?;
        let included = job.part.bends[hits[hit].bend].angle;
        Some(StrokeView::of_placed(placed, included, v))
    }

    /// The stroke of a section as it lies in the brake, to an included angle in a V.
    #[must_use]
    pub fn of_placed(placed: Placed, included: Degrees, v: Length) -> StrokeView {
        let whole = 180.0 - included.get();
        let thickness = placed.chain.thickness();
        let poses = (1..=STATIONS).filter_map(|station| {
            let reached = whole * f64::from(station) / f64::from(STATIONS);
            let included = Degrees::of(180.0 - reached);
            pose(&placed.chain, &placed.state, placed.at, included, v).ok()
        });
        StrokeView {
            poses: poses.collect(),
            spared_mm: v.mm() / std::f64::consts::SQRT_2 + 2.0 * thickness.mm(),
            gauge: gauge_edge(&placed.chain, &placed.state, placed.at, Facing::AsDrawn).ok(),
            placed,
        }
    }
}

/// Nearer than this is the same height.
const SAME_MM: f64 = 0.001;

impl StrokeView {
    /// How high R must stand for the stop to meet the part before the stroke; docs/rules.md
    /// section 2c. `None` when there is nothing for it to meet.
    #[must_use]
    pub fn gauge_r(&self, stop_height: Length) -> Option<Length> {
        let view = self.gauge.filter(|view| view.x_mm > 0.0)?;
        let (low, high) = (view.face_low_mm, view.face_high_mm);
        let most = (high - low).min(self.placed.chain.thickness().mm());
        if stop_height.mm().min(high) - low.max(0.0) >= most - SAME_MM {
            return Some(Length::ZERO);
        }
        Some(Length::from_mm(if low > 0.0 { low } else { high - most }))
    }
}

impl Stroke {
    fn new(
        part: (&Job<'_>, &[Hit]),
        section: &CrossSection,
        hit: usize,
        v: Length,
        radius_of: &dyn Fn(usize) -> Length,
    ) -> Option<Stroke> {
        Some(Stroke {
            view: StrokeView::of(part, section, hit, v, radius_of)?,
            reaches: FxHashMap::default(),
        })
    }

    /// Where the sheet is on its way.
    pub(crate) fn view(&self) -> &StrokeView {
        &self.view
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
            reach(
                &self.view.poses,
                &outline,
                follows,
                self.view.spared_mm,
                floor_mm,
            )
        });
        self.reaches.insert(tool, depth);
        depth
    }
}

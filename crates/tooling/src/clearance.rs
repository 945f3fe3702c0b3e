//! The part as bent so far against punch, die, ram and bed; docs/rules.md section 2b.

use crate::engineer::{Job, Miss};
use crate::hits::Hit;
use bending::developed;
use model::{BendKind, Brake, Die, Direction, Edge, Limit, Part, Punch};
use shape::{Chain, Fold, FoldState, Outline, Point, ToolSection, beyond, pose};
use units::{Degrees, Length};

/// Stations of the stroke that are looked at.
const STATIONS: u32 = 8;
/// How far ram and bed reach beyond the tools.
const BEAM_MM: f64 = 300.0;

/// One cross section of a part: the bends whose lines run the same way.
#[derive(Clone, Debug)]
pub(crate) struct CrossSection {
    /// Hit indices from the first edge on.
    hits: Vec<usize>,
    /// Their lines.
    lines: Vec<Length>,
    /// Blank size across the lines.
    extent: Length,
    /// Edge from which the lines are measured.
    first: Edge,
}

/// Which way round the punch may stand, as far as a hit is concerned.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Ways {
    /// As drawn.
    pub(crate) plain: bool,
    /// Turned about.
    pub(crate) turned: bool,
}

impl CrossSection {
    /// The cross sections that are known.
    pub(crate) fn of_part(part: &Part, hits: &[Hit]) -> Vec<CrossSection> {
        let family = |first: Edge, second: Edge, extent: Length| -> Option<CrossSection> {
            let mut found = Vec::new();
            for (index, hit) in hits.iter().enumerate() {
                let bend = &part.bends[hit.bend];
                if bend.edge == first || bend.edge == second {
                    if bend.kind != BendKind::Air {
                        return None;
                    }
                    found.push((bend.line?, index));
                }
            }
            found.sort_unstable();
            (!found.is_empty()).then(|| CrossSection {
                lines: found.iter().map(|(line, _)| *line).collect(),
                hits: found.into_iter().map(|(_, hit)| hit).collect(),
                extent,
                first,
            })
        };
        [
            family(Edge::A, Edge::B, part.blank.1),
            family(Edge::C, Edge::D, part.blank.0),
        ]
        .into_iter()
        .flatten()
        .collect()
    }

    pub(crate) fn has(&self, hit: usize) -> bool {
        self.hits.contains(&hit)
    }

    /// The section as flats and folds, with the inside radius of each hit; `None` when the lines
    /// are so close that a flat would be negative.
    pub(crate) fn chain(
        &self,
        job: &Job<'_>,
        hits: &[Hit],
        radius_of: &dyn Fn(usize) -> Length,
    ) -> Option<Chain> {
        let mut flats = Vec::with_capacity(self.hits.len() + 1);
        let mut folds = Vec::with_capacity(self.hits.len());
        let mut from = 0.0;
        for (&hit, line) in self.hits.iter().zip(&self.lines) {
            let bend = &job.part.bends[hits[hit].bend];
            let radius = radius_of(hit);
            let half = strip_mm(job, bend.angle, radius) / 2.0;
            flats.push(Length::from_mm(line.mm() - half - from));
            from = line.mm() + half;
            folds.push(Fold {
                included: bend.angle,
                inside_radius: radius,
                up: bend.direction == Direction::Up,
            });
        }
        flats.push(Length::from_mm(self.extent.mm() - from));
        Chain::new(job.part.thickness, flats, folds).ok()
    }

    /// Whether a hit clears the tools, either way round.
    ///
    /// # Errors
    /// A collision that happens both ways round, with the lesser depth.
    pub(crate) fn clear(
        &self,
        job: &Job<'_>,
        hits: &[Hit],
        chain: &Chain,
        hit: usize,
        punch: &Punch,
        die: &Die,
    ) -> Result<Ways, Miss> {
        let allowance = job.shop.rules.touch_allowance.mm();
        let Some(tools) = tool_section(job.brake, punch, die) else {
            return Ok(Ways {
                plain: true,
                turned: true,
            });
        };
        let straight = punch.relief <= Length::ZERO;
        let plain = self.deepest(job, hits, chain, hit, die.v, &tools);
        let turned = if straight {
            plain
        } else {
            let about = ToolSection {
                punch: tools.punch.mirrored_x(),
                ..tools
            };
            self.deepest(job, hits, chain, hit, die.v, &about)
        };
        let ways = Ways {
            plain: plain <= allowance,
            turned: turned <= allowance,
        };
        if ways.plain || ways.turned {
            return Ok(ways);
        }
        let (passed, limit, unit) = (9, Limit::Collision, "mm");
        Err(Miss {
            passed,
            limit,
            needed: plain.min(turned),
            available: allowance,
            unit,
        })
    }

    /// How deep the sheet reaches into the tools at most over the stations of the stroke, in mm.
    fn deepest(
        &self,
        job: &Job<'_>,
        hits: &[Hit],
        chain: &Chain,
        hit: usize,
        v: Length,
        tools: &ToolSection,
    ) -> f64 {
        let bend = &job.part.bends[hits[hit].bend];
        let Some(mut at) = self.hits.iter().position(|&other| other == hit) else {
            return 0.0;
        };
        let made = |&other: &usize| {
            if other < hit {
                FoldState::Made
            } else {
                FoldState::Flat
            }
        };
        let mut state: Vec<FoldState> = self.hits.iter().map(made).collect();
        // The chain runs from the first edge; the gauge is at its end.
        let reversed;
        let chain = if bend.edge == self.first {
            state.reverse();
            at = self.hits.len() - 1 - at;
            reversed = chain.reversed();
            &reversed
        } else {
            chain
        };
        let spared = v.mm() / std::f64::consts::SQRT_2 + 2.0 * job.part.thickness.mm();
        let whole = 180.0 - bend.angle.get();
        (1..=STATIONS)
            .filter_map(|station| {
                let reached = whole * f64::from(station) / f64::from(STATIONS);
                pose(chain, &state, at, Degrees::of(180.0 - reached), v).ok()
            })
            .map(|pose| beyond(&pose, tools, (Point::new(0.0, 0.0), spared)))
            .fold(0.0, f64::max)
    }
}

/// Developed length of a fold.
fn strip_mm(job: &Job<'_>, included: Degrees, radius: Length) -> f64 {
    let bend_angle = Degrees::of(180.0 - included.get());
    let k = job
        .shop
        .rules
        .k_factor
        .unwrap_or_else(|| developed::din_k(radius, job.part.thickness).max(0.0) / 2.0);
    developed::bend_allowance(bend_angle, radius, job.part.thickness, k)
}

/// The tools in section, by the outlines of the rules.
pub(crate) fn tool_section(brake: &Brake, punch: &Punch, die: &Die) -> Option<ToolSection> {
    let ram = block(
        brake.ram_thickness,
        punch.height.mm(),
        punch.height.mm() + BEAM_MM,
    )?;
    let depth = die.height.mm();
    let bed = block(brake.bed_thickness, -depth - BEAM_MM, -depth)?;
    Some(ToolSection {
        punch: punch_outline(punch)?,
        die: die_outline(die)?,
        ram,
        bed,
        gauge: None,
        opening: die.v,
        tip_radius: punch.tip_radius,
    })
}

fn block(width: Length, low: f64, high: f64) -> Option<Outline> {
    let half = width.mm() / 2.0;
    outline(&[(-half, low), (half, low), (half, high), (-half, high)])
}

fn punch_outline(punch: &Punch) -> Option<Outline> {
    let (half, height) = (punch.body.mm() / 2.0, punch.height.mm());
    let (relief, closing) = (punch.relief.mm(), punch.relief_height.mm());
    if relief > 0.0 {
        return outline(&[
            (0.0, 0.0),
            (relief + half, closing / 2.0),
            (half, closing),
            (half, height),
            (-half, height),
            (-half, closing),
            (relief, closing / 2.0),
        ]);
    }
    let slope = (punch.angle.get() / 2.0).to_radians().tan();
    let corner = half / slope;
    if corner >= height {
        return outline(&[
            (0.0, 0.0),
            (height * slope, height),
            (-height * slope, height),
        ]);
    }
    outline(&[
        (0.0, 0.0),
        (half, corner),
        (half, height),
        (-half, height),
        (-half, corner),
    ])
}

fn die_outline(die: &Die) -> Option<Outline> {
    let (half, depth, v) = (die.width.mm() / 2.0, die.height.mm(), die.v.mm() / 2.0);
    let apex = v / (die.angle.get() / 2.0).to_radians().tan();
    outline(&[
        (-half, 0.0),
        (-half, -depth),
        (half, -depth),
        (half, 0.0),
        (v, 0.0),
        (0.0, -apex.min(depth - 1.0)),
        (-v, 0.0),
    ])
}

fn outline(corners: &[(f64, f64)]) -> Option<Outline> {
    Outline::new(corners.iter().map(|&(x, y)| Point::new(x, y)).collect()).ok()
}

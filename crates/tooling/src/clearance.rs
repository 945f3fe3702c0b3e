//! The cross sections of a part that are known, and which way round a punch may stand;
//! docs/rules.md section 2b.

use crate::engineer::Job;
use crate::hits::Hit;
use bending::developed;
use model::{BendKind, Direction, Edge, Part, Punch};
use shape::{Chain, Fold, FoldState};
use units::{Degrees, Length};

/// One cross section of a part: the bends whose lines run the same way.
#[derive(Clone, Debug)]
pub struct CrossSection {
    /// Hit indices from the first edge on.
    hits: Vec<usize>,
    /// Their lines.
    lines: Vec<Length>,
    /// Blank size across the lines.
    extent: Length,
    /// Edge from which the lines are measured.
    first: Edge,
}

/// A cross section with the gauge at the end of its chain, before a fold is made.
#[derive(Clone, Debug)]
pub struct Placed {
    /// The section, the edge against the stop last.
    pub chain: Chain,
    /// Which of its folds are made.
    pub state: Vec<FoldState>,
    /// The fold made now.
    pub at: usize,
}

/// Which way round a punch may stand. A straight punch stands one way only.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Ways {
    /// As drawn: its relief, if it has one, toward the operator.
    pub plain: bool,
    /// Turned about: its relief toward the gauge.
    pub reversed: bool,
}

impl Ways {
    /// The ways in which a punch may stand at all.
    #[must_use]
    pub fn of(punch: &Punch) -> Ways {
        Ways {
            plain: true,
            reversed: punch.relief > Length::ZERO,
        }
    }

    /// The ways that are in both.
    #[must_use]
    pub fn and(self, other: Ways) -> Ways {
        Ways {
            plain: self.plain && other.plain,
            reversed: self.reversed && other.reversed,
        }
    }

    /// Whether there is a way.
    #[must_use]
    pub fn any(self) -> bool {
        self.plain || self.reversed
    }

    /// Whether a station that stands so will do.
    #[must_use]
    pub fn allow(self, reversed: bool) -> bool {
        if reversed { self.reversed } else { self.plain }
    }
}

impl CrossSection {
    /// The cross sections that are known.
    #[must_use]
    pub fn of_part(part: &Part, hits: &[Hit]) -> Vec<CrossSection> {
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

    /// Its hits from the first edge on.
    #[must_use]
    pub fn hits(&self) -> &[usize] {
        &self.hits
    }

    /// Blank size across its bend lines.
    #[must_use]
    pub fn extent(&self) -> Length {
        self.extent
    }

    /// The edge from which its bend lines are measured.
    #[must_use]
    pub fn first(&self) -> Edge {
        self.first
    }

    /// Whether a hit belongs to it.
    #[must_use]
    pub fn has(&self, hit: usize) -> bool {
        self.hits.contains(&hit)
    }

    /// The section as flats and folds, with the inside radius of each hit; `None` when the lines
    /// are so close that a flat would be negative.
    #[must_use]
    pub fn chain(
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

    /// The section as it lies in the brake before a hit: bent by the hits before it, the edge that
    /// meets the gauge at the back.
    #[must_use]
    pub fn placed(
        &self,
        job: &Job<'_>,
        hits: &[Hit],
        hit: usize,
        radius_of: &dyn Fn(usize) -> Length,
    ) -> Option<Placed> {
        let mut chain = self.chain(job, hits, radius_of)?;
        let mut at = self.hits.iter().position(|&other| other == hit)?;
        let made = |&other: &usize| {
            if other < hit {
                FoldState::Made
            } else {
                FoldState::Flat
            }
        };
        let mut state: Vec<FoldState> = self.hits.iter().map(made).collect();
        // The chain runs from the first edge; the gauge is at its end.
        if job.part.bends[hits[hit].bend].edge == self.first {
            state.reverse();
            at = self.hits.len() - 1 - at;
            chain = chain.reversed();
        }
        Some(Placed { chain, state, at })
    }
}

/// Developed length of a fold in mm, by the shop's K-factor or DIN 6935; docs/rules.md section 2b.
#[must_use]
pub fn strip_mm(job: &Job<'_>, included: Degrees, radius: Length) -> f64 {
    let bend_angle = Degrees::of(180.0 - included.get());
    let k = job
        .shop
        .rules
        .k_factor
        .unwrap_or_else(|| developed::din_k(radius, job.part.thickness).max(0.0) / 2.0);
    developed::bend_allowance(bend_angle, radius, job.part.thickness, k)
}

//! The blank along each known cross section: flats and bend strips.

use crate::lines::stop_mm;
use crate::part::Case;
use model::Edge;
use tooling::{BendWork, CrossSection};
use units::Length;

/// The blank along one cross section.
#[derive(Clone, Debug, PartialEq)]
pub struct FlatSection {
    /// The edge it begins at.
    pub first: Edge,
    /// Flats and bend strips from that edge on.
    pub pieces: Vec<FlatPiece>,
    /// Their sum, in mm.
    pub sum_mm: f64,
    /// The blank's size across the bend lines.
    pub blank: Length,
    /// Deductions of the section's bends, in mm, summed.
    pub deductions_mm: f64,
    /// Outside measures of the finished legs, vertex to vertex, summed, in mm; `None` where a bend
    /// has no outer vertex.
    pub outside_mm: Option<f64>,
    /// The legs as entered beside the legs that the bend lines give.
    pub legs: Vec<LegCheck>,
}

/// One piece of the blank.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum FlatPiece {
    /// Straight.
    Flat {
        /// Its length in mm.
        mm: f64,
    },
    /// The strip that a bend takes.
    Strip {
        /// Bend number.
        bend: u8,
        /// Developed length of the bend in mm.
        mm: f64,
        /// Its deduction in mm.
        deduction_mm: f64,
    },
}

/// A leg as entered and as the bend lines give it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LegCheck {
    /// Bend number.
    pub bend: u8,
    /// As entered.
    pub entered: Length,
    /// From the bend line, the part as bent so far and the deduction, in mm.
    pub by_lines_mm: f64,
}

impl FlatPiece {
    /// Its length in mm.
    #[must_use]
    pub fn mm(&self) -> f64 {
        match self {
            FlatPiece::Flat { mm } | FlatPiece::Strip { mm, .. } => *mm,
        }
    }
}

/// The blank along every known section, with the radii and deductions of a setup. A section whose
/// bend lines are closer than its bends is left out; it is refused anyway.
pub(crate) fn flat_sections(case: &Case<'_, '_>, works: &[BendWork]) -> Vec<FlatSection> {
    let sections = case.sections.iter();
    sections
        .filter_map(|section| flat_section(case, section, works))
        .collect()
}

fn flat_section(
    case: &Case<'_, '_>,
    section: &CrossSection,
    works: &[BendWork],
) -> Option<FlatSection> {
    let radius = |hit: usize| works[hit].radius;
    let chain = section.chain(case.job, &case.hits, &radius)?;
    let bends = &case.job.part.bends;
    let t = case.job.part.thickness;
    let mut pieces = Vec::new();
    let (mut at_mm, mut deductions_mm, mut setbacks_mm) = (0.0, 0.0, 0.0);
    for (flat, &hit) in chain.flats().iter().zip(section.hits()) {
        let bend = &bends[case.hits[hit].bend];
        let work = &works[hit];
        let angle = units::Degrees::of(180.0 - bend.angle.get());
        let line = bend.line?;
        pieces.push(FlatPiece::Flat { mm: flat.mm() });
        at_mm += flat.mm();
        // The strip lies about the bend line.
        let mm = 2.0 * (line.mm() - at_mm);
        at_mm += mm;
        pieces.push(FlatPiece::Strip {
            bend: bend.number,
            mm,
            deduction_mm: work.deduction_mm,
        });
        deductions_mm += work.deduction_mm;
        setbacks_mm += 2.0 * bending::developed::outside_setback(angle, work.radius, t);
    }
    let last = chain.flats().last().map_or(0.0, |flat| flat.mm());
    pieces.push(FlatPiece::Flat { mm: last });
    let flats: f64 = chain.flats().iter().map(|flat| flat.mm()).sum();
    let outside = flats + setbacks_mm;
    Some(FlatSection {
        first: section.first(),
        sum_mm: pieces.iter().map(FlatPiece::mm).sum(),
        pieces,
        blank: section.extent(),
        deductions_mm,
        outside_mm: outside.is_finite().then_some(outside),
        legs: legs(case, section, works),
    })
}

fn legs(case: &Case<'_, '_>, section: &CrossSection, works: &[BendWork]) -> Vec<LegCheck> {
    let radius = |hit: usize| works[hit].radius;
    let check = |&hit: &usize| {
        let placed = section.placed(case.job, &case.hits, hit, &radius)?;
        let bend = &case.job.part.bends[case.hits[hit].bend];
        Some(LegCheck {
            bend: bend.number,
            entered: bend.leg,
            by_lines_mm: stop_mm(case.job, &placed)? + works[hit].deduction_mm / 2.0,
        })
    };
    let mut found: Vec<LegCheck> = section.hits().iter().filter_map(check).collect();
    found.sort_by_key(|leg| leg.bend);
    found
}

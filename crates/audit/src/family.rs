//! Bends that lie side by side on the blank, and the strip of flats and folds they make of it.

use crate::case::RunCase;
use crate::made::Made;
use crate::mechanics::allowance;
use model::{BendKind, Direction, Edge, Part};
use units::ProfileId;

/// Bends parallel to one another.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum Family {
    /// On edges A and B: they cut the blank's width, counted from edge A.
    Width,
    /// On edges C and D: they cut its length, counted from edge C.
    Length,
}

/// Both of them.
pub(crate) const FAMILIES: [Family; 2] = [Family::Width, Family::Length];

/// The family of bends on this edge.
pub(crate) fn family_of(edge: Edge) -> Family {
    match edge {
        Edge::A | Edge::B => Family::Width,
        Edge::C | Edge::D => Family::Length,
    }
}

/// Whether the edge that lines are counted from lies at the gauge for a bend on this edge.
pub(crate) fn zero_at_gauge(edge: Edge) -> bool {
    matches!(edge, Edge::A | Edge::C)
}

/// Whether the part's cross section is known there: every bend has a line and is an air bend, and
/// there is one.
pub(crate) fn is_known(part: &Part, family: Family) -> bool {
    let mut bends = part
        .bends
        .iter()
        .filter(|bend| family_of(bend.edge) == family)
        .peekable();
    bends.peek().is_some() && bends.all(|bend| bend.line.is_some() && bend.kind == BendKind::Air)
}

/// The hits of a family that are made in a V. Whatever else stands there is told by other rules.
pub(crate) fn hits_in<'r, 'a>(
    run: &'r RunCase<'a>,
    family: Family,
) -> impl Iterator<Item = &'r Made<'a>> {
    run.bends.iter().filter(move |made| {
        family_of(made.bend.edge) == family && !made.punch.flattening && !made.die.flattening
    })
}

/// Punch and die of every fold of a strip, on which its radii depend.
pub(crate) type Tools<'a> = Vec<(&'a ProfileId, &'a ProfileId)>;

/// One fold of the strip. Millimetres and radians.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Fold {
    /// Its bend's number.
    pub(crate) number: u8,
    /// Its bend's place in the part's order.
    pub(crate) order: usize,
    /// Middle of the fold on the flat blank.
    pub(crate) line: f64,
    /// Bend angle when finished.
    pub(crate) angle: f64,
    /// Inside radius.
    pub(crate) radius: f64,
    /// Developed length when finished.
    pub(crate) allowance: f64,
    pub(crate) direction: Direction,
}

/// The blank across one family's bends. Millimetres.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Strip {
    /// Flat size, from edge A or C to the edge across.
    pub(crate) size: f64,
    pub(crate) thickness: f64,
    /// The shop's own factor, as for deductions.
    pub(crate) k_factor: Option<f64>,
    /// By rising `line`.
    pub(crate) folds: Vec<Fold>,
}

impl Strip {
    /// The strip as this run's tools fold it, each bend over its own station's V; `None` when the
    /// section is not known or a bend has no station.
    pub(crate) fn of(run: &RunCase, family: Family, k_factor: Option<f64>) -> Option<Strip> {
        let part = run.part?;
        if !is_known(part, family) {
            return None;
        }
        let thickness = part.thickness.mm();
        let mut folds = Vec::new();
        for (order, bend) in part.bends.iter().enumerate() {
            if family_of(bend.edge) != family {
                continue;
            }
            let radius = run.made(bend.number, 1)?.stroke.natural_radius;
            let angle = (180.0 - bend.angle.get()).to_radians();
            folds.push(Fold {
                number: bend.number,
                order,
                line: bend.line?.mm(),
                angle,
                radius,
                allowance: allowance(angle, radius, thickness, k_factor),
                direction: bend.direction,
            });
        }
        folds.sort_by(|a, b| a.line.total_cmp(&b.line));
        Some(Strip {
            size: match family {
                Family::Width => part.blank.1.mm(),
                Family::Length => part.blank.0.mm(),
            },
            thickness,
            k_factor,
            folds,
        })
    }

    /// The tools of the run that fold it.
    pub(crate) fn tools<'a>(&self, run: &RunCase<'a>) -> Tools<'a> {
        let folds = self.folds.iter();
        let made = folds.filter_map(|fold| run.made(fold.number, 1));
        made.map(|made| (made.place.punch, made.place.die))
            .collect()
    }

    /// Place of a bend's fold.
    pub(crate) fn place(&self, bend: u8) -> Option<usize> {
        self.folds.iter().position(|fold| fold.number == bend)
    }

    /// The shortest flat between folds or to an edge, negative where they overlap.
    pub(crate) fn shortest_flat(&self) -> f64 {
        let mut from = 0.0;
        let mut shortest = f64::INFINITY;
        for fold in &self.folds {
            shortest = shortest.min(fold.line - fold.allowance / 2.0 - from);
            from = fold.line + fold.allowance / 2.0;
        }
        shortest.min(self.size - from)
    }
}

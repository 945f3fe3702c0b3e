//! Blanks laid out exactly, so that a part's cross section follows from its bend lines, and
//! deductions of the shop's own.

use crate::dice::Dice;
use crate::parts::Family;
use model::{Deduction, Edge, Material, Part};
use units::{Degrees, Length, MaterialId};

/// What a bent flange keeps beside the tools and below the ram when the base across from it is this
/// much longer than it.
const BESIDE_TOOLS: Length = Length::from_whole_mm(80);
/// The same beside the neck of a gooseneck that is turned about.
const BESIDE_NECK: Length = Length::from_whole_mm(110);

/// Deduction of a square bend by DIN 6935: both outside legs less the developed length.
fn square_deduction(radius: f64, thickness: f64) -> f64 {
    let k = (0.65 + 0.5 * (radius / thickness).log10()).clamp(0.0, 1.0);
    let angle = std::f64::consts::FRAC_PI_2;
    2.0 * (radius + thickness) - angle * (radius + k / 2.0 * thickness)
}

/// Gives a part of square bends its lines and the blank that they belong to. A part too short for
/// its developed width, or of a family whose section no tool of the shop is sure to clear, stays as
/// it is.
pub(crate) fn lay_out(
    part: &mut Part,
    family: Family,
    natural_radius: f64,
    dice: &mut Dice,
) -> bool {
    let deduction = Length::from_mm(square_deduction(natural_radius, part.thickness.mm()));
    let legs = |at: usize| part.bends.get(at).map_or(Length::ZERO, |bend| bend.leg);
    let length = part.bends.first().map_or(Length::ZERO, |bend| bend.length);
    let (first, last) = (legs(0), legs(part.bends.len() - 1));
    match family {
        Family::Angle => {
            let width = first + dice.mm(60, 160) - deduction;
            set(part, &[(0, first - deduction.half())], (length, width))
        }
        Family::Channel | Family::Zed => {
            let base = first.max(last) + BESIDE_TOOLS + dice.mm(0, 100);
            let width = first + base + last - deduction - deduction;
            let far = width - (last - deduction.half());
            set(
                part,
                &[(0, first - deduction.half()), (1, far)],
                (length, width),
            )
        }
        Family::Lipped => {
            let base = first + last + BESIDE_NECK + dice.mm(0, 100);
            let lip = first - deduction.half();
            let flange = first + last - deduction - deduction.half();
            let width = flange + flange + base - deduction;
            let lines = [(0, lip), (1, width - lip), (2, width - flange), (3, flange)];
            set(part, &lines, (length, width))
        }
        Family::Tray => {
            let sheets = part.thickness + part.thickness;
            let (along, across) = (legs_apart(part, Edge::A) + sheets, length);
            let leg = first - deduction.half();
            let blank = (
                along + leg + leg - deduction,
                across + leg + leg - deduction,
            );
            let roomy = along.min(across) >= first + BESIDE_TOOLS;
            let lines = [(0, leg), (1, blank.0 - leg), (2, leg), (3, blank.1 - leg)];
            roomy && set(part, &lines, blank)
        }
        _ => false,
    }
}

/// Length of the first bend on an edge.
fn legs_apart(part: &Part, edge: Edge) -> Length {
    let bend = part.bends.iter().find(|bend| bend.edge == edge);
    bend.map_or(Length::ZERO, |bend| bend.length)
}

/// Lines by bend, when the blank's longer side is the one along edges A and B.
fn set(part: &mut Part, lines: &[(usize, Length)], blank: (Length, Length)) -> bool {
    if blank.0 < blank.1 {
        return false;
    }
    part.blank = blank;
    for (at, line) in lines {
        part.bends[*at].line = Some(*line);
    }
    true
}

/// A few measured ones, a little off the formula: square bends of the first material.
pub(crate) fn own_deductions(materials: &[Material]) -> Vec<Deduction> {
    let measured = [(2.0, [10, 16, 20]), (3.0, [20, 25, 40])];
    let rows = |material: &Material| {
        let (id, share) = (material.id.clone(), material.radius_share_of_v);
        measured.into_iter().flat_map(move |(thickness, openings)| {
            let id = id.clone();
            openings
                .into_iter()
                .map(move |v| row(&id, share, thickness, v))
        })
    };
    materials.iter().take(1).flat_map(rows).collect()
}

fn row(material: &MaterialId, share: f64, thickness: f64, v: i64) -> Deduction {
    let v = Length::from_whole_mm(v);
    let deduction = square_deduction(share * v.mm(), thickness) + 0.1;
    Deduction {
        material: material.clone(),
        thickness: Length::from_mm(thickness),
        v,
        angle: Degrees::of(90.0),
        deduction: Length::from_mm((deduction * 20.0).round() / 20.0),
    }
}

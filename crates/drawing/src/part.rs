//! A part of a shop out of a flat pattern.

use crate::bends::{Flat, FlatBend};
use crate::codes::{NOT_SAID, Out, TOO_NEAR, mm};
use crate::order::{Turn, order, sides};
use bending::developed;
use model::{Approval, Bend, BendKind, Edge, Part};
use units::{Degrees, Finding, Length, MaterialId, PartId};

/// What a flat pattern does not say.
#[derive(Clone, Debug, PartialEq)]
pub struct Asked {
    /// Id of the part.
    pub id: PartId,
    /// What people call it.
    pub name: String,
    /// Material.
    pub material: MaterialId,
    /// Sheet thickness, above zero.
    pub thickness: Length,
    /// Included angle of bends whose layer says none, 1 to 179.9.
    pub angle: Option<Degrees>,
    /// Inside radius of bends whose layer says none, above zero.
    pub radius: Option<Length>,
    /// K-factor of deductions; DIN 6935 when `None`.
    pub k_factor: Option<f64>,
}

/// The part, and how it came about.
#[derive(Clone, Debug, PartialEq)]
pub struct Drawn {
    /// The part.
    pub part: Part,
    /// Deduction of each of its bends in millimetres.
    pub deductions_mm: Vec<f64>,
    /// What was assumed, in words.
    pub assumed: Vec<String>,
}

/// A bend's figures that hang on its angle and radius.
struct Figures {
    angle: Degrees,
    radius: Length,
    deduction_mm: f64,
    allowance_mm: f64,
}

/// Makes a part. Outside legs are worked out from the lines: on each side of a bend half of its
/// deduction is added, by the K-factor asked for or by DIN 6935 at the inside radius
/// (docs/engineering.md, Developed length).
///
/// # Errors
/// Findings when an angle or a radius is said nowhere, when bends leave nothing flat between them, or
/// when the thickness is not above zero.
pub fn part_from(file: &str, flat: &Flat, asked: &Asked) -> Result<Drawn, Vec<Finding>> {
    let mut out = Out::new(file);
    let drawn = make(flat, asked, &mut out);
    match drawn {
        Some(drawn) if out.is_empty() => Ok(drawn),
        _ => Err(out.finish()),
    }
}

fn make(flat: &Flat, asked: &Asked, out: &mut Out) -> Option<Drawn> {
    if asked.thickness <= Length::ZERO {
        let action = "say the thickness";
        out.add(NOT_SAID, (0, ""), "no thickness", "above zero", action);
        return None;
    }
    for bend in &flat.bends {
        figures(bend, asked, out);
    }
    if !out.is_empty() {
        return None;
    }
    refuse_too_near(flat, asked, out);
    if !out.is_empty() {
        return None;
    }
    let (turns, either) = order(&flat.bends, flat.blank);
    let mut bends: Vec<Bend> = Vec::new();
    let mut deductions_mm = Vec::new();
    for (place, turn) in turns.iter().enumerate() {
        let before = turns.get(..place).unwrap_or_default();
        let (bend, deduction) = one(turn, before, &bends, flat, asked, out)?;
        bends.push(bend);
        deductions_mm.push(deduction);
    }
    let assumed = assumed(flat, asked, &bends, either);
    let part = Part {
        id: asked.id.clone(),
        name: asked.name.clone(),
        material: asked.material.clone(),
        thickness: asked.thickness,
        blank: flat.blank,
        developed_for_v: None,
        length_tolerance: Length::from_nanometres(500_000),
        angle_tolerance: Degrees::of(1.0),
        crew: None,
        approval: Approval::Own,
        proven_only: false,
        grain: None,
        bends,
    };
    Some(Drawn {
        part,
        deductions_mm,
        assumed,
    })
}

fn figures(bend: &FlatBend, asked: &Asked, out: &mut Out) -> Option<Figures> {
    let place = (0, bend.layer.as_str());
    let said = bend.angle.map(Degrees::of).or(asked.angle);
    let angle = said.filter(|angle| (1.0..=179.9).contains(&angle.get()));
    let radius = bend.radius_mm.map(Length::from_mm).or(asked.radius);
    let radius = radius.filter(|radius| *radius > Length::ZERO);
    if angle.is_none() {
        let action = "say it with --angle, or as angle_deg of the layer";
        out.add(
            NOT_SAID,
            place,
            "no angle",
            "an included angle, 1 to 179.9°",
            action,
        );
    }
    if radius.is_none() {
        let action = "say it with --radius, or as radius_mm of the layer";
        out.add(
            NOT_SAID,
            place,
            "no inside radius",
            "a radius above zero",
            action,
        );
    }
    let (angle, radius) = (angle?, radius?);
    let bent = Degrees::of(180.0 - angle.get());
    let t = asked.thickness;
    let (deduction_mm, k) = match asked.k_factor {
        Some(k) => (developed::deduction(bent, radius, t, k), k),
        None => (
            developed::deduction_din(angle, radius, t),
            developed::din_k(radius, t).max(0.0) / 2.0,
        ),
    };
    Some(Figures {
        angle,
        radius,
        deduction_mm,
        allowance_mm: developed::bend_allowance(bent, radius, t, k),
    })
}

/// Each bend takes half of its allowance on either side of its line; something flat must be left.
fn refuse_too_near(flat: &Flat, asked: &Asked, out: &mut Out) {
    for (along, size) in [(true, flat.blank.1), (false, flat.blank.0)] {
        let mut used_mm = 0.0;
        let mut family: Vec<&FlatBend> = flat.bends.iter().filter(|b| b.along == along).collect();
        family.sort_by_key(|bend| bend.position);
        for bend in family {
            let Some(figures) = figures(bend, asked, out) else {
                return;
            };
            let half = figures.allowance_mm / 2.0;
            let flat_mm = bend.position.mm() - half - used_mm;
            let behind_mm = size.mm() - bend.position.mm() - half;
            if flat_mm <= 0.0 || behind_mm <= 0.0 {
                let found = format!(
                    "the bend at {} mm, which takes {} mm of sheet on either side",
                    mm(bend.position.mm()),
                    mm(half)
                );
                let expected = "something flat between a bend and the next, or the edge";
                let action = "check the lines, the radius and the thickness";
                out.add(TOO_NEAR, (0, &bend.layer), found, expected, action);
            }
            used_mm = bend.position.mm() + half;
        }
    }
}

fn one(
    turn: &Turn<'_>,
    before: &[Turn<'_>],
    made: &[Bend],
    flat: &Flat,
    asked: &Asked,
    out: &mut Out,
) -> Option<(Bend, f64)> {
    let Figures {
        angle,
        radius,
        deduction_mm,
        ..
    } = figures(turn.bend, asked, out)?;
    let leg = leg(turn, before, deduction_mm, flat, asked, out)?;
    let standing = made.iter().map(|bend| bend.leg).max();
    let (inside, side_return) = match sides(turn, before) {
        None => (None, Length::ZERO),
        Some((left, right)) => {
            let clear = clear(left, right, asked, out)?;
            let returns = [left, right].map(|side| side_return(side, before, made));
            (
                Some(clear),
                returns.into_iter().max().unwrap_or(Length::ZERO),
            )
        }
    };
    let (from, to) = turn.bend.span;
    let bend = Bend {
        number: u8::try_from(made.len() + 1).ok()?,
        angle,
        kind: BendKind::Air,
        length: to - from,
        line: Some(turn.bend.position),
        leg,
        direction: turn.bend.direction,
        edge: turn.edge,
        radius: Some(radius),
        inside,
        side_return,
        return_depth: Length::ZERO,
        lift: Length::ZERO,
        taper: Degrees::of(0.0),
        flange_height: standing.map_or(leg, |standing| standing.max(leg)),
    };
    Some((bend, deduction_mm))
}

/// From the edge, or the outer vertex of the last bend made on that side, to this one's outer vertex.
fn leg(
    turn: &Turn<'_>,
    before: &[Turn<'_>],
    deduction_mm: f64,
    flat: &Flat,
    asked: &Asked,
    out: &mut Out,
) -> Option<Length> {
    let line = turn.bend.position;
    let last = before.iter().rev().find(|other| other.edge == turn.edge);
    let flat_mm = match (last, turn.edge) {
        (Some(other), _) => {
            let outer = figures(other.bend, asked, out)?;
            (line - other.bend.position).abs().mm() + outer.deduction_mm / 2.0
        }
        (None, Edge::A | Edge::C) => line.mm(),
        (None, Edge::B) => (flat.blank.1 - line).mm(),
        (None, Edge::D) => (flat.blank.0 - line).mm(),
    };
    Some(thousandths(flat_mm + deduction_mm / 2.0))
}

/// Between the inside faces of two box sides: the distance of their outer vertices less two
/// thicknesses.
fn clear(left: &Turn<'_>, right: &Turn<'_>, asked: &Asked, out: &mut Out) -> Option<Length> {
    let one = figures(left.bend, asked, out)?;
    let other = figures(right.bend, asked, out)?;
    let between = (right.bend.position - left.bend.position).mm();
    let outside = between + f64::midpoint(one.deduction_mm, other.deduction_mm);
    let clear = outside - 2.0 * asked.thickness.mm();
    if clear <= 0.0 {
        let action = "check the lines and the thickness";
        let place = (0, left.bend.layer.as_str());
        out.add(
            TOO_NEAR,
            place,
            "box sides that touch",
            "room between them",
            action,
        );
        return None;
    }
    // Down to the hundredth: a punch must fit.
    Some(Length::from_nanometres(
        Length::from_mm(clear).nanometres() / 10_000 * 10_000,
    ))
}

/// How far an edge bent inward on a box side reaches in.
fn side_return(side: &Turn<'_>, before: &[Turn<'_>], made: &[Bend]) -> Length {
    let outer = before.iter().zip(made).filter(|(turn, _)| {
        turn.edge == side.edge
            && turn.bend.direction == side.bend.direction
            && match side.edge {
                Edge::A | Edge::C => turn.bend.position < side.bend.position,
                Edge::B | Edge::D => turn.bend.position > side.bend.position,
            }
    });
    outer
        .map(|(_, bend)| bend.leg)
        .max()
        .unwrap_or(Length::ZERO)
}

fn thousandths(mm: f64) -> Length {
    let nanometres = Length::from_mm(mm).nanometres();
    Length::from_nanometres((nanometres + 500) / 1_000 * 1_000)
}

fn assumed(flat: &Flat, asked: &Asked, bends: &[Bend], either: bool) -> Vec<String> {
    let mut assumed = flat.notes.clone();
    assumed.push(match asked.k_factor {
        Some(k) => format!("deductions by a K-factor of {k} at the inside radius"),
        None => "deductions by DIN 6935 at the inside radius".to_owned(),
    });
    if bends.len() > 1 {
        assumed.push(
            "the drawing says no order: one direction of the blank after the other, in each from \
             the edges inward; mend it in bends.csv if another clears better"
                .to_owned(),
        );
    }
    if either {
        assumed.push(
            "bends of each direction reach past flanges of the other: no order of whole \
             directions is good; order them by hand"
                .to_owned(),
        );
    }
    if bends.iter().any(|bend| bend.inside.is_some()) {
        assumed.push("box sides stand where bends of the first direction were made".to_owned());
    }
    assumed.push(
        "plain air bends; a bend's length is from its first metal to its last; angles within 1 \
         degree, lengths within 0.5 mm; the operator approves the first piece"
            .to_owned(),
    );
    assumed
}

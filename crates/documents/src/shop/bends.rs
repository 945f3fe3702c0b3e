//! bends.csv: the bends of each part.

use super::general::General;
use super::lines::{check_line, check_lines};
use super::parts::{FILE as PARTS, Parts};
use crate::codes::{
    BEND_BEYOND_BLANK, BEND_GAP, DUPLICATE_ID, NO_BENDS, NOT_FOR_THIS, NOT_USED, OUT_OF_RANGE,
    UNKNOWN_PART, VALUE_MISSING,
};
use crate::fields::Fields;
use crate::findings::{Findings, Problem};
use crate::table::{Column, Layout, Row, optional, read_table, required};
use crate::value::{Choice, Id, LengthIn, Number, Whole};
use model::{Bend, BendKind, Direction, Edge, Part};
use std::collections::{BTreeMap, BTreeSet};
use units::{Degrees, Length, PartId, Place};

pub(super) const FILE: &str = "bends.csv";

pub(super) const COLUMNS: &[Column] = &[
    required("part"),
    required("bend"),
    required("angle_deg"),
    required("length").length(),
    required("leg").length(),
    optional("direction"),
    optional("edge"),
    optional("radius").length(),
    optional("inside").length(),
    optional("side_return").length(),
    optional("return_depth").length(),
    optional("lift").length(),
    optional("taper_deg"),
    optional("flange_height").length(),
    optional("kind"),
    optional("gap").length(),
    optional("line").length(),
];
const DIRECTIONS: Choice<Direction> = Choice(&[("up", Direction::Up), ("down", Direction::Down)]);
const EDGES: Choice<Edge> = Choice(&[
    ("a", Edge::A),
    ("b", Edge::B),
    ("c", Edge::C),
    ("d", Edge::D),
]);
const KINDS: Choice<Kind> = Choice(&[
    ("air", Kind::Air),
    ("hem", Kind::Hem),
    ("stepped", Kind::Stepped),
]);
const SIZE: LengthIn = LengthIn::above_zero(30_000);
const DEPTH: LengthIn = LengthIn::from(0, 5_000);
/// Most bends of a part.
pub(super) const BEND_NUMBER: Whole = Whole {
    least: 1,
    most: 99,
    unit: "",
};

/// A kind's word; a hem's gap stands in a cell of its own.
#[derive(Clone, Copy)]
enum Kind {
    Air,
    Hem,
    Stepped,
}

/// Reads bends.csv into the parts and checks each part's numbering.
pub(super) fn read_bends(
    bytes: Option<&[u8]>,
    general: &General,
    parts: &mut Parts,
    out: &mut Findings,
) {
    let mut read: BTreeMap<PartId, Vec<(Bend, Place)>> = BTreeMap::new();
    let mut spoiled: BTreeSet<PartId> = BTreeSet::new();
    let layout = Layout {
        file: FILE,
        columns: COLUMNS,
        unit: general.unit,
    };
    let mut all_named = true;
    let whole = bytes.is_some_and(|bytes| {
        read_table(layout, bytes, out, |row| {
            let part = row.required("part", &Id(PartId::new));
            check_part(row, part.as_ref(), parts);
            let bend = read_bend(row);
            match (part, bend) {
                (Some(part), Some(bend)) => {
                    if let Some(part) = parts.get(&part) {
                        check_bend(row, &bend, part);
                        check_line(row, &bend, part);
                        check_steps(row, &bend, part, general);
                    }
                    read.entry(part)
                        .or_default()
                        .push((bend, row.place("bend")));
                }
                (Some(part), None) => {
                    spoiled.insert(part);
                }
                (None, _) => all_named = false,
            }
        })
    });
    for (part, mut bends) in read {
        bends.sort_by_key(|(bend, _)| bend.number);
        let complete = whole && all_named && !spoiled.contains(&part);
        if complete {
            check_numbers(&bends, out);
        }
        check_lines(&bends, complete, out);
        if let Some(part) = parts.get_mut(&part) {
            part.bends = bends.into_iter().map(|(bend, _)| bend).collect();
            // A bend that is there twice is reported; kept once, no list outgrows its numbers.
            part.bends.dedup_by_key(|bend| bend.number);
        }
    }
    if whole && all_named {
        report_parts_without(parts, &spoiled, out);
    }
}

fn check_part(row: &mut Row<'_, '_>, part: Option<&PartId>, parts: &Parts) {
    if let Some(problem) = part.and_then(|id| parts.ids.missing(id, UNKNOWN_PART, PARTS)) {
        row.report("part", problem);
    }
}

fn read_bend(row: &mut Row<'_, '_>) -> Option<Bend> {
    let number = row.required("bend", &BEND_NUMBER);
    let shape = read_shape(row);
    let length = row.required("length", &SIZE);
    let leg = row.required("leg", &SIZE);
    let direction = row.or("direction", &DIRECTIONS, Direction::Up);
    let edge = row.or("edge", &EDGES, Edge::A);
    let radius = row.optional("radius", &LengthIn::above_zero(1_000));
    let inside = row.optional("inside", &SIZE);
    let side_return = row.or("side_return", &DEPTH, Length::ZERO);
    let return_depth = row.or("return_depth", &DEPTH, Length::ZERO);
    let lift = row.or("lift", &LengthIn::from(-1_000, 1_000), Length::ZERO);
    let taper = row.or("taper_deg", &Number::from(0.0, 45.0, "degrees"), 0.0);
    let flange_height = row.optional("flange_height", &DEPTH);
    // Whether it lies on the blank is checked once the part is known.
    let line = row.optional("line", &LengthIn::from(0, 30_000));
    let (kind, angle) = shape?;
    check_radius(row, kind);
    let leg = leg?;
    Some(Bend {
        number: u8::try_from(number?).ok()?,
        angle,
        kind,
        length: length?,
        line,
        leg,
        direction,
        edge,
        radius,
        inside,
        side_return,
        return_depth,
        lift,
        taper: Degrees::of(taper),
        flange_height: flange_height.unwrap_or(leg),
    })
}

/// Kind, gap and angle. Of a kind that cannot be read the other two are not judged.
fn read_shape(row: &mut Row<'_, '_>) -> Option<(BendKind, Degrees)> {
    let kind = if row.has("kind") {
        row.optional("kind", &KINDS)?
    } else {
        Kind::Air
    };
    if matches!(kind, Kind::Hem) {
        // Beyond a hundred millimetres it is no hem but a return flange.
        let gap = row.or("gap", &LengthIn::from(0, 100), Length::ZERO);
        refuse_hem_angle(row);
        return Some((BendKind::Hem { gap }, Degrees::of(0.0)));
    }
    if row.has("gap") {
        let action = "empty the cell, or write hem as the kind";
        let problem = Problem::new(NOT_FOR_THIS, "a gap", "a gap of hems alone", action);
        row.report("gap", problem);
    }
    // A bend of 180 degrees is none, and one of 0 is a hem, which has its own kind.
    let angle = row.required("angle_deg", &Number::from(1.0, 179.9, "degrees"))?;
    let kind = match kind {
        Kind::Stepped => BendKind::Stepped,
        Kind::Air | Kind::Hem => BendKind::Air,
    };
    Some((kind, Degrees::of(angle)))
}

fn refuse_hem_angle(row: &mut Row<'_, '_>) {
    let angle = row.optional("angle_deg", &Number::from(0.0, 179.9, "degrees"));
    if let Some(angle) = angle.filter(|angle| *angle > 0.0) {
        let found = format!("{angle}° for a hem");
        let action = "empty the cell, or correct the kind";
        let problem = Problem::new(NOT_FOR_THIS, found, "0 or nothing for a hem", action);
        row.report("angle_deg", problem);
    }
}

fn check_radius(row: &mut Row<'_, '_>, kind: BendKind) {
    match kind {
        BendKind::Stepped if !row.has("radius") => {
            let action = "give the inside radius that the steps come near to";
            let expected = "the radius of a stepped bend";
            let problem = Problem::new(VALUE_MISSING, "nothing there", expected, action);
            row.report("radius", problem);
        }
        BendKind::Hem { .. } if row.has("radius") => {
            let action = "give the hem's gap instead";
            let expected = "a radius of other bends alone";
            let problem = Problem::new(NOT_USED, "a radius for a hem", expected, action);
            row.report("radius", problem);
        }
        BendKind::Air | BendKind::Hem { .. } | BendKind::Stepped => {}
    }
}

/// The angle of one step is worked out from how deep a facet cuts into the arc, which is less than
/// the arc's own radius.
fn check_steps(row: &mut Row<'_, '_>, bend: &Bend, part: &Part, general: &General) {
    let (BendKind::Stepped, Some(radius), Some(rules)) = (bend.kind, bend.radius, &general.rules)
    else {
        return;
    };
    if radius + part.thickness <= rules.step_depth {
        let found = format!("a radius of {radius} mm, {} mm thick", part.thickness);
        let expected = format!("more than the step_depth of {} mm", rules.step_depth);
        let action = "correct the radius, or step_depth in shop.toml";
        row.report(
            "radius",
            Problem::new(OUT_OF_RANGE, found, expected, action),
        );
    }
}

fn check_bend(row: &mut Row<'_, '_>, bend: &Bend, part: &Part) {
    let diagonal = part.blank.0.mm().hypot(part.blank.1.mm());
    if bend.length.mm() > diagonal * (1.0 + 1e-9) {
        let found = format!("{} mm", bend.length);
        let expected = format!("at most the blank's diagonal of {diagonal:.0} mm");
        let action = "check the bend's length and the blank's size";
        row.report(
            "length",
            Problem::new(BEND_BEYOND_BLANK, found, expected, action),
        );
    }
}

fn check_numbers(bends: &[(Bend, Place)], out: &mut Findings) {
    let mut before = 0;
    for (bend, place) in bends {
        let number = bend.number;
        if number == before {
            let found = format!("bend {number} is there twice");
            let action = "number the bends in the order in which they are made";
            let problem = Problem::new(DUPLICATE_ID, found, "each bend once", action);
            out.add(place.clone(), problem);
        } else if number > before + 1 {
            let found = format!("bend {number} after bend {before}");
            let expected = format!("bend {}", before + 1);
            let action = "number the bends 1, 2, 3 in the order in which they are made";
            out.add(
                place.clone(),
                Problem::new(BEND_GAP, found, expected, action),
            );
        }
        before = number;
    }
}

fn report_parts_without(parts: &Parts, spoiled: &BTreeSet<PartId>, out: &mut Findings) {
    let without = |part: &&Part| part.bends.is_empty() && !spoiled.contains(&part.id);
    for part in parts.list.iter().filter(without) {
        let Some(place) = parts.ids.place(&part.id) else {
            continue;
        };
        let found = format!("{} has no bends", part.id);
        let action = "add its bends, or take the part and its orders out";
        let problem = Problem::new(NO_BENDS, found, "at least one bend in bends.csv", action);
        out.add(place.clone(), problem);
    }
}

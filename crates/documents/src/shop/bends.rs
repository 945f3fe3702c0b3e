//! bends.csv: the bends of each part.

use super::general::General;
use super::parts::{FILE as PARTS, Parts};
use crate::codes::{BEND_BEYOND_BLANK, BEND_GAP, DUPLICATE_ID, NO_BENDS, UNKNOWN_PART};
use crate::fields::Fields;
use crate::findings::{Findings, Problem};
use crate::table::{Column, Layout, Row, optional, read_table, required};
use crate::value::{Choice, Id, LengthIn, Number, Whole};
use model::{Bend, Direction, Edge};
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
];
const DIRECTIONS: Choice<Direction> = Choice(&[("up", Direction::Up), ("down", Direction::Down)]);
const EDGES: Choice<Edge> = Choice(&[
    ("a", Edge::A),
    ("b", Edge::B),
    ("c", Edge::C),
    ("d", Edge::D),
]);
const SIZE: LengthIn = LengthIn::above_zero(30_000);
const DEPTH: LengthIn = LengthIn::from(0, 5_000);
/// Most bends of a part.
pub(super) const BEND_NUMBER: Whole = Whole {
    least: 1,
    most: 99,
    unit: "",
};

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
                    check_bend(row, &bend, &part, parts);
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
        if whole && all_named && !spoiled.contains(&part) {
            check_numbers(&bends, out);
        }
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
    // A bend of 180 degrees is none, and one of 0 is a hem, which takes other tools.
    let angle = row.required("angle_deg", &Number::from(1.0, 179.9, "degrees"));
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
    let leg = leg?;
    Some(Bend {
        number: u8::try_from(number?).ok()?,
        angle: Degrees::of(angle?),
        length: length?,
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

fn check_bend(row: &mut Row<'_, '_>, bend: &Bend, part: &PartId, parts: &Parts) {
    let Some(part) = parts.get(part) else { return };
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
    let without = |part: &&model::Part| part.bends.is_empty() && !spoiled.contains(&part.id);
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

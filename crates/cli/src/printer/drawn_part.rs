//! A part out of a flat pattern: blank, bends, and what was assumed.

use super::table::{Side, table, wrapped};
use super::{CAUTION, counted};
use drawing::{Drawn, Flat};
use model::{Bend, Direction, Edge};
use serde_json::{Value, json};
use std::fmt::Write as _;

/// For people.
pub(crate) fn as_text(flat: &Flat, drawn: &Drawn, width: usize) -> String {
    let part = &drawn.part;
    let mut out = format!(
        "{} {}: {} {} mm, blank {} x {} mm, {}, {}\n\n",
        part.id,
        part.name,
        part.material,
        part.thickness,
        part.blank.0,
        part.blank.1,
        counted(part.bends.len(), "bend", "bends"),
        counted(flat.holes, "cut-out", "cut-outs"),
    );
    let columns = [
        ("bend", Side::Right),
        ("edge", Side::Left),
        ("way", Side::Left),
        ("angle", Side::Right),
        ("radius", Side::Right),
        ("line", Side::Right),
        ("length", Side::Right),
        ("leg outside", Side::Right),
        ("deduction", Side::Right),
        ("between sides", Side::Right),
    ];
    let row = |(bend, deduction): (&Bend, &f64)| {
        vec![
            bend.number.to_string(),
            edge(bend.edge).to_uppercase(),
            way(bend.direction).to_owned(),
            format!("{}°", bend.angle.get()),
            bend.radius.map_or_else(String::new, |r| r.to_string()),
            bend.line.map_or_else(String::new, |l| l.to_string()),
            bend.length.to_string(),
            bend.leg.to_string(),
            format!("{deduction:.3}"),
            bend.inside.map_or_else(String::new, |i| i.to_string()),
        ]
    };
    let rows: Vec<Vec<String>> = part
        .bends
        .iter()
        .zip(&drawn.deductions_mm)
        .map(row)
        .collect();
    out.push_str(&table(&columns, &rows, width));
    out.push_str("\nLengths in mm; lines from edge A or C. Assumed:\n");
    for line in &drawn.assumed {
        let _ = writeln!(out, "  - {}", wrapped(line, 4, width.saturating_sub(4)));
    }
    out.push('\n');
    out.push_str(CAUTION);
    out
}

/// For programs.
pub(crate) fn as_json(flat: &Flat, drawn: &Drawn) -> Value {
    let part = &drawn.part;
    let bend = |(bend, deduction): (&Bend, &f64)| {
        json!({
            "bend": bend.number,
            "edge": edge(bend.edge),
            "direction": way(bend.direction),
            "angle_deg": bend.angle.get(),
            "radius_mm": bend.radius.map(units::Length::mm),
            "line_mm": bend.line.map(units::Length::mm),
            "length_mm": bend.length.mm(),
            "leg_mm": bend.leg.mm(),
            "deduction_mm": deduction,
            "inside_mm": bend.inside.map(units::Length::mm),
            "side_return_mm": bend.side_return.mm(),
            "flange_height_mm": bend.flange_height.mm(),
        })
    };
    let lines = |line: &drawing::FlatBend| {
        json!({
            "along_longer_side": line.along,
            "position_mm": line.position.mm(),
            "from_mm": line.span.0.mm(),
            "to_mm": line.span.1.mm(),
            "metal_mm": line.metal.mm(),
            "pieces": line.pieces,
            "layer": line.layer,
        })
    };
    json!({
        "format": "brakewright.part/1",
        "part": part.id.to_string(),
        "name": part.name,
        "material": part.material.to_string(),
        "thickness_mm": part.thickness.mm(),
        "blank_length_mm": part.blank.0.mm(),
        "blank_width_mm": part.blank.1.mm(),
        "area_mm2": flat.area_mm2,
        "cut_outs": flat.holes,
        "bends": part.bends.iter().zip(&drawn.deductions_mm).map(bend).collect::<Vec<_>>(),
        "lines": flat.bends.iter().map(lines).collect::<Vec<_>>(),
        "assumed": drawn.assumed,
    })
}

fn edge(edge: Edge) -> &'static str {
    match edge {
        Edge::A => "a",
        Edge::B => "b",
        Edge::C => "c",
        Edge::D => "d",
    }
}

fn way(direction: Direction) -> &'static str {
    match direction {
        Direction::Up => "up",
        Direction::Down => "down",
    }
}

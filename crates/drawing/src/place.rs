//! From what the file holds to lines in millimetres, layer by layer, blocks put in their places.

use crate::codes::{
    BAD_BLOCK, NO_OUTLINE, NOT_FLAT, Out, TOO_MUCH, UNKNOWN_KIND, UNKNOWN_LAYER, shown,
};
use crate::entities::{Content, Entity, Shape};
use crate::flatten;
use crate::layers::{Layers, Use};
use crate::point::{Map, Point};
use std::collections::BTreeMap;

/// Chords keep within this of their arc, in millimetres.
const NEAR_MM: f64 = 0.001;
/// Blocks within blocks.
const DEPTH_MOST: u8 = 4;
/// Things put in their place.
const PLACED_MOST: usize = 200_000;
/// Corners of everything together.
const CORNERS_MOST: usize = 4_000_000;

/// A line of an outline: its corners in millimetres.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Stroke {
    pub(crate) points: Vec<Point>,
    /// The last corner is joined to the first.
    pub(crate) closed: bool,
    pub(crate) line: u64,
}

/// A straight piece of a bend line.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Piece {
    pub(crate) from: Point,
    pub(crate) to: Point,
    /// Which layer of bends.
    pub(crate) layer: usize,
    pub(crate) line: u64,
}

/// Everything that counts.
#[derive(Clone, Debug, Default)]
pub(crate) struct Lines {
    pub(crate) outline: Vec<Stroke>,
    pub(crate) bends: Vec<Piece>,
}

/// Puts everything in its place.
pub(crate) fn place(
    content: &Content,
    layers: &Layers,
    unit_mm: f64,
    notes: &mut Vec<String>,
    out: &mut Out,
) -> Option<Lines> {
    let mut placing = Placing {
        content,
        layers,
        lines: Lines::default(),
        unknown: BTreeMap::new(),
        ignored: BTreeMap::new(),
        words: 0,
        placed: 0,
        corners: 0,
        out,
    };
    let map = Map::scale(unit_mm);
    for entity in &content.entities {
        placing.entity(entity, &map, None, 0)?;
    }
    let Placing {
        lines,
        unknown,
        ignored,
        words,
        out,
        ..
    } = placing;
    for (layer, (count, line)) in &unknown {
        let found = format!("{} on the layer {}", counted(*count), shown(layer));
        let expected = "layers that the mapping names";
        let action = "name the layer in a mapping, among those to ignore if nothing on it counts";
        out.add(UNKNOWN_LAYER, (*line, layer), found, expected, action);
    }
    for (layer, count) in &ignored {
        notes.push(format!(
            "{} on the layer {} not read, as the mapping says",
            counted(*count),
            shown(layer)
        ));
    }
    if words > 0 {
        notes.push(format!("{words} texts, points and dimensions not read"));
    }
    if lines.outline.is_empty() && out.is_empty() {
        let found = "nothing there";
        let expected = "the outline of one part";
        let action = "name the outline's layer in a mapping";
        out.add(NO_OUTLINE, (0, ""), found, expected, action);
    }
    out.is_empty().then_some(lines)
}

fn counted(count: usize) -> String {
    match count {
        1 => "1 thing".to_owned(),
        many => format!("{many} things"),
    }
}

struct Placing<'a, 'o> {
    content: &'a Content,
    layers: &'a Layers,
    lines: Lines,
    unknown: BTreeMap<String, (usize, u64)>,
    ignored: BTreeMap<String, usize>,
    words: usize,
    placed: usize,
    corners: usize,
    out: &'o mut Out,
}

impl Placing<'_, '_> {
    /// One thing. `of` is the layer of the block's insertion, which things on layer 0 take. `None`
    /// when nothing more should be read.
    fn entity(&mut self, entity: &Entity, map: &Map, of: Option<&str>, depth: u8) -> Option<()> {
        self.placed += 1;
        if self.placed > PLACED_MOST {
            return self.too_much(entity.line, PLACED_MOST, "things");
        }
        let layer = match of {
            Some(layer) if entity.layer == "0" => layer,
            _ => entity.layer.as_str(),
        };
        let mirror = Map::insert(Point::default(), Point::default(), (-1.0, 1.0), 0.0);
        let mirrored = map.after(&mirror);
        let map = if entity.mirrored { &mirrored } else { map };
        if let Shape::Insert {
            block,
            at,
            scale,
            turn,
        } = &entity.shape
        {
            return self.insert(entity, layer, (block, map, *at, *scale, *turn), depth);
        }
        let layer_use = match self.layers.use_of(layer) {
            None => {
                let known = self.unknown.entry(layer.to_owned()).or_default();
                known.0 += 1;
                known.1 = if known.1 == 0 { entity.line } else { known.1 };
                return Some(());
            }
            Some(Use::Ignore) => {
                *self.ignored.entry(layer.to_owned()).or_default() += 1;
                return Some(());
            }
            Some(other) => other,
        };
        if entity.shape == Shape::Note {
            self.words += 1;
            return Some(());
        }
        if entity.out_of_plane {
            let action = "lay the flat pattern into the plane z = 0";
            let place = (entity.line, layer);
            self.out.add(
                NOT_FLAT,
                place,
                "a height or a slant",
                "a flat pattern",
                action,
            );
            return Some(());
        }
        match layer_use {
            Use::Bend(at) => self.bend(entity, layer, at, map),
            _ => self.outline(entity, layer, map),
        }
    }

    fn too_much(&mut self, line: u64, most: usize, what: &str) -> Option<()> {
        let found = format!("more than {most} {what}");
        let action = "leave out what is not the flat pattern";
        self.out.add(TOO_MUCH, (line, ""), found, "less", action);
        None
    }

    fn insert(
        &mut self,
        entity: &Entity,
        layer: &str,
        (name, map, at, scale, turn): (&String, &Map, Point, (f64, f64), f64),
        depth: u8,
    ) -> Option<()> {
        let mut refuse = |found: String, expected: &str| {
            let action = "resolve the blocks of the drawing, then save it again";
            self.out
                .add(BAD_BLOCK, (entity.line, layer), found, expected, action);
        };
        if depth >= DEPTH_MOST {
            refuse(
                format!("the block {} within {DEPTH_MOST} others", shown(name)),
                "blocks that do not hold themselves, four deep at most",
            );
            return None;
        }
        let Some(block) = self.content.blocks.get(name) else {
            refuse(
                format!("the block {}, which is not there", shown(name)),
                "a block of the file",
            );
            return Some(());
        };
        let inner = map.after(&Map::insert(block.base, at, scale, turn));
        if inner.area() < 1e-9 || inner.growth() > 1e7 || entity.out_of_plane {
            refuse(
                format!(
                    "the block {} scaled to nothing, to no end or aslant",
                    shown(name)
                ),
                "a block in the plane at a usual scale",
            );
            return Some(());
        }
        for inside in &block.entities {
            self.entity(inside, &inner, Some(layer), depth + 1)?;
        }
        Some(())
    }

    fn outline(&mut self, entity: &Entity, layer: &str, map: &Map) -> Option<()> {
        // Chords are made before the map; what it enlarges must be the finer.
        let near = NEAR_MM / map.growth().max(1e-9);
        let (points, closed) = match &entity.shape {
            Shape::Line(from, to) => (vec![*from, *to], false),
            Shape::Arc {
                centre,
                radius,
                from,
                to,
            } => (
                flatten::arc_degrees(*centre, *radius, *from, *to, near),
                false,
            ),
            Shape::Circle { centre, radius } => {
                let mut points = flatten::arc_degrees(*centre, *radius, 0.0, 360.0, near);
                points.pop();
                (points, true)
            }
            Shape::Ellipse {
                centre,
                axis,
                ratio,
                from,
                to,
            } => {
                let points = flatten::ellipse(*centre, *axis, *ratio, (*from, *to), near);
                (points, false)
            }
            Shape::Corners { corners, closed } => {
                // Every bulge may become thousands of chords; count before making them.
                if self.corners + corners.len() > CORNERS_MOST {
                    return self.too_much(entity.line, CORNERS_MOST, "corners");
                }
                (
                    self.corners_of(corners, *closed, near, entity.line)?,
                    *closed,
                )
            }
            Shape::Other(kind) => {
                self.unknown_kind(
                    entity.line,
                    layer,
                    kind,
                    "lines, arcs, circles, ellipses and polylines",
                );
                return Some(());
            }
            Shape::Insert { .. } | Shape::Note => return Some(()),
        };
        self.corners += points.len();
        if self.corners > CORNERS_MOST {
            return self.too_much(entity.line, CORNERS_MOST, "corners");
        }
        self.lines.outline.push(Stroke {
            points: points.into_iter().map(|point| map.of(point)).collect(),
            closed,
            line: entity.line,
        });
        Some(())
    }

    fn corners_of(
        &mut self,
        corners: &[(Point, f64)],
        closed: bool,
        near: f64,
        line: u64,
    ) -> Option<Vec<Point>> {
        let mut points: Vec<Point> = corners
            .first()
            .map(|(first, _)| *first)
            .into_iter()
            .collect();
        let next = corners
            .iter()
            .skip(1)
            .chain(corners.first().filter(|_| closed));
        for ((from, bulge), (to, _)) in corners.iter().zip(next) {
            points.extend(flatten::bulged(*from, *to, *bulge, near));
            if self.corners + points.len() > CORNERS_MOST {
                self.too_much(line, CORNERS_MOST, "corners")?;
            }
        }
        if closed && points.len() > 1 {
            // The first corner again.
            points.pop();
        }
        Some(points)
    }

    fn bend(&mut self, entity: &Entity, layer: &str, at: usize, map: &Map) -> Option<()> {
        let mut pieces: Vec<(Point, Point)> = Vec::new();
        match &entity.shape {
            Shape::Line(from, to) => pieces.push((*from, *to)),
            Shape::Corners { corners, closed } => {
                let next = corners
                    .iter()
                    .skip(1)
                    .chain(corners.first().filter(|_| *closed));
                for ((from, bulge), (to, _)) in corners.iter().zip(next) {
                    if bulge.abs() > 1e-9 {
                        self.unknown_kind(entity.line, layer, "an arc", "straight bend lines");
                        return Some(());
                    }
                    pieces.push((*from, *to));
                }
            }
            Shape::Arc { .. } | Shape::Circle { .. } | Shape::Ellipse { .. } => {
                self.unknown_kind(entity.line, layer, "an arc", "straight bend lines");
            }
            Shape::Other(kind) => {
                self.unknown_kind(entity.line, layer, kind, "straight bend lines")
            }
            Shape::Insert { .. } | Shape::Note => {}
        }
        for (from, to) in pieces {
            self.lines.bends.push(Piece {
                from: map.of(from),
                to: map.of(to),
                layer: at,
                line: entity.line,
            });
        }
        Some(())
    }

    fn unknown_kind(&mut self, line: u64, layer: &str, kind: &str, expected: &str) {
        let action = "draw it with these, or put it on a layer that is ignored";
        self.out
            .add(UNKNOWN_KIND, (line, layer), shown(kind), expected, action);
    }
}

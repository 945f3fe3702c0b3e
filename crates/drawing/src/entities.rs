//! What is drawn: lines, arcs and the like of the drawing and of its blocks, as the file has them.

use crate::codes::{BAD_BLOCK, BAD_NUMBER, NO_END, NO_GROUPS, Out, TOO_MUCH, shown};
use crate::groups::{Group, Groups};
use crate::point::Point;
use std::collections::BTreeMap;

/// More things than this are not read.
const ENTITIES_MOST: usize = 200_000;
/// More groups than this are not read of one thing.
const GROUPS_MOST: usize = 1_000_000;
/// Coordinates beyond this are out of range, in units of the drawing.
const FARTHEST: f64 = 1e7;

/// A form, in units of the drawing.
#[derive(Clone, Debug, PartialEq)]
pub(crate) enum Shape {
    Line(Point, Point),
    /// Counterclockwise, angles in degrees.
    Arc {
        centre: Point,
        radius: f64,
        from: f64,
        to: f64,
    },
    Circle {
        centre: Point,
        radius: f64,
    },
    /// Corners, each with the bulge of the piece after it.
    Corners {
        corners: Vec<(Point, f64)>,
        closed: bool,
    },
    /// Centre, end of the longer axis from there, shorter over longer axis, parameters in radians.
    Ellipse {
        centre: Point,
        axis: Point,
        ratio: f64,
        from: f64,
        to: f64,
    },
    Insert {
        block: String,
        at: Point,
        scale: (f64, f64),
        turn: f64,
    },
    /// Words and measures.
    Note,
    /// Anything else, by its kind.
    Other(String),
}

/// One thing drawn.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Entity {
    pub(crate) layer: String,
    /// Where it begins in the file.
    pub(crate) line: u64,
    pub(crate) shape: Shape,
    /// It lies in its own coordinates, mirrored: x counts to the left.
    pub(crate) mirrored: bool,
    /// It leaves the plane of the drawing.
    pub(crate) out_of_plane: bool,
}

/// A block.
#[derive(Clone, Debug, Default)]
pub(crate) struct Block {
    pub(crate) base: Point,
    pub(crate) entities: Vec<Entity>,
}

/// The file's content.
#[derive(Clone, Debug, Default)]
pub(crate) struct Content {
    /// $INSUNITS.
    pub(crate) units: Option<i64>,
    pub(crate) blocks: BTreeMap<String, Block>,
    pub(crate) entities: Vec<Entity>,
}

/// Reads a whole file.
pub(crate) fn read(text: &str, out: &mut Out) -> Option<Content> {
    let mut reader = Reader {
        groups: Groups::of(text),
        ahead: None,
        count: 0,
    };
    let mut content = Content::default();
    loop {
        let Some(group) = reader.next(out) else {
            if !reader.groups.is_broken() || out.is_empty() {
                let line = reader.groups.line();
                let action = "the file is cut off; save or send it again";
                out.add(
                    NO_END,
                    (line, ""),
                    "the end of the file",
                    "EOF first",
                    action,
                );
            }
            return None;
        };
        match (group.code, group.value) {
            (0, "EOF") => return Some(content),
            (0, "SECTION") => reader.section(&mut content, out)?,
            _ => {
                let found = format!("\"{}\"", shown(group.value));
                let action = "give an ASCII DXF file, as it was saved";
                out.add(
                    NO_GROUPS,
                    (group.line, ""),
                    found,
                    "a section or EOF",
                    action,
                );
                return None;
            }
        }
    }
}

struct Reader<'a> {
    groups: Groups<'a>,
    ahead: Option<Group<'a>>,
    count: usize,
}

impl<'a> Reader<'a> {
    fn next(&mut self, out: &mut Out) -> Option<Group<'a>> {
        match self.ahead.take() {
            Some(group) => Some(group),
            None => self.groups.next(out),
        }
    }

    /// The groups up to the next of code 0.
    fn fields(&mut self, out: &mut Out) -> Option<Fields<'a>> {
        let mut groups = Vec::new();
        while let Some(group) = self.next(out) {
            if group.code == 0 {
                self.ahead = Some(group);
                return Some(Fields(groups));
            }
            if groups.len() >= GROUPS_MOST {
                too_much(group.line, "groups of one thing", GROUPS_MOST, out);
                return None;
            }
            groups.push(group);
        }
        if !self.groups.is_broken() || out.is_empty() {
            let line = self.groups.line();
            let action = "the file is cut off; save or send it again";
            out.add(
                NO_END,
                (line, ""),
                "the end of the file",
                "EOF first",
                action,
            );
        }
        None
    }

    fn section(&mut self, content: &mut Content, out: &mut Out) -> Option<()> {
        // The name comes first of all, before the first group of code 0.
        let head = self.fields(out)?;
        if head.text(2) == Some("HEADER") {
            content.units = head.header_number("$INSUNITS");
        }
        loop {
            let group = self.next(out)?;
            match group.value {
                "ENDSEC" => {
                    self.fields(out)?;
                    return Some(());
                }
                "EOF" => {
                    self.ahead = Some(group);
                    return Some(());
                }
                "BLOCK" if head.text(2) == Some("BLOCKS") => self.block(content, out)?,
                kind if head.text(2) == Some("ENTITIES") => {
                    if let Some(entity) = self.entity(kind, group.line, out)? {
                        content.entities.push(entity);
                    }
                }
                // Tables, classes, objects: nothing of them is needed.
                _ => {
                    self.fields(out)?;
                }
            }
        }
    }

    fn block(&mut self, content: &mut Content, out: &mut Out) -> Option<()> {
        let head = self.fields(out)?;
        let line = self.groups.line();
        let name = head.text(2).unwrap_or_default().to_uppercase();
        let mut block = Block {
            base: head.point_or_origin(line, out)?,
            entities: Vec::new(),
        };
        loop {
            let group = self.next(out)?;
            match group.value {
                "ENDBLK" => {
                    self.fields(out)?;
                    break;
                }
                "ENDSEC" | "EOF" => {
                    self.ahead = Some(group);
                    break;
                }
                kind => {
                    if let Some(entity) = self.entity(kind, group.line, out)? {
                        block.entities.push(entity);
                    }
                }
            }
        }
        if content.blocks.insert(name.clone(), block).is_some() {
            let found = format!("the block {} twice", shown(&name));
            let action = "save the drawing again";
            out.add(BAD_BLOCK, (line, ""), found, "each block once", action);
            return None;
        }
        Some(())
    }

    /// One thing; `Some(None)` for what lies on a sheet of paper or is no more than an end mark.
    fn entity(&mut self, kind: &str, line: u64, out: &mut Out) -> Option<Option<Entity>> {
        let fields = self.fields(out)?;
        self.count += 1;
        if self.count > ENTITIES_MOST {
            too_much(line, "things drawn", ENTITIES_MOST, out);
            return None;
        }
        let mut out_of_plane = fields.leaves_plane(line, out)?;
        let shape = match kind {
            "LINE" => Shape::Line(fields.point(10, line, out)?, fields.point(11, line, out)?),
            "ARC" => Shape::Arc {
                centre: fields.point(10, line, out)?,
                radius: fields.radius(line, out)?,
                from: fields.number(50, line, out)?,
                to: fields.number(51, line, out)?,
            },
            "CIRCLE" => Shape::Circle {
                centre: fields.point(10, line, out)?,
                radius: fields.radius(line, out)?,
            },
            "LWPOLYLINE" => Shape::Corners {
                corners: fields.corners(line, out)?,
                closed: fields.flags(line, out)? & 1 != 0,
            },
            "POLYLINE" => {
                let (shape, leaves) = self.polyline(&fields, line, out)?;
                out_of_plane |= leaves;
                shape
            }
            "ELLIPSE" => Shape::Ellipse {
                centre: fields.point(10, line, out)?,
                axis: fields.point(11, line, out)?,
                ratio: fields.number(40, line, out)?,
                from: fields.number(41, line, out)?,
                to: fields.number(42, line, out)?,
            },
            "INSERT" => self.insert(&fields, line, out)?,
            "TEXT" | "MTEXT" | "DIMENSION" | "LEADER" | "POINT" | "ATTDEF" | "ATTRIB" => {
                Shape::Note
            }
            "SEQEND" => return Some(None),
            other => Shape::Other(shown(other)),
        };
        if fields.text(67) == Some("1") {
            return Some(None);
        }
        let extrusion = fields.extrusion(line, out)?;
        // Lines and ellipses are given in the drawing's own coordinates whichever way they face.
        let own = matches!(shape, Shape::Line(..) | Shape::Ellipse { .. });
        Some(Some(Entity {
            layer: fields.text(8).map(plain).unwrap_or_default(),
            line,
            mirrored: extrusion == Facing::Back && !own,
            out_of_plane: out_of_plane || (extrusion == Facing::Aside && !own),
            shape,
        }))
    }

    /// A polyline of the older kind: its vertices follow as things of their own.
    fn polyline(&mut self, head: &Fields<'_>, line: u64, out: &mut Out) -> Option<(Shape, bool)> {
        let flags = head.flags(line, out)?;
        let mut corners = Vec::new();
        let mut leaves = false;
        loop {
            let group = self.next(out)?;
            if group.value != "VERTEX" {
                if group.value == "SEQEND" {
                    self.fields(out)?;
                } else {
                    self.ahead = Some(group);
                }
                break;
            }
            let vertex = self.fields(out)?;
            self.count += 1;
            if self.count > ENTITIES_MOST {
                too_much(group.line, "things drawn", ENTITIES_MOST, out);
                return None;
            }
            leaves |= vertex.leaves_plane(group.line, out)?;
            let bulge = vertex.number_or(42, 0.0, group.line, out)?;
            corners.push((vertex.point(10, group.line, out)?, bulge));
        }
        // Curves fitted through or by their corners, meshes.
        let fitted = flags & (2 | 4 | 16 | 64) != 0;
        if fitted {
            return Some((
                Shape::Other("POLYLINE of curves or faces".to_owned()),
                leaves,
            ));
        }
        let closed = flags & 1 != 0;
        Some((Shape::Corners { corners, closed }, leaves))
    }

    fn insert(&mut self, fields: &Fields<'_>, line: u64, out: &mut Out) -> Option<Shape> {
        let rows = fields.number_or(71, 1.0, line, out)?;
        let columns = fields.number_or(70, 1.0, line, out)?;
        if rows > 1.0 || columns > 1.0 {
            return Some(Shape::Other("INSERT in rows and columns".to_owned()));
        }
        Some(Shape::Insert {
            block: fields.text(2).unwrap_or_default().to_uppercase(),
            at: fields.point(10, line, out)?,
            scale: (
                fields.number_or(41, 1.0, line, out)?,
                fields.number_or(42, 1.0, line, out)?,
            ),
            turn: fields.number_or(50, 0.0, line, out)?,
        })
    }
}

fn too_much(line: u64, what: &str, most: usize, out: &mut Out) {
    let found = format!("more than {most} {what}");
    let action = "leave out what is not the flat pattern";
    out.add(TOO_MUCH, (line, ""), found, "less", action);
}

/// Letters written as `\U+00FC` are put back.
fn plain(name: &str) -> String {
    let mut plain = String::new();
    let mut rest = name;
    while let Some((before, after)) = rest.split_once("\\U+") {
        let digits = after.get(..4);
        let letter = digits
            .and_then(|digits| u32::from_str_radix(digits, 16).ok())
            .and_then(char::from_u32);
        plain.push_str(before);
        match letter {
            Some(letter) => {
                plain.push(letter);
                rest = after.get(4..).unwrap_or_default();
            }
            None => {
                plain.push_str("\\U+");
                rest = after;
            }
        }
    }
    plain.push_str(rest);
    plain
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Facing {
    Front,
    Back,
    Aside,
}

/// The groups of one thing.
struct Fields<'a>(Vec<Group<'a>>);

impl<'a> Fields<'a> {
    fn text(&self, code: i32) -> Option<&'a str> {
        let group = self.0.iter().find(|group| group.code == code)?;
        Some(group.value)
    }

    /// The whole number that follows a variable of the header.
    fn header_number(&self, name: &str) -> Option<i64> {
        let at = self
            .0
            .iter()
            .position(|group| group.code == 9 && group.value == name)?;
        self.0.get(at + 1)?.value.parse().ok()
    }

    fn number_or(&self, code: i32, usual: f64, line: u64, out: &mut Out) -> Option<f64> {
        match self.0.iter().find(|group| group.code == code) {
            None => Some(usual),
            Some(group) => value(group, line, out),
        }
    }

    fn number(&self, code: i32, line: u64, out: &mut Out) -> Option<f64> {
        let number = self.number_or(code, f64::NAN, line, out)?;
        if number.is_nan() {
            let found = format!("no group {code}");
            let action = "save the drawing again";
            out.add(BAD_NUMBER, (line, ""), found, "a number", action);
            return None;
        }
        Some(number)
    }

    fn point(&self, code: i32, line: u64, out: &mut Out) -> Option<Point> {
        let x = self.number(code, line, out)?;
        Some(Point::new(x, self.number(code + 10, line, out)?))
    }

    fn point_or_origin(&self, line: u64, out: &mut Out) -> Option<Point> {
        let x = self.number_or(10, 0.0, line, out)?;
        Some(Point::new(x, self.number_or(20, 0.0, line, out)?))
    }

    fn radius(&self, line: u64, out: &mut Out) -> Option<f64> {
        let radius = self.number(40, line, out)?;
        if radius <= 0.0 {
            let action = "save the drawing again";
            let found = format!("a radius of {radius}");
            out.add(BAD_NUMBER, (line, ""), found, "above zero", action);
            return None;
        }
        Some(radius)
    }

    fn flags(&self, line: u64, out: &mut Out) -> Option<i64> {
        #[allow(clippy::cast_possible_truncation)] // `value` keeps it within ±1e7
        self.number_or(70, 0.0, line, out).map(|flags| flags as i64)
    }

    /// The corners of a lightweight polyline: x begins one, y and bulge belong to the last begun.
    fn corners(&self, line: u64, out: &mut Out) -> Option<Vec<(Point, f64)>> {
        let mut corners: Vec<(Point, f64)> = Vec::new();
        for group in &self.0 {
            if group.code == 10 {
                let x = value(group, line, out)?;
                corners.push((Point::new(x, f64::NAN), 0.0));
                continue;
            }
            let Some((corner, bulge)) = corners.last_mut() else {
                continue;
            };
            match group.code {
                20 => corner.y = value(group, line, out)?,
                42 => *bulge = value(group, line, out)?,
                _ => {}
            }
        }
        if corners.iter().any(|(corner, _)| corner.y.is_nan()) {
            let action = "save the drawing again";
            out.add(
                BAD_NUMBER,
                (line, ""),
                "a corner without y",
                "x and y",
                action,
            );
            return None;
        }
        Some(corners)
    }

    /// Whether a height of it is not zero.
    fn leaves_plane(&self, line: u64, out: &mut Out) -> Option<bool> {
        const FLAT: f64 = 1e-6;
        let mut leaves = false;
        for group in &self.0 {
            // The heights of both points, the elevation of a lightweight polyline, the thickness.
            if matches!(group.code, 30 | 31 | 38 | 39) {
                leaves |= value(group, line, out)?.abs() > FLAT;
            }
        }
        Some(leaves)
    }

    fn extrusion(&self, line: u64, out: &mut Out) -> Option<Facing> {
        const STRAIGHT: f64 = 1e-9;
        let x = self.number_or(210, 0.0, line, out)?;
        let y = self.number_or(220, 0.0, line, out)?;
        let z = self.number_or(230, 1.0, line, out)?;
        Some(if x.abs() > STRAIGHT || y.abs() > STRAIGHT {
            Facing::Aside
        } else if z > 0.0 {
            Facing::Front
        } else {
            Facing::Back
        })
    }
}

fn value(group: &Group<'_>, line: u64, out: &mut Out) -> Option<f64> {
    let number: Option<f64> = group.value.parse().ok();
    let number = number.filter(|number| number.abs() <= FARTHEST);
    if number.is_none() {
        let found = format!("\"{}\" in group {}", shown(group.value), group.code);
        let action = "save the drawing again";
        let expected = "a number between -10000000 and 10000000";
        out.add(
            BAD_NUMBER,
            (group.line.max(line), ""),
            found,
            expected,
            action,
        );
    }
    number
}

#[cfg(test)]
mod tests {
    use super::*;

    fn content(body: &str) -> Result<Content, Vec<units::Finding>> {
        let text: String = body
            .split_whitespace()
            .map(|word| format!("{}\n", word.replace('_', " ")))
            .collect();
        let mut out = Out::new("x.dxf");
        read(&text, &mut out).ok_or_else(|| out.finish())
    }

    #[test]
    fn lines_of_model_space_are_read_and_those_on_paper_left_out() {
        let read = content(
            "0 SECTION 2 HEADER 9 $INSUNITS 70 4 0 ENDSEC 0 SECTION 2 ENTITIES \
             0 LINE 8 CUT 10 0 20 1 11 2 21 3 0 LINE 67 1 8 CUT 10 0 20 0 11 1 21 1 0 ENDSEC 0 EOF",
        )
        .unwrap();
        assert_eq!(read.units, Some(4));
        assert_eq!(read.entities.len(), 1);
        let line = Shape::Line(Point::new(0.0, 1.0), Point::new(2.0, 3.0));
        assert_eq!(read.entities[0].shape, line);
        assert_eq!(read.entities[0].layer, "CUT");
    }

    #[test]
    fn both_kinds_of_polylines_give_the_same_corners() {
        let light = "0 LWPOLYLINE 8 A 90 2 70 1 10 0 20 0 42 1 10 4 20 0 42 1";
        let heavy = "0 POLYLINE 8 A 66 1 70 1 10 0 20 0 30 0 0 VERTEX 8 A 10 0 20 0 42 1 \
                     0 VERTEX 8 A 10 4 20 0 42 1 0 SEQEND 8 A";
        let shape = |body: &str| {
            let text = format!("0 SECTION 2 ENTITIES {body} 0 ENDSEC 0 EOF");
            content(&text).unwrap().entities[0].shape.clone()
        };
        assert_eq!(shape(light), shape(heavy));
    }

    #[test]
    fn broken_files_are_refused_with_their_code() {
        let code = |body: &str| content(body).unwrap_err()[0].code;
        assert_eq!(code("0 SECTION 2 ENTITIES 0 LINE 8 A 10 0"), "G105");
        assert_eq!(code("0 SECTION 2 ENTITIES"), "G105");
        assert_eq!(code(""), "G105");
        assert_eq!(code("name age"), "G104");
        let line = |value: &str| {
            code(&format!(
                "0 SECTION 2 ENTITIES 0 LINE 8 A 10 {value} 20 0 11 1 21 1 0 ENDSEC 0 EOF"
            ))
        };
        for number in ["NaN", "inf", "1e308", "one", "-1e8"] {
            assert_eq!(line(number), "G107", "{number}");
        }
        let twice = "0 SECTION 2 BLOCKS 0 BLOCK 2 B 10 0 20 0 0 ENDBLK 0 BLOCK 2 b 0 ENDBLK \
                     0 ENDSEC 0 EOF";
        assert_eq!(code(twice), "G108");
    }

    #[test]
    fn letters_written_by_number_are_put_back() {
        assert_eq!(plain("K\\U+00FChl"), "Kühl");
        assert_eq!(plain("a\\U+zz"), "a\\U+zz");
        assert_eq!(plain("a\\U+00"), "a\\U+00");
    }
}

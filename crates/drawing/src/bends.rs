//! The bend lines held against the sheet: which are one bend, where it lies, how much metal is bent.

use crate::chain::Outline;
use crate::codes::{
    ASKEW, CROSSED, NO_BENDS, NOT_EDGE_TO_EDGE, OFF_THE_SHEET, Out, SHARED_LINE, TOO_MANY_BENDS,
    TOO_MUCH, WRONG_SIZE, mm, shown,
};
use crate::layers::Layers;
use crate::place::Piece;
use crate::point::Point;
use model::Direction;
use units::Length;

/// Bends of a part.
const BENDS_MOST: usize = 99;
/// Pieces of bend lines.
const PIECES_MOST: usize = 5_000;
/// Sides of blanks, in millimetres.
const BLANK: std::ops::RangeInclusive<f64> = 5.0..=20_000.0;
/// Lines this much aslant, in degrees, still count as parallel.
const SLANT: f64 = 0.1;

/// A flat pattern, laid so that its longer side runs along x: edge A is y = 0, edge C is x = 0.
#[derive(Clone, Debug, PartialEq)]
pub struct Flat {
    /// Size of the blank, the rectangle around the outline, the longer side first.
    pub blank: (Length, Length),
    /// Area of the sheet without its cut-outs, in mm².
    pub area_mm2: f64,
    /// Cut-outs.
    pub holes: usize,
    /// Bends, those along the longer side first, then by where they lie.
    pub bends: Vec<FlatBend>,
    /// What was left out or taken to be so, in words.
    pub notes: Vec<String>,
}

/// A bend of a flat pattern.
#[derive(Clone, Debug, PartialEq)]
pub struct FlatBend {
    /// Whether it runs along the blank's longer side.
    pub along: bool,
    /// From edge A for a bend along the longer side, from edge C for the others.
    pub position: Length,
    /// Where its metal begins and ends along the line, from edge C or A.
    pub span: (Length, Length),
    /// Length of the metal bent: the span less what is cut out of it.
    pub metal: Length,
    /// Stretches of metal it consists of.
    pub pieces: usize,
    /// Name of its layer, as in the mapping.
    pub layer: String,
    /// Which way the flange goes, seen as drawn.
    pub direction: Direction,
    /// Included angle in degrees, when the mapping says it.
    pub angle: Option<f64>,
    /// Inside radius in millimetres, when the mapping says it.
    pub radius_mm: Option<f64>,
}

/// The plane turned so that bends run along x or y and the blank lies at the origin.
struct Frame {
    cos: f64,
    sin: f64,
    low: Point,
    blank: (f64, f64),
}

impl Frame {
    fn turned(&self, point: Point) -> Point {
        Point::new(
            point.x * self.cos + point.y * self.sin,
            point.y * self.cos - point.x * self.sin,
        )
    }

    fn of(&self, point: Point) -> Point {
        let turned = self.turned(point);
        Point::new(turned.x - self.low.x, turned.y - self.low.y)
    }
}

/// A piece in the frame.
#[derive(Clone, Copy, Debug)]
struct Straight {
    along: bool,
    at: f64,
    from: f64,
    to: f64,
    layer: usize,
    line: u64,
}

/// A bend while it is put together, in millimetres.
#[derive(Clone, Debug)]
struct Found {
    along: bool,
    at: f64,
    layer: usize,
    line: u64,
    metal: Vec<(f64, f64)>,
}

/// Holds the pieces against the outline.
pub(crate) fn flat(
    outline: &Outline,
    pieces: &[Piece],
    layers: &Layers,
    mut notes: Vec<String>,
    out: &mut Out,
) -> Option<Flat> {
    if pieces.len() > PIECES_MOST {
        let found = format!("{} pieces of bend lines", pieces.len());
        let expected = format!("at most {PIECES_MOST}");
        out.add(
            TOO_MUCH,
            (0, ""),
            found,
            &expected,
            "draw each bend as one line",
        );
        return None;
    }
    let frame = frame(outline, pieces, layers, out)?;
    for side in [frame.blank.0, frame.blank.1] {
        if !BLANK.contains(&side) {
            let found = format!(
                "a blank of {} x {} mm",
                mm(frame.blank.0),
                mm(frame.blank.1)
            );
            let expected = "sides between 5 mm and 20 m";
            let action = "check the drawing's unit and scale, or say the unit with --units";
            out.add(WRONG_SIZE, (0, ""), found, expected, action);
            return None;
        }
    }
    let straight = straighten(pieces, &frame, layers, out)?;
    let turned: Vec<Vec<(Point, Point)>> = outline
        .loops()
        .map(|one| {
            one.sides()
                .map(|(a, b)| (frame.of(a), frame.of(b)))
                .collect()
        })
        .collect();
    let mut found: Vec<Found> = Vec::new();
    for group in groups(straight, layers.join_mm) {
        if let Some(bend) = bend(&group, &turned, layers, out) {
            found.push(bend);
        }
    }
    refuse_shared(&found, layers, out);
    refuse_crossed(&found, layers, out);
    if found.len() > BENDS_MOST {
        let found = format!("{} bends", found.len());
        out.add(
            TOO_MANY_BENDS,
            (0, ""),
            found,
            "at most 99",
            "check the layers of bends",
        );
    }
    if !out.is_empty() {
        return None;
    }
    for bend in found.iter().filter(|bend| bend.metal.len() > 1) {
        let (from, to) = span(bend);
        let bent: f64 = bend.metal.iter().map(|(from, to)| to - from).sum();
        notes.push(format!(
            "the bend at {} mm on {} is one of {} pieces: {} mm of metal over {} mm",
            mm(bend.at),
            name(layers, bend.layer),
            bend.metal.len(),
            mm(bent),
            mm(to - from)
        ));
    }
    found.sort_by(|a, b| b.along.cmp(&a.along).then(a.at.total_cmp(&b.at)));
    let holes: f64 = outline.holes.iter().map(crate::chain::Loop::area).sum();
    Some(Flat {
        blank: (
            Length::from_mm(frame.blank.0),
            Length::from_mm(frame.blank.1),
        ),
        area_mm2: outline.outer.area() - holes,
        holes: outline.holes.len(),
        bends: found
            .iter()
            .filter_map(|bend| flat_bend(bend, layers))
            .collect(),
        notes,
    })
}

fn name(layers: &Layers, at: usize) -> &str {
    layers
        .bends
        .get(at)
        .map_or("", |layer| layer.layer.as_str())
}

fn span(bend: &Found) -> (f64, f64) {
    let from = bend.metal.first().map_or(0.0, |(from, _)| *from);
    (from, bend.metal.last().map_or(0.0, |(_, to)| *to))
}

fn flat_bend(bend: &Found, layers: &Layers) -> Option<FlatBend> {
    let layer = layers.bends.get(bend.layer)?;
    let (from, to) = span(bend);
    Some(FlatBend {
        along: bend.along,
        position: Length::from_mm(bend.at),
        span: (Length::from_mm(from), Length::from_mm(to)),
        metal: Length::from_mm(bend.metal.iter().map(|(from, to)| to - from).sum()),
        pieces: bend.metal.len(),
        layer: layer.layer.clone(),
        direction: layer.direction,
        angle: layer.angle,
        radius_mm: layer.radius_mm,
    })
}

/// Turned to the longest bend line; then the longer side of what is around the outline along x.
fn frame(outline: &Outline, pieces: &[Piece], layers: &Layers, out: &mut Out) -> Option<Frame> {
    let length = |piece: &&Piece| piece.from.distance(piece.to);
    let longest = pieces
        .iter()
        .max_by(|a, b| length(a).total_cmp(&length(b)))
        .filter(|piece| length(piece) > layers.join_mm);
    let Some(longest) = longest else {
        let expected = "the bend lines of one part";
        let action = "name the layers of bends in a mapping";
        out.add(NO_BENDS, (0, ""), "nothing there", expected, action);
        return None;
    };
    let size = length(&longest);
    let (mut cos, mut sin) = (
        (longest.to.x - longest.from.x) / size,
        (longest.to.y - longest.from.y) / size,
    );
    // What is drawn along the axes stays exactly there.
    let slant = (longest.to.x - longest.from.x)
        .abs()
        .min((longest.to.y - longest.from.y).abs());
    if slant < 1e-3 {
        (cos, sin) = (1.0, 0.0);
    }
    let mut frame = Frame {
        cos,
        sin,
        low: Point::default(),
        blank: (0.0, 0.0),
    };
    let (low, high) = extent(&frame, outline);
    if high.y - low.y > high.x - low.x {
        (frame.cos, frame.sin) = (-frame.sin, frame.cos);
    }
    let (low, high) = extent(&frame, outline);
    frame.low = low;
    frame.blank = (high.x - low.x, high.y - low.y);
    Some(frame)
}

fn extent(frame: &Frame, outline: &Outline) -> (Point, Point) {
    let mut low = Point::new(f64::INFINITY, f64::INFINITY);
    let mut high = Point::new(f64::NEG_INFINITY, f64::NEG_INFINITY);
    for point in &outline.outer.points {
        let point = frame.turned(*point);
        low = Point::new(low.x.min(point.x), low.y.min(point.y));
        high = Point::new(high.x.max(point.x), high.y.max(point.y));
    }
    (low, high)
}

fn straighten(
    pieces: &[Piece],
    frame: &Frame,
    layers: &Layers,
    out: &mut Out,
) -> Option<Vec<Straight>> {
    let mut straight = Vec::new();
    for piece in pieces {
        let (from, to) = (frame.of(piece.from), frame.of(piece.to));
        let (dx, dy) = ((to.x - from.x).abs(), (to.y - from.y).abs());
        if dx.max(dy) <= layers.join_mm {
            continue;
        }
        let along = dx > dy;
        let slant = dx.min(dy).atan2(dx.max(dy)).to_degrees();
        // A long line may not be a whole millimetre off at its ends either.
        if slant > SLANT || dx.min(dy) > 0.2 {
            let found = format!(
                "a line {slant:.2}° off, at x {} y {} mm of the drawing",
                mm(piece.from.x),
                mm(piece.from.y)
            );
            let expected = "bend lines along or across the longest of them, to 0.1° and 0.2 mm";
            let action = "enter a part with such a bend by hand, with its taper_deg";
            out.add(
                ASKEW,
                (piece.line, name(layers, piece.layer)),
                found,
                expected,
                action,
            );
            continue;
        }
        let (a, b) = if along {
            (from.x, to.x)
        } else {
            (from.y, to.y)
        };
        straight.push(Straight {
            along,
            at: if along {
                f64::midpoint(from.y, to.y)
            } else {
                f64::midpoint(from.x, to.x)
            },
            from: a.min(b),
            to: a.max(b),
            layer: piece.layer,
            line: piece.line,
        });
    }
    out.is_empty().then_some(straight)
}

/// Pieces of one layer on one line.
fn groups(mut pieces: Vec<Straight>, join: f64) -> Vec<Vec<Straight>> {
    pieces.sort_by(|a, b| {
        let family = (a.along, a.layer).cmp(&(b.along, b.layer));
        family
            .then(a.at.total_cmp(&b.at))
            .then(a.from.total_cmp(&b.from))
    });
    let mut groups: Vec<Vec<Straight>> = Vec::new();
    for piece in pieces {
        let last = groups.last_mut().filter(|group| {
            group.first().is_some_and(|first| {
                (first.along, first.layer) == (piece.along, piece.layer)
                    && (piece.at - first.at).abs() <= join
            })
        });
        match last {
            Some(group) => group.push(piece),
            None => groups.push(vec![piece]),
        }
    }
    groups
}

/// Sides of the outline in the frame, loop by loop.
type Sides = [Vec<(Point, Point)>];

/// One bend out of its pieces.
fn bend(group: &[Straight], sides: &Sides, layers: &Layers, out: &mut Out) -> Option<Found> {
    let first = *group.first()?;
    let count = group.iter().map(|_| 1.0).sum::<f64>();
    let at = group.iter().map(|piece| piece.at).sum::<f64>() / count;
    // Metal on both sides of the line: where a cut-out's edge lies on it, there is nothing to bend.
    let aside = layers.join_mm;
    let metal = both(
        &crossings(sides, first.along, at - aside),
        &crossings(sides, first.along, at + aside),
    );
    let drawn = merged(group, layers.short_mm);
    let short = layers.short_mm;
    let mut touched: Vec<(f64, f64)> = Vec::new();
    for (from, to) in drawn {
        let over = |(a, b): &(f64, f64)| to.min(*b) - from.max(*a) > short;
        let under: Vec<(f64, f64)> = metal.iter().copied().filter(over).collect();
        let (Some((begin, _)), Some((_, end))) = (under.first(), under.last()) else {
            let found = told(&first, at, from, to);
            let expected = "a bend line on the sheet, with metal on both sides";
            let action = "check the outline and the layer of the line";
            let place = (first.line, name(layers, first.layer));
            out.add(OFF_THE_SHEET, place, found, expected, action);
            return None;
        };
        let off = (from - begin).abs().max((to - end).abs());
        if off > short {
            let found = format!(
                "{}, where the sheet reaches from {} to {} mm",
                told(&first, at, from, to),
                mm(*begin),
                mm(*end)
            );
            let expected = format!("bend lines from edge to edge, to {short} mm");
            let action =
                "draw the line from edge to edge, or allow a larger short_mm in the mapping";
            let place = (first.line, name(layers, first.layer));
            out.add(NOT_EDGE_TO_EDGE, place, found, &expected, action);
            return None;
        }
        touched.extend(under);
    }
    Some(Found {
        along: first.along,
        at,
        layer: first.layer,
        line: first.line,
        metal: touched,
    })
}

fn told(first: &Straight, at: f64, from: f64, to: f64) -> String {
    let edge = if first.along { "A" } else { "C" };
    format!(
        "a line at {} mm from edge {edge}, from {} to {} mm",
        mm(at),
        mm(from),
        mm(to)
    )
}

/// Stretches drawn, overlapping and touching ones as one; in rising order.
fn merged(group: &[Straight], touch: f64) -> Vec<(f64, f64)> {
    let mut drawn: Vec<(f64, f64)> = group.iter().map(|piece| (piece.from, piece.to)).collect();
    drawn.sort_by(|a, b| a.0.total_cmp(&b.0));
    let mut merged: Vec<(f64, f64)> = Vec::new();
    for (from, to) in drawn {
        match merged.last_mut() {
            Some(last) if from <= last.1 + touch => last.1 = last.1.max(to),
            _ => merged.push((from, to)),
        }
    }
    merged
}

/// Stretches of metal along a line that runs along x (or y) at a height, in rising order.
fn crossings(sides: &Sides, along: bool, at: f64) -> Vec<(f64, f64)> {
    let mut cuts: Vec<f64> = Vec::new();
    for (a, b) in sides.iter().flatten() {
        let ((ax, ay), (bx, by)) = if along {
            ((a.x, a.y), (b.x, b.y))
        } else {
            ((a.y, a.x), (b.y, b.x))
        };
        if (ay > at) != (by > at) {
            cuts.push(ax + (at - ay) / (by - ay) * (bx - ax));
        }
    }
    cuts.sort_by(f64::total_cmp);
    cuts.chunks_exact(2)
        .filter_map(|pair| match pair {
            [from, to] => Some((*from, *to)),
            _ => None,
        })
        .collect()
}

/// What two rows of stretches have in common.
fn both(one: &[(f64, f64)], other: &[(f64, f64)]) -> Vec<(f64, f64)> {
    let mut common = Vec::new();
    let (mut a, mut b) = (one.iter().peekable(), other.iter().peekable());
    while let (Some(left), Some(right)) = (a.peek(), b.peek()) {
        let (from, to) = (left.0.max(right.0), left.1.min(right.1));
        if to > from {
            common.push((from, to));
        }
        if left.1 < right.1 {
            a.next();
        } else {
            b.next();
        }
    }
    common
}

fn refuse_shared(found: &[Found], layers: &Layers, out: &mut Out) {
    for (place, one) in found.iter().enumerate() {
        let rest = found.iter().skip(place + 1);
        // Nothing can be bent at two lines so near; that they are meant as one is likely.
        let shared = rest.into_iter().find(|other| {
            other.along == one.along
                && other.layer != one.layer
                && (other.at - one.at).abs() <= layers.join_mm.max(0.1)
        });
        if let Some(other) = shared {
            let found = format!(
                "lines of {} and {} at {} mm",
                shown(name(layers, one.layer)),
                shown(name(layers, other.layer)),
                mm(one.at)
            );
            let action = "enter such a part by hand, each bend with its own line";
            let place = (other.line, name(layers, other.layer));
            out.add(
                SHARED_LINE,
                place,
                found,
                "one angle and direction on a line",
                action,
            );
        }
    }
}

fn refuse_crossed(found: &[Found], layers: &Layers, out: &mut Out) {
    let short = layers.short_mm;
    let inside = |bend: &Found, at: f64| {
        let within = |(from, to): &(f64, f64)| at > from + short && at < to - short;
        bend.metal.iter().any(within)
    };
    for one in found.iter().filter(|bend| bend.along) {
        let crossing =
            |other: &&Found| !other.along && inside(one, other.at) && inside(other, one.at);
        for other in found.iter().filter(crossing) {
            let found = format!(
                "the lines at {} mm from edge A and {} mm from edge C",
                mm(one.at),
                mm(other.at)
            );
            let action = "check both lines, and the relief where they meet";
            let place = (other.line, name(layers, other.layer));
            out.add(
                CROSSED,
                place,
                found,
                "lines that end where they meet",
                action,
            );
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn stretches_in_common() {
        let one = [(0.0, 10.0), (20.0, 30.0)];
        let other = [(5.0, 25.0), (28.0, 40.0)];
        assert_eq!(
            both(&one, &other),
            [(5.0, 10.0), (20.0, 25.0), (28.0, 30.0)]
        );
        assert!(both(&one, &[]).is_empty());
    }
}

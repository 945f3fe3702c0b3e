//! A bed with its stations, drawn to scale: what goes, stays, is turned, is slid and comes is told
//! apart by border, hatching and word, so that grey printing loses nothing.

use crate::doc::{Area, Doc, Op, Pen, Type};
use crate::flow::Flow;
use documents::words::{Handling, bed_before};
use model::{Brake, Run, Station, StationPiece};
use std::fmt::Write as _;
use units::Length;

/// Points to a millimetre of paper.
const POINTS_PER_MM: f64 = 72.0 / 25.4;

/// Height of a station as drawn: the punch's half over the die's.
const HALF: f64 = 15.0;
/// Labels of stations.
const LABEL: Type = Type::bold(10.5);
/// What a drawing is called; it stands at the left.
const NAME: Type = Type::bold(11.5);
/// Lengths of sections.
const SMALL: Type = Type::plain(8.5);

/// One bed of a changeover.
struct Bed<'a> {
    name: &'static str,
    length: Length,
    stations: Vec<(&'a Station, Handling, String)>,
}

/// The smallest whole number by which a bed must be made smaller to be so many points wide.
#[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // a bed has at most some metres
pub(crate) fn scale(bed: Length, points: f64) -> u32 {
    let least = bed.mm() * POINTS_PER_MM / points;
    (least.ceil() as u32).max(1)
}

/// Draws the bed before and after a run's changeover.
pub(crate) fn drawn(flow: &mut Flow, brake: &Brake, run: &Run) {
    let change = &run.changeover;
    let before = bed_before(run);
    let fate = |station: &Station| {
        let here = |other: &Station| other.left == station.left;
        if change.remove.iter().any(here) {
            Handling::Off
        } else if change.turn.iter().any(|turned| here(&turned.station)) {
            Handling::Turned
        } else if change.slide.iter().any(|slid| slid.from == station.left) {
            Handling::Slid
        } else {
            Handling::Stays
        }
    };
    let origin = |station: &Station| {
        let here = |other: &Station| other.left == station.left;
        if change.insert.iter().any(here) {
            (Handling::On, String::new())
        } else if change.turn.iter().any(|turned| here(&turned.station)) {
            (Handling::Turned, String::new())
        } else if let Some(slid) = change.slide.iter().find(|slid| here(&slid.station)) {
            (Handling::Slid, format!(" from {}", slid.from))
        } else {
            (Handling::Stays, String::new())
        }
    };
    let now = before
        .iter()
        .map(|station| (station, fate(station), String::new()));
    let after = run.bed.iter().map(|station| {
        let (handling, from) = origin(station);
        (station, handling, from)
    });
    let beds = [
        Bed {
            name: "Bed now",
            length: brake.bed,
            stations: now.collect(),
        },
        Bed {
            name: "Bed after",
            length: brake.bed,
            stations: after.collect(),
        },
    ];
    let scale = scale(brake.bed, flow.width());
    for bed in &beds {
        bed.draw(flow, scale);
    }
    let text = format!(
        "Scale 1 : {scale}; {}. Upper half: punch sections; lower half: die sections; lengths in mm.",
        documents::words::bed_caption(brake)
    );
    flow.paragraph(&text, Type::plain(9.5), 0.0);
}

/// Where a station's label stands.
struct Label {
    text: String,
    left: f64,
    middle: f64,
    station: f64,
    level: usize,
}

impl Bed<'_> {
    fn draw(&self, flow: &mut Flow, scale: u32) {
        let k = POINTS_PER_MM / f64::from(scale);
        let x0 = flow.left();
        let bed = self.length.mm() * k;
        let labels = self.labels(flow, k, (x0, x0 + bed));
        let levels = labels
            .iter()
            .map(|label| label.level + 1)
            .max()
            .unwrap_or(0);
        let mut levels = f64::from(u16::try_from(levels).unwrap_or(u16::MAX));
        // The name stands beside the lowest labels, or over all of them where one is in its way.
        let name_ends = x0 + flow.doc.width(self.name, NAME) + 8.0;
        let mut name_level = 0.0;
        if labels
            .iter()
            .any(|label| label.left.min(label.station) < name_ends)
        {
            name_level = levels;
            levels += 1.0;
        }
        let height = levels.max(1.0) * LABEL.line() + 2.0 * HALF + 24.0;
        flow.need(height + 4.0);
        let node = flow.doc.figure(flow.group, &self.alt());
        let y = flow.y + levels.max(1.0) * LABEL.line() + 2.0;
        flow.doc.marked(node, |doc| {
            doc.text(
                x0,
                y - 2.0 - (name_level + 1.0) * LABEL.line(),
                NAME,
                self.name,
            );
            for label in &labels {
                let level = f64::from(u16::try_from(label.level).unwrap_or(0));
                let line = y - 2.0 - (level + 1.0) * LABEL.line();
                let foot = line + LABEL.line();
                let pen = Pen::of(0.5).gray(0.3);
                if foot < y - 2.5 || (label.middle - label.station).abs() > 1.0 {
                    doc.line((label.middle, foot), (label.station, y), pen);
                }
                doc.text_at(label.middle, line, LABEL, &label.text);
            }
            for (station, handling, _) in &self.stations {
                let left = x0 + station.left.mm() * k;
                let area = Area::new(left, y, station.length.mm() * k, 2.0 * HALF);
                station_drawn(doc, station, *handling, area, k);
            }
            let beam = y + 2.0 * HALF;
            doc.rect(Area::new(x0, beam, bed, 2.5), Some(0.0), None);
            ruler(doc, self.length, (x0, beam + 2.5), k);
        });
        flow.y += height;
    }

    /// Labels over their stations, one above the other where they would touch.
    fn labels(&self, flow: &Flow, k: f64, (left, right): (f64, f64)) -> Vec<Label> {
        let mut ends: Vec<f64> = Vec::new();
        let mut out = Vec::with_capacity(self.stations.len());
        for (at, (station, handling, from)) in self.stations.iter().enumerate() {
            let text = format!("{} {}{from}", at + 1, handling.word());
            let width = flow.doc.width(&text, LABEL);
            let station = left + (station.left.mm() + station.length.mm() / 2.0) * k;
            let half = width / 2.0;
            let middle = station.min(right - half).max(left + half);
            let free = ends.iter().position(|end| *end + 5.0 <= middle - half);
            let level = free.unwrap_or(ends.len());
            match ends.get_mut(level) {
                Some(end) => *end = middle + half,
                None => ends.push(middle + half),
            }
            out.push(Label {
                text,
                left: middle - half,
                middle,
                station,
                level,
            });
        }
        out
    }

    /// The drawing in words.
    fn alt(&self) -> String {
        let mut out = format!("{}, {} mm long", self.name, self.length);
        if self.stations.is_empty() {
            out.push_str(": empty");
        }
        for (at, (station, handling, from)) in self.stations.iter().enumerate() {
            let _ = write!(
                out,
                "; station {} {}{from}: {} to {} mm",
                at + 1,
                handling.word(),
                station.left,
                station.left + station.length
            );
        }
        out
    }
}

/// Millimetres along the bed.
fn ruler(doc: &mut Doc, bed: Length, (x0, y): (f64, f64), k: f64) {
    // Numbers stand at least 40 points apart.
    let step = [50, 100, 200, 250, 500, 1_000, 2_000]
        .into_iter()
        .find(|step| f64::from(*step) * k >= 40.0)
        .unwrap_or(5_000);
    let end = bed.mm();
    let mut at = 0;
    while f64::from(at) <= end {
        let x = x0 + f64::from(at) * k;
        doc.line((x, y), (x, y + 4.0), Pen::of(0.6));
        let text = at.to_string();
        let half = doc.width(&text, SMALL) / 2.0;
        let middle = x.max(x0 + half).min(x0 + end * k - half);
        doc.text_at(middle, y + 4.0, SMALL, &text);
        at += step;
    }
}

/// How a station is bordered and filled.
fn look(handling: Handling) -> (Pen, Option<f64>) {
    match handling {
        Handling::Off => (Pen::of(1.0).dashed(3.0, 2.0), None),
        Handling::Stays => (Pen::of(0.8), Some(0.9)),
        Handling::Turned | Handling::Slid => (Pen::of(1.2), None),
        Handling::On => (Pen::of(2.2), Some(0.62)),
    }
}

fn station_drawn(doc: &mut Doc, station: &Station, handling: Handling, area: Area, k: f64) {
    let (pen, fill) = look(handling);
    if let Some(gray) = fill {
        doc.rect(area, Some(gray), None);
    }
    doc.op(Op::Clip(area));
    let lower = Area::new(area.x, area.y + HALF, area.w, HALF);
    match handling {
        Handling::Off => strokes(doc, area, 6.0, Slant::Leaning),
        // The punch stays as it is; the die's half is what is turned.
        Handling::Turned => strokes(doc, lower, 4.0, Slant::Upright),
        Handling::Slid => strokes(doc, area, 5.0, Slant::Level),
        Handling::Stays | Handling::On => {}
    }
    doc.op(Op::Unclip);
    for (sections, top) in [
        (&station.punch_sections, area.y),
        (&station.die_sections, area.y + HALF),
    ] {
        sections_drawn(doc, sections, (area.x, top), k);
    }
    let middle = area.y + HALF;
    doc.line((area.x, middle), (area.right(), middle), Pen::of(0.5));
    doc.rect(area, None, Some(pen));
}

fn sections_drawn(doc: &mut Doc, sections: &[StationPiece], (x, y): (f64, f64), k: f64) {
    let mut left = x;
    for (at, piece) in sections.iter().enumerate() {
        let width = piece.length.mm() * k;
        if at > 0 {
            doc.line((left, y), (left, y + HALF), Pen::of(0.5));
        }
        let text = piece.length.to_string();
        let own = doc.width(&text, SMALL);
        if own + 5.0 <= width {
            let middle = left + width / 2.0;
            let plate = Area::new(middle - own / 2.0 - 1.5, y + 2.2, own + 3.0, HALF - 4.4);
            doc.rect(plate, Some(1.0), None);
            doc.text_at(middle, y + 2.2, SMALL, &text);
        }
        left += width;
    }
}

#[derive(Clone, Copy)]
enum Slant {
    Leaning,
    Upright,
    Level,
}

/// Hatching, clipped by whoever asks for it.
fn strokes(doc: &mut Doc, area: Area, apart: f64, slant: Slant) {
    let pen = Pen::of(0.6);
    let (across, from) = match slant {
        Slant::Leaning => (area.w + area.h, -area.h),
        Slant::Upright => (area.w, 0.0),
        Slant::Level => (area.h, 0.0),
    };
    let mut at = from + apart / 2.0;
    while at < from + across {
        match slant {
            Slant::Leaning => doc.line(
                (area.x + at, area.bottom()),
                (area.x + at + area.h, area.y),
                pen,
            ),
            Slant::Upright => {
                let x = area.x + at;
                doc.line((x, area.y), (x, area.bottom()), pen);
            }
            Slant::Level => {
                let y = area.y + at;
                doc.line((area.x, y), (area.right(), y), pen);
            }
        }
        at += apart;
    }
}

/// A sample of how a station is drawn, for the lists.
pub(crate) fn sample(doc: &mut Doc, handling: Handling, area: Area) {
    let (pen, fill) = look(handling);
    doc.rect(area, fill, None);
    doc.op(Op::Clip(area));
    let half = area.h / 2.0;
    match handling {
        Handling::Off => strokes(doc, area, 6.0, Slant::Leaning),
        Handling::Turned => {
            let lower = Area::new(area.x, area.y + half, area.w, half);
            strokes(doc, lower, 4.0, Slant::Upright);
        }
        Handling::Slid => strokes(doc, area, 4.0, Slant::Level),
        Handling::Stays | Handling::On => {}
    }
    doc.op(Op::Unclip);
    doc.rect(area, None, Some(pen));
}

//! Where the stop of the gauge meets the part as bent so far, lying on the shoulders before a stroke.
//!
//! Millimetres; x from the front to the gauge, y up from the die's shoulders.

use crate::bent::{Drawn, Pose};
use crate::family::Strip;
use crate::outline::Point;

/// How far behind the part's outermost point an outline still belongs to the face the stop meets.
const BAND: f64 = 0.05;
/// Stretches no further apart than this are one face.
const GAP: f64 = 0.05;
/// Faces must reach above this to be met.
const ABOVE: f64 = 0.05;
/// How far a stated height may be from the one worked out. An engine rounds and draws folds in its
/// own way, and a stop that stands so little too high or too low meets the same edge.
pub(crate) const ROUNDING: f64 = 0.15;
/// What remains of a zero after rounding.
const ZERO: f64 = 0.01;
/// What `BAND` may be off by where lengths are rounded.
const BAND_ROUNDING: f64 = 0.01;

/// The face that the stop meets, by its lower end.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Contact {
    thickness: f64,
    /// Worked out by the rules as they stand; `None` when there is nothing to meet.
    lower: Option<f64>,
    /// Least and greatest lower end that an engine may find which rounds, or draws an arc by chords:
    /// where a face begins on an arc, that moves its end by much more than the rounding itself. One
    /// pair for each way in which faces that barely rise above the shoulders may be told from those
    /// that do not.
    found: Vec<(f64, f64)>,
}

impl Contact {
    /// Of the hit that makes the strip's fold at this place.
    pub(crate) fn of(strip: &Strip, now: usize, zero_at_gauge: bool) -> Contact {
        let lying = Pose {
            strip,
            now,
            zero_at_gauge,
            reached: 0.0,
            v: 0.0,
        };
        let (fine, coarse) = (lying.outline(Drawn::Finely), lying.outline(Drawn::Coarsely));
        let drawings = [
            faces(&fine, BAND),
            faces(&fine, BAND - BAND_ROUNDING),
            faces(&fine, BAND + BAND_ROUNDING),
            faces(&coarse, BAND),
        ];
        let found = [-ROUNDING, 0.0, ROUNDING].into_iter().filter_map(|by| {
            let lowers = drawings
                .iter()
                .filter_map(|faces| lowest(faces, ABOVE + by));
            lowers.fold(None, |span, lower| match span {
                None => Some((lower, lower)),
                Some((least, most)) => Some((lower.min(least), lower.max(most))),
            })
        });
        Contact {
            thickness: strip.thickness,
            lower: drawings.first().and_then(|faces| lowest(faces, ABOVE)),
            found: found.collect(),
        }
    }

    /// Whether the stop has something to meet.
    pub(crate) fn is_met(&self) -> bool {
        !self.found.is_empty()
    }

    /// Height of R for a stop of this face height.
    pub(crate) fn height(&self, stop: f64) -> Option<f64> {
        let lower = self.lower.or(self.found.first().map(|found| found.0))?;
        Some(if lower + self.thickness <= stop {
            0.0
        } else {
            lower
        })
    }

    /// Whether this may be the height of R for a stop of this face height, within `ROUNDING`.
    pub(crate) fn allows(&self, height: f64, stop: f64) -> bool {
        self.found.iter().any(|(least, most)| {
            let level = height.abs() <= ZERO && least + self.thickness <= stop + ROUNDING;
            let raised = most + self.thickness > stop - ROUNDING
                && least - ROUNDING <= height
                && height <= most + ROUNDING;
            level || raised
        })
    }
}

/// Lower and upper end.
type Face = (f64, f64);

/// The faces within so much of the outline's largest x, the lowest first; none when nothing lies on
/// the gauge's side.
fn faces(outline: &[(Point, Point)], band: f64) -> Vec<Face> {
    let furthest = outline.iter().map(|(p, q)| p.x.max(q.x));
    let furthest = furthest.fold(f64::NEG_INFINITY, f64::max);
    if furthest <= 0.0 {
        return Vec::new();
    }
    let mut stretches: Vec<Face> = outline
        .iter()
        .filter_map(|(p, q)| stretch(*p, *q, furthest - band))
        .collect();
    stretches.sort_by(|a, b| a.0.total_cmp(&b.0));
    let mut faces: Vec<Face> = Vec::new();
    for (lower, upper) in stretches {
        match faces.last_mut() {
            Some(face) if lower <= face.1 + GAP => face.1 = face.1.max(upper),
            _ => faces.push((lower, upper)),
        }
    }
    faces
}

/// What of an edge has at least this x.
fn stretch(p: Point, q: Point, least: f64) -> Option<Face> {
    let end = |from: Point, to: Point| {
        if from.x >= least {
            from.y
        } else {
            from.y + (to.y - from.y) * (least - from.x) / (to.x - from.x)
        }
    };
    (p.x.max(q.x) >= least).then(|| {
        let (a, b) = (end(p, q), end(q, p));
        (a.min(b), a.max(b))
    })
}

/// Lower end of the lowest face that reaches above a height.
fn lowest(faces: &[Face], above: f64) -> Option<f64> {
    let mut faces = faces.iter();
    faces.find(|face| face.1 > above).map(|face| face.0)
}

#[cfg(test)]
mod tests;

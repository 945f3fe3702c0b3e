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
/// Faces must reach above this to be met before those that hang.
const ABOVE: f64 = 0.05;
/// What the stop may lack of the face it covers.
const LACK: f64 = 0.001;
/// How far a stated height may be from the one worked out. An engine rounds and draws folds in its
/// own way, and a stop that stands so little too high or too low meets the same edge.
pub(crate) const ROUNDING: f64 = 0.15;
/// What remains of a zero after rounding.
const ZERO: f64 = 0.01;
/// What `BAND` may be off by where lengths are rounded.
const BAND_ROUNDING: f64 = 0.01;
/// Chords, in half degrees, by which an engine may draw its arcs; shorter ones are as good as the
/// arc. Which corner of a fold lies furthest out depends on how many there are, so that the longest
/// alone would not do.
const CHORDS: std::ops::RangeInclusive<u8> = 3..=30;

/// The face that the stop meets.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Contact {
    thickness: f64,
    /// Worked out by the rules as they stand; `None` when there is nothing to meet.
    face: Option<Face>,
    /// The faces that an engine may find which rounds, or draws an arc by chords: where a face ends
    /// on an arc, that moves its end by much more than the rounding itself. One list for each way in
    /// which faces that barely rise above the shoulders may be told from those that do not.
    found: Vec<Vec<Face>>,
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
        let fine = lying.outline(Drawn::Finely);
        let mut drawings: Vec<Vec<Face>> = [0.0, -BAND_ROUNDING, BAND_ROUNDING]
            .into_iter()
            .map(|by| faces(&fine, BAND + by))
            .collect();
        let chords = CHORDS.map(|halves| Drawn::Chords(f64::from(halves) / 2.0));
        drawings.extend(chords.map(|drawn| faces(&lying.outline(drawn), BAND)));
        let found = [-ROUNDING, 0.0, ROUNDING].map(|by| {
            let met = drawings.iter().filter_map(|faces| met(faces, ABOVE + by));
            met.collect()
        });
        Contact {
            thickness: strip.thickness,
            face: drawings.first().and_then(|faces| met(faces, ABOVE)),
            found: found.into(),
        }
    }

    /// Height of R for a stop of this face height; `None` when it has nothing to meet.
    pub(crate) fn height(&self, stop: f64) -> Option<f64> {
        let (lower, upper) = self.face?;
        let least = self.least_cover((lower, upper));
        Some(if cover((lower, upper), stop) >= least - LACK {
            0.0
        } else if lower > 0.0 {
            lower
        } else {
            upper - least
        })
    }

    /// Whether this may be the height of R for a stop of this face height, within `ROUNDING`.
    pub(crate) fn allows(&self, height: f64, stop: f64) -> bool {
        self.found.iter().any(|faces| {
            let covers = |face: &Face| cover(*face, stop) >= self.least_cover(*face) - ROUNDING;
            let level = height.abs() <= ZERO && faces.iter().any(covers);
            level
                || spans(faces.iter().filter_map(|f| self.raised(*f, stop)), height)
                || spans(faces.iter().filter_map(|f| self.lowered(*f, stop)), height)
        })
    }

    /// How much of a face the stop must cover.
    fn least_cover(&self, (lower, upper): Face) -> f64 {
        self.thickness.min(upper - lower)
    }

    /// Height at the lower end of a face that may stand above the shoulders, unless the stop covers
    /// it from below for certain.
    fn raised(&self, face: Face, stop: f64) -> Option<f64> {
        let may_stand = face.0 > -ROUNDING;
        (may_stand && stop < face.0 + self.least_cover(face) + ROUNDING).then_some(face.0)
    }

    /// Height below the upper end of a face that may hang, unless the stop covers it for certain.
    fn lowered(&self, face: Face, stop: f64) -> Option<f64> {
        let least = self.least_cover(face);
        let height = face.1 - least;
        if face.0 > ROUNDING {
            None
        } else if stop < least + ROUNDING {
            Some(height)
        } else {
            (height < ROUNDING).then_some(height.min(0.0))
        }
    }
}

/// How much of a face a stop covers that stands on the shoulders; negative where it misses it.
fn cover((lower, upper): Face, stop: f64) -> f64 {
    stop.min(upper) - lower.max(0.0)
}

/// Whether a height lies between the least and the greatest of these, within `ROUNDING`.
fn spans(heights: impl Iterator<Item = f64>, height: f64) -> bool {
    let span = heights.fold(
        (f64::INFINITY, f64::NEG_INFINITY),
        |(least, most), found| (found.min(least), found.max(most)),
    );
    span.0 - ROUNDING <= height && height <= span.1 + ROUNDING
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

/// The lowest face that reaches above a height, or else the highest.
fn met(faces: &[Face], above: f64) -> Option<Face> {
    let rises = faces.iter().find(|face| face.1 > above);
    rises.or(faces.last()).copied()
}

#[cfg(test)]
mod tests;

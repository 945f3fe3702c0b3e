//! Seconds a piece, people a piece, and the time of a run.

use crate::BendWork;
use crate::hits::Hit;
use model::{Brake, Material, Part, Rules};
use units::{Kilograms, Seconds};

/// Mass of one blank.
#[must_use]
pub fn part_mass(part: &Part, material: &Material) -> Kilograms {
    let cubic_metres = part.blank.0.metres() * part.blank.1.metres() * part.thickness.metres();
    Kilograms::of(cubic_metres * material.density)
}

/// Operators a piece takes: the shop's own word, else by mass.
#[must_use]
pub fn crew_for(part: &Part, mass: Kilograms, rules: &Rules) -> u8 {
    part.crew
        .unwrap_or(if mass > rules.one_person_mass { 2 } else { 1 })
}

/// Seconds a piece, by what they are spent on.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Cycle {
    /// Taking a blank and putting the piece down.
    pub load: f64,
    /// Placing the piece against the stops, all hits.
    pub place: f64,
    /// The ram's strokes, all hits.
    pub stroke: f64,
    /// Waiting for the gauge where it is not there when the ram is back up.
    pub gauge_wait: f64,
    /// Flipping the piece onto its other face.
    pub flip: f64,
    /// Turning another edge to the gauge.
    pub turn: f64,
    /// How often it is flipped.
    pub flips: u32,
    /// How often it is turned.
    pub turns: u32,
    /// All of it as a plan uses it: milliseconds, rounded up.
    pub whole_ms: i64,
}

/// A piece's time from strokes, gauge moves and handling; docs/rules.md section 6.
#[must_use]
pub fn cycle(
    part: &Part,
    hits: &[Hit],
    works: &[BendWork],
    brake: &Brake,
    rules: &Rules,
    mass: Kilograms,
    crew: u8,
) -> Cycle {
    let size = (part.blank.0.metres() + part.blank.1.metres()) * rules.size_seconds_per_metre;
    let carry = mass.get() / f64::from(crew.max(1)) * rules.mass_seconds_per_kg;
    let mut cycle = Cycle {
        load: rules.load_seconds + size + carry,
        ..Cycle::default()
    };
    for (index, (hit, work)) in hits.iter().zip(works).enumerate() {
        let before = if index == 0 {
            works.len() - 1
        } else {
            index - 1
        };
        let gauge_move = (work.x - works[before].x).abs().mm() / brake.speeds.gauge.get();
        cycle.stroke += work.stroke_seconds;
        cycle.gauge_wait += (gauge_move - work.return_seconds).max(0.0);
        cycle.place += rules.place_seconds + size + carry;
        if index > 0 {
            let (bend, earlier) = (&part.bends[hit.bend], &part.bends[hits[index - 1].bend]);
            if earlier.direction != bend.direction {
                cycle.flip += rules.flip_seconds;
                cycle.flips += 1;
            }
            if earlier.edge != bend.edge {
                cycle.turn += rules.turn_seconds;
                cycle.turns += 1;
            }
        }
    }
    let whole =
        cycle.load + cycle.place + cycle.stroke + cycle.gauge_wait + cycle.flip + cycle.turn;
    cycle.whole_ms = Seconds::from_estimate(whole * 1000.0).0;
    cycle
}

/// Work of a run: quantity times cycle, and the checks between.
#[must_use]
pub fn run_time(quantity: u32, cycle_ms: i64, rules: &Rules) -> Seconds {
    let bending = (i64::from(quantity) * cycle_ms + 999) / 1000;
    let checks = i64::from(quantity.saturating_sub(1) / rules.check_every.max(1));
    Seconds(bending + checks * i64::from(rules.check_seconds))
}

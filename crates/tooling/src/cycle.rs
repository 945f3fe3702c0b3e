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

/// Milliseconds a piece from stroke, gauge moves and handling; docs/rules.md section 6.
#[must_use]
pub fn cycle_ms(
    part: &Part,
    hits: &[Hit],
    works: &[BendWork],
    brake: &Brake,
    rules: &Rules,
    mass: Kilograms,
    crew: u8,
) -> i64 {
    let size = (part.blank.0.metres() + part.blank.1.metres()) * rules.size_seconds_per_metre;
    let carry = mass.get() / f64::from(crew.max(1)) * rules.mass_seconds_per_kg;
    let mut seconds = rules.load_seconds + size + carry;
    for (index, (hit, work)) in hits.iter().zip(works).enumerate() {
        let before = if index == 0 {
            works.len() - 1
        } else {
            index - 1
        };
        let gauge_move = (work.x - works[before].x).abs().mm() / brake.speeds.gauge.get();
        seconds += work.stroke_seconds
            + (gauge_move - work.return_seconds).max(0.0)
            + rules.place_seconds
            + size
            + carry;
        if index > 0 {
            let (bend, earlier) = (&part.bends[hit.bend], &part.bends[hits[index - 1].bend]);
            if earlier.direction != bend.direction {
                seconds += rules.flip_seconds;
            }
            if earlier.edge != bend.edge {
                seconds += rules.turn_seconds;
            }
        }
    }
    Seconds::from_estimate(seconds * 1000.0).0
}

/// Work of a run: quantity times cycle, and the checks between.
#[must_use]
pub fn run_time(quantity: u32, cycle_ms: i64, rules: &Rules) -> Seconds {
    let bending = (i64::from(quantity) * cycle_ms + 999) / 1000;
    let checks = i64::from(quantity.saturating_sub(1) / rules.check_every.max(1));
    Seconds(bending + checks * i64::from(rules.check_seconds))
}

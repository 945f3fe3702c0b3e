//! A part, bend by bend, on every brake: what `bends` shows.

use model::{Part, Refusal, Shop};
use tooling::{Composer, Job, Stock, ToolingOption, options_for, part_mass};
use units::{BrakeId, Degrees, Kilograms, Kilonewtons, Length, Moment, ProfileId};

/// A part as engineered for every brake.
#[derive(Debug)]
pub struct PartSheet {
    /// Mass of the blank.
    pub mass: Kilograms,
    /// One sheet per brake.
    pub brakes: Vec<BrakeSheet>,
}

/// A part on one brake.
#[derive(Debug)]
pub struct BrakeSheet {
    /// Brake.
    pub brake: BrakeId,
    /// Bends with the best setup, empty when there is none.
    pub bends: Vec<BendRow>,
    /// Stations the setup needs.
    pub stations: usize,
    /// Other setups that would do.
    pub others: usize,
    /// Program, when the best setup is proven.
    pub program: Option<String>,
    /// Milliseconds a piece.
    pub cycle_ms: i64,
    /// Operators.
    pub crew: u8,
    /// When there is no setup: why.
    pub refusals: Vec<Refusal>,
}

/// One bend.
#[derive(Debug)]
pub struct BendRow {
    /// Bend number.
    pub bend: u8,
    /// Included angle.
    pub angle: Degrees,
    /// Bend length.
    pub length: Length,
    /// Station, counted from 1.
    pub station: usize,
    /// Punch.
    pub punch: ProfileId,
    /// Die.
    pub die: ProfileId,
    /// V opening.
    pub v: Length,
    /// Force at the shop's formula and the material's declared strength.
    pub force: Kilonewtons,
    /// Force by Oehler's formula at the upper end of the material's strength: a warning, not a
    /// limit.
    pub force_highest: Kilonewtons,
    /// Inside radius.
    pub radius: Length,
    /// Deduction in millimetres.
    pub deduction_mm: f64,
    /// Gauge X.
    pub x: Length,
    /// Gauge R.
    pub r: Length,
    /// Ram to bed at the bottom of the stroke.
    pub ram_to_bed: Length,
}

/// Engineers a part on every brake of the shop. `None` when the shop has no such part.
#[must_use]
pub fn part_sheet(shop: &Shop, part: &units::PartId, at: Moment) -> Option<PartSheet> {
    let index = shop.parts.iter().position(|other| other.id == *part)?;
    let part = &shop.parts[index];
    let material = shop.material(&part.material)?;
    let stock = Stock::new(shop);
    let mut composer = Composer::new();
    let brakes = shop
        .brakes
        .iter()
        .enumerate()
        .map(|(brake_index, brake)| {
            let job = Job {
                shop,
                brake,
                part,
                material,
                strength: material.strength_typical,
                at,
            };
            let found = options_for(&stock, &mut composer, &job, index, brake_index);
            let best = found.options.first();
            BrakeSheet {
                brake: brake.id.clone(),
                bends: best.map_or_else(Vec::new, |option| rows(&stock, &job, part, option)),
                stations: best.map_or(0, |option| option.needs.len()),
                others: found.options.len().saturating_sub(1),
                program: best.and_then(|option| option.program.clone()),
                cycle_ms: best.map_or(0, |option| option.cycle_ms),
                crew: best.map_or(0, |option| option.crew),
                refusals: found.refusals,
            }
        })
        .collect();
    Some(PartSheet {
        mass: part_mass(part, material),
        brakes,
    })
}

fn rows(stock: &Stock<'_>, job: &Job<'_>, part: &Part, option: &ToolingOption) -> Vec<BendRow> {
    let highest = job.material.strength_highest;
    option
        .hits
        .iter()
        .zip(&option.works)
        .zip(&option.need_of_hit)
        .filter_map(|((hit, work), &station)| {
            let bend = &part.bends[hit.bend];
            let need = &option.needs[station];
            let (punch, die) = (stock.punch(need.punch)?, stock.die(need.die)?);
            let oehler = bending::force::ForceForm::Oehler;
            let warned =
                bending::force::air_bend(oehler, highest, bend.length, part.thickness, die.v);
            Some(BendRow {
                bend: bend.number,
                angle: bend.angle,
                length: bend.length,
                station: station + 1,
                punch: punch.id.clone(),
                die: die.id.clone(),
                v: die.v,
                force: work.force,
                force_highest: warned.value,
                radius: work.radius,
                deduction_mm: work.deduction_mm,
                x: work.x,
                r: work.r,
                ram_to_bed: work.ram_to_bed,
            })
        })
        .collect()
}

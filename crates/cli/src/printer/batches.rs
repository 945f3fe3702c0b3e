//! Which parts suit one bed together.

use super::batch_card::shared;
use super::clock::Clock;
use super::table::{Side, table, wrapped};
use super::{INVENTED, counted};
use model::Shop;
use serde_json::{Value, json};
use std::fmt::Write as _;
use units::{Moment, PartId};
use workshop::{Alone, Batch, BatchPart, BatchReport, BatchStation, WhyAlone};

/// Savings listed; the JSON and the DOT hold all of them.
const STRONGEST: usize = 25;

/// Batches, and the strongest savings with their reasons.
pub(crate) fn as_text(
    shop: &Shop,
    report: &BatchReport,
    from: Moment,
    invented: bool,
    width: usize,
) -> String {
    let clock = Clock::new(shop.zone);
    let mut out = format!("{}: batches from {}\n", shop.name, clock.long(from));
    if invented {
        out.push_str(INVENTED);
    }
    out.push_str("\nParts that stand on one bed together, in an order in which they do\n");
    let rows: Vec<Vec<String>> = report
        .batches
        .iter()
        .enumerate()
        .map(|(index, batch)| {
            vec![
                (index + 1).to_string(),
                batch.brake.to_string(),
                format!("{:.0}", batch.saved.minutes()),
                batch.parts.len().to_string(),
                names(batch.parts.iter().map(|part| &part.part)),
            ]
        })
        .collect();
    let columns = [
        ("batch", Side::Right),
        ("brake", Side::Left),
        ("minutes saved", Side::Right),
        ("parts", Side::Right),
        ("which", Side::Left),
    ];
    out.push_str(&table(&columns, &rows, width));
    for group in report.alone.chunk_by(|a, b| why(a) == why(b)) {
        let Some(first) = group.first() else { continue };
        let parts = counted(group.len(), "part stands", "parts stand");
        let which = names(group.iter().map(|alone| &alone.part.part));
        let line = format!("{parts} alone, {}: {which}", why(first));
        let _ = writeln!(out, "\n{}", wrapped(&line, 2, width));
    }
    out.push_str(&savings_text(report, width));
    out
}

fn why(alone: &Alone) -> &'static str {
    match alone.why {
        WhyAlone::BedTaken { .. } => "their neighbours' beds taken by others",
        WhyAlone::DoesNotFit { .. } => "not fitting beside another",
        WhyAlone::SharesNothing => "sharing no station",
        WhyAlone::NoBrake => "no brake taking them",
    }
}

fn savings_text(report: &BatchReport, width: usize) -> String {
    let mut out = format!(
        "\nWhat one saves following the other, the strongest {} of {}\n",
        STRONGEST.min(report.savings.len()),
        report.savings.len()
    );
    let rows: Vec<Vec<String>> = report
        .savings
        .iter()
        .take(STRONGEST)
        .map(|link| {
            let fits = if link.fits_one_bed { "yes" } else { "no" };
            vec![
                link.one.to_string(),
                link.two.to_string(),
                link.brake.to_string(),
                format!("{:.0}", link.saved.minutes()),
                fits.to_owned(),
                shared(link),
            ]
        })
        .collect();
    let columns = [
        ("part", Side::Left),
        ("part", Side::Left),
        ("brake", Side::Left),
        ("minutes", Side::Right),
        ("at once", Side::Left),
        ("because", Side::Left),
    ];
    out.push_str(&table(&columns, &rows, width));
    out
}

fn names<'p>(parts: impl Iterator<Item = &'p PartId>) -> String {
    let names: Vec<&str> = parts.map(PartId::as_str).collect();
    names.join(" ")
}

/// All batches and all savings, for machines.
pub(crate) fn as_json(shop: &Shop, report: &BatchReport) -> Value {
    let clock = Clock::new(shop.zone);
    let batches: Vec<Value> = report.batches.iter().map(|b| batch(b, clock)).collect();
    let alone = report.alone.iter().map(|alone| {
        let mut value = part(&alone.part, clock);
        let (why, with) = match &alone.why {
            WhyAlone::BedTaken { with } => ("bed-taken", Some(with)),
            WhyAlone::DoesNotFit { with } => ("does-not-fit", Some(with)),
            WhyAlone::SharesNothing => ("shares-nothing", None),
            WhyAlone::NoBrake => ("no-brake", None),
        };
        value["why"] = json!(why);
        value["with"] = json!(with.map(PartId::as_str));
        value
    });
    let savings = report.savings.iter().map(|link| {
        json!({
            "part": link.one.as_str(),
            "other": link.two.as_str(),
            "brake": link.brake.as_str(),
            "saved_seconds": link.saved.0,
            "fits_one_bed": link.fits_one_bed,
            "shared": link.shared.iter().map(station).collect::<Vec<_>>(),
        })
    });
    json!({
        "format": "brakewright.batches/2",
        "shop": shop.name,
        "batches": batches,
        "alone": alone.collect::<Vec<_>>(),
        "savings": savings.collect::<Vec<_>>(),
    })
}

fn batch(batch: &Batch, clock: Clock) -> Value {
    json!({
        "brake": batch.brake.as_str(),
        "bed_mm": batch.bed.mm(),
        "saved_seconds": batch.saved.0,
        "stations": batch.stations.iter().map(station).collect::<Vec<_>>(),
        "parts": batch.parts.iter().map(|of| part(of, clock)).collect::<Vec<_>>(),
    })
}

fn station(station: &BatchStation) -> Value {
    json!({
        "punch": station.punch.as_str(),
        "die": station.die.as_str(),
        "v_mm": station.v.mm(),
        "left_mm": station.left.mm(),
        "length_mm": station.length.mm(),
    })
}

fn part(part: &BatchPart, clock: Clock) -> Value {
    json!({
        "part": part.part.as_str(),
        "orders": part.orders.iter().map(units::OrderId::as_str).collect::<Vec<_>>(),
        "pieces": part.pieces,
        "due": part.due.map(|due| clock.sortable(due)),
        "stations": part.stations,
    })
}

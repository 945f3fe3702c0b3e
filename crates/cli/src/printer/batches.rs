//! Which parts suit one bed together.

use super::clock::Clock;
use super::table::{Side, table, wrapped};
use super::{INVENTED, counted};
use model::Shop;
use serde_json::{Value, json};
use std::collections::BTreeMap;
use std::fmt::Write as _;
use units::{BrakeId, Moment, PartId};
use workshop::{Ask, BatchReport, PartStudy, part_sheet};

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
    let (together, alone): (Vec<_>, Vec<_>) =
        report.batches.iter().partition(|batch| batch.len() > 1);
    out.push_str("\nParts that suit one bed together\n");
    let rows: Vec<Vec<String>> = together
        .iter()
        .enumerate()
        .map(|(index, batch)| {
            let number = (index + 1).to_string();
            vec![number, batch.len().to_string(), names(batch)]
        })
        .collect();
    let columns = [
        ("batch", Side::Right),
        ("parts", Side::Right),
        ("which", Side::Left),
    ];
    out.push_str(&table(&columns, &rows, width));
    let alone: Vec<PartId> = alone.into_iter().flatten().cloned().collect();
    if !alone.is_empty() {
        let parts = counted(alone.len(), "part shares", "parts share");
        let line = format!("{parts} a bed with no other: {}", names(&alone));
        let _ = writeln!(out, "\n{}", wrapped(&line, 2, width));
    }
    out.push_str(&savings_text(shop, report, from, width));
    out
}

fn savings_text(shop: &Shop, report: &BatchReport, from: Moment, width: usize) -> String {
    let mut out = format!(
        "\nWhat one saves following the other, the strongest {} of {}\n",
        STRONGEST.min(report.savings.len()),
        report.savings.len()
    );
    let mut sheets = BTreeMap::new();
    let mut rows = Vec::new();
    for (one, two, saved, brake) in report.savings.iter().take(STRONGEST) {
        for part in [one, two] {
            sheets
                .entry(part.clone())
                .or_insert_with(|| part_sheet(shop, part, Ask::numbers(from)));
        }
        let reason = shared_tools(sheets.get(one), sheets.get(two), brake);
        rows.push(vec![
            one.to_string(),
            two.to_string(),
            brake.to_string(),
            format!("{:.0}", saved.minutes()),
            reason,
        ]);
    }
    let columns = [
        ("part", Side::Left),
        ("part", Side::Left),
        ("brake", Side::Left),
        ("minutes", Side::Right),
        ("because", Side::Left),
    ];
    out.push_str(&table(&columns, &rows, width));
    out
}

/// The punches and dies that both parts' best setups use on the brake.
fn shared_tools(
    one: Option<&Option<PartStudy>>,
    two: Option<&Option<PartStudy>>,
    brake: &BrakeId,
) -> String {
    let tools = |sheet: Option<&Option<PartStudy>>| -> Vec<String> {
        let study = sheet.and_then(Option::as_ref);
        let best = study
            .and_then(|study| study.brake(brake))
            .and_then(|on_brake| on_brake.options.first());
        let mut tools: Vec<String> = best
            .into_iter()
            .flat_map(|option| &option.hits)
            .map(|bend| format!("{} over {}", bend.punch, bend.die))
            .collect();
        tools.sort();
        tools.dedup();
        tools
    };
    let others = tools(two);
    let shared: Vec<String> = tools(one)
        .into_iter()
        .filter(|tool| others.contains(tool))
        .collect();
    if shared.is_empty() {
        "setups other than their best share a station".to_owned()
    } else {
        format!("both use {}", shared.join(" and "))
    }
}

fn names(parts: &[PartId]) -> String {
    let names: Vec<&str> = parts.iter().map(PartId::as_str).collect();
    names.join(" ")
}

/// All batches and all savings, for machines.
pub(crate) fn as_json(shop: &Shop, report: &BatchReport) -> Value {
    let batches: Vec<Vec<&str>> = report
        .batches
        .iter()
        .map(|batch| batch.iter().map(PartId::as_str).collect())
        .collect();
    let savings: Vec<Value> = report
        .savings
        .iter()
        .map(|(one, two, saved, brake)| {
            json!({
                "part": one.as_str(),
                "other": two.as_str(),
                "brake": brake.as_str(),
                "saved_seconds": saved.0,
            })
        })
        .collect();
    json!({
        "format": "brakewright.batches/1",
        "shop": shop.name,
        "batches": batches,
        "savings": savings,
    })
}

//! Formulas with their sources, and what bottoming and coining would ask.

use super::{decimals, name};
use crate::printer::table::{Side, table, wrapped};
use bending::force::ForceBand;
use std::fmt::Write as _;
use study::{HitStudy, PartStudy, formulas};

pub(super) fn as_text(study: &PartStudy, width: usize) -> String {
    let mut out = bands(study, width);
    let options = study.brakes.iter().flat_map(|brake| &brake.options);
    out.push_str("\nFormulas\n");
    for formula in formulas(options) {
        let _ = writeln!(out, "  {} {}", formula.name, formula.mark);
        let lines = [
            formula.formula.to_owned(),
            formula.symbols.to_owned(),
            format!("source: {}", formula.source),
            format!("holds for: {}", formula.range),
        ];
        for line in lines {
            let _ = writeln!(out, "    {}", wrapped(&line, 6, width - 4));
        }
    }
    let marks = "[source] read in a published text; [memory] recalled, verify in the book; [computed] the \
                 formula evaluated; [trade] common practice, no source.\n";
    out.push_str(&wrapped(marks, 2, width));
    out
}

/// What the best setups would take if somebody bottomed or coined with them.
fn bands(study: &PartStudy, width: usize) -> String {
    let mut rows = Vec::new();
    for brake in &study.brakes {
        let best = brake.options.first();
        for hit in best.into_iter().flat_map(|best| &best.hits) {
            if let (Some(bottoming), Some(coining)) = (hit.force.bottoming, hit.force.coining) {
                rows.push(row(brake.brake.as_str(), hit, bottoming, coining));
            }
        }
    }
    if rows.is_empty() {
        return String::new();
    }
    let columns = [
        ("brake", Side::Left),
        ("bend", Side::Right),
        ("air kN", Side::Right),
        ("bottoming kN", Side::Right),
        ("coining kN", Side::Right),
    ];
    let mut out =
        "\nIf it were bottomed or coined: bounds by common practice, not calculations\n".to_owned();
    out.push_str(&table(&columns, &rows, width));
    out
}

fn row(brake: &str, hit: &HitStudy, bottoming: ForceBand, coining: ForceBand) -> Vec<String> {
    let band = |band: ForceBand| {
        let beyond = if band.may_exceed { " or more" } else { "" };
        format!(
            "{:.0} to {:.0}{beyond}",
            band.least.get(),
            band.usual_most.get()
        )
    };
    vec![
        brake.to_owned(),
        name(hit),
        decimals(hit.force.force.get(), 1),
        band(bottoming),
        band(coining),
    ]
}

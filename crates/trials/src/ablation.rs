//! The table of what each part of the search is worth.

use crate::report::{Ask, Failure, Row, run_all, sets};
use search::Effort;
use std::fmt::Write as _;
use tabled::builder::Builder;
use tabled::settings::object::{Columns, Object, Rows};
use tabled::settings::{Alignment, Style};
use trials::measure::Searcher;
use trials::sets::Set;
use trials::variants::variants;

/// A line for the search as it is and for each part left out, with the mean difference by set.
pub(crate) fn ablation(ask: &Ask) -> Result<String, Failure> {
    let sets = sets(ask);
    let mut builder = Builder::default();
    let heads = sets.iter().map(|set| set.name());
    builder.push_record(std::iter::once("search".to_owned()).chain(heads));
    for (name, effort) in variants(Effort::single(1)) {
        let rows = run_all(ask, &[Searcher::Engine], effort)?;
        let means = sets.iter().map(|&set| mean(&rows, set));
        builder.push_record(std::iter::once(name).chain(means));
    }
    let mut table = builder.build();
    table
        .with(Style::markdown())
        .modify(Columns::new(1..).not(Rows::first()), Alignment::right());
    let mut text = table.to_string();
    let _ = writeln!(text);
    Ok(text)
}

#[allow(clippy::cast_precision_loss)] // counts
fn mean(rows: &[Row], set: Set) -> String {
    let of_set = rows.iter().filter(|row| row.set == set);
    let differences: Vec<f64> = of_set.map(Row::difference).collect();
    let mean = differences.iter().sum::<f64>() / differences.len().max(1) as f64;
    format!("{mean:+.2} %")
}

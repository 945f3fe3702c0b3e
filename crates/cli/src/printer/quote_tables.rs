//! A quote as tables: itself in one row, the brakes, the price breaks, and who has to wait.

use exchange::table::{Cell, Table};
use serde_json::Value;

/// The tables of a quote as docs/reference/quote-json.md describes it; the first has one row, so that
/// those of many quotes can be put below one another.
pub(crate) fn all(quote: &Value) -> Vec<Table> {
    vec![own(quote), brakes(quote), breaks(quote), waits(quote)]
}

fn table(name: &str, columns: &[(&str, &str)], rows: Vec<Vec<Cell>>) -> Table {
    Table {
        name: name.to_owned(),
        header: columns.iter().map(|(name, _)| (*name).to_owned()).collect(),
        rows,
    }
}

/// What a JSON pointer leads to: numbers as they are, seconds as minutes, nothing as an empty cell.
fn cell(of: &Value, (column, pointer): (&str, &str)) -> Cell {
    let found = of.pointer(pointer).unwrap_or(&Value::Null);
    match found {
        Value::Number(number) => {
            let number = number.as_f64().unwrap_or(f64::NAN);
            let minutes = column.ends_with("_minutes") && pointer.ends_with("seconds");
            let seconds = column.ends_with("_seconds") && pointer.ends_with("ms");
            let unit = if minutes {
                60.0
            } else if seconds {
                1_000.0
            } else {
                1.0
            };
            Cell::Number(number / unit)
        }
        Value::String(text) => Cell::from(text.as_str()),
        Value::Bool(yes) => Cell::from(if *yes { "yes" } else { "no" }),
        Value::Null => Cell::from(""),
        other => Cell::from(other.to_string()),
    }
}

fn row(of: &Value, columns: &[(&str, &str)]) -> Vec<Cell> {
    columns.iter().map(|&column| cell(of, column)).collect()
}

fn each<'a>(of: &'a Value, pointer: &str) -> impl Iterator<Item = &'a Value> {
    let list = of.pointer(pointer).and_then(Value::as_array);
    list.into_iter().flatten()
}

const OWN: &[(&str, &str)] = &[
    ("shop", "/shop"),
    ("invented", "/invented"),
    ("part", "/part/part"),
    ("name", "/part/name"),
    ("material", "/part/material"),
    ("thickness_mm", "/part/thickness_mm"),
    ("bends", "/part/bends"),
    ("quantity", "/quantity"),
    ("ready", "/ready"),
    ("brake", "/place/brake"),
    ("changeover_minutes", "/place/changeover_seconds"),
    ("run_minutes", "/place/run_seconds"),
    ("cycle_seconds", "/place/cycle_ms"),
    ("people_minutes", "/place/people_seconds"),
    ("planned_end", "/place/end"),
    ("earliest_end", "/earliest/end"),
    ("done_by_50", "/odds/by/0/done_by"),
    ("done_by_80", "/odds/by/1/done_by"),
    ("done_by_95", "/odds/by/2/done_by"),
    ("due", "/odds/due/moment"),
    ("due_odds", "/odds/due/odds"),
    ("orders_later", "/place/price/orders_later"),
    ("orders_newly_late", "/place/price/orders_newly_late"),
];

fn own(quote: &Value) -> Table {
    table("quote", OWN, vec![row(quote, OWN)])
}

fn brakes(quote: &Value) -> Table {
    let able = [
        ("brake", "/brake"),
        ("can", "/can"),
        ("crew", "/crew"),
        ("cycle_seconds", "/cycle_ms"),
        ("setup_minutes", "/setup/seconds"),
        ("why_not", "/text"),
    ];
    let can = |of: &Value, can: bool| {
        let mut cells = row(of, &able);
        cells[1] = Cell::from(if can { "yes" } else { "no" });
        cells
    };
    let rows = each(quote, "/able").map(|one| can(one, true));
    let not = each(quote, "/refusals").map(|one| can(one, false));
    table("brakes", &able, rows.chain(not).collect())
}

fn breaks(quote: &Value) -> Table {
    let columns = [
        ("quantity", "/quantity"),
        ("minutes_each", "/minutes_each"),
        ("changeover_minutes", "/changeover_seconds"),
        ("run_minutes", "/run_seconds"),
    ];
    let rows = each(quote, "/breaks/points").map(|one| row(one, &columns));
    table("price breaks", &columns, rows.collect())
}

fn waits(quote: &Value) -> Table {
    let columns = [
        ("order", "/order"),
        ("due", "/due"),
        ("ended", "/ended"),
        ("ends_now", "/ends_now"),
        ("late_before_minutes", "/late_before_seconds"),
        ("late_after_minutes", "/late_after_seconds"),
    ];
    let rows = each(quote, "/place/moved").map(|one| row(one, &columns));
    table("moved orders", &columns, rows.collect())
}

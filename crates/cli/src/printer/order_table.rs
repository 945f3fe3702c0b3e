//! Rows of orders as work-orders.csv has them.

use documents::OrderRow;
use std::fmt::Write as _;

/// The rows under our names of the columns: those that any row has, in the order of the file's page.
/// Nothing is changed in a cell, so that the shop's reader finds what was read.
pub(crate) fn as_csv(rows: &[OrderRow]) -> String {
    let columns: Vec<&str> = documents::order_columns()
        .filter(|column| rows.iter().any(|row| row.cells.contains_key(*column)))
        .collect();
    let mut out = String::new();
    let _ = writeln!(out, "{}", columns.join(","));
    for row in rows {
        for (at, column) in columns.iter().enumerate() {
            if at > 0 {
                out.push(',');
            }
            let cell = row.cells.get(*column).map_or("", String::as_str);
            if cell.contains([',', '"']) || cell.starts_with('#') {
                let _ = write!(out, "\"{}\"", cell.replace('"', "\"\""));
            } else {
                out.push_str(cell);
            }
        }
        out.push('\n');
    }
    out
}

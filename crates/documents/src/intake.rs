//! Order files of other programs: the same columns as work-orders.csv under other names.

use crate::codes::{DUPLICATE_COLUMN, TOML_SYNTAX, UNKNOWN_COLUMN, WRONG_HEADER};
use crate::findings::{Findings, Problem, shown};
use crate::limits::{LARGEST_FILE, LARGEST_SETTINGS};
use crate::nearest::suggestion;
use crate::shop::{OrderRow, order_columns};
use crate::table::{content_lines, read_cells, split_checked};
use crate::text::text_of;
use serde::Deserialize;
use std::collections::BTreeMap;
use units::{Finding, Place};

/// What another program calls its columns.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct ColumnNames {
    /// Our name of a column, and what it is called there. Columns that are called as ours need no
    /// entry.
    pub called: BTreeMap<String, String>,
    /// Columns, by their names there, that nobody needs.
    pub ignored: Vec<String>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Written {
    #[serde(default)]
    columns: BTreeMap<String, String>,
    #[serde(default)]
    ignore: WrittenIgnore,
}

#[derive(Default, Deserialize)]
#[serde(deny_unknown_fields, default)]
struct WrittenIgnore {
    columns: Vec<String>,
}

impl ColumnNames {
    /// Reads names from settings in TOML: the tables `columns` and `ignore`, or the same within
    /// `inbox`, so that the daemon's settings serve as they are.
    ///
    /// # Errors
    /// A finding when the file is not of that form.
    pub fn read(file: &str, bytes: &[u8]) -> Result<ColumnNames, Vec<Finding>> {
        let mut out = Findings::default();
        let names = text_of(file, bytes, LARGEST_SETTINGS, &mut out)
            .and_then(|text| names_of(file, text, &mut out));
        match names {
            Some(names) if !out.any_error() => Ok(names),
            _ => Err(out.finish()),
        }
    }
}

fn names_of(file: &str, text: &str, out: &mut Findings) -> Option<ColumnNames> {
    let mut refuse = |error: &toml::de::Error| {
        let before = error.span().and_then(|span| text.get(..span.start));
        let line = before.map_or(1, |text| 1 + text.matches('\n').count() as u64);
        let problem = Problem::new(
            TOML_SYNTAX,
            shown(error.message()),
            "[columns] with our name = \"theirs\", and [ignore] with columns = [\"theirs\"]",
            "see [inbox.columns] in config/daemon.toml",
        );
        out.add(place(file, line, None), problem);
    };
    let table: toml::Table = toml::from_str(text).map_err(|error| refuse(&error)).ok()?;
    let within = match table.get("inbox") {
        Some(toml::Value::Table(inbox)) => {
            let mut inbox = inbox.clone();
            inbox.remove("folder");
            inbox
        }
        _ => table,
    };
    let written: Written = within.try_into().map_err(|error| refuse(&error)).ok()?;
    for ours in written.columns.keys() {
        if !order_columns().any(|column| column == ours) {
            let action = suggestion(ours, order_columns(), "name a column of work-orders.csv");
            let expected = "our name of a column of an order";
            let problem = Problem::new(UNKNOWN_COLUMN, shown(ours), expected, action);
            out.add(place(file, 1, Some(ours)), problem);
        }
    }
    Some(ColumnNames {
        called: written.columns,
        ignored: written.ignore.columns,
    })
}

/// Reads the rows of an order file, as `work-orders.csv` has them but with columns of other names.
/// Values are not read here; [`crate::Base::read_orders`] does that. Each row knows its line.
///
/// # Errors
/// All findings about the file's form: not UTF-8, no header, columns nobody knows, broken quotes.
pub fn order_rows(
    file: &str,
    bytes: &[u8],
    names: &ColumnNames,
) -> Result<Vec<OrderRow>, Vec<Finding>> {
    let mut out = Findings::default();
    let rows = read(file, bytes, names, &mut out);
    if out.any_error() {
        return Err(out.finish());
    }
    Ok(rows.unwrap_or_default())
}

fn read(
    file: &str,
    bytes: &[u8],
    names: &ColumnNames,
    out: &mut Findings,
) -> Option<Vec<OrderRow>> {
    let text = text_of(file, bytes, LARGEST_FILE, out)?;
    let mut lines = content_lines(text);
    let Some((line, header)) = lines.next() else {
        let problem = Problem::new(
            WRONG_HEADER,
            "nothing but comments",
            "a header and rows of orders",
            "begin the table with its header",
        );
        out.add(place(file, 1, None), problem);
        return None;
    };
    let header = match split_checked(header) {
        Ok(cells) => cells,
        Err(problem) => {
            out.add(place(file, line, None), problem);
            return None;
        }
    };
    let columns = columns(file, line, &header, names, out);
    let mut rows = Vec::new();
    for (line, text) in lines {
        match read_cells(text, header.len()) {
            Ok(cells) => {
                let named = columns.iter().zip(cells);
                let cells = named.filter_map(|(column, cell)| {
                    Some((column.clone()?, cell.into_owned())).filter(|(_, cell)| !cell.is_empty())
                });
                rows.push(OrderRow {
                    line: Some(line),
                    cells: cells.collect(),
                    ..OrderRow::default()
                });
            }
            Err(problem) => out.add(place(file, line, None), problem),
        }
    }
    Some(rows)
}

/// Our name of each column of the header; none of one that nobody needs.
fn columns(
    file: &str,
    line: u64,
    header: &[std::borrow::Cow<'_, str>],
    names: &ColumnNames,
    out: &mut Findings,
) -> Vec<Option<String>> {
    let mut columns = Vec::new();
    for cell in header {
        let known = names.called.iter().find(|(_, called)| *called == cell);
        let ours = match known {
            Some((ours, _)) => Some(ours.clone()),
            None if names.ignored.iter().any(|ignored| ignored == cell) => None,
            None if order_columns().any(|column| column == cell) => Some(cell.to_string()),
            None => {
                let action = "name it in the inbox's columns, or among those to ignore";
                let problem = Problem::new(
                    UNKNOWN_COLUMN,
                    shown(cell),
                    "a column of an order, under our name or the one set for it",
                    suggestion(cell, order_columns(), action),
                );
                out.add(place(file, line, Some(cell)), problem);
                None
            }
        };
        if ours.is_some() && columns.contains(&ours) {
            let problem = Problem::new(
                DUPLICATE_COLUMN,
                shown(cell),
                "each column once",
                "take one of the two out",
            );
            out.add(place(file, line, Some(cell)), problem);
        }
        columns.push(ours);
    }
    columns
}

fn place(file: &str, line: u64, field: Option<&str>) -> Place {
    Place {
        file: file.to_owned(),
        line: Some(line),
        field: field.map(str::to_owned),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn names() -> ColumnNames {
        let called = [("order", "WO No"), ("part", "Item"), ("quantity", "Qty")];
        ColumnNames {
            called: called
                .map(|(ours, theirs)| (ours.to_owned(), theirs.to_owned()))
                .into(),
            ignored: vec!["Customer".to_owned()],
        }
    }

    #[test]
    fn columns_of_other_names_are_taken_and_lines_kept() {
        let text =
            "# from the office\nWO No,Customer,Item,Qty,due\n\nW-1,\"A, B\",P-1,12,2027-03-24\n";
        let rows = order_rows("orders.csv", text.as_bytes(), &names()).unwrap();
        assert_eq!(rows.len(), 1);
        assert_eq!(rows[0].line, Some(4));
        let cell = |name: &str| rows[0].cells.get(name).map(String::as_str);
        assert_eq!(cell("order"), Some("W-1"));
        assert_eq!(cell("quantity"), Some("12"));
        assert_eq!(cell("due"), Some("2027-03-24"));
        assert_eq!(rows[0].cells.len(), 4, "{:?}", rows[0].cells);
    }

    #[test]
    fn names_are_read_from_a_file_of_their_own_or_the_daemons() {
        let own = "[columns]\norder = \"WO No\"\npart = \"Item\"\nquantity = \"Qty\"\n\
                   [ignore]\ncolumns = [\"Customer\"]\n";
        assert_eq!(ColumnNames::read("c.toml", own.as_bytes()), Ok(names()));
        let daemons = "site = \"shop\"\n[inbox]\nfolder = \"in\"\n[inbox.columns]\n\
                       order = \"WO No\"\npart = \"Item\"\nquantity = \"Qty\"\n\
                       [inbox.ignore]\ncolumns = [\"Customer\"]\n";
        assert_eq!(ColumnNames::read("d.toml", daemons.as_bytes()), Ok(names()));
        for wrong in [
            "[columns]\nodrer = \"a\"",
            "columns = 3",
            "[colums]",
            "[",
            "\u{0}",
        ] {
            assert!(
                ColumnNames::read("c.toml", wrong.as_bytes()).is_err(),
                "{wrong}"
            );
        }
    }

    #[test]
    fn what_is_not_understood_is_refused_with_its_place() {
        let refused = |text: &str| {
            let findings = order_rows("orders.csv", text.as_bytes(), &names()).unwrap_err();
            findings.iter().map(ToString::to_string).collect::<Vec<_>>()
        };
        let unknown = refused("WO No,Item,Qty,Colour\nW-1,P-1,3,red\n");
        assert!(
            unknown.len() == 1 && unknown[0].starts_with("orders.csv:1:Colour"),
            "{unknown:?}"
        );
        let twice = refused("WO No,order,Item,Qty\nW-1,W-2,P-1,3\n");
        assert!(twice[0].starts_with("orders.csv:1:order"), "{twice:?}");
        let short = refused("WO No,Item,Qty\nW-1,P-1\n");
        assert!(short[0].starts_with("orders.csv:2"), "{short:?}");
        assert!(!refused("").is_empty());
        assert!(!refused("\u{0}\u{1}").is_empty());
    }
}

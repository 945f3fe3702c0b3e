//! CSV as RFC 4180 has it.

use super::{Cell, Table};

/// The table as CSV in UTF-8. Words that a spreadsheet would take for a formula are [`guarded`].
#[must_use]
pub fn as_csv(table: &Table) -> String {
    let mut out = String::new();
    let header: Vec<Cell> = table
        .header
        .iter()
        .map(|name| name.as_str().into())
        .collect();
    for row in std::iter::once(&header).chain(&table.rows) {
        for (at, cell) in row.iter().enumerate() {
            if at > 0 {
                out.push(',');
            }
            match cell {
                Cell::Number(number) if number.is_finite() => out.push_str(&number.to_string()),
                Cell::Number(_) => {}
                Cell::Text(text) => push(&mut out, &guarded(text)),
            }
        }
        out.push_str("\r\n");
    }
    out
}

fn push(out: &mut String, text: &str) {
    if text.contains(['"', ',', '\r', '\n']) {
        out.push('"');
        out.push_str(&text.replace('"', "\"\""));
        out.push('"');
    } else {
        out.push_str(text);
    }
}

/// Words that begin with `= + - @`, a tab or a line break get an apostrophe in front, so that no
/// spreadsheet takes them for a formula.
#[must_use]
pub fn guarded(text: &str) -> String {
    if text.starts_with(['=', '+', '-', '@', '\t', '\r', '\n']) {
        format!("'{text}")
    } else {
        text.to_owned()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn formulas_are_made_inert_and_numbers_stay() {
        for (cell, written) in [
            ("=1+1", "'=1+1"),
            ("+49", "'+49"),
            ("-5", "'-5"),
            ("@SUM(A1)", "'@SUM(A1)"),
            ("\tx", "'\tx"),
            ("W-1=2", "W-1=2"),
            ("", ""),
        ] {
            assert_eq!(guarded(cell), written);
        }
        let table = Table {
            name: "t".to_owned(),
            header: vec!["a".to_owned(), "b,c".to_owned()],
            rows: vec![
                vec![Cell::Number(-1.5), "=x".into()],
                vec![Cell::Number(f64::NAN), "say \"no\"".into()],
            ],
        };
        let expected = "a,\"b,c\"\r\n-1.5,'=x\r\n,\"say \"\"no\"\"\"\r\n";
        assert_eq!(as_csv(&table), expected);
    }
}

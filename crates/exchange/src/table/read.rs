//! A workbook's sheet as the text of a table in CSV, for the readers that take such.

use super::packed;
use crate::codes::{BAD_CELL, NO_WORKBOOK, TOO_LARGE, error, shown};
use calamine::{DataRef, Reader, Xlsx, XlsxError};
use chrono::{NaiveDate, NaiveTime, TimeDelta, Timelike};
use std::io::Cursor;
use std::panic::{AssertUnwindSafe, catch_unwind};
use units::Finding;

/// Rows and columns, counted from the sheet's first cell.
const ROWS_MOST: u32 = 200_000;
const COLUMNS_MOST: u32 = 500;
/// Cells with something in them.
const CELLS_MOST: usize = 1_000_000;

/// Reads a sheet: the one of that name, or the first. Its rows become lines of CSV of the same number,
/// empty ones blank; the first row with something in it is the header, and says how many cells every
/// row has. Dates become `2027-03-24`, with a time `2027-03-24T06:00`; yes and no are the words.
///
/// # Errors
/// Findings for a file that is no workbook, is larger than 16 MiB, unpacks to more than 64 MiB, or is
/// packed more than 200 to 1; for formulas, whose results are not believed; for cells with errors,
/// durations or line breaks.
pub fn as_table(file: &str, bytes: &[u8], sheet: Option<&str>) -> Result<String, Vec<Finding>> {
    packed::check(file, bytes).map_err(|finding| vec![finding])?;
    // The reader is another's: should it ever give up on a file, that file is refused.
    let read = catch_unwind(AssertUnwindSafe(|| read(file, bytes, sheet)));
    match read {
        Ok(read) => read.map_err(|finding| vec![finding]),
        Err(_) => Err(vec![refused(file, "a form that is not understood")]),
    }
}

fn refused(file: &str, found: &str) -> Finding {
    let action = "save the table again as .xlsx, or as CSV";
    error(
        NO_WORKBOOK,
        (file, 0),
        found,
        "a workbook of Office Open XML",
        action,
    )
}

fn read(file: &str, bytes: &[u8], sheet: Option<&str>) -> Result<String, Finding> {
    let broken = |cause: &XlsxError| refused(file, &shown(&cause.to_string()));
    let mut book = Xlsx::new(Cursor::new(bytes)).map_err(|cause| broken(&cause))?;
    let names = book.sheet_names();
    let name = match sheet {
        Some(name) => names.iter().find(|known| *known == name),
        None => names.first(),
    };
    let Some(name) = name.cloned() else {
        let found = match sheet {
            Some(name) => format!(
                "no sheet {}; there are {}",
                shown(name),
                shown(&names.join(", "))
            ),
            None => "no sheet".to_owned(),
        };
        return Err(refused(file, &found));
    };
    let mut cells = book
        .worksheet_cells_reader(&name)
        .map_err(|cause| broken(&cause))?;
    let mut rows: Vec<Vec<String>> = Vec::new();
    let mut count = 0;
    while let Some(cell) = cells
        .next_cell_with_formula_metadata()
        .map_err(|cause| broken(&cause))?
    {
        let (row, column) = cell.pos;
        if cell.formula.is_some() {
            return Err(packed::formula(file, &called(row, column)));
        }
        let text = text_of(file, (row, column), &cell.value)?;
        if text.is_empty() {
            continue;
        }
        count += 1;
        if row >= ROWS_MOST || column >= COLUMNS_MOST || count > CELLS_MOST {
            let found = format!("something in the cell {}", called(row, column));
            let expected = "at most 200000 rows, 500 columns and 1000000 cells";
            let action = "save the rows that matter alone";
            return Err(error(
                TOO_LARGE,
                (file, u64::from(row) + 1),
                found,
                expected,
                action,
            ));
        }
        let (row, column) = (row as usize, column as usize);
        if rows.len() <= row {
            rows.resize(row + 1, Vec::new());
        }
        if let Some(cells) = rows.get_mut(row) {
            if cells.len() <= column {
                cells.resize(column + 1, String::new());
            }
            if let Some(cell) = cells.get_mut(column) {
                *cell = text;
            }
        }
    }
    Ok(lines(&rows))
}

/// Each row as a line, with as many cells as the header or more.
fn lines(rows: &[Vec<String>]) -> String {
    let width = rows
        .iter()
        .map(Vec::len)
        .find(|width| *width > 0)
        .unwrap_or(0);
    let mut out = String::new();
    for row in rows {
        if !row.is_empty() {
            let blanks = width.saturating_sub(row.len());
            let blank = String::new();
            let cells = row.iter().chain(std::iter::repeat_n(&blank, blanks));
            for (at, cell) in cells.enumerate() {
                if at > 0 {
                    out.push(',');
                }
                // In quotes all of them: a line that begins with # would be a comment.
                out.push('"');
                out.push_str(&cell.replace('"', "\"\""));
                out.push('"');
            }
        }
        out.push('\n');
    }
    out
}

fn text_of(file: &str, at: (u32, u32), value: &DataRef<'_>) -> Result<String, Finding> {
    let bad = |found: String, expected: &str| {
        let place = (file, u64::from(at.0) + 1);
        let found = format!("{found} in the cell {}", called(at.0, at.1));
        error(BAD_CELL, place, found, expected, "correct the cell")
    };
    let text = match value {
        DataRef::Empty => String::new(),
        DataRef::Int(number) => number.to_string(),
        // Never with an exponent, and back to the same number.
        DataRef::Float(number) => number.to_string(),
        DataRef::String(text) => text.clone(),
        DataRef::SharedString(text) => (*text).to_owned(),
        DataRef::Bool(yes) => if *yes { "yes" } else { "no" }.to_owned(),
        DataRef::DateTime(when) if when.is_datetime() => {
            // A moment kept as a fraction of days may be off by less than half a second.
            let (year, month, day, hour, minute, second, milli) = when.to_ymd_hms_milli();
            let date = NaiveDate::from_ymd_opt(year.into(), month.into(), day.into());
            let (hour, minute, second) = (hour.into(), minute.into(), second.into());
            let time = NaiveTime::from_hms_milli_opt(hour, minute, second, milli.into());
            let when = date.zip(time).map(|(date, time)| date.and_time(time));
            let when = when.and_then(|when| when.checked_add_signed(TimeDelta::milliseconds(500)));
            match when.filter(|when| when.second() == 0) {
                None => return Err(bad("a time with seconds".to_owned(), "whole minutes")),
                Some(when) if (when.hour(), when.minute()) == (0, 0) => {
                    when.format("%Y-%m-%d").to_string()
                }
                Some(when) => when.format("%Y-%m-%dT%H:%M").to_string(),
            }
        }
        DataRef::DateTimeIso(text) => text.clone(),
        DataRef::DateTime(_) | DataRef::DurationIso(_) => {
            return Err(bad("a duration".to_owned(), "a word, a number or a date"));
        }
        DataRef::Error(error) => {
            return Err(bad(
                format!("the error {}", shown(&error.to_string())),
                "a value",
            ));
        }
    };
    let text = text.trim().to_owned();
    if text.contains(['\n', '\r']) {
        return Err(bad("a line break".to_owned(), "one line"));
    }
    Ok(text)
}

/// `A1`, `AB12`.
fn called(row: u32, column: u32) -> String {
    let mut letters = Vec::new();
    let mut left = column;
    loop {
        let letter = u8::try_from(left % 26).unwrap_or(0);
        letters.push(char::from(b'A' + letter));
        if left < 26 {
            break;
        }
        left = left / 26 - 1;
    }
    let letters: String = letters.into_iter().rev().collect();
    format!("{letters}{}", u64::from(row) + 1)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::table::{Cell, Table, as_workbook};
    use units::Moment;

    fn book(rows: Vec<Vec<Cell>>) -> Vec<u8> {
        let table = Table {
            name: "orders".to_owned(),
            header: vec!["WO".to_owned(), "Item".to_owned(), "Qty".to_owned()],
            rows,
        };
        as_workbook(&[table], Moment(1_800_000_000)).unwrap()
    }

    #[test]
    fn cells_are_called_as_spreadsheets_call_them() {
        let names = [
            (0, "A1"),
            (25, "Z1"),
            (26, "AA1"),
            (701, "ZZ1"),
            (702, "AAA1"),
        ];
        for (column, name) in names {
            assert_eq!(called(0, column), name);
        }
    }

    #[test]
    fn what_is_written_is_read_back_line_by_line() {
        let bytes = book(vec![
            vec!["W-1".into(), "a \"b\", c".into(), 12.0.into()],
            vec!["".into(), "".into(), f64::NAN.into()],
            vec!["#=1+1".into(), "".into(), 0.5.into()],
        ]);
        let text = as_table("o.xlsx", &bytes, None).unwrap();
        let lines: Vec<&str> = text.lines().collect();
        assert_eq!(lines[0], "\"WO\",\"Item\",\"Qty\"");
        assert_eq!(lines[1], "\"W-1\",\"a \"\"b\"\", c\",\"12\"");
        assert_eq!(lines[2], "");
        assert_eq!(lines[3], "\"#=1+1\",\"\",\"0.5\"");
        assert!(as_table("o.xlsx", &bytes, Some("orders")).is_ok());
        assert_eq!(
            as_table("o.xlsx", &bytes, Some("x")).unwrap_err()[0].code,
            "E201"
        );
    }

    #[test]
    fn what_is_no_workbook_is_refused() {
        let code = |bytes: &[u8]| as_table("o.xlsx", bytes, None).unwrap_err()[0].code;
        assert_eq!(code(b"order,part\n"), "E201");
        assert_eq!(code(b"PK\x03\x04 and nothing more"), "E201");
        assert_eq!(code(b""), "E201");
        let broken = book(vec![vec!["W".into(), "p".into(), 1.0.into()]]);
        assert_eq!(code(&broken[..broken.len() / 2]), "E201");
    }
}

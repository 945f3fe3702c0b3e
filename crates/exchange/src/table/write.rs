//! Workbooks (Office Open XML): values alone.

use super::{Cell, Table};
use rust_xlsxwriter::{DocProperties, ExcelDateTime, Format, Workbook, XlsxError};
use units::Moment;

/// Why there is no workbook.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct TableError(String);

impl std::fmt::Display for TableError {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "no workbook: {}", self.0)
    }
}

impl std::error::Error for TableError {}

impl From<XlsxError> for TableError {
    fn from(error: XlsxError) -> TableError {
        TableError(error.to_string())
    }
}

/// The tables as sheets of a workbook, headers first and frozen. Words are written as words, also where
/// they look like a formula; there are no formulas. The same tables and moment give the same bytes.
///
/// # Errors
/// [`TableError`] when a sheet's name cannot be one, a text is longer than a cell may be (32 767
/// letters), or there are more than 1 048 576 rows.
pub fn as_workbook(tables: &[Table], made: Moment) -> Result<Vec<u8>, TableError> {
    let mut workbook = Workbook::new();
    let made = ExcelDateTime::from_timestamp(made.0.max(0))?;
    let about = DocProperties::new()
        .set_author("brakewright")
        .set_creation_datetime(&made);
    workbook.set_properties(&about);
    let bold = Format::new().set_bold();
    for table in tables {
        let sheet = workbook.add_worksheet();
        sheet.set_name(&table.name)?;
        sheet.set_freeze_panes(1, 0)?;
        for (column, name) in (0u16..).zip(&table.header) {
            sheet.write_string_with_format(0, column, name, &bold)?;
        }
        for (row, cells) in (1u32..).zip(&table.rows) {
            for (column, cell) in (0u16..).zip(cells) {
                match cell {
                    Cell::Number(number) if number.is_finite() => {
                        sheet.write_number(row, column, *number)?;
                    }
                    Cell::Text(text) if !text.is_empty() => {
                        sheet.write_string(row, column, text)?;
                    }
                    Cell::Number(_) | Cell::Text(_) => {}
                }
            }
        }
    }
    Ok(workbook.save_to_buffer()?)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn table() -> Table {
        Table {
            name: "runs".to_owned(),
            header: vec!["order".to_owned(), "pieces".to_owned()],
            rows: vec![
                vec!["=1+1".into(), 12.0.into()],
                vec!["ü,\n\"".into(), f64::NAN.into()],
            ],
        }
    }

    #[test]
    fn the_same_table_gives_the_same_bytes() {
        let made = || as_workbook(&[table()], Moment(1_800_000_000)).unwrap();
        assert_eq!(made(), made());
        let other = as_workbook(&[table()], Moment(1_800_000_060)).unwrap();
        assert_ne!(made(), other);
    }

    #[test]
    fn a_name_that_cannot_be_is_an_error() {
        let mut bad = table();
        bad.name = "a/b".to_owned();
        assert!(as_workbook(&[bad], Moment(0)).is_err());
    }
}

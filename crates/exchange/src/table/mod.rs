//! Tables: rows of cells out as CSV or as a workbook, and rows of another program's workbook in.

mod csv;
mod packed;
mod read;
mod write;

pub use csv::{as_csv, guarded};
pub use read::as_table;
pub use write::{TableError, as_workbook};

/// A cell.
#[derive(Clone, Debug, PartialEq)]
pub enum Cell {
    /// Words; empty for nothing.
    Text(String),
    /// A number; one that is not finite is written as nothing.
    Number(f64),
}

impl From<String> for Cell {
    fn from(text: String) -> Cell {
        Cell::Text(text)
    }
}

impl From<&str> for Cell {
    fn from(text: &str) -> Cell {
        Cell::Text(text.to_owned())
    }
}

impl From<f64> for Cell {
    fn from(number: f64) -> Cell {
        Cell::Number(number)
    }
}

/// A table with its header.
#[derive(Clone, Debug, PartialEq)]
pub struct Table {
    /// Name of the sheet: at most 31 letters, without `[ ] : * ? / \` and not beginning or ending
    /// with an apostrophe.
    pub name: String,
    /// The columns' names.
    pub header: Vec<String>,
    /// The rows, each as long as the header.
    pub rows: Vec<Vec<Cell>>,
}

/// Whether these bytes begin like a packed file, as workbooks do.
#[must_use]
pub fn is_packed(bytes: &[u8]) -> bool {
    bytes.starts_with(b"PK\x03\x04")
}

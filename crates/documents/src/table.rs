//! CSV tables: a header, then rows, each cell with its place.

use crate::codes::{
    BAD_QUOTES, CELL_COUNT, DUPLICATE_COLUMN, LINE_TOO_LONG, MISSING_COLUMN, TOO_MANY_ROWS,
    UNKNOWN_COLUMN, WRONG_HEADER,
};
use crate::csv_line::{LineProblem, split_line};
use crate::fields::{Fields, Kind, Raw};
use crate::findings::{Findings, Problem, shown};
use crate::limits::{LARGEST_FILE, LONGEST_LINE, MOST_ROWS};
use crate::nearest::suggestion;
use crate::text::text_of;
use std::borrow::Cow;
use std::collections::BTreeMap;
use units::{LengthUnit, Place};

/// A column a table may have.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Column {
    pub(crate) name: &'static str,
    required: bool,
    /// Whether the header may add `_mm` or `_in`.
    length: bool,
}

/// A column that must be there.
pub(crate) const fn required(name: &'static str) -> Column {
    Column {
        name,
        required: true,
        length: false,
    }
}

/// A column that may be absent.
pub(crate) const fn optional(name: &'static str) -> Column {
    Column {
        name,
        required: false,
        length: false,
    }
}

impl Column {
    /// This column holds lengths.
    pub(crate) const fn length(self) -> Column {
        Column {
            length: true,
            ..self
        }
    }

    /// The unit a header's cell gives this column, when the cell names it.
    fn unit_in(&self, cell: &str, default: LengthUnit) -> Option<LengthUnit> {
        match cell.strip_prefix(self.name)? {
            "" => Some(default),
            "_mm" if self.length => Some(LengthUnit::Millimetre),
            "_in" if self.length => Some(LengthUnit::Inch),
            _ => None,
        }
    }
}

/// Where a column stands in this file, and the unit its lengths have.
type Position = Option<(usize, LengthUnit)>;

/// A table's layout and its default unit.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Layout {
    pub(crate) file: &'static str,
    pub(crate) columns: &'static [Column],
    pub(crate) unit: LengthUnit,
}

/// Reads a table row by row. False when some row or the whole table could not be read; what is
/// wrong is then among the findings.
pub(crate) fn read_table(
    layout: Layout,
    bytes: &[u8],
    out: &mut Findings,
    mut each: impl FnMut(&mut Row<'_, '_>),
) -> bool {
    let Some(text) = text_of(layout.file, bytes, LARGEST_FILE, out) else {
        return false;
    };
    let mut lines = content_lines(text);
    let Some((header_line, header)) = lines.next() else {
        let place = place(layout.file, 1, None);
        let action = "begin the table with its header";
        out.add(
            place,
            Problem::new(WRONG_HEADER, "only comments", header_words(layout), action),
        );
        return false;
    };
    let Some((positions, width)) = read_header(layout, header_line, header, out) else {
        return false;
    };
    let mut whole = true;
    for (row, (line, text)) in lines.enumerate() {
        if row >= MOST_ROWS {
            let expected = format!("at most {MOST_ROWS} rows");
            let action = "split the shop's data, or take old rows out";
            let problem = Problem::new(TOO_MANY_ROWS, "more rows follow", expected, action);
            out.add(place(layout.file, line, None), problem);
            return false;
        }
        match read_cells(text, width) {
            Ok(cells) => each(&mut Row {
                layout,
                file: layout.file,
                prefix: "",
                positions: &positions,
                cells,
                line,
                out,
            }),
            Err(problem) => {
                whole = false;
                out.add(place(layout.file, line, None), problem);
            }
        }
    }
    whole
}

/// The lines that are neither blank nor comments, with their numbers.
pub(crate) fn content_lines(text: &str) -> impl Iterator<Item = (u64, &str)> {
    let numbered = (1..).zip(text.split('\n'));
    let trimmed = numbered.map(|(line, text)| (line, text.strip_suffix('\r').unwrap_or(text)));
    trimmed.filter(|(_, text)| {
        !text.starts_with('#') && !text.trim_matches([' ', '\t', ',']).is_empty()
    })
}

fn place(file: &str, line: u64, field: Option<&str>) -> Place {
    Place {
        file: file.to_owned(),
        line: Some(line),
        field: field.map(str::to_owned),
    }
}

fn header_words(layout: Layout) -> String {
    let names: Vec<&str> = layout.columns.iter().map(|column| column.name).collect();
    format!("a header of {}", names.join(", "))
}

/// Finds each column of the layout in the header.
fn read_header(
    layout: Layout,
    line: u64,
    text: &str,
    out: &mut Findings,
) -> Option<(Vec<Position>, usize)> {
    const MOST_COLUMNS: usize = 200;
    let cells = match header_cells(layout, text) {
        Ok(cells) if cells.len() <= MOST_COLUMNS => cells,
        Ok(cells) => {
            let found = format!("{} columns", cells.len());
            let problem =
                Problem::new(WRONG_HEADER, found, header_words(layout), "mend the header");
            out.add(place(layout.file, line, None), problem);
            return None;
        }
        Err(problem) => {
            out.add(place(layout.file, line, None), problem);
            return None;
        }
    };
    let mut positions: Vec<Position> = vec![None; layout.columns.len()];
    let mut good = true;
    for (index, cell) in cells.iter().enumerate() {
        if let Some(problem) = place_column(layout, index, cell, &mut positions) {
            good = false;
            out.add(place(layout.file, line, Some(cell)), problem);
        }
    }
    for (column, position) in layout.columns.iter().zip(&positions) {
        if column.required && position.is_none() {
            good = false;
            let action = format!("add the column {}", column.name);
            let problem = Problem::new(MISSING_COLUMN, "no such column", column.name, action);
            out.add(place(layout.file, line, Some(column.name)), problem);
        }
    }
    good.then_some((positions, cells.len()))
}

/// The header's cells, when it is one: at least one of them must name a column.
fn header_cells(layout: Layout, text: &str) -> Result<Vec<Cow<'_, str>>, Problem> {
    let cells = split_checked(text)?;
    let names_one = cells.iter().any(|cell| {
        layout
            .columns
            .iter()
            .any(|column| column.unit_in(cell, layout.unit).is_some())
    });
    if names_one {
        return Ok(cells);
    }
    let action = if text.contains(';') || text.contains('\t') {
        "save the table with commas between its cells"
    } else {
        "begin the table with its header"
    };
    Err(Problem::new(
        WRONG_HEADER,
        shown(text),
        header_words(layout),
        action,
    ))
}

fn place_column(
    layout: Layout,
    index: usize,
    cell: &str,
    positions: &mut [Position],
) -> Option<Problem> {
    for (column, position) in layout.columns.iter().zip(positions) {
        let Some(unit) = column.unit_in(cell, layout.unit) else {
            continue;
        };
        if position.is_some() {
            let action = "take one of the two out";
            let found = format!("{} stands twice", column.name);
            return Some(Problem::new(
                DUPLICATE_COLUMN,
                found,
                "each column once",
                action,
            ));
        }
        *position = Some((index, unit));
        return None;
    }
    let names = layout.columns.iter().map(|column| column.name);
    let action = suggestion(cell, names, "take the column out");
    Some(Problem::new(
        UNKNOWN_COLUMN,
        shown(cell),
        header_words(layout),
        action,
    ))
}

pub(crate) fn read_cells(text: &str, width: usize) -> Result<Vec<Cow<'_, str>>, Problem> {
    let cells = split_checked(text)?;
    if cells.len() == width {
        return Ok(cells);
    }
    let found = format!("{} cells", cells.len());
    let action = if cells.len() > width {
        "put a cell that holds a comma in double quotes"
    } else {
        "write a comma for every empty cell"
    };
    Err(Problem::new(
        CELL_COUNT,
        found,
        format!("{width} cells as in the header"),
        action,
    ))
}

pub(crate) fn split_checked(text: &str) -> Result<Vec<Cow<'_, str>>, Problem> {
    if text.len() > LONGEST_LINE {
        let found = format!("a line of {} bytes", text.len());
        let action = "look for a missing line break";
        return Err(Problem::new(LINE_TOO_LONG, found, "at most 1 MiB", action));
    }
    split_line(text).map_err(|problem| {
        let expected = "a quoted cell that ends on its line and is followed by a comma";
        let (found, action) = match problem {
            LineProblem::Unclosed(cell) => (
                format!("the quote of cell {cell} is not closed"),
                "close the quote",
            ),
            LineProblem::AfterQuote(cell) => (
                format!("text follows the closing quote of cell {cell}"),
                "double a quote that belongs to the text",
            ),
        };
        Problem::new(BAD_QUOTES, found, expected, action)
    })
}

/// Where rows that came without a table are said to stand.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Spot<'a> {
    /// Named as the file.
    pub(crate) file: &'a str,
    /// Row number from 1.
    pub(crate) line: u64,
    /// Stands before a column's name.
    pub(crate) prefix: &'a str,
}

/// Hands over one row that came as texts by column, as if a table with just these columns held it.
/// Columns that do not belong there are findings; the row is read all the same.
pub(crate) fn lone_row(
    layout: Layout,
    cells: &BTreeMap<String, String>,
    spot: Spot<'_>,
    out: &mut Findings,
    each: impl FnOnce(&mut Row<'_, '_>),
) {
    let mut positions: Vec<Position> = vec![None; layout.columns.len()];
    for (index, column) in cells.keys().enumerate() {
        if let Some(problem) = place_column(layout, index, column, &mut positions) {
            let field = format!("{}{column}", spot.prefix);
            out.add(place(spot.file, spot.line, Some(&field)), problem);
        }
    }
    each(&mut Row {
        layout,
        file: spot.file,
        prefix: spot.prefix,
        positions: &positions,
        cells: cells
            .values()
            .map(|text| Cow::Borrowed(text.as_str()))
            .collect(),
        line: spot.line,
        out,
    });
}

/// One row.
pub(crate) struct Row<'a, 'f> {
    layout: Layout,
    /// What places name as the file.
    file: &'a str,
    /// Stands before a column's name in places.
    prefix: &'a str,
    positions: &'a [Position],
    cells: Vec<Cow<'a, str>>,
    line: u64,
    pub(crate) out: &'f mut Findings,
}

impl Row<'_, '_> {
    /// The place of one of this row's cells.
    pub(crate) fn place(&self, key: &str) -> Place {
        let field = format!("{}{key}", self.prefix);
        place(self.file, self.line, Some(&field))
    }

    /// The line this row stands on.
    pub(crate) fn line(&self) -> u64 {
        self.line
    }

    fn cell(&self, key: &str) -> Option<(&str, LengthUnit)> {
        let named = |column: &Column| column.name == key;
        let position = self.layout.columns.iter().position(named);
        debug_assert!(
            position.is_some(),
            "{} has no column {key}",
            self.layout.file
        );
        let (index, unit) = (*self.positions.get(position?)?)?;
        let text = self.cells.get(index)?.trim();
        (!text.is_empty()).then_some((text, unit))
    }
}

impl Fields for Row<'_, '_> {
    fn raw(&mut self, key: &'static str, _: Kind) -> Option<Raw> {
        self.cell(key).map(|(text, unit)| Raw {
            text: text.to_owned(),
            unit,
        })
    }

    fn has(&self, key: &'static str) -> bool {
        self.cell(key).is_some()
    }

    fn report(&mut self, key: &'static str, problem: Problem) {
        let place = self.place(key);
        self.out.add(place, problem);
    }
}

//! Text and drawings one under the other, over as many pages as it takes, each with its head and
//! its foot.

use crate::doc::{Area, Doc, Pen, Type};
use crate::face::Weight;
use crate::wrap::{at_most, wrapped};
use pdf_writer::types::StructRole;

/// Blank margin on every side, points: 12 mm, which every office printer leaves.
pub(crate) const MARGIN: f64 = 34.0;

/// Height of the foot.
const FOOT: f64 = 32.0;

/// From one block to the next.
pub(crate) const GAP: f64 = 9.0;

/// What stands at the head of every page of a section.
#[derive(Clone, Debug, Default)]
pub(crate) struct Head {
    /// Read from afar: the brake, or the brake and the run.
    pub(crate) big: String,
    /// What the paper is.
    pub(crate) what: String,
    /// A line under it.
    pub(crate) under: String,
    /// Whose it is, of which plan, in which zone; on the right.
    pub(crate) right: Vec<String>,
    /// At the foot: what the page belongs to, should it come loose.
    pub(crate) foot: String,
    /// At the foot too.
    pub(crate) note: String,
}

/// A section of the document: pages that are counted together.
struct Section {
    head: Head,
    first: usize,
}

/// The document and where on it the next thing goes.
pub(crate) struct Flow {
    pub(crate) doc: Doc,
    /// Top of what comes next.
    pub(crate) y: f64,
    /// The node under which things are put.
    pub(crate) group: usize,
    sections: Vec<Section>,
    /// Drawn again under the head of every page.
    repeated: Option<Repeated>,
}

/// Column headings that a table repeats.
#[derive(Clone, Debug)]
struct Repeated {
    headings: Vec<(String, f64, f64, Side)>,
    style: Type,
}

/// Which side of its column a cell stands on.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Side {
    /// Words.
    Left,
    /// Numbers.
    Right,
}

/// A column of a table.
#[derive(Clone, Debug)]
pub(crate) struct Column {
    pub(crate) heading: String,
    pub(crate) side: Side,
    /// Whether its cells are broken into lines where the table would be too wide.
    pub(crate) gives_way: bool,
}

/// A cell of a table.
#[derive(Clone, Debug)]
pub(crate) enum Cell {
    /// Text.
    Text(String),
    /// Text to be seen first.
    Strong(String),
    /// A box to tick.
    Tick,
    /// A line to write on.
    Blank,
}

/// Room to write on in a table.
const BLANK_WIDTH: f64 = 62.0;
/// Between two columns.
const BETWEEN: f64 = 9.0;
/// Above and below a row's text.
const PADDING: f64 = 3.2;
/// Side of a box to tick.
const TICK: f64 = 12.0;

impl Flow {
    pub(crate) fn new(doc: Doc) -> Flow {
        Flow {
            doc,
            y: 0.0,
            group: 0,
            sections: Vec::new(),
            repeated: None,
        }
    }

    pub(crate) fn left(&self) -> f64 {
        MARGIN
    }

    pub(crate) fn right(&self) -> f64 {
        self.doc.size.0 - MARGIN
    }

    pub(crate) fn width(&self) -> f64 {
        self.right() - self.left()
    }

    /// Where the foot begins.
    pub(crate) fn bottom(&self) -> f64 {
        self.doc.size.1 - MARGIN - FOOT
    }

    /// Starts a section on a new page.
    pub(crate) fn section(&mut self, head: Head) {
        self.repeated = None;
        self.group = self.doc.node(StructRole::Sect, 0);
        let first = self.doc.pages.len();
        self.sections.push(Section { head, first });
        self.page();
    }

    /// Starts a page.
    fn page(&mut self) {
        self.doc.pages.push(crate::doc::Page::default());
        let Some(section) = self.sections.last() else {
            return;
        };
        let first = section.first + 1 == self.doc.pages.len();
        let head = section.head.clone();
        self.y = MARGIN;
        if first {
            let node = self.doc.node(StructRole::H1, self.group);
            let y = self.y;
            let (left, right) = (self.left(), self.right());
            let mut bottom = y;
            self.doc.marked(node, |doc| {
                bottom = head_drawn(doc, &head, (left, right), y);
            });
            self.y = bottom;
        } else {
            let y = self.y;
            let (left, right) = (self.left(), self.right());
            let mut bottom = y;
            self.doc
                .artifact(|doc| bottom = head_drawn(doc, &head, (left, right), y));
            self.y = bottom;
        }
        if let Some(repeated) = self.repeated.clone() {
            self.headings(&repeated, None);
        }
    }

    /// Goes on to the next page unless so much room is left on this one.
    pub(crate) fn need(&mut self, height: f64) {
        if self.y + height > self.bottom() {
            self.page();
        }
    }

    pub(crate) fn gap(&mut self, height: f64) {
        self.y += height;
    }

    /// A heading, never the last thing on a page: so much must fit under it.
    pub(crate) fn heading(&mut self, text: &str, under: f64) {
        let style = Type::bold(13.0);
        self.need(style.line() + under);
        let node = self.doc.node(StructRole::H2, self.group);
        self.paragraph_of(node, text, style, 0.0);
        self.y += 2.0;
    }

    /// A paragraph over the whole width.
    pub(crate) fn paragraph(&mut self, text: &str, style: Type, indent: f64) {
        let node = self.doc.node(StructRole::P, self.group);
        self.paragraph_of(node, text, style, indent);
    }

    fn paragraph_of(&mut self, node: usize, text: &str, style: Type, indent: f64) {
        let x = self.left() + indent;
        for line in wrapped(&self.doc, text, style, self.right() - x) {
            self.need(style.line());
            let y = self.y;
            self.doc.marked(node, |doc| doc.text(x, y, style, &line));
            self.y += style.line();
        }
    }

    /// Paragraphs in a frame that is kept on one page.
    pub(crate) fn framed(&mut self, paragraphs: &[(String, Type)], pen: Pen) {
        const INSIDE: f64 = 7.0;
        let most = self.width() - 2.0 * INSIDE;
        let lines: Vec<(usize, String, Type)> = paragraphs
            .iter()
            .enumerate()
            .flat_map(|(at, (text, style))| {
                let lines = at_most(&self.doc, text, *style, most, 12);
                lines.into_iter().map(move |line| (at, line, *style))
            })
            .collect();
        let text: f64 = lines.iter().map(|(_, _, style)| style.line()).sum();
        let height = text + 2.0 * INSIDE;
        self.need(height);
        let area = Area::new(self.left(), self.y, self.width(), height);
        self.doc.artifact(|doc| doc.rect(area, None, Some(pen)));
        let nodes: Vec<usize> = paragraphs
            .iter()
            .map(|_| self.doc.node(StructRole::P, self.group))
            .collect();
        let mut y = self.y + INSIDE;
        for (at, line, style) in lines {
            if let Some(&node) = nodes.get(at) {
                let x = self.left() + INSIDE;
                self.doc.marked(node, |doc| doc.text(x, y, style, &line));
            }
            y += style.line();
        }
        self.y += height;
    }

    /// A table whose headings stand again on every page it reaches.
    pub(crate) fn table(&mut self, columns: &[Column], rows: &[Vec<Cell>], size: f64) {
        let style = Type::plain(size);
        let widths = self.widths(columns, rows, style);
        let mut x = self.left();
        let mut headings = Vec::with_capacity(columns.len());
        for (column, &width) in columns.iter().zip(&widths) {
            headings.push((column.heading.clone(), x, width, column.side));
            x += width + BETWEEN;
        }
        let repeated = Repeated {
            headings,
            style: Type::bold(size - 1.0),
        };
        let table = self.doc.node(StructRole::Table, self.group);
        let first = rows
            .first()
            .map_or(0.0, |row| self.row_height(columns, &widths, row, style));
        self.need(repeated.style.line() + 8.0 + first.min(120.0));
        self.headings(&repeated, Some(table));
        self.repeated = Some(repeated);
        for row in rows {
            self.row(table, columns, &widths, row, style);
        }
        self.repeated = None;
    }

    /// Draws headings; under a table's node the first time, as furniture after that.
    fn headings(&mut self, repeated: &Repeated, table: Option<usize>) {
        let (y, style) = (self.y, repeated.style);
        let row = table.map(|table| self.doc.node(StructRole::TR, table));
        for (heading, x, width, side) in &repeated.headings {
            let draw = |doc: &mut Doc| match side {
                Side::Left => doc.text(*x, y, style, heading),
                Side::Right => doc.text_to(x + width, y, style, heading),
            };
            match row {
                Some(row) => {
                    let cell = self.doc.node(StructRole::TH, row);
                    self.doc.marked(cell, draw);
                }
                None => self.doc.artifact(draw),
            }
        }
        let (left, right) = (self.left(), self.right());
        self.y += style.line() + 2.0;
        let y = self.y;
        self.doc
            .artifact(|doc| doc.line((left, y), (right, y), Pen::of(1.0)));
        self.y += 1.0;
    }

    /// As wide as the cells ask for; where that is too wide, the columns that give way share what the
    /// others leave.
    fn widths(&self, columns: &[Column], rows: &[Vec<Cell>], style: Type) -> Vec<f64> {
        let heading = Type::bold(style.size - 1.0);
        let strong = Type::bold(style.size);
        let mut widths: Vec<f64> = columns
            .iter()
            .map(|column| self.doc.width(&column.heading, heading))
            .collect();
        for row in rows {
            for (width, cell) in widths.iter_mut().zip(row) {
                let own = match cell {
                    Cell::Text(text) => self.doc.width(text, style),
                    Cell::Strong(text) => self.doc.width(text, strong),
                    Cell::Tick => TICK,
                    Cell::Blank => BLANK_WIDTH,
                };
                *width = width.max(own);
            }
        }
        #[allow(clippy::cast_precision_loss)] // a dozen columns
        let room = self.width() - BETWEEN * columns.len().saturating_sub(1) as f64;
        let asked: f64 = widths.iter().sum();
        let giving = |column: &Column| column.gives_way;
        let of_giving: f64 = columns
            .iter()
            .zip(&widths)
            .filter(|(column, _)| giving(column))
            .map(|(_, width)| width)
            .sum();
        if asked <= room {
            // What is left over goes to the columns that could use it, or stays blank.
            if of_giving > 0.0 {
                let more = (room - asked) / of_giving;
                for (column, width) in columns.iter().zip(widths.iter_mut()) {
                    if giving(column) {
                        *width += *width * more;
                    }
                }
            }
            return widths;
        }
        let left_for_them = (room - (asked - of_giving)).max(of_giving.min(room / 4.0));
        share_out(columns, &mut widths, left_for_them);
        // Whatever is asked for, a table stays on its page.
        let total: f64 = widths.iter().sum();
        if total > room {
            for width in &mut widths {
                *width *= room / total;
            }
        }
        widths
    }

    fn lines_of(&self, cell: &Cell, width: f64, style: Type) -> Vec<String> {
        match cell {
            Cell::Text(text) => wrapped(&self.doc, text, style, width + 0.01),
            Cell::Strong(text) => wrapped(&self.doc, text, Type::bold(style.size), width + 0.01),
            Cell::Tick | Cell::Blank => vec![String::new()],
        }
    }

    fn row_height(&self, columns: &[Column], widths: &[f64], row: &[Cell], style: Type) -> f64 {
        let cells = row.iter().zip(widths).take(columns.len());
        let lines = cells.map(|(cell, &width)| self.lines_of(cell, width, style).len());
        let most = u16::try_from(lines.max().unwrap_or(1)).unwrap_or(u16::MAX);
        let writing = row.iter().any(|cell| matches!(cell, Cell::Blank));
        let least = if writing { 19.0 } else { TICK };
        (f64::from(most) * style.line()).max(least) + 2.0 * PADDING
    }

    /// A row is kept together where a page can hold it.
    fn row(&mut self, table: usize, columns: &[Column], widths: &[f64], row: &[Cell], style: Type) {
        let height = self.row_height(columns, widths, row, style);
        let fits_a_page = height < self.bottom() - MARGIN - 140.0;
        self.need(if fits_a_page {
            height
        } else {
            style.line() * 3.0
        });
        let node = self.doc.node(StructRole::TR, table);
        let cells: Vec<usize> = row
            .iter()
            .map(|_| self.doc.node(StructRole::TD, node))
            .collect();
        let lines: Vec<Vec<String>> = row
            .iter()
            .zip(widths)
            .map(|(cell, &width)| self.lines_of(cell, width, style))
            .collect();
        let most = lines.iter().map(Vec::len).max().unwrap_or(1);
        let (top, page) = (self.y, self.doc.pages.len());
        self.y += PADDING;
        for at in 0..most {
            self.need(style.line() + if at == 0 { 0.0 } else { PADDING });
            let y = self.y;
            let mut x = self.left();
            for (index, (cell, &width)) in row.iter().zip(widths).enumerate() {
                let (Some(&node), Some(column)) = (cells.get(index), columns.get(index)) else {
                    continue;
                };
                let line = lines.get(index).and_then(|lines| lines.get(at));
                cell_drawn(
                    &mut self.doc,
                    node,
                    cell,
                    (x, y, width),
                    (column.side, style),
                    line,
                );
                x += width + BETWEEN;
            }
            self.y += style.line();
        }
        self.y += PADDING;
        if page == self.doc.pages.len() {
            self.y = self.y.max(top + height);
        }
        let (left, right, y) = (self.left(), self.right(), self.y);
        let pen = Pen::of(0.4).gray(0.55);
        self.doc
            .artifact(|doc| doc.line((left, y), (right, y), pen));
    }

    /// Writes the feet, now that the pages are counted.
    pub(crate) fn finish(self) -> Doc {
        let (left, right) = (self.left(), self.right());
        let y = self.bottom() + 8.0;
        let mut doc = self.doc;
        let whole = doc.pages.len();
        let ends = self.sections.iter().skip(1).map(|section| section.first);
        let ends: Vec<usize> = ends.chain([whole]).collect();
        let mut pages = std::mem::take(&mut doc.pages);
        for (section, end) in self.sections.iter().zip(ends) {
            let count = end - section.first;
            for (at, page) in pages.iter_mut().enumerate().take(end).skip(section.first) {
                let number = format!("page {} of {count}", at - section.first + 1);
                let leaf = if self.sections.len() > 1 {
                    format!("leaf {} of {whole} in this file", at + 1)
                } else {
                    String::new()
                };
                // Drawn on a page of its own, and moved.
                doc.pages.push(crate::doc::Page::default());
                doc.artifact(|doc| {
                    let foot = Foot {
                        head: &section.head,
                        number: &number,
                        leaf: &leaf,
                    };
                    foot.draw(doc, (left, right), y);
                });
                if let Some(drawn) = doc.pages.pop() {
                    page.ops.extend(drawn.ops);
                }
            }
        }
        doc.pages = pages;
        doc
    }
}

struct Foot<'a> {
    head: &'a Head,
    number: &'a str,
    leaf: &'a str,
}

impl Foot<'_> {
    fn draw(&self, doc: &mut Doc, (left, right): (f64, f64), y: f64) {
        doc.line((left, y - 3.0), (right, y - 3.0), Pen::of(0.6));
        let (strong, small) = (Type::bold(10.0), Type::plain(8.5));
        doc.text_to(right, y, strong, self.number);
        let second = y + strong.line();
        doc.text_to(right, second, small, self.leaf);
        let most = right - left - doc.width(self.number, strong) - 20.0;
        for line in at_most(doc, &self.head.foot, strong, most, 1) {
            doc.text(left, y, strong, &line);
        }
        let most = right - left - doc.width(self.leaf, small) - 20.0;
        for line in at_most(doc, &self.head.note, small, most, 1) {
            doc.text(left, second, small, &line);
        }
    }
}

/// Gives the columns that give way so much room together: those that ask for less than an even share
/// get what they ask for, and the others share the rest evenly.
fn share_out(columns: &[Column], widths: &mut [f64], mut room: f64) {
    let giving = columns
        .iter()
        .enumerate()
        .filter(|(_, column)| column.gives_way);
    let mut open: Vec<usize> = giving.map(|(at, _)| at).collect();
    while !open.is_empty() {
        let count = u16::try_from(open.len()).unwrap_or(u16::MAX);
        let even = room / f64::from(count);
        let modest = |at: &usize| widths.get(*at).is_some_and(|width| *width <= even);
        let Some(found) = open.iter().position(modest) else {
            for at in open {
                if let Some(width) = widths.get_mut(at) {
                    *width = even;
                }
            }
            return;
        };
        let at = open.swap_remove(found);
        room -= widths.get(at).copied().unwrap_or(0.0);
    }
}

fn cell_drawn(
    doc: &mut Doc,
    node: usize,
    cell: &Cell,
    (x, y, width): (f64, f64, f64),
    (side, style): (Side, Type),
    line: Option<&String>,
) {
    let Some(line) = line else { return };
    match cell {
        Cell::Text(_) | Cell::Strong(_) => {
            let weight = match cell {
                Cell::Strong(_) => Weight::Bold,
                _ => Weight::Plain,
            };
            let style = Type { weight, ..style };
            doc.marked(node, |doc| match side {
                Side::Left => doc.text(x, y, style, line),
                Side::Right => doc.text_to(x + width, y, style, line),
            });
        }
        Cell::Tick => doc.artifact(|doc| tick(doc, x, y)),
        Cell::Blank => doc.artifact(|doc| {
            let area = Area::new(x, y - 1.0, width, 20.0);
            doc.rect(area, None, Some(Pen::of(0.6)));
        }),
    }
}

/// A box to tick.
pub(crate) fn tick(doc: &mut Doc, x: f64, y: f64) {
    doc.rect(Area::new(x, y + 0.5, TICK, TICK), None, Some(Pen::of(0.9)));
}

/// Draws the head of a page and answers with where it ends.
fn head_drawn(doc: &mut Doc, head: &Head, (left, right): (f64, f64), top: f64) -> f64 {
    let (small, what, under) = (Type::plain(9.0), Type::bold(13.0), Type::plain(10.5));
    // The right third is for whose it is; long names are cut there, as the rest says them in full.
    let column = (right - left) * 0.34;
    let mut y = top;
    for line in &head.right {
        for line in at_most(doc, line, small, column, 2) {
            doc.text_to(right, y, small, &line);
            y += small.line();
        }
    }
    let most = right - left - column - 12.0;
    let mut big = Type::bold(27.0);
    // An id may have 64 characters: it is made smaller before it is broken.
    while doc.width(&head.big, big) > most && big.size > 15.0 {
        big.size -= 1.0;
    }
    let mut below = top - 4.0;
    for (text, style, lines) in [
        (&head.big, big, 2),
        (&head.what, what, 2),
        (&head.under, under, 2),
    ] {
        if text.is_empty() {
            continue;
        }
        for line in at_most(doc, text, style, most, lines) {
            doc.text(left, below, style, &line);
            below += style.line();
        }
    }
    let bottom = y.max(below) + 3.0;
    doc.line((left, bottom), (right, bottom), Pen::of(1.6));
    bottom + 7.0
}

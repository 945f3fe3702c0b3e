//! The run list of a brake on a day: one row a run, tall enough to read at arm's length and to scan.

use crate::codes;
use crate::doc::{Area, Doc, Pen, Type};
use crate::flow::{Flow, GAP, Head, tick};
use crate::issue::Issued;
use crate::wrap::at_most;
use chrono::NaiveDate;
use documents::words::{
    CAUTION, Clock, Entry, LEGEND, Today, batch, day_long, minutes, moved, openings, people,
    short_duration, taken_down,
};
use model::{Brake, BrakePlan, Run, Takedown};
use pdf_writer::types::StructRole;

/// Side of an order's code, with its margin: a module of half a millimetre for short ids.
const CODE: f64 = 46.0;
/// Above and below what is in a row.
const PADDING: f64 = 4.0;

const STRONG: Type = Type::bold(11.5);
const PLAIN: Type = Type::plain(10.0);
const HEADING: Type = Type::bold(9.5);

/// Lines of one cell, each paragraph with its style and how many lines it may take.
type Said = Vec<(String, Type, usize)>;

/// Headings, with left ends and widths as shares of what is left beside box and code.
const COLUMNS: [(&str, f64, f64); 5] = [
    ("run", 0.0, 0.15),
    ("change, tools", 0.165, 0.145),
    ("bend, crew", 0.325, 0.2),
    ("order, part", 0.54, 0.26),
    ("due, late, V", 0.815, 0.185),
];

/// The pages of one brake and one day.
pub(crate) fn pages(
    flow: &mut Flow,
    issued: &Issued<'_>,
    (brake, list): (&Brake, &BrakePlan),
    day: NaiveDate,
) {
    let shop = issued.shop;
    let today = Today {
        clock: Clock::new(shop.zone),
        day,
    };
    flow.section(Head {
        big: brake.id.to_string(),
        what: day_long(day),
        under: format!("run list, {}", brake.name),
        right: issued.lines(),
        foot: format!("{}, run list, {}", brake.id, day_long(day)),
        note: issued.note(),
    });
    for line in today.down_lines(shop, brake) {
        flow.paragraph(&line, Type::bold(12.0), 0.0);
    }
    let entries = today.entries(list);
    if entries.is_empty() {
        let nothing = format!("{}: nothing planned", day_long(day));
        flow.paragraph(&nothing, Type::plain(13.0), 0.0);
    } else {
        let table = flow.doc.node(StructRole::Table, flow.group);
        let mut page = 0;
        for entry in entries {
            let row = Row::of(&today, issued, entry);
            let height = row.height(flow);
            flow.need(height + if page == 0 { HEADING.line() + 6.0 } else { 0.0 });
            // A page the table has not reached yet begins with the headings.
            if page != flow.doc.pages.len() {
                headings(flow, (page == 0).then_some(table));
                page = flow.doc.pages.len();
            }
            row.draw(flow, table, height);
        }
    }
    flow.gap(GAP);
    closing(flow);
}

/// What the columns hold, and the caution.
fn closing(flow: &mut Flow) {
    let small = Type::plain(9.5);
    let legend = LEGEND.replace('\n', " ");
    let caution = (CAUTION.replace('\n', " "), Type::plain(10.0));
    flow.need(small.line() * 3.0 + 10.0 + Type::plain(10.0).line() * 4.0 + 14.0);
    flow.paragraph(&legend, small, 0.0);
    flow.gap(6.0);
    flow.framed(&[caution], Pen::of(1.6));
}

/// Left end and width of a column.
fn column(flow: &Flow, (_, from, share): (&str, f64, f64)) -> (f64, f64) {
    let left = flow.left() + 18.0 + CODE + 6.0;
    let room = flow.right() - left;
    (left + from * room, share * room)
}

fn headings(flow: &mut Flow, table: Option<usize>) {
    let y = flow.y;
    let row = table.map(|table| flow.doc.node(StructRole::TR, table));
    let code = flow.left() + 18.0 + 4.0;
    let mut all = vec![("", flow.left()), ("order", code)];
    all.extend(COLUMNS.map(|one| (one.0, column(flow, one).0)));
    for (text, x) in all {
        let draw = |doc: &mut Doc| doc.text(x, y, HEADING, text);
        match row {
            Some(row) => {
                let cell = flow.doc.node(StructRole::TH, row);
                flow.doc.marked(cell, draw);
            }
            None => flow.doc.artifact(draw),
        }
    }
    flow.y += HEADING.line() + 2.0;
    let (left, right, y) = (flow.left(), flow.right(), flow.y);
    flow.doc
        .artifact(|doc| doc.line((left, y), (right, y), Pen::of(1.0)));
}

/// A row: the order to scan, if there is one, and the cells of [`COLUMNS`].
struct Row {
    order: Option<String>,
    cells: [Said; 5],
}

impl Row {
    fn of(today: &Today, issued: &Issued<'_>, entry: Entry<'_>) -> Row {
        match entry {
            Entry::Run(run) => Row::run(today, issued, run),
            Entry::Takedown(takedown) => Row::takedown(today, takedown),
        }
    }

    fn run(today: &Today, issued: &Issued<'_>, run: &Run) -> Row {
        let change = &run.changeover;
        let name = issued
            .shop
            .part(&run.part)
            .map_or("", |part| part.name.as_str());
        let mut what: Said = vec![(run.name.clone(), Type::bold(14.0), 2)];
        what.push((format!("batch {}", batch(run)), PLAIN, 2));
        let mut changing: Said = Vec::new();
        if change.steps.is_empty() {
            changing.push(("no change".to_owned(), PLAIN, 1));
        } else {
            let start = today.time(change.start);
            changing.push((start, STRONG, 2));
            changing.push((format!("{} min", minutes(change.work)), PLAIN, 1));
        }
        changing.push((format!("tools {}", moved(change)), PLAIN, 2));
        let bending = vec![
            (
                format!("{} to {}", today.time(run.start), today.time(run.end)),
                STRONG,
                3,
            ),
            (people(&run.segments).join(" "), PLAIN, 3),
        ];
        let order = vec![
            (run.order.to_string(), STRONG, 3),
            (
                format!("{} x {}", run.quantity, run.part),
                Type::plain(11.0),
                3,
            ),
            (name.to_owned(), PLAIN, 4),
        ];
        let mut due: Said = vec![(today.clock.short(run.due), Type::plain(11.0), 2)];
        if run.late.0 > 0 {
            due.push((format!("late {}", short_duration(run.late)), STRONG, 2));
        }
        due.push((format!("V {}", openings(run)), PLAIN, 2));
        Row {
            order: Some(run.order.to_string()),
            cells: [what, changing, bending, order, due],
        }
    }

    fn takedown(today: &Today, takedown: &Takedown) -> Row {
        Row {
            order: None,
            cells: [
                vec![("takedown".to_owned(), Type::bold(11.0), 2)],
                vec![
                    (today.time(takedown.start), STRONG, 2),
                    (format!("{} min", minutes(takedown.work)), PLAIN, 1),
                    (format!("tools {}", taken_down(takedown)), PLAIN, 2),
                ],
                vec![
                    (format!("to {}", today.time(takedown.end)), STRONG, 2),
                    (people(&takedown.segments).join(" "), PLAIN, 3),
                ],
                vec![(format!("for {}", takedown.wanted_by), STRONG, 3)],
                Vec::new(),
            ],
        }
    }

    /// The lines of each cell at the widths of this page.
    fn lines(&self, flow: &Flow) -> Vec<(f64, Vec<(String, Type)>)> {
        let cells = self.cells.iter().zip(COLUMNS);
        cells
            .map(|(said, heading)| {
                let (x, width) = column(flow, heading);
                let lines = said.iter().flat_map(|(text, style, most)| {
                    let lines = at_most(&flow.doc, text, *style, width, *most);
                    lines.into_iter().map(|line| (line, *style))
                });
                (x, lines.collect())
            })
            .collect()
    }

    fn height(&self, flow: &Flow) -> f64 {
        let lines = self.lines(flow);
        let heights = lines
            .iter()
            .map(|(_, lines)| lines.iter().map(|(_, style)| style.line()).sum());
        let text: f64 = heights.fold(0.0, f64::max);
        let code = if self.order.is_some() { CODE } else { 0.0 };
        text.max(code) + 2.0 * PADDING
    }

    fn draw(&self, flow: &mut Flow, table: usize, height: f64) {
        let (left, right, top) = (flow.left(), flow.right(), flow.y);
        let row = flow.doc.node(StructRole::TR, table);
        flow.doc
            .artifact(|doc| tick(doc, left, top + PADDING + 1.0));
        if let Some(order) = &self.order {
            let cell = flow.doc.node(StructRole::TD, row);
            let figure = flow.doc.figure(cell, &format!("code of order {order}"));
            let y = top + PADDING - 2.0;
            flow.doc.marked(figure, |doc| {
                codes::qr(doc, order, left + 17.0, y, CODE);
            });
        }
        for (x, lines) in self.lines(flow) {
            let cell = flow.doc.node(StructRole::TD, row);
            let mut y = top + PADDING;
            flow.doc.marked(cell, |doc| {
                for (line, style) in &lines {
                    doc.text(x, y, *style, line);
                    y += style.line();
                }
            });
        }
        flow.y = top + height;
        let (y, area) = (flow.y, Area::new(left, top, right - left, height));
        let pen = Pen::of(0.5).gray(0.5);
        flow.doc
            .artifact(|doc| doc.line((area.x, y), (area.right(), y), pen));
    }
}

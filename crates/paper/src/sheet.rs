//! A changeover as a sheet for the brake.

use crate::codes;
use crate::doc::{Area, Doc, Pen, Type};
use crate::flow::{Cell, Column, Flow, GAP, Head, Side};
use crate::issue::Issued;
use crate::profiles::{self, Captioned};
use crate::{bed, wrap};
use documents::words::{
    BEND_COLUMNS, CAUTION, Handling, RunBend, StationWords, cautions, decimals, head, run_bends,
    stations, takedown_head, takedowns_before,
};
use model::{Approval, Brake, BrakePlan, Run, Step, Takedown};
use pdf_writer::types::StructRole;
use study::{load_at, run_sections};

/// Running text of a sheet.
const TEXT: Type = Type::plain(11.0);
const STRONG: Type = Type::bold(11.0);
/// Side of the order's code with its margin.
const QR: f64 = 66.0;
/// A module of the bars: a third of a millimetre, which any reader takes.
const MODULE: f64 = 0.96;
const BARS: f64 = 34.0;
/// Height of a row to write on.
const FORM_ROW: f64 = 26.0;

/// The pages of the changeover before a run.
pub(crate) fn pages(
    flow: &mut Flow,
    issued: &Issued<'_>,
    (brake, list): (&Brake, &BrakePlan),
    run: &Run,
) {
    flow.section(Head {
        big: run.name.clone(),
        what: format!("{}  {}", brake.id, brake.name),
        under: format!("changeover sheet, order {}", run.order),
        right: issued.lines(),
        foot: format!("{}, changeover sheet, order {}", run.name, run.order),
        note: issued.note(),
    });
    let sheet = Sheet { issued, brake, run };
    sheet.head(flow);
    sheet.warnings(flow);
    for takedown in takedowns_before(list, run) {
        takedown_steps(flow, issued, brake, takedown);
    }
    flow.gap(GAP);
    bed::drawn(flow, brake, run);
    flow.gap(GAP);
    sheet.stations(flow);
    if !run.changeover.steps.is_empty() {
        flow.gap(GAP);
        flow.heading("Steps", 60.0);
        steps(flow, &run.changeover.steps);
    }
    flow.gap(GAP);
    sheet.bends(flow);
    sheet.profiles(flow);
    flow.gap(GAP);
    sheet.first_piece(flow);
}

/// The pages of a takedown that no run follows.
pub(crate) fn takedown_pages(
    flow: &mut Flow,
    issued: &Issued<'_>,
    brake: &Brake,
    takedown: &Takedown,
) {
    flow.section(Head {
        big: brake.id.to_string(),
        what: "takedown".to_owned(),
        under: brake.name.clone(),
        right: issued.lines(),
        foot: format!("{}, takedown for {}", brake.id, takedown.wanted_by),
        note: issued.note(),
    });
    flow.framed(
        &[(CAUTION.replace('\n', " "), Type::plain(10.0))],
        Pen::of(1.6),
    );
    takedown_steps(flow, issued, brake, takedown);
}

fn takedown_steps(flow: &mut Flow, issued: &Issued<'_>, brake: &Brake, takedown: &Takedown) {
    flow.gap(GAP);
    let text = takedown_head(issued.shop, brake, takedown);
    flow.heading(&text, 60.0);
    steps(flow, &takedown.steps);
}

fn steps(flow: &mut Flow, steps: &[Step]) {
    let column = |heading: &str, side, gives_way| Column {
        heading: heading.to_owned(),
        side,
        gives_way,
    };
    let columns = [
        column("", Side::Left, false),
        column("step", Side::Right, false),
        column("min", Side::Right, false),
        column("what", Side::Left, true),
    ];
    let rows: Vec<Vec<Cell>> = steps
        .iter()
        .enumerate()
        .map(|(at, step)| {
            vec![
                Cell::Tick,
                Cell::Strong((at + 1).to_string()),
                Cell::Text(format!("{:.1}", step.time.minutes())),
                Cell::Text(step.text.clone()),
            ]
        })
        .collect();
    flow.table(&columns, &rows, TEXT.size);
}

struct Sheet<'a> {
    issued: &'a Issued<'a>,
    brake: &'a Brake,
    run: &'a Run,
}

impl Sheet<'_> {
    /// What is made and when, with the order's code beside it.
    fn head(&self, flow: &mut Flow) {
        let words = head(self.issued.shop, self.brake, self.run);
        let order = self.run.order.as_str();
        let beside = codes::bars_width(order, MODULE).filter(|width| *width <= 176.0);
        let codes_width = QR + beside.map_or(0.0, |width| width + 4.0);
        let most = flow.width() - codes_width - 10.0;
        let (top, x) = (flow.y, flow.left());
        let mut y = top;
        let big = Type::bold(12.5);
        for (text, style) in [(words.part, big), (words.change, TEXT), (words.bend, TEXT)] {
            let node = flow.doc.node(StructRole::P, flow.group);
            for line in wrap::at_most(&flow.doc, &text, style, most, 6) {
                flow.doc.marked(node, |doc| doc.text(x, y, style, &line));
                y += style.line();
            }
            y += 2.0;
        }
        let right = flow.right();
        let figure = flow
            .doc
            .figure(flow.group, &format!("codes of order {order}"));
        flow.doc.marked(figure, |doc| {
            codes::qr(doc, order, right - QR, top - 4.0, QR);
            if let Some(width) = beside {
                let left = right - QR - 4.0 - width;
                bars_drawn(doc, order, left, top + 2.0, width);
            }
        });
        flow.y = y.max(top + QR);
        if beside.is_none() {
            self.long_bars(flow);
        }
    }

    /// The bars of an id too long to stand beside the text, if the page is wide enough.
    fn long_bars(&self, flow: &mut Flow) {
        let order = self.run.order.as_str();
        let width = codes::bars_width(order, MODULE).filter(|width| *width <= flow.width());
        if let Some(width) = width {
            let figure = flow
                .doc
                .figure(flow.group, &format!("bars of order {order}"));
            let (x, y) = (flow.left(), flow.y + 2.0);
            flow.doc
                .marked(figure, |doc| bars_drawn(doc, order, x, y, width));
            flow.y += BARS + STRONG.line() + 6.0;
        }
    }

    /// What to heed, before anything is touched.
    fn warnings(&self, flow: &mut Flow) {
        let shop = self.issued.shop;
        let mut paragraphs = Vec::new();
        for bend in run_bends(shop, self.run) {
            let load = self.load(&bend);
            if load.is_near() {
                paragraphs.push((bend.careful(&load.text()), STRONG));
            }
        }
        let others = cautions(shop, self.run).into_iter();
        paragraphs.extend(others.map(|caution| (caution, STRONG)));
        paragraphs.push((CAUTION.replace('\n', " "), Type::plain(10.0)));
        flow.gap(4.0);
        flow.framed(&paragraphs, Pen::of(1.6));
    }

    fn load(&self, bend: &RunBend<'_>) -> study::Load {
        load_at(
            self.issued.shop,
            self.brake,
            bend.station,
            bend.work.force,
            bend.bend.length,
        )
    }

    /// What comes off, stays, is turned, is slid and goes on.
    fn stations(&self, flow: &mut Flow) {
        let all = stations(self.issued.shop, self.run);
        for handling in Handling::ALL {
            let these: Vec<&StationWords> = all
                .iter()
                .filter(|words| words.handling == handling)
                .collect();
            if these.is_empty() {
                if !handling.may_be_left_out() {
                    flow.heading(&format!("{}: nothing", handling.title()), 0.0);
                }
                continue;
            }
            flow.heading(handling.title(), TEXT.line() * 3.0);
            for words in these {
                station(flow, words);
            }
            flow.gap(3.0);
        }
    }

    fn bends(&self, flow: &mut Flow) {
        let bends = run_bends(self.issued.shop, self.run);
        let columns = BEND_COLUMNS.map(|heading| Column {
            heading: heading.to_owned(),
            side: match heading {
                "punch" | "die" | "way" | "edge" => Side::Left,
                _ => Side::Right,
            },
            gives_way: matches!(heading, "punch" | "die" | "of limit"),
        });
        let rows: Vec<Vec<Cell>> = bends
            .iter()
            .map(|bend| {
                let load = self.load(bend);
                let cells = bend.cells(load.text()).into_iter().enumerate();
                cells
                    .map(|(at, text)| {
                        if at == 0 || (at == 12 && load.is_near()) {
                            Cell::Strong(text)
                        } else {
                            Cell::Text(text)
                        }
                    })
                    .collect()
            })
            .collect();
        flow.heading("Bends", 60.0);
        flow.table(&columns, &rows, 10.5);
    }

    fn profiles(&self, flow: &mut Flow) {
        let sections = run_sections(self.issued.shop, self.brake, self.run);
        if sections.is_empty() {
            flow.gap(4.0);
            flow.paragraph(documents::words::NO_SECTION, Type::plain(9.5), 0.0);
            return;
        }
        let captioned: Vec<Captioned<'_>> = sections
            .iter()
            .filter_map(|section| {
                let work = self.run.bends.get(section.at)?;
                let station = work.station + 1;
                Some(Captioned {
                    section,
                    caption: format!("bend {}, station {station}", work.bend),
                    alt: format!(
                        "Cross section after bend {} at station {station}, {:.0}° included",
                        work.bend,
                        section.finished.included.get()
                    ),
                })
            })
            .collect();
        flow.gap(GAP);
        flow.heading("Sections after each bend", 140.0);
        profiles::drawn(flow, &captioned);
    }

    /// Room to write down what the first piece measures, and to sign it off.
    fn first_piece(&self, flow: &mut Flow) {
        let bends = run_bends(self.issued.shop, self.run);
        // What is written on takes the room that is left.
        let column = |heading: &str, side| Column {
            heading: heading.to_owned(),
            side,
            gives_way: side == Side::Left,
        };
        let columns = [
            column("bend", Side::Right),
            column("angle °", Side::Right),
            column("measured", Side::Left),
            column("leg", Side::Right),
            column("measured", Side::Left),
            column("X", Side::Right),
            column("X used", Side::Left),
        ];
        let rows: Vec<Vec<Cell>> = bends
            .iter()
            .map(|bend| {
                vec![
                    Cell::Strong(bend.work.bend.to_string()),
                    Cell::Text(decimals(bend.bend.angle.get(), 2)),
                    Cell::Blank,
                    Cell::Text(bend.bend.leg.to_string()),
                    Cell::Blank,
                    Cell::Text(decimals(bend.work.x.mm(), 2)),
                    Cell::Blank,
                ]
            })
            .collect();
        // The form stays in one piece, unless it is longer than a page.
        let count = u16::try_from(rows.len()).unwrap_or(u16::MAX);
        let form = f64::from(count) * FORM_ROW + 100.0;
        flow.heading("First piece", if form < 560.0 { form } else { 90.0 });
        flow.table(&columns, &rows, 10.5);
        flow.gap(6.0);
        self.sign_off(flow);
    }

    fn sign_off(&self, flow: &mut Flow) {
        let part = self.issued.shop.part(&self.run.part);
        let by = match part.map(|part| part.approval) {
            Some(Approval::Inspector) => "an inspector",
            Some(Approval::Customer) => "the customer",
            Some(Approval::Own) | None => "the operator",
        };
        const HEIGHT: f64 = 54.0;
        flow.need(HEIGHT);
        let area = Area::new(flow.left(), flow.y, flow.width(), HEIGHT);
        let node = flow.doc.node(StructRole::P, flow.group);
        flow.doc.marked(node, |doc| {
            doc.rect(area, None, Some(Pen::of(1.2)));
            let text = format!("Approved by {by}, after measuring, before the second piece:");
            doc.text(area.x + 7.0, area.y + 6.0, STRONG, &text);
            let fields = [
                ("good", 0.0),
                ("not good", 70.0),
                ("name", 165.0),
                ("time", 390.0),
            ];
            let y = area.y + 29.0;
            for (field, at) in fields {
                let x = area.x + 7.0 + at;
                let boxed = field.ends_with("good");
                if boxed {
                    crate::flow::tick(doc, x, y);
                }
                let label = if boxed { x + 17.0 } else { x };
                doc.text(label, y, TEXT, field);
                if !boxed {
                    let from = label + doc.width(field, TEXT) + 5.0;
                    let to = if field == "name" {
                        area.x + 385.0
                    } else {
                        area.right() - 8.0
                    };
                    doc.line((from, y + 14.0), (to, y + 14.0), Pen::of(0.6));
                }
            }
        });
        flow.y += HEIGHT;
    }
}

/// Bars with the id under them.
fn bars_drawn(doc: &mut Doc, order: &str, x: f64, y: f64, width: f64) {
    codes::bars(doc, order, Area::new(x, y, width, BARS), MODULE);
    for line in wrap::at_most(doc, order, STRONG, width, 1) {
        doc.text_at(x + width / 2.0, y + BARS + 2.0, STRONG, &line);
    }
}

/// A station with a sample of how it is drawn, its sections, and what it was before.
fn station(flow: &mut Flow, words: &StationWords) {
    const INDENT: f64 = 30.0;
    flow.need(TEXT.line() * 3.0);
    let area = Area::new(flow.left(), flow.y + 1.5, 22.0, 15.0);
    flow.doc
        .artifact(|doc| bed::sample(doc, words.handling, area));
    let number = words
        .number
        .map_or_else(String::new, |number| format!("[{number}] "));
    let (strong, text) = (Type::bold(10.5), Type::plain(10.5));
    flow.paragraph(&format!("{number}{}", words.station), strong, INDENT);
    for note in &words.notes {
        flow.paragraph(note, text, INDENT);
    }
    for (kind, sections) in [("punch", &words.punch), ("die", &words.die)] {
        flow.paragraph(&format!("{kind} {sections}"), text, INDENT);
    }
    flow.gap(4.0);
}

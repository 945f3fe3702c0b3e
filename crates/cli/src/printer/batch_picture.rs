//! The batches as one picture: a card for each batch, the parts that stand alone in a last card.

use super::batch_card::{CARD_WIDTH, Card, PADDING, card, number};
use super::clock::Clock;
use super::svg_text::{escaped, fitted, width};
use super::{INVENTED, counted};
use model::Shop;
use std::fmt::Write as _;
use units::Moment;
use workshop::{Alone, BatchReport, WhyAlone};

/// How every picture of batches begins; an older file without it is not ours.
pub(crate) const PICTURE_BEGINS: &str =
    "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n<!-- brakewright batches -->\n";

/// A page of A4, landscape, at four pixels to the millimetre. Cards never lie across the end of one,
/// so that a long picture can be printed page by page.
const PAGE: (f64, f64) = (1_188.0, 840.0);
const MARGIN: f64 = 24.0;
const GAP: f64 = 18.0;

const STYLE: &str = "\
text{font-family:'DejaVu Sans',Verdana,Arial,sans-serif;font-size:12px;fill:#1a1a1a}\
.title{font-size:22px;font-weight:bold}.bold{font-weight:bold}.small{font-size:11px}\
.saves{font-size:16px;font-weight:bold}.quiet{fill:#444}\
.card{fill:#fff;stroke:#777}.row{fill:#f3f5f6;stroke:#c4cacd}\
.bed{fill:#fff;stroke:#555}.punch{fill:#dfe5e8;stroke:#333}.die{fill:#8fa1aa;stroke:#333}\
.leader{stroke:#333;stroke-width:.8;fill:none}.label{fill:#fff;fill-opacity:.92}\
.fits{stroke:#0072b2;fill:none}.apart{stroke:#c04a00;fill:none;stroke-dasharray:6 4}\
.page{stroke:#bbb;stroke-dasharray:2 4;fill:none}";

/// What a picture shows.
pub(crate) struct Shown<'a> {
    /// The shop.
    pub(crate) shop: &'a Shop,
    /// Its batches.
    pub(crate) report: &'a BatchReport,
    /// From when.
    pub(crate) from: Moment,
    /// Whether its data are an example.
    pub(crate) invented: bool,
}

/// The picture as an SVG file.
pub(crate) fn as_svg(shown: &Shown<'_>) -> String {
    let clock = Clock::new(shown.shop.zone);
    let batches = shown.report.batches.iter().enumerate();
    let cards: Vec<Card> = batches
        .map(|(index, batch)| card(index + 1, batch, shown.report, clock))
        .collect();
    let mut body = String::new();
    let top = heading(&mut body, shown, clock);
    let mut columns = [top, top];
    for card in &cards {
        let column = usize::from(fresh(columns[1], card.height) < fresh(columns[0], card.height));
        let y = fresh(columns[column], card.height);
        let x = MARGIN + if column == 0 { 0.0 } else { CARD_WIDTH + GAP };
        let _ = writeln!(
            body,
            "<g transform=\"translate({} {})\">{}</g>",
            number(x),
            number(y),
            card.svg
        );
        columns[column] = y + card.height + GAP;
    }
    let bottom = singles(&mut body, shown, clock, columns[0].max(columns[1]));
    finish(shown, &body, bottom)
}

fn finish(shown: &Shown<'_>, body: &str, bottom: f64) -> String {
    let pages = (bottom / PAGE.1).ceil().max(1.0);
    let height = pages * PAGE.1;
    let mut out = String::from(PICTURE_BEGINS);
    let title = format!("{}: which parts belong on one bed", shown.shop.name);
    let _ = writeln!(
        out,
        "<svg xmlns=\"http://www.w3.org/2000/svg\" role=\"img\" width=\"{}\" height=\"{}\" \
         viewBox=\"0 0 {} {}\"><title>{}</title><style>{STYLE}</style>\n\
         <rect width=\"{}\" height=\"{}\" fill=\"#fff\"/>",
        number(PAGE.0),
        number(height),
        number(PAGE.0),
        number(height),
        escaped(&title),
        number(PAGE.0),
        number(height),
    );
    let mut end = PAGE.1;
    while end < height {
        let y = number(end);
        let _ = writeln!(out, "<path class=\"page\" d=\"M0 {y}H{}\"/>", PAGE.0);
        end += PAGE.1;
    }
    out.push_str(body);
    out.push_str("</svg>\n");
    out
}

/// Where something so high goes: here, or at the top of the next page when it would lie across.
fn fresh(y: f64, height: f64) -> f64 {
    let page = (y / PAGE.1).floor();
    let fits = y + height <= (page + 1.0) * PAGE.1 - MARGIN / 2.0;
    if fits || height > PAGE.1 - 2.0 * MARGIN && y <= page * PAGE.1 + MARGIN {
        return y.max(page * PAGE.1 + MARGIN);
    }
    (page + 1.0) * PAGE.1 + MARGIN
}

/// Title, what it comes to, and the key to the lines. Answers with where the cards begin.
fn heading(out: &mut String, shown: &Shown<'_>, clock: Clock) -> f64 {
    let room = PAGE.0 - 2.0 * MARGIN;
    text(out, (MARGIN, 42.0), "title", "Which parts belong on one bed");
    let about = format!("{}, from {}", shown.shop.name, clock.long(shown.from));
    text(out, (MARGIN, 64.0), "", &fitted(&about, room, 12.0, false));
    let mut y = 64.0;
    if shown.invented {
        y += 18.0;
        text(out, (MARGIN, y), "bold", INVENTED.trim_end());
    }
    y += 20.0;
    text(out, (MARGIN, y), "", &sum(shown.report));
    y += 22.0;
    let keys = [
        ("fits", "saves minutes, and both stand on the bed at once"),
        ("apart", "saves minutes, but a station must come off between"),
    ];
    let mut x = MARGIN;
    for (class, says) in keys {
        let to = number(x + 44.0);
        let _ = writeln!(
            out,
            "<path class=\"{class}\" stroke-width=\"3\" d=\"M{} {}H{to}\"/>",
            number(x),
            number(y - 4.0)
        );
        text(out, (x + 50.0, y), "small", says);
        x += 50.0 + width(says, 11.0, false) + 24.0;
    }
    y += 18.0;
    let rest = "The thicker the line, the more minutes. Beds are drawn to scale from their left end: \
                punch light above, die dark below. Parts stand in an order in which they can be bent.";
    text(out, (MARGIN, y), "small", rest);
    y + 16.0
}

fn sum(report: &BatchReport) -> String {
    let parts: usize = report.batches.iter().map(|batch| batch.parts.len()).sum();
    let saved: f64 = report.batches.iter().map(|batch| batch.saved.minutes()).sum();
    let batches = match report.batches.len() {
        1 => "1 batch".to_owned(),
        many => format!("{many} batches"),
    };
    format!(
        "{batches} of {}: bent one after the other they save {saved:.0} minutes of changeover. {} alone.",
        counted(parts, "part", "parts"),
        counted(report.alone.len(), "part stands", "parts stand"),
    )
}

const COLUMNS: usize = 3;
const LINE: f64 = 17.0;

/// The last cards: parts without a batch, by reason.
fn singles(out: &mut String, shown: &Shown<'_>, clock: Clock, from: f64) -> f64 {
    let mut y = from;
    for group in shown.report.alone.chunk_by(|a, b| heading_of(&a.why) == heading_of(&b.why)) {
        let Some(first) = group.first() else { continue };
        // A group longer than a page goes on in a card of its own on the next.
        for part in group.chunks(COLUMNS * 40) {
            let rows = part.len().div_ceil(COLUMNS);
            let height = 34.0 + lines(rows) + 8.0;
            y = fresh(y, height);
            single_card(out, (heading_of(&first.why), part), clock, (y, height, rows));
            y += height + GAP;
        }
    }
    y
}

#[allow(clippy::cast_precision_loss)] // a few hundred lines
fn lines(count: usize) -> f64 {
    count as f64 * LINE
}

fn single_card(
    out: &mut String,
    (heading, parts): (&str, &[Alone]),
    clock: Clock,
    (y, height, rows): (f64, f64, usize),
) {
    let inner = PAGE.0 - 2.0 * MARGIN;
    let _ = writeln!(
        out,
        "<rect class=\"card\" x=\"{}\" y=\"{}\" width=\"{}\" height=\"{}\" rx=\"4\"/>",
        number(MARGIN),
        number(y),
        number(inner),
        number(height)
    );
    text(out, (MARGIN + PADDING, y + 21.0), "bold", heading);
    let column = (inner - 2.0 * PADDING) / 3.0;
    for (index, alone) in parts.iter().enumerate() {
        let x = MARGIN + PADDING + column * lines(index / rows) / LINE;
        let y = y + 40.0 + lines(index % rows);
        let part = &alone.part;
        let due = part.due.map_or_else(String::new, |due| format!(", due {}", clock.weekday(due)));
        let with = match &alone.why {
            WhyAlone::BedFull { with } | WhyAlone::DoesNotFit { with } => format!(", with {with}"),
            WhyAlone::SharesNothing | WhyAlone::NoBrake => String::new(),
        };
        let says = format!("{}{due}{with}", counted_pieces(part.pieces));
        let orders: Vec<&str> = part.orders.iter().map(units::OrderId::as_str).collect();
        let title = format!("{}: {says}; orders {}", part.part, orders.join(" "));
        let _ = write!(out, "<g><title>{}</title>", escaped(&title));
        let id = fitted(part.part.as_str(), 96.0, 12.0, true);
        text(out, (x, y), "bold", &id);
        let says = fitted(&says, column - 112.0, 11.0, false);
        text(out, (x + 102.0, y), "small", &says);
        out.push_str("</g>\n");
    }
}

fn heading_of(why: &WhyAlone) -> &'static str {
    match why {
        WhyAlone::BedFull { .. } => {
            "Alone, bed full: would save minutes with the part named, but there is no room on its batch's bed"
        }
        WhyAlone::DoesNotFit { .. } => {
            "Alone, does not fit: saves minutes after the part named, but a station must come off between"
        }
        WhyAlone::SharesNothing => "Alone, nothing shared: no other part on order uses its stations",
        WhyAlone::NoBrake => "No brake can make it: \"bends\" says why",
    }
}

pub(super) fn counted_pieces(pieces: u32) -> String {
    match pieces {
        1 => "1 piece".to_owned(),
        many => format!("{many} pieces"),
    }
}

/// One line of text, escaped here and nowhere before.
pub(super) fn text(out: &mut String, (x, y): (f64, f64), class: &str, says: &str) {
    let _ = write!(
        out,
        "<text x=\"{}\" y=\"{}\" class=\"{class}\">{}</text>",
        number(x),
        number(y),
        escaped(says)
    );
}

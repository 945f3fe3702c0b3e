//! The batches as one picture: a card for each batch, the parts that stand alone in a last card.

use super::batch_card::{CARD_WIDTH, Card, PADDING, card, number};
use super::clock::Clock;
use super::svg_text::{escaped, fitted, width};
use super::{INVENTED, counted};
use model::Shop;
use std::fmt::Write as _;
use units::Moment;
use workshop::{Alone, BatchPart, BatchReport, WhyAlone};

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
    let height = bottom.max(PAGE.1 / 2.0);
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
    text(
        out,
        (MARGIN, 42.0),
        "title",
        "Which parts belong on one bed",
    );
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
        (
            "apart",
            "saves minutes, but a station must come off between",
        ),
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
    y += 16.0;
    let rest = "After the minutes stands the station that both parts use, by its letter, or the brake \
                where they are saved when it is another.";
    text(out, (MARGIN, y), "small", rest);
    y + 18.0
}

fn sum(report: &BatchReport) -> String {
    let parts: usize = report.batches.iter().map(|batch| batch.parts.len()).sum();
    let saved: f64 = report
        .batches
        .iter()
        .map(|batch| batch.saved.minutes())
        .sum();
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

const COLUMNS: usize = 2;
const LINE: f64 = 17.0;
/// Lines of one card at most, so that it fits a page.
const LINES_MOST: usize = 42;

/// One line of the last card across all columns.
enum Line<'r> {
    Heading(&'static str),
    Parts(&'r [Alone]),
}

/// The last card: parts without a batch, by reason. It goes on in another on the next page.
fn singles(out: &mut String, shown: &Shown<'_>, clock: Clock, from: f64) -> f64 {
    let mut all: Vec<Line<'_>> = Vec::new();
    for group in shown
        .report
        .alone
        .chunk_by(|a, b| heading_of(&a.why) == heading_of(&b.why))
    {
        let heading = group
            .first()
            .map(|alone| Line::Heading(heading_of(&alone.why)));
        all.extend(heading);
        all.extend(group.chunks(COLUMNS).map(Line::Parts));
    }
    let mut y = from;
    for (index, lines) in all.chunks(LINES_MOST).enumerate() {
        let height = 40.0 + lines_high(lines.len());
        y = fresh(y, height);
        let title = if index == 0 {
            "Parts that stand alone"
        } else {
            "Parts that stand alone, continued"
        };
        single_card(out, (title, lines), clock, (y, height));
        y += height + GAP;
    }
    y
}

#[allow(clippy::cast_precision_loss)] // a few hundred lines
fn lines_high(count: usize) -> f64 {
    count as f64 * LINE
}

fn single_card(
    out: &mut String,
    (title, lines): (&str, &[Line<'_>]),
    clock: Clock,
    (y, height): (f64, f64),
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
    text(out, (MARGIN + PADDING, y + 22.0), "saves", title);
    let column = (inner - 2.0 * PADDING) / 2.0;
    for (index, line) in lines.iter().enumerate() {
        let y = y + 44.0 + lines_high(index);
        match line {
            Line::Heading(says) => text(out, (MARGIN + PADDING, y), "bold", says),
            Line::Parts(parts) => {
                let mut x = MARGIN + PADDING;
                for alone in *parts {
                    single(out, (x, y), column, alone, clock);
                    x += column;
                }
            }
        }
    }
}

fn single(out: &mut String, (x, y): (f64, f64), column: f64, alone: &Alone, clock: Clock) {
    let part = &alone.part;
    let due = part
        .due
        .map_or_else(String::new, |due| format!(", due {}", clock.weekday(due)));
    let with = match &alone.why {
        WhyAlone::BedTaken { with } | WhyAlone::DoesNotFit { with } => format!(", with {with}"),
        WhyAlone::SharesNothing | WhyAlone::NoBrake => String::new(),
    };
    let says = format!("{}{due}{with}", orders_and_pieces(part));
    let orders: Vec<&str> = part.orders.iter().map(units::OrderId::as_str).collect();
    let title = format!("{}: {says}; orders {}", part.part, orders.join(" "));
    let _ = write!(out, "<g><title>{}</title>", escaped(&title));
    let id = fitted(part.part.as_str(), 74.0, 11.0, true);
    text(out, (x, y), "small bold", &id);
    let says = fitted(&says, column - 86.0, 11.0, false);
    text(out, (x + 80.0, y), "small", &says);
    out.push_str("</g>\n");
}

fn heading_of(why: &WhyAlone) -> &'static str {
    match why {
        WhyAlone::BedTaken { .. } => {
            "Bed taken: would stand beside the part named, but that one's batch has a bed that does not take both"
        }
        WhyAlone::DoesNotFit { .. } => {
            "Does not fit: saves minutes after the part named, but a station must come off between"
        }
        WhyAlone::SharesNothing => "Nothing shared: no other part on order uses its stations",
        WhyAlone::NoBrake => "No brake can make it: \"bends\" says why",
    }
}

/// `2 orders, 180 pcs`.
pub(super) fn orders_and_pieces(part: &BatchPart) -> String {
    let orders = counted(part.orders.len(), "order", "orders");
    format!("{orders}, {} pcs", part.pieces)
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

#[cfg(test)]
#[allow(clippy::float_cmp, clippy::indexing_slicing)]
mod tests {
    use super::super::svg_text;
    use super::*;
    use units::{BrakeId, Length, OrderId, PartId, ProfileId, Seconds};
    use workshop::{Batch, BatchStation, PairSaving};

    /// Ids take letters of every script, and no punctuation that means something in XML.
    const PARTS: [&str; 3] = ["#1/+", "Träger-漢字", "a-part-number-that-is-long-to-read"];

    fn station(left: i64, length: i64) -> BatchStation {
        BatchStation {
            punch: ProfileId::new("P-1").unwrap(),
            die: ProfileId::new("D-1").unwrap(),
            v: Length::from_whole_mm(12),
            left: Length::from_whole_mm(left),
            length: Length::from_whole_mm(length),
        }
    }

    fn part(id: &str) -> BatchPart {
        BatchPart {
            part: PartId::new(id).unwrap(),
            orders: vec![OrderId::new("O-1").unwrap()],
            pieces: u32::MAX,
            due: Some(Moment(1_800_000_000)),
            stations: vec![0, 1],
        }
    }

    fn report(stations: Vec<BatchStation>) -> BatchReport {
        let id = |id: &str| PartId::new(id).unwrap();
        let link = |one: &str, two: &str, fits_one_bed| PairSaving {
            one: id(one),
            two: id(two),
            saved: Seconds(1_200),
            brake: BrakeId::new("B-1").unwrap(),
            fits_one_bed,
            shared: vec![station(100, 500)],
        };
        BatchReport {
            batches: vec![Batch {
                brake: BrakeId::new("B-1").unwrap(),
                bed: Length::from_whole_mm(3_000),
                stations,
                parts: PARTS.iter().map(|id| part(id)).collect(),
                saved: Seconds(3_600),
            }],
            alone: vec![Alone {
                part: part("alone"),
                why: WhyAlone::BedTaken { with: id(PARTS[0]) },
            }],
            savings: vec![
                link(PARTS[0], PARTS[1], true),
                link(PARTS[1], PARTS[2], false),
            ],
            dot: String::new(),
        }
    }

    fn picture(report: &BatchReport) -> String {
        let shop = testkit::invent(&testkit::Recipe::tiny(1));
        let shop = Shop {
            name: "<script>alert(\"&'\")</script>".to_owned(),
            ..shop
        };
        as_svg(&Shown {
            shop: &shop,
            report,
            from: Moment(1_800_000_000),
            invented: true,
        })
    }

    /// Checks that tags nest, attributes are quoted and every `&` begins a reference; answers with
    /// the tags as written.
    fn well_formed(xml: &str) -> Vec<&str> {
        let (mut open, mut tags, mut rest) = (Vec::new(), Vec::new(), xml);
        while let Some(at) = rest.find('<') {
            check_references(&rest[..at]);
            let end = at + rest[at..].find('>').unwrap();
            let tag = &rest[at + 1..end];
            rest = &rest[end + 1..];
            if tag.starts_with('?') || tag.starts_with("!--") {
                continue;
            }
            if let Some(name) = tag.strip_prefix('/') {
                assert_eq!(open.pop(), Some(name), "{tag}");
                continue;
            }
            assert_eq!(tag.matches('"').count() % 2, 0, "{tag}");
            assert!(!tag.contains('<'), "{tag}");
            let name = tag.split([' ', '/']).next().unwrap();
            for (index, inside) in tag.split('"').enumerate() {
                check_references(inside);
                let last = index + 1 == tag.split('"').count();
                assert!(index % 2 == 1 || last || inside.ends_with('='), "{tag}");
            }
            if !tag.ends_with('/') {
                open.push(name);
            }
            tags.push(tag);
        }
        assert!(open.is_empty() && rest.trim().is_empty());
        tags
    }

    fn check_references(text: &str) {
        for after in text.split('&').skip(1) {
            let known = ["amp;", "lt;", "gt;", "quot;", "#39;"];
            assert!(known.iter().any(|known| after.starts_with(known)), "{text}");
        }
    }

    fn attribute(tag: &str, name: &str) -> f64 {
        let begin = tag.find(&format!(" {name}=\"")).unwrap() + name.len() + 3;
        tag[begin..].split('"').next().unwrap().parse().unwrap()
    }

    #[test]
    fn the_picture_is_xml_whatever_the_shop_is_called() {
        let svg = picture(&report(vec![station(100, 500), station(700, 20)]));
        let tags = well_formed(&svg);
        assert!(tags.iter().all(|tag| !tag.starts_with("script")));
        assert!(svg.starts_with(PICTURE_BEGINS) && svg.contains("&lt;script&gt;"));
        assert!(svg.contains(INVENTED.trim_end()));
        // The whole number is there for those who point at it.
        assert!(svg.contains(PARTS[2]) && svg.contains("a-part-nu"));
    }

    #[test]
    fn links_that_do_not_fit_differ_in_line_and_in_words() {
        let svg = picture(&report(vec![station(100, 500)]));
        assert!(svg.contains("class=\"fits\"") && svg.contains("class=\"apart\""));
        assert!(svg.contains("a station must come off between; both use"));
        assert!(svg.contains("both stand at once; both use"));
        assert!(STYLE.contains("stroke-dasharray:6 4"));
    }

    #[test]
    fn the_bed_is_to_scale() {
        let stations = vec![station(0, 500), station(620, 35), station(2_000, 1_000)];
        let svg = picture(&report(stations.clone()));
        let tags = well_formed(&svg);
        let of = |class: &str| -> Vec<&str> {
            let class = format!("rect class=\"{class}\"");
            tags.iter()
                .copied()
                .filter(|tag| tag.starts_with(&class))
                .collect()
        };
        let bed = of("bed")[0];
        let (left, scale) = (attribute(bed, "x"), attribute(bed, "width") / 3_000.0);
        for class in ["punch", "die"] {
            let drawn = of(class);
            assert_eq!(drawn.len(), stations.len());
            for (tag, station) in drawn.iter().zip(&stations) {
                let x = left + station.left.mm() * scale;
                assert!((attribute(tag, "x") - x).abs() < 0.011, "{tag}");
                let wide = station.length.mm() * scale;
                assert!((attribute(tag, "width") - wide).abs() < 0.011, "{tag}");
            }
        }
    }

    /// No line of text ends outside the picture or begins before it.
    #[test]
    fn text_stays_in_the_picture() {
        let svg = picture(&report((0..30).map(|at| station(at * 100, 60)).collect()));
        let lines = svg.split("<text ").skip(1);
        for line in lines {
            let tag = line.split('>').next().unwrap();
            let says = line.split('>').nth(1).unwrap().split('<').next().unwrap();
            if tag.contains("text-anchor") || tag.contains("title") {
                continue;
            }
            let plain = says
                .replace("&lt;", "<")
                .replace("&gt;", ">")
                .replace("&amp;", "&");
            let plain = plain.replace("&quot;", "\"").replace("&#39;", "'");
            let size = if tag.contains("small") { 11.0 } else { 12.0 };
            let x = attribute(&format!(" {tag}"), "x");
            assert!(
                x >= 0.0 && x + svg_text::width(&plain, size, false) <= PAGE.0,
                "{says}"
            );
        }
    }

    #[test]
    fn cards_do_not_lie_across_pages() {
        for (y, height) in [
            (0.0, 300.0),
            (600.0, 300.0),
            (830.0, 20.0),
            (1_000.0, 700.0),
        ] {
            let at = fresh(y, height);
            assert!(at >= y && (at / PAGE.1).floor() == ((at + height) / PAGE.1).floor());
        }
        // One higher than a page begins on one of its own.
        assert_eq!(fresh(100.0, 2_000.0), PAGE.1 + MARGIN);
        assert_eq!(fresh(PAGE.1 + MARGIN, 2_000.0), PAGE.1 + MARGIN);
    }
}

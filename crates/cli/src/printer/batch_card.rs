//! The card of one batch: its bed to scale, its stations, its parts, and what links them.

use super::batch_picture::{orders_and_pieces, text};
use super::clock::Clock;
use super::svg_text::{escaped, fitted, width};
use std::fmt::Write as _;
use units::{Length, PartId};
use workshop::{Batch, BatchPart, BatchReport, BatchStation, PairSaving};

pub(crate) const CARD_WIDTH: f64 = 561.0;
pub(crate) const PADDING: f64 = 12.0;
const INNER: f64 = CARD_WIDTH - 2.0 * PADDING;
/// Width of a part's box; the links have the rest.
const BOX: f64 = 396.0;
const ROW: f64 = 23.0;
const STRIP_TOP: f64 = 58.0;
const STRIP_HEIGHT: f64 = 24.0;
/// Links that lead out of the batch, in words under its parts.
const LINKS_OUT: usize = 2;

/// A card drawn from its own upper left corner.
pub(crate) struct Card {
    /// Its elements.
    pub(crate) svg: String,
    /// How high it is.
    pub(crate) height: f64,
}

/// Draws a batch.
pub(crate) fn card(place: usize, batch: &Batch, report: &BatchReport, clock: Clock) -> Card {
    let mut body = String::new();
    head(&mut body, place, batch);
    strip(&mut body, batch);
    let mut y = STRIP_TOP + STRIP_HEIGHT + 30.0;
    for (index, station) in batch.stations.iter().enumerate() {
        station_line(&mut body, y, index, station);
        y += 16.0;
    }
    y += 2.0;
    links(&mut body, batch, report, y);
    for part in &batch.parts {
        row(&mut body, y, part, (batch, report), clock);
        y += ROW;
    }
    y += 12.0;
    let out_of = links_out(batch, report);
    if !out_of.is_empty() {
        text(
            &mut body,
            (PADDING, y),
            "small quiet",
            "Next best, with parts outside this batch:",
        );
        y += 15.0;
    }
    for link in out_of {
        link_out(&mut body, y, batch, report, link);
        y += 16.0;
    }
    let height = y - 4.0;
    let svg = format!(
        "<rect class=\"card\" width=\"{}\" height=\"{}\" rx=\"4\"/>{body}",
        number(CARD_WIDTH),
        number(height)
    );
    Card { svg, height }
}

fn head(out: &mut String, place: usize, batch: &Batch) {
    let saves = format!("saves {:.0} min", batch.saved.minutes());
    let room = INNER - width(&saves, 16.0, true) - 12.0;
    let pieces = batch
        .parts
        .iter()
        .fold(0, |sum: u32, part| sum.saturating_add(part.pieces));
    let says = format!(
        "{place}. On brake {}: {} parts, {pieces} pieces",
        batch.brake,
        batch.parts.len()
    );
    let _ = write!(out, "<g><title>{}</title>", escaped(&says));
    text(
        out,
        (PADDING, 25.0),
        "bold",
        &fitted(&says, room, 12.0, true),
    );
    let _ = write!(
        out,
        "<text x=\"{}\" y=\"26\" class=\"saves\" text-anchor=\"end\">{saves}</text></g>",
        number(CARD_WIDTH - PADDING)
    );
}

/// The bed with its stations to scale, a letter above each.
fn strip(out: &mut String, batch: &Batch) {
    let scale = INNER / batch.bed.mm().max(1.0);
    let at = |length: Length| PADDING + length.mm() * scale;
    let _ = write!(
        out,
        "<g><title>Bed of {}, {} long</title><rect class=\"bed\" x=\"{}\" y=\"{}\" width=\"{}\" height=\"{}\"/></g>",
        escaped(batch.brake.as_str()),
        mm(batch.bed),
        number(PADDING),
        number(STRIP_TOP),
        number(batch.bed.mm() * scale),
        number(STRIP_HEIGHT)
    );
    let letters = spread(batch.stations.iter().map(|s| at(s.left + s.length.half())));
    for (index, (station, letter_at)) in batch.stations.iter().zip(letters).enumerate() {
        let middle = at(station.left + station.length.half());
        let _ = write!(
            out,
            "<g><title>{}</title><path class=\"leader\" d=\"M{} {}L{} {}\"/>",
            escaped(&format!("{}: {}", letter(index), described(station))),
            number(letter_at),
            number(STRIP_TOP - 8.0),
            number(middle),
            number(STRIP_TOP)
        );
        let half = STRIP_HEIGHT / 2.0;
        for (class, y) in [("punch", STRIP_TOP), ("die", STRIP_TOP + half)] {
            let _ = write!(
                out,
                "<rect class=\"{class}\" x=\"{}\" y=\"{}\" width=\"{}\" height=\"{}\"/>",
                number(at(station.left)),
                number(y),
                number(station.length.mm() * scale),
                number(half)
            );
        }
        let _ = write!(
            out,
            "<text class=\"bold\" text-anchor=\"middle\" x=\"{}\" y=\"{}\">{}</text></g>",
            number(letter_at),
            number(STRIP_TOP - 10.0),
            letter(index)
        );
    }
    let under = STRIP_TOP + STRIP_HEIGHT + 13.0;
    text(out, (PADDING, under), "small", "left end");
    let _ = write!(
        out,
        "<text class=\"small\" text-anchor=\"end\" x=\"{}\" y=\"{}\">bed {}</text>",
        number(CARD_WIDTH - PADDING),
        number(under),
        mm(batch.bed)
    );
}

/// Places for letters near those wanted, from left to right, none upon another.
fn spread(wanted: impl Iterator<Item = f64>) -> Vec<f64> {
    const APART: f64 = 22.0;
    let mut places: Vec<f64> = Vec::new();
    for at in wanted {
        let free = places.last().map_or(PADDING + 8.0, |last| last + APART);
        places.push(at.max(free));
    }
    let mut most = CARD_WIDTH - PADDING - 8.0;
    for place in places.iter_mut().rev() {
        *place = place.min(most);
        most = *place - APART;
    }
    places
}

fn station_line(out: &mut String, y: f64, index: usize, station: &BatchStation) {
    let says = described(station);
    let _ = write!(out, "<g><title>{}</title>", escaped(&says));
    text(out, (PADDING, y), "bold", &letter(index));
    let says = fitted(&says, INNER - 30.0, 12.0, false);
    text(out, (PADDING + 26.0, y), "", &says);
    out.push_str("</g>");
}

fn row(
    out: &mut String,
    y: f64,
    part: &BatchPart,
    (batch, report): (&Batch, &BatchReport),
    clock: Clock,
) {
    let title = part_title(part, batch, report, clock);
    let _ = write!(
        out,
        "<g><title>{}</title><rect class=\"row\" x=\"{}\" y=\"{}\" width=\"{}\" height=\"{}\" rx=\"3\"/>",
        escaped(&title),
        number(PADDING),
        number(y),
        number(BOX),
        number(ROW - 4.0)
    );
    let line = y + 14.0;
    let amount = orders_and_pieces(part);
    let due = part
        .due
        .map_or_else(String::new, |due| format!("due {}", clock.weekday(due)));
    let on = format!("on {}", letters(&part.stations));
    let cells = [
        (part.part.as_str(), 6.0, 80.0, 12.0, true),
        (amount.as_str(), 90.0, 126.0, 11.0, false),
        (due.as_str(), 220.0, 108.0, 11.0, false),
        (on.as_str(), 332.0, BOX - 334.0, 11.0, true),
    ];
    for (says, x, room, size, bold) in cells {
        let class = match (size < 12.0, bold) {
            (true, true) => "small bold",
            (true, false) => "small",
            _ => "bold",
        };
        let says = fitted(says, room, size, bold);
        text(out, (PADDING + x, line), class, &says);
    }
    out.push_str("</g>");
}

/// Everything about a part, for those who point at it.
fn part_title(part: &BatchPart, batch: &Batch, report: &BatchReport, clock: Clock) -> String {
    let orders: Vec<&str> = part.orders.iter().map(units::OrderId::as_str).collect();
    let due = part
        .due
        .map_or_else(String::new, |due| format!(", due {}", clock.long(due)));
    let mut title = format!(
        "{}: {} pieces{due}; orders {}",
        part.part,
        part.pieces,
        orders.join(" ")
    );
    for link in inside(batch, report) {
        if link.one == part.part || link.two == part.part {
            let _ = write!(title, "\n{}", reason(link));
        }
    }
    title
}

/// Links between parts of the batch, the greatest saving first.
fn inside<'r>(batch: &Batch, report: &'r BatchReport) -> Vec<&'r PairSaving> {
    let links = report.savings.iter();
    links
        .filter(|link| at(batch, &link.one).is_some() && at(batch, &link.two).is_some())
        .collect()
}

fn at(batch: &Batch, part: &PartId) -> Option<usize> {
    batch.parts.iter().position(|of| of.part == *part)
}

/// The links drawn: the greatest that hang all parts together, and as many again of the rest as
/// still leave the eye a chance.
fn drawn<'r>(batch: &Batch, report: &'r BatchReport) -> Vec<&'r PairSaving> {
    let mut all = inside(batch, report);
    // Of links as good to the minute, those between neighbours: the eye follows a chain best.
    let apart = |link: &PairSaving| {
        at(batch, &link.one)
            .zip(at(batch, &link.two))
            .map(|(a, b)| a.abs_diff(b))
    };
    all.sort_by_key(|link| (std::cmp::Reverse(link.saved.0 / 60), apart(link)));
    let most = batch.parts.len() + 1;
    let mut group: Vec<usize> = (0..batch.parts.len()).collect();
    let (mut needed, mut rest) = (Vec::new(), Vec::new());
    for link in all {
        let (Some(a), Some(b)) = (at(batch, &link.one), at(batch, &link.two)) else {
            continue;
        };
        let (from, to) = (group[a], group[b]);
        if from == to {
            rest.push(link);
            continue;
        }
        for of in &mut group {
            if *of == from {
                *of = to;
            }
        }
        needed.push(link);
    }
    let more = most.saturating_sub(needed.len());
    needed.extend(rest.into_iter().take(more));
    needed
}

#[allow(clippy::cast_precision_loss)] // a few rows
fn links(out: &mut String, batch: &Batch, report: &BatchReport, top: f64) {
    let strongest = report
        .savings
        .first()
        .map_or(1.0, |link| link.saved.minutes())
        .max(1.0);
    let x = PADDING + BOX;
    let middle = |row: usize| top + row as f64 * ROW + (ROW - 4.0) / 2.0;
    let mut labels: Vec<(f64, f64, f64, String)> = Vec::new();
    for link in drawn(batch, report) {
        let (Some(a), Some(b)) = (at(batch, &link.one), at(batch, &link.two)) else {
            continue;
        };
        let reach = (14.0 + 12.0 * a.abs_diff(b) as f64).min(84.0);
        let (from, to, out_at) = (middle(a.min(b)), middle(a.max(b)), x + reach);
        let class = if link.fits_one_bed { "fits" } else { "apart" };
        let _ = write!(
            out,
            "<g><title>{}</title><path class=\"{class}\" stroke-width=\"{}\" d=\"M{} {}C{} {} {} {} {} {}\"/></g>",
            escaped(&reason(link)),
            number(1.0 + 3.0 * link.saved.minutes() / strongest),
            number(x),
            number(from),
            number(out_at),
            number(from),
            number(out_at),
            number(to),
            number(x),
            number(to)
        );
        let left = x + reach * 0.75 + 4.0;
        let says = fitted(
            &short_reason(link, batch),
            CARD_WIDTH - 4.0 - left,
            11.0,
            false,
        );
        let y = f64::midpoint(from, to) + 4.0;
        let right = left + width(&says, 11.0, false);
        let free = labels.iter().all(|(l, r, other, _)| {
            (other - y).abs() >= 14.0 || right + 4.0 < *l || *r + 4.0 < left
        });
        if free {
            labels.push((left, right, y, says));
        }
    }
    for (left, right, y, says) in labels {
        let _ = write!(
            out,
            "<rect class=\"label\" x=\"{}\" y=\"{}\" width=\"{}\" height=\"13\"/>",
            number(left - 2.0),
            number(y - 10.0),
            number(right - left + 2.0)
        );
        text(out, (left, y), "small", &says);
    }
}

/// `31 min, A`: the letters of the bed's stations that serve both, or the brake where it is saved.
fn short_reason(link: &PairSaving, batch: &Batch) -> String {
    let minutes = format!("{:.0} min", link.saved.minutes());
    if link.brake != batch.brake {
        return format!("{minutes}, {}", link.brake);
    }
    let same = |one: &BatchStation| {
        let stations = batch.stations.iter();
        stations
            .clone()
            .position(|two| (&one.punch, &one.die) == (&two.punch, &two.die))
    };
    let mut shared: Vec<usize> = link.shared.iter().filter_map(same).collect();
    shared.sort_unstable();
    shared.dedup();
    if shared.is_empty() {
        minutes
    } else {
        format!("{minutes}, {}", letters(&shared))
    }
}

/// A link in full.
pub(crate) fn reason(link: &PairSaving) -> String {
    let fits = if link.fits_one_bed {
        "both stand at once"
    } else {
        "a station must come off between"
    };
    format!(
        "{} and {}: {:.0} min on {}, {fits}; {}",
        link.one,
        link.two,
        link.saved.minutes(),
        link.brake,
        shared(link)
    )
}

/// What both parts use.
pub(crate) fn shared(link: &PairSaving) -> String {
    if link.shared.is_empty() {
        return "one after the other, with little to change".to_owned();
    }
    let stations: Vec<String> = link.shared.iter().map(described).collect();
    format!("both use {}", stations.join(" and "))
}

/// The greatest links to parts that are not in the batch.
fn links_out<'r>(batch: &Batch, report: &'r BatchReport) -> Vec<&'r PairSaving> {
    let links = report.savings.iter();
    links
        .filter(|link| at(batch, &link.one).is_some() != at(batch, &link.two).is_some())
        .take(LINKS_OUT)
        .collect()
}

fn link_out(out: &mut String, y: f64, batch: &Batch, report: &BatchReport, link: &PairSaving) {
    let (own, other) = match at(batch, &link.one) {
        Some(_) => (&link.one, &link.two),
        None => (&link.two, &link.one),
    };
    let place = report
        .batches
        .iter()
        .position(|batch| at(batch, other).is_some());
    let place = place.map_or_else(|| "alone".to_owned(), |at| format!("batch {}", at + 1));
    let class = if link.fits_one_bed { "fits" } else { "apart" };
    let fits = if link.fits_one_bed {
        "both stand at once"
    } else {
        "a station comes off"
    };
    let says = format!(
        "{own} with {other} ({place}): {:.0} min on {}, {fits}",
        link.saved.minutes(),
        link.brake
    );
    let line = y;
    let _ = write!(
        out,
        "<g><title>{}</title><path class=\"{class}\" stroke-width=\"3\" d=\"M{} {}h26\"/>",
        escaped(&reason(link)),
        number(PADDING),
        number(line - 4.0)
    );
    let says = fitted(&says, INNER - 34.0, 11.0, false);
    text(out, (PADDING + 34.0, line), "small quiet", &says);
    out.push_str("</g>");
}

/// `ST88-R1-120 over V12-88, V 12, 1200 mm`.
pub(crate) fn described(station: &BatchStation) -> String {
    // A flattening die has no opening.
    let opening = match station.v {
        Length::ZERO => String::new(),
        v => format!(", V {}", trimmed(v.mm())),
    };
    format!(
        "{} over {}{opening}, {}",
        station.punch,
        station.die,
        mm(station.length)
    )
}

fn mm(length: Length) -> String {
    format!("{} mm", trimmed(length.mm()))
}

fn trimmed(value: f64) -> String {
    let text = format!("{value:.1}");
    text.strip_suffix(".0").map_or(text.clone(), str::to_owned)
}

/// `A` to `Z`, then `A2` and so on.
fn letter(index: usize) -> String {
    let letter = char::from(b'A' + u8::try_from(index % 26).unwrap_or(0));
    match index / 26 {
        0 => letter.to_string(),
        round => format!("{letter}{}", round + 1),
    }
}

fn letters(stations: &[usize]) -> String {
    let mut stations = stations.to_vec();
    stations.sort_unstable();
    stations.dedup();
    let all: Vec<String> = stations.into_iter().map(letter).collect();
    all.join(" ")
}

/// A coordinate, to a hundredth of a pixel.
pub(crate) fn number(value: f64) -> String {
    let text = format!("{value:.2}");
    text.trim_end_matches('0').trim_end_matches('.').to_owned()
}

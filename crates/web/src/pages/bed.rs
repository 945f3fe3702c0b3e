//! A bed before and after a changeover, drawn to scale: one unit of the drawing is one millimetre.

use super::lengths::Lengths;
use maud::{Markup, html};
use model::{Brake, Run, Shop, Station, StationPiece};
use units::{Length, ProfileId};

/// What happens to a station.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Fate {
    Off,
    Stays,
    Turned,
    Slid,
    On,
}

impl Fate {
    pub(crate) const ALL: [Fate; 5] = [Fate::Off, Fate::Stays, Fate::Turned, Fate::Slid, Fate::On];

    pub(crate) fn word(self) -> &'static str {
        match self {
            Fate::Off => "off",
            Fate::Stays => "stays",
            Fate::Turned => "turned",
            Fate::Slid => "slid",
            Fate::On => "on",
        }
    }

    fn class(self) -> String {
        format!("fate-{}", self.word())
    }

    /// The hatching laid over it; none for what stays.
    fn hatch(self, of: &str) -> Option<String> {
        (self != Fate::Stays).then(|| format!("url(#{of}-{})", self.word()))
    }
}

/// A station on one of the two beds.
#[derive(Clone, Debug)]
pub(crate) struct Placed<'a> {
    pub(crate) station: &'a Station,
    pub(crate) left: Length,
    pub(crate) fate: Fate,
    /// What it was: another die, another place.
    pub(crate) was: Option<String>,
}

/// The bed before and the bed after, each from left to right.
pub(crate) fn beds(run: &Run, lengths: Lengths) -> (Vec<Placed<'_>>, Vec<Placed<'_>>) {
    let change = &run.changeover;
    let placed = |station, left, fate, was| Placed {
        station,
        left,
        fate,
        was,
    };
    let plain = |station: &'_ Station, fate| -> (Length, Fate) { (station.left, fate) };
    let mut before = Vec::new();
    let mut after = Vec::new();
    for station in &change.remove {
        let (left, fate) = plain(station, Fate::Off);
        before.push(placed(station, left, fate, None));
    }
    for station in &change.keep {
        let (left, fate) = plain(station, Fate::Stays);
        before.push(placed(station, left, fate, None));
        after.push(placed(station, left, fate, None));
    }
    for turned in &change.turn {
        let station = &turned.station;
        let was = Some(format!("turned from {}", turned.from));
        before.push(placed(station, station.left, Fate::Turned, was.clone()));
        after.push(placed(station, station.left, Fate::Turned, was));
    }
    for slid in &change.slide {
        let station = &slid.station;
        let was = Some(format!(
            "slid from {} to {}",
            lengths.say(slid.from),
            lengths.say(station.left)
        ));
        before.push(placed(station, slid.from, Fate::Slid, was.clone()));
        after.push(placed(station, station.left, Fate::Slid, was));
    }
    for station in &change.insert {
        let (left, fate) = plain(station, Fate::On);
        after.push(placed(station, left, fate, None));
    }
    before.sort_by_key(|one| one.left);
    after.sort_by_key(|one| one.left);
    (before, after)
}

/// The drawing. Lengths along it are the plan's millimetres; heights are only there to be seen.
pub(crate) fn drawing(
    brake: &Brake,
    before: &[Placed<'_>],
    after: &[Placed<'_>],
    lengths: Lengths,
) -> Markup {
    let bed = brake.bed;
    // Letters grow with the bed, so that they look alike on every brake.
    let unit = bed.mm() / 100.0;
    let row = unit * 13.0;
    let title = format!(
        "Bed of {}, {}, before and after the changeover, seen by the operator",
        brake.id,
        lengths.say(bed)
    );
    html! {
        svg.bed role="img" aria-label=(title) viewBox=(format!("0 0 {bed} {:.1}", row * 2.0))
            xmlns="http://www.w3.org/2000/svg" {
            title { (title) }
            (hatches("bed", unit))
            (one_bed((bed, lengths), unit, 0.0, "Before", before))
            (one_bed((bed, lengths), unit, row, "After", after))
        }
    }
}

fn one_bed(
    (bed, lengths): (Length, Lengths),
    unit: f64,
    top: f64,
    name: &str,
    stations: &[Placed<'_>],
) -> Markup {
    let number = |value: f64| format!("{value:.1}");
    let (y, height) = (top + unit * 4.8, unit * 5.0);
    let size = unit * 2.0;
    html! {
        g font-size=(number(size)) {
            text.bed-name x="0" y=(number(top + unit * 2.2)) { (name) }
            rect.bed-line x="0" y=(number(y + height)) width=(bed) height=(number(unit * 0.6)) {}
            @for (index, one) in stations.iter().enumerate() {
                @let station = one.station;
                @let middle = one.left.mm() + station.length.mm() / 2.0;
                g.station data-left=(one.left) data-length=(station.length) {
                    title { (index + 1) ": " (station.punch) " over " (station.die) ", " (one.fate.word()) }
                    rect class=(one.fate.class()) x=(one.left) y=(number(y)) width=(station.length) height=(number(height)) {}
                    @if let Some(hatch) = one.fate.hatch("bed") {
                        rect x=(one.left) y=(number(y)) width=(station.length) height=(number(height)) fill=(hatch) {}
                    }
                    (joints(one.left, &station.punch_sections, y, y + height / 2.0))
                    (joints(one.left, &station.die_sections, y + height / 2.0, y + height))
                    line.joint x1=(one.left) x2=(one.left + station.length)
                        y1=(number(y + height / 2.0)) y2=(number(y + height / 2.0)) {}
                }
                // Neighbours that stand close have their numbers one above the other.
                text.number text-anchor="middle" x=(number(middle))
                    y=(number(y - unit * if index % 2 == 0 { 0.5 } else { 2.3 })) { (index + 1) }
                @if station.length.mm() > unit * 9.0 {
                    text.fate text-anchor="middle" x=(number(middle)) y=(number(y + height * 0.66)) { (one.fate.word()) }
                }
            }
            text.scale x="0" y=(number(y + height + unit * 2.6)) { "0" }
            text.scale text-anchor="end" x=(bed) y=(number(y + height + unit * 2.6)) { (lengths.say(bed)) }
        }
    }
}

/// Lines where one section ends and the next begins.
fn joints(left: Length, sections: &[StationPiece], top: f64, bottom: f64) -> Markup {
    let mut at = left;
    let mut ends: Vec<Length> = sections
        .iter()
        .map(|piece| {
            at += piece.length;
            at
        })
        .collect();
    ends.pop();
    html! {
        @for end in ends {
            line.joint x1=(end) x2=(end) y1=(format!("{top:.1}")) y2=(format!("{bottom:.1}")) {}
        }
    }
}

/// The hatchings: slanted for off, crossed for on, dotted for turned, level for slid.
fn hatches(of: &str, unit: f64) -> Markup {
    let n = |value: f64| format!("{:.1}", value * unit);
    let pattern = |name: &str, inner: Markup| {
        html! {
            pattern id=(format!("{of}-{name}")) patternUnits="userSpaceOnUse" width=(n(1.6)) height=(n(1.6)) { (inner) }
        }
    };
    let line = |x1: f64, y1: f64, x2: f64, y2: f64| {
        html! { line.hatch x1=(n(x1)) y1=(n(y1)) x2=(n(x2)) y2=(n(y2)) stroke-width=(n(0.18)) {} }
    };
    html! {
        defs {
            (pattern("off", line(0.0, 1.6, 1.6, 0.0)))
            (pattern("on", html! { (line(0.0, 0.8, 1.6, 0.8)) (line(0.8, 0.0, 0.8, 1.6)) }))
            (pattern("turned", html! { circle.hatch-dot cx=(n(0.8)) cy=(n(0.8)) r=(n(0.28)) {} }))
            (pattern("slid", line(0.0, 0.8, 1.6, 0.8)))
        }
    }
}

/// The stations in words, numbered as they are drawn.
pub(crate) fn stations(
    shop: &Shop,
    before: &[Placed<'_>],
    after: &[Placed<'_>],
    lengths: Lengths,
) -> Markup {
    html! {
        div.fates {
            @for fate in Fate::ALL {
                @let (bed, of) = if fate == Fate::Off { (before, "before") } else { (after, "after") };
                @let any = bed.iter().any(|one| one.fate == fate);
                @if any {
                    section {
                        h3 { (heading(fate)) }
                        ol {
                            @for (index, one) in bed.iter().enumerate().filter(|(_, one)| one.fate == fate) {
                                li value=(index + 1) { (station(shop, one, of, lengths)) }
                            }
                        }
                    }
                }
            }
        }
    }
}

fn heading(fate: Fate) -> &'static str {
    match fate {
        Fate::Off => "Comes off",
        Fate::Stays => "Stays",
        Fate::Turned => "Is turned",
        Fate::Slid => "Is slid",
        Fate::On => "Goes on",
    }
}

fn station(shop: &Shop, one: &Placed<'_>, bed: &str, lengths: Lengths) -> Markup {
    let station = one.station;
    html! {
        strong { (station.punch) " over " (station.die) } ", " (lengths.opening(station.v))
        ", left end " strong { (lengths.say(one.left)) } ", " (lengths.say(station.length)) " long, closed height "
        (lengths.say(station.closed_height)) span.hidden { ", number on the bed " (bed) }
        @if let Some(was) = &one.was { br; strong { (was) } }
        @if let Some(way) = way_round(shop, &station.punch, station.reversed) { br; (way) }
        dl.pieces {
            dt { "punch" } dd { (pieces(&station.punch_sections, lengths)) }
            dt { "die" } dd { (pieces(&station.die_sections, lengths)) }
        }
    }
}

/// Which way round a relieved punch stands; a straight one says nothing.
fn way_round(shop: &Shop, punch: &ProfileId, reversed: bool) -> Option<&'static str> {
    if reversed {
        return Some("turned about: relief to the gauge");
    }
    let relieved = shop.punch(punch)?.relief > Length::ZERO;
    relieved.then_some("relief to the operator")
}

fn pieces(sections: &[StationPiece], lengths: Lengths) -> Markup {
    html! {
        @for (index, piece) in sections.iter().enumerate() {
            @if index > 0 { " + " }
            span {
                strong { (lengths.say(piece.length)) } " (" (piece.section)
                @if !piece.drawer.is_empty() { ", drawer " (piece.drawer) }
                ")"
            }
        }
    }
}

/// Every bed's hatching with its word.
pub(crate) fn key() -> Markup {
    html! {
        ul.key {
            @for fate in Fate::ALL {
                li {
                    svg viewBox="0 0 40 20" width="40" height="20" aria-hidden="true" {
                        @if fate == Fate::Off { (hatches("key", 5.0)) }
                        rect class=(fate.class()) x="1" y="1" width="38" height="18" {}
                        @if let Some(hatch) = fate.hatch("key") { rect x="1" y="1" width="38" height="18" fill=(hatch) {} }
                    }
                    " " (fate.word())
                }
            }
        }
    }
}

//! The bends of a run: gauge, tools, force, and the section after each.

use super::lengths::Lengths;
use maud::{Markup, PreEscaped, html};
use model::{BendUse, Direction, Edge, Run, Shop};
use workshop::{RunBend, stops_along_bed};

/// From this share of a limit on, a person is told.
const NEAR: f64 = 0.9;

/// One card per bend.
pub(crate) fn bends(shop: &Shop, run: &Run, studied: &[RunBend], lengths: Lengths) -> Markup {
    html! {
        ol.bends {
            @for work in &run.bends {
                @let study = studied.iter().find(|one| (one.bend, one.hit) == (work.bend, work.hit));
                li { (bend((shop, lengths), run, work, study)) }
            }
        }
        @if !studied.is_empty() && studied.iter().all(|one| one.picture.is_none()) {
            p.small { "No cross section is known: the bends carry no lines, or hold a hem or steps." }
        }
        @if studied.is_empty() {
            p.small { "The sections cannot be drawn: this setup is not among those worked out for the part." }
        }
    }
}

fn bend(
    (shop, lengths): (&Shop, Lengths),
    run: &Run,
    work: &BendUse,
    study: Option<&RunBend>,
) -> Markup {
    let station = run.bed.get(work.station);
    let part = shop.part(&run.part);
    let bend = part.and_then(|part| part.bends.iter().find(|one| one.number == work.bend));
    let stops = station
        .zip(bend)
        .map(|(at, bend)| stops_along_bed(at, bend.length));
    let picture = study.and_then(|one| one.picture.as_deref());
    html! {
        div.bend {
            h3 { "Bend " (work.bend) @if work.hit > 1 { ", hit " (work.hit) } }
            p.at { "at station " strong { (work.station + 1) } @if let Some(station) = station { ": " (station.punch) " over " (station.die) ", " (lengths.opening(station.v)) } }
            p.gauge {
                span { "X " strong { (lengths.gauge(work.x)) } }
                " " span { "R " strong { (lengths.gauge(work.r)) } }
                @if let Some((one, two)) = stops {
                    " " span { "Z " strong { (lengths.gauge(one)) } " and " strong { (lengths.gauge(two)) } }
                }
                " " span.small { (lengths.short()) }
            }
            @if let Some(bend) = bend {
                p { strong { (format!("{}°", trimmed(bend.angle.get()))) " " (way(bend.direction)) } ", edge " (edge(bend.edge)) " to the gauge, " (lengths.say(bend.length)) " long" }
            }
            p { (format!("{:.0} kN", work.force.get()))
                @if let Some(study) = study { ", " (format!("{:.0} % of what {} bears", study.share * 100.0, link(study.link))) }
            }
            @if study.is_some_and(|one| one.share >= NEAR) { p.note { "Close to a limit: check force and tool ratings before the first stroke." } }
        }
        @if let Some(picture) = picture { div.section { (PreEscaped(without_style(picture))) } }
    }
}

/// The limit in words.
fn link(link: &str) -> String {
    match link {
        "force" => "the brake".to_owned(),
        other => format!("the {other}"),
    }
}

/// The drawing brings its own style, which the page's policy blocks; the stylesheet has its classes.
fn without_style(svg: &str) -> String {
    match (svg.find("<style>"), svg.find("</style>")) {
        (Some(start), Some(end)) if start < end => {
            let (before, after) = (svg.get(..start), svg.get(end + "</style>".len()..));
            format!("{}{}", before.unwrap_or(""), after.unwrap_or(""))
        }
        _ => svg.to_owned(),
    }
}

fn trimmed(angle: f64) -> String {
    let text = format!("{angle:.2}");
    text.trim_end_matches('0').trim_end_matches('.').to_owned()
}

fn way(direction: Direction) -> &'static str {
    match direction {
        Direction::Up => "up",
        Direction::Down => "down",
    }
}

fn edge(edge: Edge) -> &'static str {
    match edge {
        Edge::A => "A",
        Edge::B => "B",
        Edge::C => "C",
        Edge::D => "D",
    }
}

/// What a person should mind at this run.
pub(crate) fn cautions(shop: &Shop, run: &Run) -> Vec<String> {
    let mut out = Vec::new();
    let crew = run
        .segments
        .iter()
        .map(|work| work.crew.len())
        .max()
        .unwrap_or(0);
    if crew > 1 {
        out.push(format!(
            "{crew} people work here: agree who works the pedal."
        ));
    }
    let change = &run.changeover;
    let carried = change.remove.iter().chain(&change.insert);
    let turned = change.turn.iter().map(|turned| &turned.station);
    let heavy = carried
        .flat_map(|station| station.punch_sections.iter().chain(&station.die_sections))
        .chain(turned.flat_map(|station| &station.die_sections))
        .filter_map(|piece| shop.section(&piece.section))
        .filter(|section| section.mass > shop.rules.heavy_section_mass)
        .count();
    if heavy > 0 {
        out.push(format!(
            "{} heavier than {} kg: two people or a crane, and nobody under it.",
            super::words::counted(heavy, "section is", "sections are"),
            shop.rules.heavy_section_mass.get()
        ));
    }
    if run.program.is_none() {
        out.push(
            "No program is proven for this run: have the first piece measured before the second."
                .to_owned(),
        );
    }
    out
}

//! Every setup worth keeping, its stations, and what was passed over.

use super::{Page, mm, seconds_of};
use crate::printer::table::{Side, table, wrapped};
use model::StepKind;
use std::fmt::Write as _;
use study::{BrakeStudy, OptionStudy, PassedOverStudy, Setup, StationStudy};
use units::Length;

/// Reasons against tools passed over that are listed; the JSON holds all of them.
const LISTED: usize = 12;

/// The overview of a brake's setups.
pub(super) fn as_text(page: &Page<'_>, study: &BrakeStudy) -> String {
    let width = page.width;
    let mut out = format!("\nSetups\n{}", overview(study, width));
    let setup = study.options.first().and_then(|best| best.setup.as_ref());
    if let Some(setup) = setup {
        out.push_str(&wrapped(&setup_line(setup), 2, width));
    }
    let _ = write!(out, "\nStations\n{}", stations(study, width));
    if !study.passed_over.is_empty() {
        let _ = write!(out, "\nPassed over\n{}", passed_over(study, width));
    }
    out
}

fn overview(study: &BrakeStudy, width: usize) -> String {
    let row = |(at, option): (usize, &OptionStudy)| {
        let tools: Vec<String> = option
            .stations
            .iter()
            .map(|station| format!("{} over {}", station.punch, station.die))
            .collect();
        let setup = option.setup.as_ref();
        vec![
            (at + 1).to_string(),
            tools.join(", "),
            mm(option.shut_height),
            setup.map_or_else(|| "-".to_owned(), minutes),
            seconds_of(option.cycle_ms),
            option.program.clone().unwrap_or_else(|| "-".to_owned()),
        ]
    };
    let rows: Vec<Vec<String>> = study.options.iter().enumerate().map(row).collect();
    let columns = [
        ("setup", Side::Right),
        ("tools", Side::Left),
        ("shut height", Side::Right),
        ("set up min", Side::Right),
        ("s a piece", Side::Right),
        ("program", Side::Left),
    ];
    table(&columns, &rows, width)
}

fn minutes(setup: &Setup) -> String {
    format!("{:.1}", setup.work.minutes())
}

fn stations(study: &BrakeStudy, width: usize) -> String {
    let mut rows = Vec::new();
    for (at, option) in study.options.iter().enumerate() {
        for (place, station) in option.stations.iter().enumerate() {
            let name = format!("{}.{}", at + 1, place + 1);
            rows.push(station_row(name, station));
        }
    }
    let columns = [
        ("setup.station", Side::Left),
        ("bends", Side::Left),
        ("punch", Side::Left),
        ("sections", Side::Left),
        ("die", Side::Left),
        ("sections", Side::Left),
        ("punch length", Side::Left),
        ("off centre", Side::Right),
    ];
    table(&columns, &rows, width)
}

fn station_row(name: String, station: &StationStudy) -> Vec<String> {
    let bends: Vec<String> = station.bends.iter().map(u8::to_string).collect();
    vec![
        name,
        bends.join(" "),
        punch(station),
        sections(&station.punch_sections),
        station.die.to_string(),
        sections(&station.die_sections),
        range(station),
        format!("±{:.0}", station.off_centre_most.mm()),
    ]
}

fn punch(station: &StationStudy) -> String {
    let turned = station.stand.as_ref().is_some_and(|stand| stand.reversed);
    if turned {
        format!("{} turned about", station.punch)
    } else {
        station.punch.to_string()
    }
}

/// `300 + 200 + 100`, left to right.
fn sections(lengths: &[Length]) -> String {
    if lengths.is_empty() {
        return "-".to_owned();
    }
    let lengths: Vec<String> = lengths.iter().map(Length::to_string).collect();
    lengths.join(" + ")
}

fn range(station: &StationStudy) -> String {
    let (least, most) = station.punch_span;
    let horns = if station.horns { ", horns" } else { "" };
    if most.is_unlimited() {
        format!("from {least}{horns}")
    } else {
        format!("{least} to {most}{horns}")
    }
}

fn setup_line(setup: &Setup) -> String {
    let steps = setup.steps.iter().map(|(kind, time)| {
        let what = match kind {
            StepKind::Prepare => "prepare",
            StepKind::TakeOff => "take off",
            StepKind::Turn => "turn",
            StepKind::Slide => "slide",
            StepKind::PutOn => "put on",
            StepKind::Fingers => "fingers",
            StepKind::Guard => "guard",
            StepKind::Program => "call up the program",
            StepKind::Programming => "make the program",
            StepKind::FirstPiece => "first piece",
            StepKind::Approval => "approval",
        };
        format!("{what} {:.1}", time.minutes())
    });
    let steps: Vec<String> = steps.collect();
    format!(
        "Setup 1 from an empty bed, {} min: {}.\n",
        minutes(setup),
        steps.join(", ")
    )
}

/// Tools with the same reason stand in one row.
pub(super) fn passed_over(study: &BrakeStudy, width: usize) -> String {
    let mut reasons: Vec<(&str, Vec<&PassedOverStudy>)> = Vec::new();
    for over in &study.passed_over {
        match reasons.iter_mut().find(|(why, _)| *why == over.why) {
            Some((_, all)) => all.push(over),
            None => reasons.push((&over.why, vec![over])),
        }
    }
    let rows: Vec<Vec<String>> = reasons
        .iter()
        .take(LISTED)
        .map(|(why, all)| vec![tools_of(all), (*why).to_owned()])
        .collect();
    let columns = [("tools", Side::Left), ("why not", Side::Left)];
    let mut out = table(&columns, &rows, width);
    if reasons.len() > LISTED {
        let more = reasons.len() - LISTED;
        let _ = writeln!(out, "and for {more} more reasons");
    }
    out
}

/// `P1 over D1 D2; P2 over D1`, sets of several pairs as `P1 over D1 + P2 over D2`.
fn tools_of(all: &[&PassedOverStudy]) -> String {
    let mut groups: Vec<(String, Vec<String>)> = Vec::new();
    for over in all {
        let (punch, die) = match over.tools.split_first() {
            Some((first, [])) => (first.0.to_string(), first.1.to_string()),
            _ => {
                let pair = |(punch, die): &(_, _)| format!("{punch} over {die}");
                let pairs: Vec<String> = over.tools.iter().map(pair).collect();
                (String::new(), pairs.join(" + "))
            }
        };
        match groups.iter_mut().find(|group| group.0 == punch) {
            Some((_, dies)) => dies.push(die),
            None => groups.push((punch, vec![die])),
        }
    }
    let groups: Vec<String> = groups
        .into_iter()
        .map(|(punch, dies)| {
            if punch.is_empty() {
                dies.join("; ")
            } else {
                format!("{punch} over {}", dies.join(" "))
            }
        })
        .collect();
    groups.join("; ")
}

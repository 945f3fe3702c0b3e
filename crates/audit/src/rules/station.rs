//! What a station is made of, and the numbers the plan states of it.

use super::{Rule, broken};
use crate::bed::Placed;
use crate::case::Case;
use crate::numbers::{mm, states};
use model::{Horn, SectionStatus, Station, StationPiece, Violation};
use units::ProfileId;

pub(super) const SECTIONS: Rule = (
    "A147",
    "station-sections",
    "a station put on is not made of sections of its profiles, punch and die from one set each",
);
pub(super) const OUT: Rule = (
    "A148",
    "section-out-of-service",
    "a section out of service is put on",
);
pub(super) const HORN: Rule = (
    "A149",
    "horn-between-others",
    "a horn section is put on between other sections",
);
pub(super) const STATED: Rule = (
    "A150",
    "wrong-station-numbers",
    "a station's V, length, closed height, section length or drawer is not what the shop has",
);

pub(super) fn check(case: &Case, out: &mut Vec<Violation>) {
    for run in &case.runs {
        let changeover = &run.run.changeover;
        for station in &changeover.insert {
            check_kind(case, &run.run.name, station, true, out);
            check_kind(case, &run.run.name, station, false, out);
            check_horns(case, &run.run.name, station, out);
        }
        let lists = [
            &changeover.remove,
            &changeover.keep,
            &changeover.insert,
            &run.run.bed,
        ];
        let turned = changeover.turn.iter().map(|turned| &turned.station);
        let slid = changeover.slide.iter().map(|slid| &slid.station);
        for station in lists.into_iter().flatten().chain(turned).chain(slid) {
            check_stated(case, &run.run.name, station, out);
        }
    }
    for takedown in &case.takedowns {
        for station in &takedown.takedown.remove {
            check_stated(case, &takedown.at, station, out);
        }
    }
}

/// The punch sections, or the die sections, of a station put on.
fn check_kind(case: &Case, at: &str, station: &Station, punch: bool, out: &mut Vec<Violation>) {
    let (word, profile, pieces) = if punch {
        ("punch", &station.punch, &station.punch_sections)
    } else {
        ("die", &station.die, &station.die_sections)
    };
    let die = case.lookup.dies.get(profile).filter(|_| !punch);
    let block = die.and_then(|die| die.block.as_ref());
    let known = die.is_some() || (punch && case.lookup.punches.contains_key(profile));
    let mut wrong = Vec::new();
    if !known {
        wrong.push(format!("no {word} {profile} in the shop"));
    }
    if pieces.is_empty() {
        wrong.push(format!("no {word} sections"));
    }
    wrong.extend(
        pieces
            .iter()
            .filter_map(|piece| wrong_section(case, profile, block, piece)),
    );
    let mut sets: Vec<&str> = pieces
        .iter()
        .filter_map(|piece| case.lookup.sections.get(&piece.section))
        .map(|section| section.set.as_str())
        .collect();
    sets.sort_unstable();
    sets.dedup();
    if sets.len() > 1 {
        wrong.push(format!("{word} sections of sets {}", sets.join(" and ")));
    }
    for text in wrong {
        broken(
            out,
            &SECTIONS,
            at,
            format!("{}: {text}", Placed::from_plan(station).describe()),
        );
    }
    for piece in pieces {
        let section = case.lookup.sections.get(&piece.section);
        if section.is_some_and(|section| section.status != SectionStatus::Good) {
            broken(
                out,
                &OUT,
                at,
                format!("section {} is out of service", piece.section),
            );
        }
    }
}

/// A section is of the profile, or of the block whose face the die is.
fn wrong_section(
    case: &Case,
    profile: &ProfileId,
    block: Option<&ProfileId>,
    piece: &StationPiece,
) -> Option<String> {
    match case.lookup.sections.get(&piece.section) {
        None => Some(format!("no section {} in the shop", piece.section)),
        Some(section) if section.profile != *profile && block != Some(&section.profile) => {
            Some(format!(
                "section {} is of {}, not {profile}",
                section.id, section.profile
            ))
        }
        Some(_) => None,
    }
}

fn check_horns(case: &Case, at: &str, station: &Station, out: &mut Vec<Violation>) {
    let pieces = &station.punch_sections;
    let inner = pieces.iter().skip(1).take(pieces.len().saturating_sub(2));
    for piece in inner {
        let section = case.lookup.sections.get(&piece.section);
        if section.is_some_and(|section| section.horn != Horn::None) {
            broken(
                out,
                &HORN,
                at,
                format!("horn section {} stands between others", piece.section),
            );
        }
    }
}

fn check_stated(case: &Case, at: &str, station: &Station, out: &mut Vec<Violation>) {
    let place = Placed::from_plan(station);
    let mut tell = |text: String| {
        broken(out, &STATED, at, format!("{}: {text}", place.describe()));
    };
    let length = mm(place.length(&case.lookup));
    if !states(station.length, length) {
        tell(format!(
            "length {} mm stated, its sections are {length} mm",
            station.length
        ));
    }
    if let Some((punch, die)) = place.profiles(&case.lookup) {
        if !states(station.v, die.v.mm()) {
            tell(format!(
                "V {} stated, die {} has {}",
                station.v, die.id, die.v
            ));
        }
        let height = punch.height.mm() + die.height.mm();
        if !states(station.closed_height, height) {
            tell(format!(
                "closed height {} mm stated, {height} mm",
                station.closed_height
            ));
        }
    }
    for piece in station.punch_sections.iter().chain(&station.die_sections) {
        let Some(section) = case.lookup.sections.get(&piece.section) else {
            continue;
        };
        if !states(piece.length, section.length.mm()) {
            tell(format!(
                "section {} of {} mm stated, {} mm",
                section.id, piece.length, section.length
            ));
        }
        if piece.drawer != section.drawer {
            tell(format!(
                "section {} in drawer {:?}, kept in {:?}",
                section.id, piece.drawer, section.drawer
            ));
        }
    }
}

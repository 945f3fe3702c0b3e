//! Whether the stations of a proven setup make every bend of its part, and every hit of its hems.

use super::setups::Line;
use super::tooling::Tooling;
use crate::codes::{CANNOT_MAKE, Code, SETUP_BENDS};
use crate::findings::{Findings, Problem};
use model::{Bend, BendKind, Part, ProvenStation};
use std::collections::{BTreeMap, BTreeSet};
use units::Place;

/// What a station's tools can do to the sheet.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Makes {
    /// A punch over a V.
    AirBends,
    /// Two flattening tools.
    Flattens,
    /// One tool flattens, the other does not.
    Nothing,
    /// A tool is unknown; that is reported where it is named.
    Unknown,
}

impl Makes {
    fn at(station: &ProvenStation, tooling: &Tooling) -> Makes {
        let (punch, die) = (tooling.punch(&station.punch), tooling.die(&station.die));
        match (
            punch.map(|punch| punch.flattening),
            die.map(|die| die.flattening),
        ) {
            (Some(false), Some(false)) => Makes::AirBends,
            (Some(true), Some(true)) => Makes::Flattens,
            (Some(_), Some(_)) => Makes::Nothing,
            _ => Makes::Unknown,
        }
    }
}

/// Sharp bend and flattening of a hem; any other bend has the first alone.
const BENT: u8 = 1;
const FLATTENED: u8 = 2;

/// Checks that each hit is named once, at a station that can make it. A hem's two hits are made at
/// the stations that name it: bent at one with a V, flattened at one with flattening tools.
pub(super) fn check_bends(
    lines: &[Line],
    part: Option<&Part>,
    tooling: &Tooling,
    out: &mut Findings,
) {
    let Some(part) = part else { return };
    let mut made = Made {
        part,
        bends: part.bends.iter().map(|bend| (bend.number, bend)).collect(),
        hits: BTreeSet::new(),
        unsure: BTreeSet::new(),
    };
    for line in lines {
        let makes = Makes::at(&line.station, tooling);
        if makes == Makes::Nothing {
            let found = format!("{} over {}", line.station.punch, line.station.die);
            let expected = "a punch over a V, or two flattening tools";
            report(line, (CANNOT_MAKE, found, expected), out);
        }
        for number in &line.station.bends {
            if let Some(problem) = made.add(*number, makes) {
                report(line, problem, out);
            }
        }
    }
    let missing = made.missing();
    if let (false, Some(last)) = (missing.is_empty(), lines.last()) {
        let found = format!("no station {} of part {}", missing.join(", "), part.id);
        report(last, (SETUP_BENDS, found, EXPECTED), out);
    }
}

const EXPECTED: &str =
    "every bend at one station, and a hem at one with a V and one with flattening tools";

fn report(line: &Line, (code, found, expected): (Code, String, &str), out: &mut Findings) {
    let place = Place {
        field: Some("bends".to_owned()),
        ..line.place.clone()
    };
    let action = "name each bend at the stations where it is made";
    out.add(place, Problem::new(code, found, expected, action));
}

/// The hits named so far.
struct Made<'a> {
    part: &'a Part,
    bends: BTreeMap<u8, &'a Bend>,
    hits: BTreeSet<(u8, u8)>,
    /// Hems named at a station of which it is not known what it makes.
    unsure: BTreeSet<u8>,
}

impl Made<'_> {
    /// Counts a bend named at a station; hands back what is wrong with that.
    fn add(&mut self, number: u8, makes: Makes) -> Option<(Code, String, &'static str)> {
        let Some(bend) = self.bends.get(&number) else {
            let found = format!("part {} has no bend {number}", self.part.id);
            return Some((SETUP_BENDS, found, EXPECTED));
        };
        let hit = match (is_hem(bend), makes) {
            (true, Makes::Nothing | Makes::Unknown) => {
                self.unsure.insert(number);
                return None;
            }
            (true, Makes::Flattens) => FLATTENED,
            (true, Makes::AirBends) | (false, _) => BENT,
        };
        if !self.hits.insert((number, hit)) {
            let found = match (is_hem(bend), hit) {
                (true, FLATTENED) => format!("hem {number} is flattened twice"),
                (true, _) => format!("hem {number} is bent twice"),
                (false, _) => format!("bend {number} is named twice"),
            };
            return Some((SETUP_BENDS, found, EXPECTED));
        }
        if !is_hem(bend) && makes == Makes::Flattens {
            let found = format!("bend {number} is no hem, the tools flatten");
            return Some((CANNOT_MAKE, found, "hems alone between flattening tools"));
        }
        None
    }

    /// What is left, in words.
    fn missing(&self) -> Vec<String> {
        let mut missing = Vec::new();
        for (number, bend) in &self.bends {
            if self.unsure.contains(number) {
                continue;
            }
            let has = |hit| self.hits.contains(&(*number, hit));
            match (is_hem(bend), has(BENT), has(FLATTENED)) {
                (false, false, _) => missing.push(format!("makes bend {number}")),
                (true, false, false) => missing.push(format!("makes hem {number}")),
                (true, false, true) => missing.push(format!("bends hem {number}")),
                (true, true, false) => missing.push(format!("flattens hem {number}")),
                (false, true, _) | (true, true, true) => {}
            }
        }
        missing
    }
}

fn is_hem(bend: &Bend) -> bool {
    matches!(bend.kind, BendKind::Hem { .. })
}

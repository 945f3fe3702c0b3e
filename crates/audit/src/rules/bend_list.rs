//! Each bend of the part is made once, at a station that is there.

use super::{Rule, broken};
use crate::case::{Case, RunCase};
use model::Violation;

pub(super) const BENDS: Rule = (
    "A117",
    "bends-not-each-once",
    "a run does not make every bend of its part exactly once",
);
pub(super) const STATION: Rule = (
    "A118",
    "no-such-station",
    "a bend's station is not on the run's bed or its profiles are unknown",
);

pub(super) fn check(case: &Case, out: &mut Vec<Violation>) {
    for run in &case.runs {
        let Some(part) = run.part else { continue };
        let mut needed: Vec<u8> = part.bends.iter().map(|bend| bend.number).collect();
        let mut made: Vec<u8> = run.run.bends.iter().map(|used| used.bend).collect();
        needed.sort_unstable();
        made.sort_unstable();
        if needed != made {
            let text = format!("makes bends {made:?}, part {} has {needed:?}", part.id);
            broken(out, &BENDS, &run.run.name, text);
        }
        check_stations(case, run, out);
    }
}

fn check_stations(case: &Case, run: &RunCase, out: &mut Vec<Violation>) {
    for used in &run.run.bends {
        let station = run.run.bed.get(used.station);
        let text = match station {
            None => format!(
                "bend {} at station {}, but the bed has {}",
                used.bend,
                used.station,
                run.run.bed.len()
            ),
            Some(station) if !case.lookup.punches.contains_key(&station.punch) => {
                format!("bend {}: no punch {} in the shop", used.bend, station.punch)
            }
            Some(station) if !case.lookup.dies.contains_key(&station.die) => {
                format!("bend {}: no die {} in the shop", used.bend, station.die)
            }
            Some(_) => continue,
        };
        broken(out, &STATION, &run.run.name, text);
    }
}

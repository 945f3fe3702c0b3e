//! Each hit of the part is made once, in the part's order, at a station that is there.

use super::{Rule, broken};
use crate::case::{Case, RunCase};
use crate::hit::hits_of;
use model::Violation;

pub(super) const BENDS: Rule = (
    "A117",
    "bends-not-each-once",
    "a run does not make every hit of its part's bends exactly once",
);
pub(super) const STATION: Rule = (
    "A118",
    "no-such-station",
    "a bend's station is not on the run's bed or its profiles are unknown",
);

pub(super) const ORDER: Rule = (
    "A193",
    "hits-out-of-order",
    "a run makes the hits of its part in another order than the part's",
);

pub(super) fn check(case: &Case, out: &mut Vec<Violation>) {
    for run in &case.runs {
        let Some(part) = run.part else { continue };
        let needed = hits_of(part);
        let made: Vec<(u8, u8)> = run
            .run
            .bends
            .iter()
            .map(|used| (used.bend, used.hit))
            .collect();
        let text = format!(
            "makes {}, part {} has {}",
            list(&made),
            part.id,
            list(&needed)
        );
        if sorted(&needed) != sorted(&made) {
            broken(out, &BENDS, &run.run.name, text);
        } else if needed != made {
            broken(out, &ORDER, &run.run.name, text);
        }
        check_stations(case, run, out);
    }
}

fn sorted(hits: &[(u8, u8)]) -> Vec<(u8, u8)> {
    let mut hits = hits.to_vec();
    hits.sort_unstable();
    hits
}

/// `1, 2, 3 hit 2`: first hits go without saying.
fn list(hits: &[(u8, u8)]) -> String {
    if hits.is_empty() {
        return "no bends".to_owned();
    }
    let one = |(bend, hit): &(u8, u8)| match hit {
        1 => format!("{bend}"),
        _ => format!("{bend} hit {hit}"),
    };
    hits.iter().map(one).collect::<Vec<_>>().join(", ")
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

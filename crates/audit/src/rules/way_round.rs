//! Which way round the punch of a station stands.

use super::{Rule, broken};
use crate::bed::{Bed, Placed};
use crate::case::{Case, RunCase};
use crate::replay::Moved;
use model::{Station, Violation};

pub(super) const CANNOT: Rule = (
    "A199",
    "punch-cannot-turn",
    "a straight punch is put on or used reversed",
);
pub(super) const TURNED: Rule = (
    "A200",
    "turned-where-it-stands",
    "a station is named the other way round than it stands",
);

pub(super) fn check(case: &Case, out: &mut Vec<Violation>) {
    for takedown in &case.takedowns {
        let remove = &takedown.takedown.remove;
        tell_turned(&takedown.at, "remove", remove, &takedown.bed.removed, out);
    }
    for run in &case.runs {
        let (name, changeover) = (&run.run.name, &run.run.changeover);
        tell_turned(name, "remove", &changeover.remove, &run.bed.removed, out);
        tell_turned(name, "keep", &changeover.keep, &run.bed.kept, out);
        tell_moved(name, "turn", &run.bed.turned, out);
        tell_moved(name, "slide", &run.bed.slid, out);
        tell_turned(name, "bed", &run.run.bed, &run.bed.after, out);
        check_reversed(case, run, out);
    }
}

/// A station that the floor already has and that stands idle is not the plan's doing.
fn check_reversed(case: &Case, run: &RunCase, out: &mut Vec<Violation>) {
    let used = run.stations_used();
    let bends_at = used.iter().filter_map(|place| run.run.bed.get(*place));
    let mut seen: Bed = Vec::new();
    for station in run.run.changeover.insert.iter().chain(bends_at) {
        let station = Placed::from_plan(station);
        if !station.reversed || seen.contains(&station) {
            continue;
        }
        let punch = case.lookup.punches.get(station.punch);
        if punch.is_some_and(|punch| punch.relief.nanometres() <= 0) {
            let text = format!(
                "{}: a straight punch has no other way round",
                station.describe()
            );
            broken(out, &CANNOT, &run.run.name, text);
        }
        seen.push(station);
    }
}

fn tell_turned(at: &str, list: &str, stated: &[Station], standing: &Bed, out: &mut Vec<Violation>) {
    for station in stated.iter().map(Placed::from_plan) {
        let like = || standing.iter().filter(|other| other.same_tools(&station));
        let as_named = like().any(|other| other.reversed == station.reversed);
        if let (false, Some(other)) = (as_named, like().next()) {
            tell(at, list, &station, other, out);
        }
    }
}

fn tell_moved(at: &str, list: &str, moved: &[Moved], out: &mut Vec<Violation>) {
    for Moved {
        before,
        stated_before,
        ..
    } in moved
    {
        if before.reversed != stated_before.reversed {
            tell(at, list, stated_before, before, out);
        }
    }
}

fn tell(at: &str, list: &str, named: &Placed, standing: &Placed, out: &mut Vec<Violation>) {
    let (named, standing) = (named.describe(), standing.describe());
    let text = format!("`{list}` names {named}, where {standing} stands");
    broken(out, &TURNED, at, text);
}

//! Which proven setups a run follows.

use crate::case::{Case, RunCase};
use crate::hit::hits_of;
use crate::numbers::at_least;
use model::ProvenSetup;

/// The setups of the part on the brake that the run follows: every hit of the part is made at a
/// station with the punch and die the setup names for it, at least as long as the setup's.
pub(crate) fn followed<'a>(case: &Case<'a>, run: &RunCase<'a>) -> Vec<&'a ProvenSetup> {
    let of_part = case
        .shop
        .setups
        .iter()
        .filter(|setup| setup.part == *run.part_id() && setup.brake == *run.brake_id);
    of_part.filter(|setup| follows(run, setup)).collect()
}

fn follows(run: &RunCase, setup: &ProvenSetup) -> bool {
    let Some(part) = run.part else { return false };
    hits_of(part).iter().all(|(bend, hit)| {
        run.made(*bend, *hit).is_some_and(|made| {
            // Of the stations that name a hem, one has a V and one flattens.
            made.die.flattening == made.hit.flattens()
                && setup.stations.iter().any(|station| {
                    station.bends.contains(bend)
                        && station.punch == *made.place.punch
                        && station.die == *made.place.die
                        && at_least(made.punch_length.max(made.die_length), station.length.mm())
                })
        })
    })
}

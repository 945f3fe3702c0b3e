//! Stations that every plan must put on.
//!
//! A run for which no bed holds a punch over a die of the right profiles needs a station put on,
//! whichever of its ways is taken. Runs none of whose ways share tools on a brake need different
//! stations; so the work for a set of such runs adds up. The set is chosen greedily, the dearest
//! first: any set bounds, a better one bounds better.

use crate::least_change::new_station;
use crate::problem::Problem;
use std::collections::BTreeSet;
use tooling::ToolingOption;

/// Brake, punch and die.
type Tools = (usize, usize, usize);

/// Seconds of tool work in every plan that places every run: by run, what is done for it.
pub(super) fn stations_put_on(problem: &Problem<'_>) -> Vec<i64> {
    let standing: BTreeSet<Tools> = problem
        .beds
        .iter()
        .enumerate()
        .flat_map(|(brake, bed)| {
            bed.stands
                .iter()
                .map(move |stand| (brake, stand.punch, stand.die))
        })
        .collect();
    let mut runs: Vec<(i64, BTreeSet<Tools>, usize)> = problem
        .ways
        .iter()
        .enumerate()
        .map(|(run, ways)| {
            let least = ways.iter().map(|way| work(problem, way, &standing)).min();
            (
                least.unwrap_or(0),
                ways.iter().flat_map(|way| tools(way)).collect(),
                run,
            )
        })
        .filter(|(least, ..)| *least > 0)
        .collect();
    runs.sort_by_key(|(least, tools, _)| (std::cmp::Reverse(*least), tools.len()));
    let mut taken: BTreeSet<Tools> = BTreeSet::new();
    let mut of_run = vec![0; problem.jobs.len()];
    for (least, tools, run) in runs {
        if taken.is_disjoint(&tools) {
            of_run[run] = least;
            taken.extend(tools);
        }
    }
    of_run
}

fn tools(option: &ToolingOption) -> impl Iterator<Item = Tools> + '_ {
    option
        .needs
        .iter()
        .map(|need| (option.brake, need.punch, need.die))
}

/// Tool work of a way when nothing but the floor's stations may serve it.
fn work(problem: &Problem<'_>, option: &ToolingOption, standing: &BTreeSet<Tools>) -> i64 {
    let brake = option.brake;
    let missing = option
        .needs
        .iter()
        .filter(|need| !standing.contains(&(brake, need.punch, need.die)));
    missing
        .map(|need| new_station(problem, brake, need).0)
        .sum()
}

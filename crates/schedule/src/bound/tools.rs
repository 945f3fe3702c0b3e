//! Stations that every plan must put on or turn.
//!
//! A run for which no bed holds a punch over a die of the right profiles needs a station put on,
//! whichever of its ways is taken, or one turned when the die is one of a block. Either makes one
//! station of these tools. Runs none of whose ways share tools on a brake need different
//! stations; so the work for a set of such runs adds up. The set is chosen greedily, the dearest
//! first: any set bounds, a better one bounds better.

use crate::problem::Problem;
use std::collections::BTreeSet;
use tooling::ToolingOption;

/// Brake, punch and die.
type Tools = (usize, usize, usize);

/// Seconds of tool work in every plan that places every run.
pub(super) fn stations_put_on(problem: &Problem<'_>) -> i64 {
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
    let mut runs: Vec<(i64, BTreeSet<Tools>)> = problem
        .ways
        .iter()
        .map(|ways| {
            let least = ways.iter().map(|way| work(problem, way, &standing)).min();
            (
                least.unwrap_or(0),
                ways.iter().flat_map(|way| tools(way)).collect(),
            )
        })
        .filter(|(least, _)| *least > 0)
        .collect();
    runs.sort_by_key(|(least, tools)| (std::cmp::Reverse(*least), tools.len()));
    let mut taken: BTreeSet<Tools> = BTreeSet::new();
    let mut sum = 0;
    for (least, tools) in runs {
        if taken.is_disjoint(&tools) {
            sum += least;
            taken.extend(tools);
        }
    }
    sum
}

fn tools(option: &ToolingOption) -> impl Iterator<Item = Tools> + '_ {
    option
        .needs
        .iter()
        .map(|need| (option.brake, need.punch, need.die))
}

/// Tool work of a way when nothing but the floor's stations may serve it: each station put on has a
/// section of punch and one of die at least, each block turned one section.
fn work(problem: &Problem<'_>, option: &ToolingOption, standing: &BTreeSet<Tools>) -> i64 {
    let times = &problem.shop.brakes[option.brake].times;
    let on = times.station_on.0 + 2 * times.section_on.0;
    let least = |(_, _, die): Tools| {
        let in_a_block = problem
            .stock
            .die(die)
            .is_some_and(|die| die.block.is_some());
        if in_a_block {
            on.min(times.section_turn.0)
        } else {
            on
        }
    };
    let missing = tools(option).filter(|tools| !standing.contains(tools));
    missing.map(least).sum()
}

//! What a change costs at least, without working it out: for bounds, and to leave hopeless ones
//! aside. Never more than the steps of docs/rules.md section 4 add up to.

use crate::problem::Problem;
use model::{Profile, ZDrive};
use tooling::{Bed, Need, Previous, ToolingOption};
use units::Seconds;

/// Seconds a part costs when another was on the brake before, without moving a tool.
pub(crate) fn new_part(problem: &Problem<'_>, option: &ToolingOption, programmed: bool) -> Seconds {
    let rules = &problem.shop.rules;
    let brake = &problem.shop.brakes[option.brake];
    let program = if option.program.is_some() || programmed {
        brake.times.program
    } else {
        rules.programming
    };
    let fingers = match brake.gauge.z {
        ZDrive::Hand => brake.times.fingers.0 * i64::try_from(option.needs.len()).unwrap_or(0),
        ZDrive::Powered => 0,
    };
    let approval = match option.approval {
        model::Approval::Own => rules.approve_own,
        model::Approval::Inspector => rules.approve_inspector,
        model::Approval::Customer => rules.approve_customer,
    };
    let first = (i64::from(rules.first_off_pieces) * option.cycle_ms + 999) / 1000;
    Seconds(program.0 + fingers + first + approval.0)
}

/// The least of [`new_part`] over all ways of each part's jobs, by part; `None` for parts without jobs.
pub(crate) fn least_new_part(problem: &Problem<'_>) -> Vec<Option<Seconds>> {
    let mut least: Vec<Option<Seconds>> = vec![None; problem.shop.parts.len()];
    for option in problem.ways.iter().flatten() {
        let new = new_part(problem, option, false);
        let known = &mut least[option.part];
        *known = Some(known.map_or(new, |known| known.min(new)));
    }
    least
}

/// Seconds that showing a punch over a die costs on a brake where no station does: a station put on
/// has a section of each at least; a block can be turned instead.
pub(crate) fn new_station(problem: &Problem<'_>, brake: usize, need: &Need) -> Seconds {
    let times = &problem.shop.brakes[brake].times;
    let put_on = times.station_on + times.section_on + times.section_on;
    match &problem.shop.profiles[need.die] {
        Profile::Die(die) if die.block.is_some() => put_on.min(times.section_turn),
        _ => put_on,
    }
}

/// Seconds of a change to an option at least, from what stands on the bed.
pub(crate) fn least_change(
    problem: &Problem<'_>,
    option: &ToolingOption,
    bed: &Bed,
    previous: Option<Previous>,
    programmed: bool,
) -> Seconds {
    let stands = |need: &Need| {
        let mut stands = bed.stands.iter();
        stands.any(|stand| stand.punch == need.punch && stand.die == need.die)
    };
    let missing = option.needs.iter().filter(|need| !stands(need));
    let mut least: Seconds = missing
        .map(|need| new_station(problem, option.brake, need))
        .sum();
    if least > Seconds::ZERO {
        least += problem.shop.brakes[option.brake].times.base;
    }
    if previous.is_none_or(|previous| previous.part != option.part) {
        least += new_part(problem, option, programmed);
    }
    least
}

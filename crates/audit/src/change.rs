//! What a change must consist of and cost.

use crate::bed::Placed;
use crate::case::{Case, RunCase, TakedownCase};
use crate::numbers::round_up_thousandths;
use crate::replay::Replay;
use model::{Approval, Brake, StepKind, ZDrive};
use units::{Seconds, SectionId};

/// A step and its seconds.
pub(crate) type Cost = (StepKind, i128);

/// The steps of a run's changeover in the order of the table in docs/rules.md section 4. Steps that
/// take no time are left out.
pub(crate) fn steps_of_run(case: &Case, run: &RunCase) -> Vec<Cost> {
    let Some(brake) = run.brake else {
        return Vec::new();
    };
    if run.in_progress {
        return Vec::new();
    }
    let previous = run.previous.and_then(|place| case.runs.get(place));
    let part_differs = previous.is_none_or(|previous| previous.part_id() != run.part_id());
    let put_on = !run.run.changeover.insert.is_empty();
    let height_differs = previous.is_none_or(|previous| previous.tallest() != run.tallest());

    let mut steps = tool_steps(case, brake, &run.bed);
    if part_differs && brake.gauge.z == ZDrive::Hand {
        let stations = i128::try_from(run.stations_used().len()).unwrap_or(i128::MAX);
        steps.push((
            StepKind::Fingers,
            i128::from(brake.times.fingers.0) * stations,
        ));
    }
    if put_on || !run.bed.turned.is_empty() || height_differs {
        steps.push((StepKind::Guard, seconds(brake.times.guard)));
    }
    if part_differs {
        steps.push(if run.run.program.is_none() && !run.ran_before {
            (StepKind::Programming, seconds(case.shop.rules.programming))
        } else {
            (StepKind::Program, seconds(brake.times.program))
        });
    }
    if part_differs || put_on || run.bed.alters_what_stays() {
        let pieces = i128::from(case.shop.rules.first_off_pieces);
        let first = round_up_thousandths(pieces * i128::from(run.run.cycle_ms));
        steps.push((StepKind::FirstPiece, first));
        steps.push((StepKind::Approval, seconds(approval(case, run))));
    }
    steps.retain(|(_, time)| *time != 0);
    steps
}

/// The steps of a takedown.
pub(crate) fn steps_of_takedown(case: &Case, takedown: &TakedownCase) -> Vec<Cost> {
    let Some(brake) = takedown.brake else {
        return Vec::new();
    };
    let mut steps = tool_steps(case, brake, &takedown.bed);
    steps.retain(|(_, time)| *time != 0);
    steps
}

/// Seconds of a list of steps.
pub(crate) fn work(steps: &[Cost]) -> i128 {
    steps.iter().map(|(_, time)| time).sum()
}

/// How long approving the first piece of the run takes.
pub(crate) fn approval(case: &Case, run: &RunCase) -> Seconds {
    let rules = &case.shop.rules;
    match run.part.map_or(Approval::Own, |part| part.approval) {
        Approval::Own => rules.approve_own,
        Approval::Inspector => rules.approve_inspector,
        Approval::Customer => rules.approve_customer,
    }
}

/// Prepare, TakeOff, Turn, Slide and PutOn.
fn tool_steps(case: &Case, brake: &Brake, bed: &Replay) -> Vec<Cost> {
    let times = &brake.times;
    let lift = |station: &Placed, each: Seconds, section: Seconds| {
        seconds(each) + handling(case, brake, station.sections(), section)
    };
    let mut steps = Vec::new();
    if bed.moves_tools() {
        steps.push((StepKind::Prepare, seconds(times.base)));
    }
    for station in &bed.removed {
        let time = lift(station, times.station_off, times.section_off);
        steps.push((StepKind::TakeOff, time));
    }
    for turned in &bed.turned {
        let dies = turned.before.die_sections.iter().copied();
        let time = handling(case, brake, dies, times.section_turn);
        steps.push((StepKind::Turn, time));
    }
    for _ in &bed.slid {
        steps.push((StepKind::Slide, seconds(times.station_slide)));
    }
    for station in &bed.inserted {
        let time = lift(station, times.station_on, times.section_on);
        steps.push((StepKind::PutOn, time));
    }
    steps
}

/// Seconds to handle sections one by one: so many each, and more for those too heavy for one person.
fn handling<'s>(
    case: &Case,
    brake: &Brake,
    sections: impl Iterator<Item = &'s SectionId>,
    each: Seconds,
) -> i128 {
    let heavy_above = case.shop.rules.heavy_section_mass.get();
    let is_heavy = |id| {
        let section = case.lookup.sections.get(id);
        section.is_some_and(|section| !crate::numbers::at_most(section.mass.get(), heavy_above))
    };
    let heavy_more = seconds(brake.times.heavy_section);
    sections
        .map(|id| seconds(each) + if is_heavy(id) { heavy_more } else { 0 })
        .sum()
}

fn seconds(time: Seconds) -> i128 {
    i128::from(time.0)
}

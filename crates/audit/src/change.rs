//! What a change must consist of and cost.

use crate::bed::Placed;
use crate::case::{Case, RunCase, TakedownCase};
use crate::numbers::round_up_thousandths;
use model::{Approval, Brake, StepKind, ZDrive};
use units::Seconds;

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

    let mut steps = tool_steps(case, brake, &run.bed.removed, &run.bed.inserted);
    if part_differs && brake.gauge.z == ZDrive::Hand {
        let stations = i128::try_from(run.stations_used().len()).unwrap_or(i128::MAX);
        steps.push((
            StepKind::Fingers,
            i128::from(brake.times.fingers.0) * stations,
        ));
    }
    if put_on || height_differs {
        steps.push((StepKind::Guard, seconds(brake.times.guard)));
    }
    if part_differs {
        steps.push(if run.run.program.is_none() && !run.ran_before {
            (StepKind::Programming, seconds(case.shop.rules.programming))
        } else {
            (StepKind::Program, seconds(brake.times.program))
        });
    }
    if part_differs || put_on {
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
    let mut steps = tool_steps(case, brake, &takedown.bed.removed, &[]);
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

/// Prepare, TakeOff and PutOn.
fn tool_steps(case: &Case, brake: &Brake, off: &[Placed], on: &[Placed]) -> Vec<Cost> {
    let times = &brake.times;
    let mut steps = Vec::new();
    if !off.is_empty() || !on.is_empty() {
        steps.push((StepKind::Prepare, seconds(times.base)));
    }
    let mut move_stations = |kind, stations: &[Placed], each: Seconds, section: Seconds| {
        for station in stations {
            let (all, heavy) = count_sections(case, station);
            let time =
                seconds(each) + seconds(section) * all + seconds(times.heavy_section) * heavy;
            steps.push((kind, time));
        }
    };
    move_stations(StepKind::TakeOff, off, times.station_off, times.section_off);
    move_stations(StepKind::PutOn, on, times.station_on, times.section_on);
    steps
}

/// All sections of a station, and those too heavy for one person.
fn count_sections(case: &Case, station: &Placed) -> (i128, i128) {
    let heavy_above = case.shop.rules.heavy_section_mass.get();
    let is_heavy = |id| {
        let section = case.lookup.sections.get(&id);
        section.is_some_and(|section| !crate::numbers::at_most(section.mass.get(), heavy_above))
    };
    let all = station.sections().count();
    let heavy = station.sections().filter(|id| is_heavy(*id)).count();
    let wide = |count: usize| i128::try_from(count).unwrap_or(i128::MAX);
    (wide(all), wide(heavy))
}

fn seconds(time: Seconds) -> i128 {
    i128::from(time.0)
}

//! The run list as a table for spreadsheets: the whole plan, one run or takedown a row.

use super::clock::Clock;
use super::run_list::{openings, people};
use exchange::table::guarded;
use model::{BrakePlan, Plan, Run, Shop, Takedown};
use units::Moment;

pub(super) const HEADER: &[&str] = &[
    "brake",
    "run",
    "batch",
    "order",
    "part",
    "quantity",
    "change_start",
    "change_minutes",
    "stations_off",
    "stations_stay",
    "stations_turned",
    "stations_slid",
    "stations_on",
    "setter",
    "start",
    "end",
    "v_mm",
    "crew",
    "program",
    "ready",
    "due",
    "late_minutes",
    "reasons",
];

/// The table, with its header.
///
/// # Errors
/// What the writer says; writing to memory gives it nothing to say.
pub(crate) fn as_csv(shop: &Shop, plan: &Plan) -> Result<Vec<u8>, csv::Error> {
    let clock = Clock::new(shop.zone);
    let mut writer = csv::Writer::from_writer(Vec::new());
    writer.write_record(HEADER)?;
    for list in &plan.brakes {
        for (_, row) in rows(clock, list) {
            writer.write_record(row.iter().map(|cell| guarded(cell)))?;
        }
    }
    writer
        .into_inner()
        .map_err(|error| error.into_error().into())
}

/// The rows of one brake, as long as the header, with when each begins.
pub(super) fn rows(clock: Clock, list: &BrakePlan) -> Vec<(Moment, Vec<String>)> {
    let runs = list
        .runs
        .iter()
        .map(|run| (run.start, run_row(clock, list, run)));
    let takedowns = list
        .takedowns
        .iter()
        .map(|takedown| (takedown.start, takedown_row(clock, list, takedown)));
    let mut rows: Vec<_> = runs.chain(takedowns).collect();
    rows.sort_by_key(|(start, _)| *start);
    rows
}

fn run_row(clock: Clock, list: &BrakePlan, run: &Run) -> Vec<String> {
    let change = &run.changeover;
    vec![
        list.brake.to_string(),
        run.name.clone(),
        run.batch.clone(),
        run.order.to_string(),
        run.part.to_string(),
        run.quantity.to_string(),
        clock.sortable(change.start),
        format!("{:.1}", change.work.minutes()),
        change.remove.len().to_string(),
        change.keep.len().to_string(),
        change.turn.len().to_string(),
        change.slide.len().to_string(),
        change.insert.len().to_string(),
        people(&change.segments).join(" "),
        clock.sortable(run.start),
        clock.sortable(run.end),
        openings(run),
        people(&run.segments).join(" "),
        run.program.clone().unwrap_or_default(),
        clock.sortable(run.ready),
        clock.sortable(run.due),
        format!("{:.1}", run.late.minutes()),
        run.reasons.join("; "),
    ]
}

/// A takedown has a change and no run.
fn takedown_row(clock: Clock, list: &BrakePlan, takedown: &Takedown) -> Vec<String> {
    let mut row = vec![String::new(); HEADER.len()];
    let mut set = |column: &str, text: String| {
        if let Some(at) = HEADER.iter().position(|name| *name == column) {
            row[at] = text;
        }
    };
    set("brake", list.brake.to_string());
    set("run", "takedown".to_owned());
    set("change_start", clock.sortable(takedown.start));
    set("change_minutes", format!("{:.1}", takedown.work.minutes()));
    set("stations_off", takedown.remove.len().to_string());
    set("setter", people(&takedown.segments).join(" "));
    set(
        "reasons",
        format!("{} needs the sections", takedown.wanted_by),
    );
    row
}

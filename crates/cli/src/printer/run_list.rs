//! The run list of one brake on one local day.

use super::clock::{Clock, day_long, days_later, short_duration};
use super::table::{Side, table};
use documents::words::{Entry, Today, batch, minutes, moved, none, taken_down};
pub(super) use documents::words::{LEGEND, openings, people};
use model::{Plan, Run, Shop, Takedown};
use std::fmt::Write as _;

/// The lists of every brake, brake by brake and day by day.
pub(crate) fn as_text(shop: &Shop, plan: &Plan, days: u32, width: usize) -> String {
    let clock = Clock::new(shop.zone);
    let first = clock.day(plan.from);
    let mut out = String::new();
    for list in &plan.brakes {
        let Some(brake) = shop.brake(&list.brake) else {
            continue;
        };
        let _ = writeln!(out, "\n{}  {}", brake.id, brake.name);
        for day in (0..days).map(|days| days_later(first, days)) {
            let today = Today { clock, day };
            for line in today.down_lines(shop, brake) {
                let _ = writeln!(out, "{line}");
            }
            let entries = today.entries(list).into_iter();
            let rows: Vec<Vec<String>> = entries.map(|entry| row(&today, entry)).collect();
            if rows.is_empty() {
                let _ = writeln!(out, "{}: nothing planned", day_long(day));
            } else {
                let _ = writeln!(out, "{}", day_long(day));
                out.push_str(&table(COLUMNS, &rows, width));
            }
        }
    }
    out
}

const COLUMNS: &[super::table::Column] = &[
    ("run", Side::Left),
    ("change", Side::Left),
    ("min", Side::Right),
    ("tools", Side::Left),
    ("start", Side::Left),
    ("end", Side::Left),
    ("order", Side::Left),
    ("part", Side::Left),
    ("qty", Side::Right),
    ("V", Side::Left),
    ("crew", Side::Left),
    ("due", Side::Left),
    ("late", Side::Right),
    ("batch", Side::Left),
];

fn row(today: &Today, entry: Entry<'_>) -> Vec<String> {
    match entry {
        Entry::Run(run) => run_row(today, run),
        Entry::Takedown(takedown) => takedown_row(today, takedown),
    }
}

fn run_row(today: &Today, run: &Run) -> Vec<String> {
    let change = &run.changeover;
    let changes = !change.steps.is_empty();
    vec![
        run.name.clone(),
        if changes {
            today.time(change.start)
        } else {
            none()
        },
        if changes {
            minutes(change.work)
        } else {
            none()
        },
        moved(change),
        today.time(run.start),
        today.time(run.end),
        run.order.to_string(),
        run.part.to_string(),
        run.quantity.to_string(),
        openings(run),
        people(&run.segments).join(" "),
        today.clock.short(run.due),
        short_duration(run.late),
        batch(run).to_owned(),
    ]
}

fn takedown_row(today: &Today, takedown: &Takedown) -> Vec<String> {
    let mut row = vec![
        "takedown".to_owned(),
        today.time(takedown.start),
        minutes(takedown.work),
        taken_down(takedown),
        none(),
        today.time(takedown.end),
        format!("for {}", takedown.wanted_by),
    ];
    row.resize(COLUMNS.len(), none());
    row
}

//! The run list of one brake on one local day.

use super::clock::{Clock, day_long, days_later, short_duration};
use super::table::{Side, table};
use chrono::NaiveDate;
use model::{Brake, BrakePlan, Changeover, Plan, Run, Segment, Shop, Takedown};
use std::fmt::Write as _;
use units::{Moment, PersonId, Seconds, Window};

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
            out.push_str(&today.downtime(shop, brake));
            let rows = today.rows(list);
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

/// What the columns hold, once under all lists.
pub(crate) const LEGEND: &str = "\
change, min: when the changeover starts, and its work in minutes. tools: stations taken off / \
left / put on;
1t: of those left, one has its die block turned to another V; 1s: one is slid along the bed.
V: opening in mm of each station used. late: at the order's or the kit's last piece.
";

struct Today {
    clock: Clock,
    day: NaiveDate,
}

impl Today {
    fn window(&self) -> Window {
        Window {
            start: self.clock.start_of(self.day),
            end: self.clock.start_of(days_later(self.day, 1)),
        }
    }

    fn works(&self, segments: &[Segment]) -> bool {
        let today = self.window();
        segments.iter().any(|segment| {
            let worked = Window {
                start: segment.start,
                end: segment.end,
            };
            worked.overlaps(today)
        })
    }

    fn rows(&self, list: &BrakePlan) -> Vec<Vec<String>> {
        let runs = list
            .runs
            .iter()
            .filter(|run| self.works(&run.segments) || self.works(&run.changeover.segments))
            .map(|run| (run.changeover.start.min(run.start), self.run(run)));
        let takedowns = list
            .takedowns
            .iter()
            .filter(|takedown| self.works(&takedown.segments))
            .map(|takedown| (takedown.start, self.takedown(takedown)));
        let mut rows: Vec<(Moment, Vec<String>)> = runs.chain(takedowns).collect();
        rows.sort_by_key(|(start, _)| *start);
        rows.into_iter().map(|(_, row)| row).collect()
    }

    fn time(&self, moment: Moment) -> String {
        self.clock.time_seen_from(moment, self.day)
    }

    fn run(&self, run: &Run) -> Vec<String> {
        let batch = run.batch.rsplit('/').next().unwrap_or_default();
        let change = &run.changeover;
        let changes = !change.steps.is_empty();
        vec![
            run.name.clone(),
            if changes {
                self.time(change.start)
            } else {
                none()
            },
            if changes {
                minutes(change.work)
            } else {
                none()
            },
            moved(change),
            self.time(run.start),
            self.time(run.end),
            run.order.to_string(),
            run.part.to_string(),
            run.quantity.to_string(),
            openings(run),
            people(&run.segments).join(" "),
            self.clock.short(run.due),
            short_duration(run.late),
            batch.to_owned(),
        ]
    }

    fn takedown(&self, takedown: &Takedown) -> Vec<String> {
        let mut row = vec![
            "takedown".to_owned(),
            self.time(takedown.start),
            minutes(takedown.work),
            format!("{}/-/0", takedown.remove.len()),
            none(),
            self.time(takedown.end),
            format!("for {}", takedown.wanted_by),
        ];
        row.resize(COLUMNS.len(), none());
        row
    }

    fn downtime(&self, shop: &Shop, brake: &Brake) -> String {
        let today = self.window();
        let mut out = String::new();
        for down in &shop.floor.down {
            if down.brake == brake.id && down.window.overlaps(today) {
                let _ = writeln!(
                    out,
                    "down until {}: {}",
                    self.clock.short(down.window.end),
                    down.reason
                );
            }
        }
        out
    }
}

/// An empty cell.
fn none() -> String {
    "-".to_owned()
}

/// Whole minutes, half a minute and more counted as one.
fn minutes(work: Seconds) -> String {
    format!("{:.0}", work.minutes())
}

/// Stations off, staying and on: `1/0/2`; with how many of those that stay are turned and slid:
/// `0/3/1 1t 2s`.
fn moved(change: &Changeover) -> String {
    let (turned, slid) = (change.turn.len(), change.slide.len());
    let stay = change.keep.len() + turned + slid;
    let mut out = format!("{}/{stay}/{}", change.remove.len(), change.insert.len());
    for (count, letter) in [(turned, 't'), (slid, 's')] {
        if count > 0 {
            let _ = write!(out, " {count}{letter}");
        }
    }
    out
}

/// The V openings of the stations used, from left to right.
pub(super) fn openings(run: &Run) -> String {
    let openings: Vec<String> = run
        .bed
        .iter()
        .enumerate()
        .filter(|(index, _)| run.bends.iter().any(|bend| bend.station == *index))
        .map(|(_, station)| station.v.to_string())
        .collect();
    openings.join(" ")
}

/// Everybody in the segments, in the order of first mention.
pub(super) fn people(segments: &[Segment]) -> Vec<&str> {
    let mut out: Vec<&str> = Vec::new();
    for person in segments.iter().flat_map(|segment| &segment.crew) {
        if !out.contains(&person.as_str()) {
            out.push(PersonId::as_str(person));
        }
    }
    out
}

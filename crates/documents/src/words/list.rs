//! What a run list says of a run.

use super::clock::{Clock, days_later};
use chrono::NaiveDate;
use model::{Brake, BrakePlan, Changeover, Run, Segment, Shop, Takedown};
use std::fmt::Write as _;
use units::{Moment, PersonId, Seconds, Window};

/// What the columns hold, once under all lists.
pub const LEGEND: &str = "\
change, min: when the changeover starts, and its work in minutes. tools: stations taken off / \
left / put on;
1t: of those left, one has its die block turned to another V; 1s: one is slid along the bed.
V: opening in mm of each station used. late: at the order's or the kit's last piece.
";

/// One local day of the shop.
#[derive(Clone, Copy, Debug)]
pub struct Today {
    /// The shop's clock.
    pub clock: Clock,
    /// The day.
    pub day: NaiveDate,
}

impl Today {
    /// From its first moment to the next day's.
    #[must_use]
    pub fn window(&self) -> Window {
        Window {
            start: self.clock.start_of(self.day),
            end: self.clock.start_of(days_later(self.day, 1)),
        }
    }

    /// Whether anybody works in one of these spans on this day.
    #[must_use]
    pub fn works(&self, segments: &[Segment]) -> bool {
        let today = self.window();
        segments.iter().any(|segment| {
            let worked = Window {
                start: segment.start,
                end: segment.end,
            };
            worked.overlaps(today)
        })
    }

    /// The runs and takedowns worked on this day, in the order in which the brake sees them.
    #[must_use]
    pub fn entries<'p>(&self, list: &'p BrakePlan) -> Vec<Entry<'p>> {
        let runs = list
            .runs
            .iter()
            .filter(|run| self.works(&run.segments) || self.works(&run.changeover.segments))
            .map(|run| (run.changeover.start.min(run.start), Entry::Run(run)));
        let takedowns = list
            .takedowns
            .iter()
            .filter(|takedown| self.works(&takedown.segments))
            .map(|takedown| (takedown.start, Entry::Takedown(takedown)));
        let mut entries: Vec<(Moment, Entry<'p>)> = runs.chain(takedowns).collect();
        entries.sort_by_key(|(start, _)| *start);
        entries.into_iter().map(|(_, entry)| entry).collect()
    }

    /// A moment as seen from this day.
    #[must_use]
    pub fn time(&self, moment: Moment) -> String {
        self.clock.time_seen_from(moment, self.day)
    }

    /// One line for each span in which the brake is down on this day.
    #[must_use]
    pub fn down_lines(&self, shop: &Shop, brake: &Brake) -> Vec<String> {
        let today = self.window();
        let down = shop.floor.down.iter();
        let down = down.filter(|down| down.brake == brake.id && down.window.overlaps(today));
        down.map(|down| {
            let until = self.clock.short(down.window.end);
            format!("down until {until}: {}", down.reason)
        })
        .collect()
    }
}

/// What a run list has a row for.
#[derive(Clone, Copy, Debug)]
pub enum Entry<'p> {
    /// A run with the changeover before it.
    Run(&'p Run),
    /// A change that only takes tools off.
    Takedown(&'p Takedown),
}

/// An empty cell.
#[must_use]
pub fn none() -> String {
    "-".to_owned()
}

/// Whole minutes, half a minute and more counted as one.
#[must_use]
pub fn minutes(work: Seconds) -> String {
    format!("{:.0}", work.minutes())
}

/// Stations off, staying and on: `1/0/2`; with how many of those that stay are turned and slid:
/// `0/3/1 1t 2s`.
#[must_use]
pub fn moved(change: &Changeover) -> String {
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

/// The same of a takedown, which leaves the rest alone: `2/-/0`.
#[must_use]
pub fn taken_down(takedown: &Takedown) -> String {
    format!("{}/-/0", takedown.remove.len())
}

/// The last part of a batch's name, which is what a list has room for.
#[must_use]
pub fn batch(run: &Run) -> &str {
    run.batch.rsplit('/').next().unwrap_or_default()
}

/// The V openings of the stations used, from left to right.
#[must_use]
pub fn openings(run: &Run) -> String {
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
#[must_use]
pub fn people(segments: &[Segment]) -> Vec<&str> {
    let mut out: Vec<&str> = Vec::new();
    for person in segments.iter().flat_map(|segment| &segment.crew) {
        if !out.contains(&person.as_str()) {
            out.push(PersonId::as_str(person));
        }
    }
    out
}

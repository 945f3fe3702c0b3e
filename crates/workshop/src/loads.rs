//! How much of each brake's time a plan takes, day by day.

use crate::staffing::staffed;
use chrono::NaiveDate;
use documents::words::{Clock, days_later};
use model::{Plan, Segment, Shop};
use units::{BrakeId, Moment, Seconds, Window};

/// One brake on one local day.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Load {
    /// Brake.
    pub brake: BrakeId,
    /// Local day, from midnight to midnight.
    pub day: NaiveDate,
    /// Time in which the brake is staffed.
    pub staffed: Seconds,
    /// Time in which it runs.
    pub run: Seconds,
    /// Time in which it is changed over, tools taken off for another brake included.
    pub changeover: Seconds,
}

impl Load {
    /// Share of the staffed time that is taken; zero on a day without any.
    #[must_use]
    #[allow(clippy::cast_precision_loss)] // seconds of a day
    pub fn share(&self) -> f64 {
        if self.staffed.0 == 0 {
            return 0.0;
        }
        (self.run.0 + self.changeover.0) as f64 / self.staffed.0 as f64
    }
}

/// Loads from the day the plan begins to the day its last work ends, brake by brake. Days on which a
/// brake is neither staffed nor worked on are left out.
#[must_use]
pub fn loads(shop: &Shop, plan: &Plan) -> Vec<Load> {
    let clock = Clock::new(shop.zone);
    let work = |list: &model::BrakePlan| -> (Vec<Window>, Vec<Window>) {
        let runs = list.runs.iter().flat_map(|run| windows(&run.segments));
        let changes = list
            .runs
            .iter()
            .flat_map(|run| windows(&run.changeover.segments));
        let off = list
            .takedowns
            .iter()
            .flat_map(|takedown| windows(&takedown.segments));
        (runs.collect(), changes.chain(off).collect())
    };
    let all: Vec<_> = plan.brakes.iter().map(|list| (list, work(list))).collect();
    let ends = all
        .iter()
        .flat_map(|(_, (runs, changes))| runs.iter().chain(changes))
        .map(|window| window.end);
    let end = ends.max().unwrap_or(plan.from);
    let mut loads = Vec::new();
    for (list, (runs, changes)) in &all {
        let Some(brake) = shop.brakes.iter().find(|brake| brake.id == list.brake) else {
            continue;
        };
        let mut day = clock.day(plan.from);
        loop {
            let window = Window {
                start: clock.start_of(day),
                end: clock.start_of(days_later(day, 1)),
            };
            if window.start >= end.max(Moment(plan.from.0 + 1)) || window.end <= window.start {
                break;
            }
            let there = staffed(shop, brake, window);
            let load = Load {
                brake: list.brake.clone(),
                day,
                staffed: within(&there, window),
                run: within(runs, window),
                changeover: within(changes, window),
            };
            if load.staffed.0 + load.run.0 + load.changeover.0 > 0 {
                loads.push(load);
            }
            day = days_later(day, 1);
        }
    }
    loads
}

fn windows(segments: &[Segment]) -> impl Iterator<Item = Window> + '_ {
    segments.iter().map(|segment| Window {
        start: segment.start,
        end: segment.end,
    })
}

fn within(spans: &[Window], day: Window) -> Seconds {
    let each = spans.iter().map(|span| {
        let (start, end) = (span.start.max(day.start), span.end.min(day.end));
        (end.0 - start.0).max(0)
    });
    Seconds(each.sum())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_lies_in_the_day_counts_and_no_more() {
        let span = |start, end| Window {
            start: Moment(start),
            end: Moment(end),
        };
        let spans = [span(-50, 10), span(20, 30), span(90, 200), span(300, 400)];
        assert_eq!(within(&spans, span(0, 100)), Seconds(30));
    }

    #[test]
    fn a_day_without_people_has_no_share() {
        let mut load = Load {
            brake: BrakeId::new("B1").unwrap(),
            day: NaiveDate::from_ymd_opt(2027, 3, 22).unwrap(),
            staffed: Seconds(0),
            run: Seconds(0),
            changeover: Seconds(0),
        };
        assert!(load.share().abs() < 1e-12);
        (load.staffed, load.run, load.changeover) = (Seconds(400), Seconds(90), Seconds(10));
        assert!((load.share() - 0.25).abs() < 1e-12);
    }
}

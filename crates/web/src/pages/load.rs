//! How full each brake's staffed hours are, day by day.

use super::clock::Clock;
use chrono::NaiveDate;
use maud::{Markup, html};
use model::{BrakePlan, Segment};
use units::{Moment, Seconds, Window};
use workshop::{KeptPlan, staffed};

/// Days shown at most.
const DAYS: usize = 10;

/// Hours of a brake on a day.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
struct Hours {
    staffed: Seconds,
    changing: Seconds,
    bending: Seconds,
}

/// Load per brake against staffed hours, for the days that are planned.
pub(crate) fn load(kept: &KeptPlan, clock: Clock) -> Markup {
    let (days, more) = days(kept, clock);
    html! {
        section aria-labelledby="load" {
            h2 #load { "Load against staffed hours" }
            div.scroll tabindex="0" role="region" aria-labelledby="load" {
                table.load {
                    thead { tr {
                        th scope="col" { "Brake" }
                        @for day in &days { th scope="col" { (day.format("%a %-d %b")) } }
                    } }
                    tbody {
                        @for line in &kept.plan.brakes {
                            tr {
                                th scope="row" { (line.brake) }
                                @for day in &days { td { (cell(hours(kept, line, clock.window(*day), kept.plan.from))) } }
                            }
                        }
                    }
                }
            }
            p.small {
                "Planned hours of staffed hours. In the bar the hatched part is changeover, the full part bending."
                @if more > 0 { " " (more) " later days are not shown." }
            }
        }
    }
}

/// Days from the plan's first to the last with work, and how many are left out.
fn days(kept: &KeptPlan, clock: Clock) -> (Vec<NaiveDate>, usize) {
    let plan = &kept.plan;
    let ends = plan.brakes.iter().flat_map(|line| {
        let runs = line.runs.iter().map(|run| run.end);
        runs.chain(line.takedowns.iter().map(|down| down.end))
    });
    let last = clock.day(ends.max().unwrap_or(plan.from) - Seconds(1));
    let all = clock
        .day(plan.from)
        .iter_days()
        .take_while(|day| *day <= last);
    let count = all.clone().count().max(1);
    let shown: Vec<NaiveDate> = clock
        .day(plan.from)
        .iter_days()
        .take(count.min(DAYS))
        .collect();
    let more = count - shown.len();
    (shown, more)
}

fn hours(kept: &KeptPlan, line: &BrakePlan, day: Window, from: Moment) -> Hours {
    let within = |start: Moment, end: Moment| {
        Window {
            start: start.max(day.start),
            end: end.min(day.end),
        }
        .length()
    };
    let sum = |segments: &[Segment]| {
        segments
            .iter()
            .map(|work| within(work.start, work.end))
            .sum::<Seconds>()
    };
    // On the plan's first day only what is left of it counts.
    let range = Window {
        start: day.start.max(from),
        end: day.end,
    };
    let staffed = kept.shop.brake(&line.brake).map_or(Seconds::ZERO, |brake| {
        staffed(&kept.shop, brake, range)
            .iter()
            .map(|span| span.length())
            .sum()
    });
    Hours {
        staffed,
        changing: line
            .runs
            .iter()
            .map(|run| sum(&run.changeover.segments))
            .sum::<Seconds>()
            + line
                .takedowns
                .iter()
                .map(|down| sum(&down.segments))
                .sum::<Seconds>(),
        bending: line.runs.iter().map(|run| sum(&run.segments)).sum(),
    }
}

fn cell(hours: Hours) -> Markup {
    let work = hours.changing + hours.bending;
    let whole = hours.staffed.0.max(work.0).max(1);
    // Tenths of a percent are enough for a bar.
    let share = |part: Seconds| format!("{:.1}", part.hours() / Seconds(whole).hours() * 100.0);
    html! {
        @if hours.staffed == Seconds::ZERO && work == Seconds::ZERO {
            span.small { "closed" }
        } @else {
            span { (format!("{:.1} of {:.1} h", work.hours(), hours.staffed.hours())) }
            svg.bar viewBox="0 0 100 8" preserveAspectRatio="none" width="110" height="12" aria-hidden="true" {
                rect.row x="0" y="0" width="100" height="8" {}
                rect.run x="0" y="0" width=(share(hours.bending)) height="8" {}
                rect.change x=(share(hours.bending)) y="0" width=(share(hours.changing)) height="8" {}
            }
        }
    }
}

//! How full each brake's staffed hours are, day by day for two weeks.

use super::clock::Clock;
use super::words::n;
use chrono::NaiveDate;
use maud::{Markup, html};
use model::{BrakePlan, Segment};
use units::{Moment, Seconds, Window};
use workshop::{KeptPlan, staffed};

/// Days shown.
const DAYS: usize = 14;

/// The drawing, in its units: names at the left, a day's column, a brake's row, the column in it.
const NAMES: f64 = 110.0;
const DAY: f64 = 86.0;
const ROW: f64 = 112.0;
const HEAD: f64 = 26.0;
const TALL: f64 = 64.0;
const WIDE: f64 = 46.0;

/// Hours of a brake on a day.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
struct Hours {
    staffed: Seconds,
    changing: Seconds,
    bending: Seconds,
}

impl Hours {
    fn planned(self) -> Seconds {
        self.changing + self.bending
    }

    fn is_closed(self) -> bool {
        self.staffed == Seconds::ZERO && self.planned() == Seconds::ZERO
    }

    fn is_over(self) -> bool {
        self.planned() > self.staffed
    }

    fn said(self, beyond: bool) -> String {
        match (self.is_closed(), beyond) {
            (true, _) => "closed".to_owned(),
            (false, true) => format!("{:.1} h, not planned", self.staffed.hours()),
            (false, false) => format!(
                "{:.1} of {:.1} h",
                self.planned().hours(),
                self.staffed.hours()
            ),
        }
    }
}

/// A day of the two weeks.
#[derive(Clone, Copy)]
struct Day {
    date: NaiveDate,
    window: Window,
    /// Whether the plan ends before it begins.
    beyond: bool,
}

/// Load per brake against staffed hours: two weeks from today, or from the plan's first day when today
/// is none of its days.
pub(crate) fn load(kept: &KeptPlan, clock: Clock, now: Moment) -> Markup {
    let plan = &kept.plan;
    let inside = plan.from <= now && now < plan.until;
    let first = clock.day(if inside { now } else { plan.from });
    let days: Vec<Day> = first
        .iter_days()
        .take(DAYS)
        .map(|date| {
            let window = clock.window(date);
            Day {
                date,
                window,
                beyond: window.start >= plan.until,
            }
        })
        .collect();
    let rows: Vec<(&BrakePlan, Vec<Hours>)> = plan
        .brakes
        .iter()
        .map(|line| {
            let of = |day: &Day| hours(kept, line, day.window);
            (line, days.iter().map(of).collect())
        })
        .collect();
    let beyond = days.iter().filter(|day| day.beyond).count();
    html! {
        section aria-labelledby="load" {
            h2 #load { "Load against staffed hours, two weeks" }
            @if rows.is_empty() {
                p { "The plan has no brakes." }
            } @else {
                div.scroll tabindex="0" role="region" aria-label="Load drawn day by day; scrolls sideways" {
                    (drawing(&days, &rows))
                }
                (key())
                @if beyond > 0 {
                    p.small { "The plan ends " (clock.short(plan.until)) ". Days after that have their staffed hours alone: what is bent then is not planned yet." }
                }
                details #load-table {
                    summary { "The same as a table" }
                    (table(&days, &rows))
                }
            }
        }
    }
}

fn drawing(days: &[Day], rows: &[(&BrakePlan, Vec<Hours>)]) -> Markup {
    let width = NAMES + DAY * f64::from(u32::try_from(days.len()).unwrap_or(0));
    let height = HEAD + ROW * f64::from(u32::try_from(rows.len()).unwrap_or(0));
    let most = rows
        .iter()
        .flat_map(|(_, hours)| hours)
        .map(|hours| hours.staffed.max(hours.planned()))
        .max()
        .unwrap_or(Seconds::ZERO);
    // A column for an eight-hour day is not to fill the row when nothing is larger.
    let scale = TALL / most.hours().max(10.0);
    html! {
        svg.chart.loads role="img" aria-label="Planned hours against staffed hours; the table below says the same"
            width=(n(width)) height=(n(height)) viewBox=(format!("0 0 {} {}", n(width), n(height)))
            xmlns="http://www.w3.org/2000/svg" {
            defs {
                pattern id="load-change" patternUnits="userSpaceOnUse" width="8" height="8" {
                    rect.change-ground width="8" height="8" {}
                    path.change-line d="M-2 10L10 -2M-2 2L2 -2M6 10L10 6" {}
                }
            }
            @for (day, at) in days.iter().zip(0_u32..) {
                text x=(n(left(at))) y="16" { (day.date.format("%a %-d %b")) }
            }
            @for ((line, hours), at) in rows.iter().zip(0_u32..) {
                @let foot = HEAD + f64::from(at) * ROW + TALL + 12.0;
                text.brake x="4" y=(n(foot - 22.0)) { (super::words::clipped(line.brake.as_str(), 9)) }
                line.foot x1=(n(NAMES)) x2=(n(width)) y1=(n(foot)) y2=(n(foot)) {}
                @for ((day, hours), at) in days.iter().zip(hours).zip(0_u32..) {
                    (column(left(at), foot, scale, *hours, day.beyond))
                }
            }
        }
    }
}

fn left(day: u32) -> f64 {
    NAMES + f64::from(day) * DAY
}

fn column(x: f64, foot: f64, scale: f64, hours: Hours, beyond: bool) -> Markup {
    let tall = |time: Seconds| time.hours() * scale;
    let (staffed, bending, changing) = (
        tall(hours.staffed),
        tall(hours.bending),
        tall(hours.changing),
    );
    html! {
        @if hours.staffed > Seconds::ZERO {
            rect.staffed.beyond[beyond] x=(n(x)) y=(n(foot - staffed)) width=(n(WIDE)) height=(n(staffed)) {}
        }
        @if hours.bending > Seconds::ZERO {
            rect.run x=(n(x + 5.0)) y=(n(foot - bending)) width=(n(WIDE - 10.0)) height=(n(bending)) {}
        }
        @if hours.changing > Seconds::ZERO {
            rect.load-change x=(n(x + 5.0)) y=(n(foot - bending - changing)) width=(n(WIDE - 10.0)) height=(n(changing)) {}
        }
        @if hours.is_over() && !hours.is_closed() {
            path.late-mark d=(format!("M{} {}l7 -11 7 11z", n(x + WIDE + 3.0), n(foot - 2.0))) {}
        }
        @if hours.is_closed() {
            text.small x=(n(x)) y=(n(foot + 16.0)) { "closed" }
        } @else if beyond {
            text.small x=(n(x)) y=(n(foot + 16.0)) { (format!("– of {:.1}", hours.staffed.hours())) }
        } @else {
            text x=(n(x)) y=(n(foot + 16.0)) { (format!("{:.1} of {:.1}", hours.planned().hours(), hours.staffed.hours())) }
        }
    }
}

fn key() -> Markup {
    let sample = |inner: Markup| {
        html! { svg viewBox="0 0 30 24" width="30" height="24" aria-hidden="true" { (inner) } }
    };
    html! {
        ul.key {
            li { (sample(html! { rect.staffed x="1" y="2" width="28" height="21" {} })) " staffed hours" }
            li { (sample(html! { rect.run x="5" y="6" width="20" height="17" {} })) " bending" }
            li { (sample(html! { rect.load-change x="5" y="6" width="20" height="17" {} })) " changeover" }
            li { (sample(html! { rect.staffed.beyond x="1" y="2" width="28" height="21" {} })) " staffed, beyond the plan" }
            li { (sample(html! { path.late-mark d="M8 20l7 -14 7 14z" {} })) " more planned than staffed" }
        }
    }
}

fn table(days: &[Day], rows: &[(&BrakePlan, Vec<Hours>)]) -> Markup {
    html! {
        div.scroll tabindex="0" role="region" aria-label="Load as a table; scrolls sideways" {
            table.load {
                caption { "Planned hours of staffed hours" }
                thead { tr {
                    th scope="col" { "Brake" }
                    @for day in days { th scope="col" { (day.date.format("%a %-d %b")) } }
                } }
                tbody {
                    @for (line, hours) in rows {
                        tr {
                            th scope="row" { (line.brake) }
                            @for (day, hours) in days.iter().zip(hours) {
                                td { (hours.said(day.beyond)) @if hours.is_over() && !hours.is_closed() { ", over" }
                                    @if hours.changing > Seconds::ZERO { br; span.small { (format!("{:.1} h changeover", hours.changing.hours())) } } }
                            }
                        }
                    }
                }
            }
        }
    }
}

fn hours(kept: &KeptPlan, line: &BrakePlan, day: Window) -> Hours {
    let within = |start: Moment, end: Moment| {
        let (start, end) = (start.max(day.start), end.min(day.end));
        (end - start).max(Seconds::ZERO)
    };
    let sum = |segments: &[Segment]| {
        segments
            .iter()
            .map(|work| within(work.start, work.end))
            .sum::<Seconds>()
    };
    // On the plan's first day only what is left of it counts.
    let range = Window {
        start: day.start.max(kept.plan.from),
        end: day.end,
    };
    let brake = kept
        .shop
        .brake(&line.brake)
        .filter(|_| range.start < range.end);
    let staffed = brake.map_or(Seconds::ZERO, |brake| {
        staffed(&kept.shop, brake, range)
            .iter()
            .map(|span| span.length())
            .sum()
    });
    let changes = line.runs.iter().map(|run| sum(&run.changeover.segments));
    let downs = line.takedowns.iter().map(|down| sum(&down.segments));
    Hours {
        staffed,
        changing: changes.chain(downs).sum(),
        bending: line.runs.iter().map(|run| sum(&run.segments)).sum(),
    }
}

//! Curves of a quote: the odds over time, and minutes a piece over quantity.

use super::clock::Clock;
use super::words::n;
use maud::{Markup, html};
use units::{Moment, Seconds};
use workshop::{Breaks, Odds};

/// The drawing, in its units.
const WIDTH: f64 = 760.0;
const LEFT: f64 = 54.0;
const RIGHT: f64 = 20.0;
const TOP: f64 = 16.0;
const TALL: f64 = 220.0;
/// Points of a curve: more than its width shows apart are of no use.
const POINTS: u32 = 120;

/// A date with its odds; none when it lies beyond the calendars.
pub(crate) struct Promise {
    pub(crate) share: f64,
    pub(crate) by: Option<Moment>,
}

/// `80 %`; near none and near all are said as such.
pub(crate) fn percent(share: f64) -> String {
    match share * 100.0 {
        little if little > 0.0 && little < 1.0 => "under 1 %".to_owned(),
        much if much > 99.0 && much < 100.0 => "over 99 %".to_owned(),
        some => format!("{some:.0} %"),
    }
}

struct Scale {
    from: Moment,
    until: Moment,
}

impl Scale {
    #[allow(clippy::cast_precision_loss)] // seconds of some weeks
    fn x(&self, at: Moment) -> f64 {
        let whole = (self.until - self.from).0.max(1) as f64;
        let within = (at.max(self.from).min(self.until) - self.from).0 as f64;
        LEFT + within / whole * (WIDTH - LEFT - RIGHT)
    }

    fn at(&self, point: u32) -> Moment {
        let whole = (self.until - self.from).0;
        Moment(self.from.0 + whole * i64::from(point) / i64::from(POINTS))
    }
}

fn y(share: f64) -> f64 {
    TOP + (1.0 - share) * TALL
}

/// The share of plays that have ended, over time. Every date drawn also stands in the table beside it.
pub(crate) fn curve(
    odds: &Odds,
    promises: &[Promise],
    due: Option<Moment>,
    clock: Clock,
) -> Markup {
    let latest = [0.99, 0.95, 0.8, 0.5]
        .into_iter()
        .find_map(|share| odds.by(share));
    let (Some(first), Some(latest)) = (odds.by(0.002), latest) else {
        return html! { p { "Too few plays ended before the calendars do to draw the odds." } };
    };
    let edge = Seconds((latest - first).0 / 20 + 3_600);
    let scale = Scale {
        from: first - edge,
        until: latest + edge,
    };
    let points: Vec<String> = (0..=POINTS)
        .map(|point| {
            let at = scale.at(point);
            format!("{},{}", n(scale.x(at)), n(y(odds.kept_by(at))))
        })
        .collect();
    let drawn = promises.iter().filter_map(|one| Some((one.share, one.by?)));
    let said: Vec<String> = drawn
        .clone()
        .map(|(share, by)| format!("{} by {}", percent(share), clock.short(by)))
        .collect();
    let title = format!("Odds that bending is finished: {}", said.join(", "));
    let foot = y(0.0);
    let due = due.filter(|due| scale.from <= *due && *due <= scale.until);
    html! {
        div.scroll tabindex="0" role="region" aria-label="The odds drawn; scrolls sideways" {
        svg.curve role="img" aria-label=(title) viewBox=(format!("0 0 {WIDTH} {}", n(foot + 92.0))) xmlns="http://www.w3.org/2000/svg" {
            title { (title) }
            @for share in [0.0, 0.25, 0.5, 0.75, 1.0] {
                line.grid x1=(n(LEFT)) x2=(n(WIDTH - RIGHT)) y1=(n(y(share))) y2=(n(y(share))) {}
                text.small text-anchor="end" x=(n(LEFT - 8.0)) y=(n(y(share) + 4.0)) { (percent(share)) }
            }
            (midnights(&scale, clock, foot))
            polyline.line points=(points.join(" ")) {}
            @for ((share, by), row) in drawn.zip(0_u32..) {
                @let x = scale.x(by);
                @let low = foot + 38.0 + f64::from(row) * 19.0;
                line.drop x1=(n(x)) x2=(n(x)) y1=(n(y(share))) y2=(n(low - 13.0)) {}
                (marker(row, x, y(share)))
                text text-anchor=(if x > WIDTH / 2.0 { "end" } else { "start" }) x=(n(x)) y=(n(low)) {
                    (percent(share)) ": " (clock.short(by))
                }
            }
            @if let Some(due) = due {
                @let x = scale.x(due);
                line.due x1=(n(x)) x2=(n(x)) y1=(n(TOP)) y2=(n(foot)) {}
                text text-anchor=(if x > WIDTH / 2.0 { "end" } else { "start" }) x=(n(if x > WIDTH / 2.0 { x - 5.0 } else { x + 5.0 })) y=(n(TOP + 12.0)) { "wished for" }
            }
        }
        }
    }
}

/// A disc, a square, a diamond: told apart without colour.
fn marker(which: u32, x: f64, y: f64) -> Markup {
    html! {
        @match which {
            0 => { circle.marker cx=(n(x)) cy=(n(y)) r="6" {} }
            1 => { rect.marker x=(n(x - 5.5)) y=(n(y - 5.5)) width="11" height="11" {} }
            _ => { path.marker d=(format!("M{} {}l7 7-7 7-7-7z", n(x), n(y - 7.0))) {} }
        }
    }
}

/// Where days begin, with at most eight names.
fn midnights(scale: &Scale, clock: Clock, foot: f64) -> Markup {
    let (first, last) = (clock.day(scale.from), clock.day(scale.until));
    let count = last.signed_duration_since(first).num_days().max(1);
    let every = usize::try_from(count / 8 + 1).unwrap_or(1);
    let days: Vec<_> = first
        .iter_days()
        .take_while(|day| *day <= last)
        .skip(1)
        .step_by(every)
        .collect();
    html! {
        @for day in days {
            @let x = scale.x(clock.window(day).start);
            line.grid x1=(n(x)) x2=(n(x)) y1=(n(TOP)) y2=(n(foot + 5.0)) {}
            text.small x=(n(x + 3.0)) y=(n(foot + 16.0)) { (day.format("%a %-d %b")) }
        }
    }
}

/// Minutes a piece over quantity, and the same as a table.
pub(crate) fn breaks(breaks: &Breaks, asked: u32) -> Markup {
    let points: Vec<(f64, f64)> = breaks
        .points
        .iter()
        .map(|point| (f64::from(point.quantity.max(1)), point.minutes_each()))
        .collect();
    let most = points
        .iter()
        .map(|point| point.1)
        .fold(0.0, f64::max)
        .max(0.01);
    let (least, largest) = points
        .iter()
        .fold((f64::MAX, 1.0_f64), |(least, largest), point| {
            (least.min(point.0), largest.max(point.0))
        });
    // Each tenfold quantity is as wide as the next: the curve bends at small lots.
    let span = (largest / least).log10().max(0.1);
    let x = |quantity: f64| LEFT + (quantity / least).log10() / span * (WIDTH - LEFT - RIGHT);
    let y = |minutes: f64| TOP + (1.0 - minutes / most) * TALL;
    let line: Vec<String> = points
        .iter()
        .map(|point| format!("{},{}", n(x(point.0)), n(y(point.1))))
        .collect();
    let title = "Minutes of the brake a piece over quantity; the table below says the same";
    html! {
        div.scroll tabindex="0" role="region" aria-label="Price breaks drawn; scrolls sideways" {
        svg.curve role="img" aria-label=(title) viewBox=(format!("0 0 {WIDTH} {}", n(TOP + TALL + 44.0))) xmlns="http://www.w3.org/2000/svg" {
            title { (title) }
            @for share in [0.0, 0.25, 0.5, 0.75, 1.0] {
                @let minutes = most * share;
                line.grid x1=(n(LEFT)) x2=(n(WIDTH - RIGHT)) y1=(n(y(minutes))) y2=(n(y(minutes))) {}
                text.small text-anchor="end" x=(n(LEFT - 8.0)) y=(n(y(minutes) + 4.0)) { (format!("{minutes:.1}")) }
            }
            line.due x1=(n(LEFT)) x2=(n(WIDTH - RIGHT)) y1=(n(y(breaks.endless_minutes))) y2=(n(y(breaks.endless_minutes))) {}
            polyline.line points=(line.join(" ")) {}
            @for (point, row) in breaks.points.iter().zip(&points) {
                @let is_asked = point.quantity == asked;
                (marker(u32::from(is_asked), x(row.0), y(row.1)))
                text.small[!is_asked] text-anchor=(if x(row.0) > WIDTH - 60.0 { "end" } else { "middle" }) x=(n(x(row.0))) y=(n(TOP + TALL + if is_asked { 38.0 } else { 20.0 })) { (point.quantity) @if is_asked { " asked" } }
            }
        }
        }
        div.scroll tabindex="0" role="region" aria-label="Price breaks as a table; scrolls sideways" {
            table {
                thead { tr { th scope="col" { "Pieces" } th scope="col" { "Minutes each" } th scope="col" { "Changeover" } th scope="col" { "Run" } } }
                tbody {
                    @for point in &breaks.points {
                        tr {
                            th scope="row" { (point.quantity) @if point.quantity == asked { " (asked)" } }
                            td { (format!("{:.2}", point.minutes_each())) }
                            td { (point.changeover) }
                            td { (point.run) }
                        }
                    }
                    tr { th scope="row" { "endless" } td { (format!("{:.2}", breaks.endless_minutes)) } td { "\u{2013}" } td { "\u{2013}" } }
                }
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::percent;

    #[test]
    fn odds_near_none_and_near_all_are_not_rounded_away() {
        for (share, said) in [
            (0.0, "0 %"),
            (0.002, "under 1 %"),
            (0.8, "80 %"),
            (0.995, "over 99 %"),
            (1.0, "100 %"),
        ] {
            assert_eq!(percent(share), said);
        }
    }
}

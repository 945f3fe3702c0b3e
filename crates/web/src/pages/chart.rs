//! A day of every brake as a time chart.

use super::clock::Clock;
use super::pin;
use super::sought::Sought;
use super::words::{clipped, minutes, n};
use chrono::NaiveDate;
use daybook::State;
use maud::{Markup, html};
use model::{BrakePlan, Run, Segment, Takedown};
use units::{Moment, Seconds, Window};
use workshop::{KeptPlan, staffed};

/// Width of the drawing, of the names at its left, and of the time beside them, in its units.
const WIDTH: f64 = 1_400.0;
const NAMES: f64 = 110.0;
const TIME: f64 = WIDTH - NAMES - 10.0;
/// Heights: the hours above, a brake's row, the bar in it.
const HOURS: f64 = 28.0;
const ROW: f64 = 96.0;
const BAR: f64 = 50.0;
/// Width of a letter at the size of the labels.
const LETTER: f64 = 7.6;
const HOUR: i64 = 3_600;

/// What a chart shows.
pub(crate) struct Chart<'a> {
    pub(crate) kept: &'a KeptPlan,
    pub(crate) state: &'a State,
    pub(crate) clock: Clock,
    pub(crate) day: NaiveDate,
    pub(crate) now: Moment,
    pub(crate) sought: &'a Sought,
    /// Whether the reader may tie orders to brakes.
    pub(crate) pins: bool,
}

/// Where moments stand along the chart.
#[derive(Clone, Copy)]
struct Scale {
    window: Window,
}

impl Scale {
    #[allow(clippy::cast_precision_loss)] // seconds of a day
    fn x(self, at: Moment) -> f64 {
        let whole = self.window.length().0.max(1) as f64;
        let within = at.max(self.window.start).min(self.window.end) - self.window.start;
        NAMES + within.0 as f64 / whole * TIME
    }

    /// Left end and width of a span, when some of it shows.
    fn span(self, start: Moment, end: Moment) -> Option<(f64, f64)> {
        let shows = start < self.window.end && end > self.window.start;
        shows.then(|| (self.x(start), (self.x(end) - self.x(start)).max(1.0)))
    }
}

impl Chart<'_> {
    /// The chart; `None` when the plan has nothing on that day.
    pub(crate) fn draw(&self) -> Markup {
        let lines: Vec<&BrakePlan> = self
            .kept
            .plan
            .brakes
            .iter()
            .filter(|line| self.sought.takes_brake(&line.brake))
            .collect();
        let scale = Scale {
            window: self.shown(&lines),
        };
        let rows = lines.iter().map(|_| ROW).sum::<f64>();
        let height = HOURS + rows;
        html! {
            div.scroll tabindex="0" role="region" aria-label="The day of every brake; scrolls sideways" {
                svg.chart role="group" aria-label="The day of every brake" width=(n(WIDTH)) height=(n(height))
                    viewBox=(format!("0 0 {} {}", n(WIDTH), n(height))) xmlns="http://www.w3.org/2000/svg" {
                    (patterns())
                    (self.hours(scale, height))
                    @for (line, index) in lines.iter().zip(0_u32..) {
                        (self.row(scale, line, HOURS + f64::from(index) * ROW))
                    }
                    (self.now_line(scale, height))
                }
            }
            @if self.pins {
                p #pin-this.acts hidden data-at=(self.sought.pinning("")) { a.step href="/" { "Pin an order" } }
            }
            (key())
        }
    }

    /// From the first whole hour before anything happens or anybody works to the last after.
    fn shown(&self, lines: &[&BrakePlan]) -> Window {
        let day = self.clock.window(self.day);
        let shop = &self.kept.shop;
        let mut spans: Vec<Window> = Vec::new();
        for line in lines {
            if let Some(brake) = shop.brake(&line.brake) {
                spans.extend(staffed(shop, brake, day));
            }
            let works = line
                .runs
                .iter()
                .flat_map(|run| run.segments.iter().chain(&run.changeover.segments))
                .chain(line.takedowns.iter().flat_map(|down| &down.segments));
            spans.extend(works.map(|work| Window {
                start: work.start,
                end: work.end,
            }));
        }
        spans.retain(|span| span.overlaps(day));
        let first = spans
            .iter()
            .map(|span| span.start)
            .min()
            .unwrap_or(day.start + Seconds(6 * HOUR));
        let last = spans
            .iter()
            .map(|span| span.end)
            .max()
            .unwrap_or(day.start + Seconds(18 * HOUR));
        let past_hour =
            |at: Moment| Seconds(i64::from(self.clock.minute(at)) * 60 + at.0.rem_euclid(60));
        let start = (first - past_hour(first)).max(day.start);
        let over = past_hour(last);
        let end = if over == Seconds::ZERO {
            last
        } else {
            last + Seconds(HOUR) - over
        };
        Window {
            start,
            end: end.min(day.end).max(start + Seconds(HOUR)),
        }
    }

    fn hours(&self, scale: Scale, height: f64) -> Markup {
        let mut ticks = Vec::new();
        let mut at = scale.window.start;
        while at <= scale.window.end {
            ticks.push(at);
            at = at + Seconds(HOUR);
        }
        html! {
            g.hours aria-hidden="true" {
                @for at in ticks {
                    line x1=(n(scale.x(at))) x2=(n(scale.x(at))) y1=(n(HOURS - 6.0)) y2=(n(height)) {}
                    @if at < scale.window.end { text x=(n(scale.x(at) + 3.0)) y="18" { (self.clock.time(at)) } }
                }
            }
        }
    }

    fn now_line(&self, scale: Scale, height: f64) -> Markup {
        let shows = scale.window.start <= self.now && self.now < scale.window.end;
        let x = scale.x(self.now);
        html! {
            @if shows {
                g.now { title { "Now, " (self.clock.time(self.now)) }
                    line x1=(n(x)) x2=(n(x)) y1="4" y2=(n(height)) {}
                    text x=(n(x + 4.0)) y=(n(HOURS + 10.0)) { "now" }
                }
            }
        }
    }

    fn row(&self, scale: Scale, line: &BrakePlan, top: f64) -> Markup {
        let (kept, id) = (self.kept, &line.brake);
        let brake = kept.shop.brake(id);
        let bar = top + 20.0;
        let open = brake.map_or_else(Vec::new, |brake| staffed(&kept.shop, brake, scale.window));
        let downs = self.state.downs.iter().filter(|down| down.brake == *id);
        html! {
            g role="group" aria-label=(format!("Brake {id}")) data-brake=[self.pins.then_some(id)] {
                rect.row x=(n(NAMES)) y=(n(top + 14.0)) width=(n(TIME)) height=(n(BAR + 12.0)) {}
                @for span in open {
                    @if let Some((x, width)) = scale.span(span.start, span.end) {
                        rect.open x=(n(x)) y=(n(top + 14.0)) width=(n(width)) height=(n(BAR + 12.0)) {}
                    }
                }
                a href=(super::brake_page(id)) {
                    text.brake x="4" y=(n(bar + 22.0)) { (clipped(id.as_str(), 9)) }
                    @if let Some(brake) = brake { text.small x="4" y=(n(bar + 40.0)) { (clipped(&brake.name, 15)) } }
                }
                @for down in downs {
                    @if let Some((x, width)) = scale.span(down.window.start, down.window.end) {
                        g { title { "Down until " (self.clock.short(down.window.end)) ": " (down.reason) }
                            rect.down x=(n(x)) y=(n(top + 14.0)) width=(n(width)) height=(n(BAR + 12.0)) {}
                            text.small x=(n(x + 4.0)) y=(n(top + 12.0)) { "down" }
                        }
                    }
                }
                @for takedown in &line.takedowns { (self.takedown(scale, takedown, bar)) }
                @for (index, run) in line.runs.iter().enumerate() { (self.run(scale, line, index, run, bar)) }
                (batches(scale, &line.runs, bar + BAR + 4.0))
            }
        }
    }

    fn takedown(&self, scale: Scale, takedown: &Takedown, bar: f64) -> Markup {
        html! {
            @if let Some((x, width)) = scale.span(takedown.start, takedown.end) {
                g { title { "Tools off for " (takedown.wanted_by) ", " (minutes(takedown.work)) " min, " (self.clock.time(takedown.start)) " to " (self.clock.time(takedown.end)) }
                    rect.takedown x=(n(x)) y=(n(bar)) width=(n(width)) height=(n(BAR)) {}
                }
            }
        }
    }

    fn run(&self, scale: Scale, line: &BrakePlan, index: usize, run: &Run, bar: f64) -> Markup {
        let change = &run.changeover;
        let whole = scale.span(change.start.min(run.start), run.end);
        let begun = self.is_of_floor() && self.state.has_begun(&line.brake, index, run);
        let loose = self.pins && !begun && !run.pinned;
        let place = self.state.pin(&run.order).and_then(|pin| pin.place);
        html! {
            @if whole.is_some() {
                a.faint[!self.sought.takes_run(self.kept, line, run)] href=(super::run_page(&line.brake, &run.name))
                    data-order=[loose.then_some(&run.order)] data-place=[place.filter(|_| self.pins)] {
                    // The link's name; what is drawn in the bar is cut to its width.
                    title { (self.words(line, index, run)) }
                    @if change.work > Seconds::ZERO { (self.change(scale, run, bar)) }
                    (self.bending(scale, line, index, run, bar))
                }
            }
        }
    }

    fn change(&self, scale: Scale, run: &Run, bar: f64) -> Markup {
        let change = &run.changeover;
        html! {
            @if let Some((x, width)) = scale.span(change.start, change.end) {
                (pauses(scale, &change.segments, bar))
                @for part in worked(scale, &change.segments, (x, width)) {
                    rect.change x=(n(part.0)) y=(n(bar + 8.0)) width=(n(part.1)) height=(n(BAR - 16.0)) {}
                }
                @let label = format!("{}\u{2032}", minutes(change.work));
                @if let Some((x, _)) = widest(&worked(scale, &change.segments, (x, width))).filter(|part| part.1 > 34.0) {
                    rect.plate x=(n(x + 3.0)) y=(n(bar + 17.0)) width=(n(LETTER * 3.6)) height="16" {}
                    text aria-hidden="true" x=(n(x + 5.0)) y=(n(bar + 30.0)) { (label) }
                }
            }
        }
    }

    fn bending(&self, scale: Scale, line: &BrakePlan, index: usize, run: &Run, bar: f64) -> Markup {
        let late = run.late > Seconds::ZERO;
        let begun = self.state.has_begun(&line.brake, index, run) && self.is_of_floor();
        html! {
            @if let Some((x, width)) = scale.span(run.start, run.end) {
                (pauses(scale, &run.segments, bar))
                @for part in worked(scale, &run.segments, (x, width)) {
                    rect.run.late[late].begun[begun] x=(n(part.0)) y=(n(bar)) width=(n(part.1)) height=(n(BAR)) {}
                }
                @if self.state.pin(&run.order).is_some() && width > 24.0 { (pin::shape(x + width - 9.0, bar + 4.0)) }
                @if late {
                    path.late-mark d=(format!("M{0} {1}h12l-6 10z", n(x), n(bar - 4.0))) {}
                    rect.late-foot x=(n(x)) y=(n(bar + BAR - 7.0)) width=(n(width)) height="7" {}
                }
                @if let Some((x, width)) = widest(&worked(scale, &run.segments, (x, width))) { (labels(run, late, begun, x, width, bar)) }
            }
        }
    }

    /// Whether the plan is the one the floor works to: only of its runs is it known whether they began.
    fn is_of_floor(&self) -> bool {
        self.state
            .published
            .as_ref()
            .is_some_and(|now| now.plan == self.kept.number)
    }

    fn words(&self, line: &BrakePlan, index: usize, run: &Run) -> String {
        let mut words = format!(
            "{}, {} × {}, run {}, {} to {}",
            run.order,
            run.quantity,
            run.part,
            run.name,
            self.clock.on(run.start, self.day),
            self.clock.on(run.end, self.day),
        );
        if run.changeover.work > Seconds::ZERO {
            words.push_str(&format!(
                ", changeover {} min from {}",
                minutes(run.changeover.work),
                self.clock.on(run.changeover.start, self.day)
            ));
        }
        words.push_str(&format!(", batch {}", run.batch));
        if run.late > Seconds::ZERO {
            words.push_str(&format!(", late by {}", run.late));
        }
        if let Some(pin) = self.state.pin(&run.order) {
            words.push_str(&format!(", pinned to {}", pin.brake));
            if let Some(place) = pin.place {
                words.push_str(&format!(", place {place}"));
            }
        }
        if run.pinned {
            words.push_str(", fixed");
        }
        if self.is_of_floor() && self.state.has_begun(&line.brake, index, run) {
            words.push_str(", begun");
        }
        words
    }
}

/// Spans of work that show.
fn worked(scale: Scale, segments: &[Segment], whole: (f64, f64)) -> Vec<(f64, f64)> {
    if segments.is_empty() {
        return vec![whole];
    }
    segments
        .iter()
        .filter_map(|work| scale.span(work.start, work.end))
        .collect()
}

/// The part with most room for words.
fn widest(parts: &[(f64, f64)]) -> Option<(f64, f64)> {
    let wider = |one: &&(f64, f64), other: &&(f64, f64)| one.1.total_cmp(&other.1);
    parts.iter().max_by(wider).copied()
}

/// Thin lines over breaks and closed hours within one piece of work.
fn pauses(scale: Scale, segments: &[Segment], bar: f64) -> Markup {
    let y = n(bar + BAR / 2.0);
    html! {
        @for pair in segments.windows(2) {
            @if let [before, after] = pair {
                @if let Some((x, width)) = scale.span(before.end, after.start).filter(|_| before.end < after.start) {
                    line.pause x1=(n(x)) x2=(n(x + width)) y1=(y) y2=(y) {}
                }
            }
        }
    }
}

fn labels(run: &Run, late: bool, begun: bool, x: f64, width: f64, bar: f64) -> Markup {
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // a small count of letters
    let room = ((width - 8.0) / LETTER).max(0.0) as usize;
    let first = format!("{}{}", if begun { "\u{2713} " } else { "" }, run.order);
    let second = format!("{} × {}", run.quantity, run.part);
    let third = match (late, run.pinned) {
        (true, _) => format!("late {}", run.late),
        (false, true) => "fixed".to_owned(),
        (false, false) => String::new(),
    };
    html! {
        @for (text, y) in [(first, 13.0), (second, 26.0), (third, 39.0)] {
            @let text = clipped(&text, room);
            @if !text.is_empty() { text aria-hidden="true" x=(n(x + 5.0)) y=(n(bar + y)) { (text) } }
        }
    }
}

/// Brackets under runs that follow one another in one batch.
fn batches(scale: Scale, runs: &[Run], y: f64) -> Markup {
    let groups = runs.chunk_by(|one, next| one.batch == next.batch);
    html! {
        @for group in groups.filter(|group| group.len() > 1) {
            @if let [first, .., last] = group {
                @if let Some((x, width)) = scale.span(first.start, last.end) {
                    path.batch d=(format!("M{} {}v6h{}v-6", n(x + 1.0), n(y), n((width - 2.0).max(1.0)))) {}
                    @if width > 60.0 {
                        text.small x=(n(x + 4.0)) y=(n(y + 19.0)) { "batch of " (group.len()) }
                    }
                }
            }
        }
    }
}

fn patterns() -> Markup {
    html! {
        defs {
            pattern id="change" patternUnits="userSpaceOnUse" width="8" height="8" {
                rect.change-ground width="8" height="8" {}
                path.change-line d="M-2 10L10 -2M-2 2L2 -2M6 10L10 6" {}
            }
            pattern id="takedown" patternUnits="userSpaceOnUse" width="7" height="7" {
                rect.change-ground width="7" height="7" {} circle.change-dot cx="3.5" cy="3.5" r="1.5" {}
            }
            pattern id="down" patternUnits="userSpaceOnUse" width="12" height="12" {
                path.down-line d="M0 0L12 12M12 0L0 12" {}
            }
        }
    }
}

/// What the shapes mean.
fn key() -> Markup {
    let sample = |inner: Markup| {
        html! { svg viewBox="0 0 44 22" width="44" height="22" aria-hidden="true" { (inner) } }
    };
    html! {
        ul.key {
            li { (sample(html! { rect.change x="1" y="3" width="42" height="16" {} })) " changeover, with its minutes" }
            li { (sample(html! { rect.run x="1" y="1" width="42" height="20" {} })) " run" }
            li { (sample(html! { rect.run.late x="1" y="3" width="42" height="18" {} path.late-mark d="M1 0h10l-5 8z" {} rect.late-foot x="1" y="15" width="42" height="6" {} })) " run that ends late" }
            li { (sample(html! { path.batch d="M2 6v8h40v-8" {} })) " runs of one batch" }
            li { (sample(html! { rect.run x="1" y="1" width="42" height="20" {} (pin::shape(22.0, 3.0)) })) " pinned to its brake" }
            li { (sample(html! { rect.takedown x="1" y="1" width="42" height="20" {} })) " tools off for another brake" }
            li { (sample(html! { rect.row x="1" y="1" width="42" height="20" {} })) " nobody at work" }
            li { (sample(html! { rect.down x="1" y="1" width="42" height="20" {} })) " down" }
        }
    }
}

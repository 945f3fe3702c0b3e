//! The wall: every brake, now and next, to be read from three metres.

use super::floor::Place;
use super::frame::{Frame, caution};
use super::words::minutes;
use daybook::{Doing, State};
use maud::{Markup, html};
use model::{Brake, Run};
use units::Seconds;
use workshop::KeptPlan;

/// Everything the wall shows, taken at one moment.
pub(crate) struct Wall<'a> {
    pub(crate) frame: Frame<'a>,
    pub(crate) state: &'a State,
    pub(crate) brakes: &'a [Brake],
    /// The published plan.
    pub(crate) kept: Option<&'a KeptPlan>,
}

impl Wall<'_> {
    /// The page.
    pub(crate) fn page(&self) -> Markup {
        let late = self.kept.map_or(0, |kept| kept.plan.totals.late_orders);
        self.frame.page(&html! {
            h1 { time { (self.frame.clock.time(self.frame.now)) } " "
                @match self.kept {
                    Some(kept) => { span.small { (kept.plan.shop) ", plan " (kept.number) @if late > 0 { ", " (late) (if late == 1 { " order late" } else { " orders late" }) } } }
                    None => { span.small { "No plan is published" } }
                }
            }
            @if self.brakes.is_empty() { p.big { "There is no shop data yet." } }
            div.tiles { @for brake in self.brakes { (self.tile(brake)) } }
            (caution())
            details #help {
                summary { "How to read this page" }
                p { "Each field is a brake: what it does now, in large letters the order, below it the next one. The edge says it too: full while bending, broken in a changeover, dotted in a pause, double when the brake is down. Times are planned times of the shop's clock. The page keeps itself up to date; when it cannot, it says so at the top." }
            }
        })
    }

    fn tile(&self, brake: &Brake) -> Markup {
        let line = self
            .kept
            .and_then(|kept| kept.plan.brakes.iter().find(|line| line.brake == brake.id));
        let place = Place::of(self.state, &brake.id, line);
        let now = self.frame.now;
        let down = self.state.downs.iter().find(|down| {
            down.brake == brake.id && down.window.start <= now && now < down.window.end
        });
        let (class, word) = match (down.is_some(), self.state.doing(&brake.id)) {
            (true, _) => ("is-down", "Down"),
            (_, Doing::Idle) => ("is-idle", "Idle"),
            (_, Doing::ChangingOver(_)) => ("is-changing", "Changeover"),
            (_, Doing::Running(run)) if run.paused.is_some() => ("is-paused", "Paused"),
            (_, Doing::Running(_)) => ("is-running", "Bending"),
        };
        let upcoming = place.next.first().copied();
        html! {
            section class=(format!("tile {class}")) aria-labelledby=(format!("tile-{}", brake.id)) {
                h2 id=(format!("tile-{}", brake.id)) { a href=(super::brake_page(&brake.id)) { (brake.id) } span.word { (word) } }
                (self.doing(brake, &place, down))
                p.next {
                    @if let Some(run) = upcoming { (self.next(run)) }
                    @else if self.kept.is_some() { "Nothing more planned" }
                }
            }
        }
    }

    fn doing(&self, brake: &Brake, place: &Place<'_>, down: Option<&model::BrakeDown>) -> Markup {
        let clock = self.frame.clock;
        let day = clock.day(self.frame.now);
        html! {
            @match (down, self.state.doing(&brake.id)) {
                (Some(down), _) => {
                    div.what { "until " (clock.brief(down.window.end, day)) }
                    p.more { (down.reason) }
                }
                (None, Doing::Idle) => { div.what { "\u{2013}" } }
                (None, Doing::ChangingOver(change)) => {
                    div.what { (change.order) }
                    @if let Some(run) = place.changing { p.more { (minutes(run.changeover.work)) " min, bend from " (clock.brief(run.start, day)) } }
                }
                (None, Doing::Running(run)) => {
                    div.what { (run.order) }
                    p.more { (run.good) " of " (run.quantity)
                        @if let Some(pause) = &run.paused { @if !pause.why.is_empty() { ", " (pause.why) } }
                        @else if let Some(end) = run.planned_end { ", until " (clock.brief(end, day)) @if end < self.frame.now { " (over)" } }
                    }
                    @if let Some(planned) = place.now.filter(|planned| planned.late > Seconds::ZERO) { p.late { "late " (planned.late) } }
                }
            }
        }
    }

    fn next(&self, run: &Run) -> Markup {
        let clock = self.frame.clock;
        let day = clock.day(self.frame.now);
        html! {
            span.label { "Next " }
            strong { (run.order) } " " (clock.brief(run.start, day))
            @if run.changeover.work > Seconds::ZERO { ", change " (minutes(run.changeover.work)) " min" }
            @if run.late > Seconds::ZERO { " " span.late { "late " (run.late) } }
        }
    }
}

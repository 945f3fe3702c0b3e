//! The big buttons of a brake's page.

use super::clock::Clock;
use super::floor::Place;
use super::frame::{For, Reader, Send};
use daybook::{Doing, RunOn, State};
use maud::{Markup, html};
use model::{BrakeDown, Run};
use serde_json::{Value, json};
use units::{BrakeId, Moment, Seconds};

/// What the buttons of a brake need to know.
pub(crate) struct Buttons<'a> {
    pub(crate) state: &'a State,
    pub(crate) brake: &'a BrakeId,
    pub(crate) place: &'a Place<'a>,
    pub(crate) reader: &'a Reader,
    pub(crate) now: Moment,
    pub(crate) clock: Clock,
}

impl Buttons<'_> {
    /// All that fit what the brake is doing.
    pub(crate) fn all(&self) -> Markup {
        if !self.reader.reports {
            return html! { p.small { "Reports from the floor are for lead operators and managers." } };
        }
        if let Some(down) = self.down() {
            return html! { div.buttons { (self.up(down)) } };
        }
        html! {
            div.buttons {
                @match self.state.doing(self.brake) {
                    Doing::Idle => { (self.idle()) }
                    Doing::ChangingOver(_) => { (self.changing()) }
                    Doing::Running(run) => { (self.running(run)) }
                }
            }
            (self.problem())
        }
    }

    /// Why the brake cannot be used now.
    pub(crate) fn down(&self) -> Option<&BrakeDown> {
        self.state.downs.iter().find(|down| {
            down.brake == *self.brake && down.window.start <= self.now && self.now < down.window.end
        })
    }

    fn send<'s>(&self, what: &str, with: Value, ask: Option<&'s str>) -> Send<'s> {
        Send {
            method: "POST",
            path: format!("/api/v1{}/{what}", super::brake_page(self.brake)),
            on: For::Version(self.state.brake_version(self.brake)),
            with,
            ask,
        }
    }

    fn press(&self, what: &str, with: Value, label: &str, class: &str) -> Markup {
        self.send(what, with, None).form(
            "press",
            &html! { button class=(class) type="submit" { (label) } },
        )
    }

    fn idle(&self) -> Markup {
        html! {
            @if let Some(run) = self.place.next.first() {
                @for (number, down) in self.place.before(Some(run)).take(1) {
                    (self.press("takedown/finish", json!({ "takedown": number }), &format!("Tools off for {}: done", down.wanted_by), "main"))
                }
                @if run.changeover.steps.is_empty() || Place::is_set_up(self.state, self.brake, run) {
                    (self.start(run, "main"))
                } @else {
                    (self.press("changeover/start", json!({ "run": run.name }), "Start changeover", "main"))
                    (self.start(run, ""))
                }
            } @else {
                @for (number, down) in self.place.before(None).take(1) {
                    (self.press("takedown/finish", json!({ "takedown": number }), &format!("Tools off for {}: done", down.wanted_by), "main"))
                }
            }
        }
    }

    fn start(&self, run: &Run, class: &str) -> Markup {
        self.press(
            "run/start",
            json!({ "run": run.name }),
            &format!("Start run: {}", run.order),
            class,
        )
    }

    fn changing(&self) -> Markup {
        html! {
            (self.press("changeover/finish", json!({}), "Changeover done", "main"))
            @if let Some(run) = self.place.changing { (self.start(run, "")) }
        }
    }

    fn running(&self, run: &RunOn) -> Markup {
        let count = self.send("run/count", json!({}), None);
        let done = self.send(
            "run/finish",
            json!({ "good": run.quantity, "scrap": run.scrap }),
            None,
        );
        let ask = "End the run although pieces are missing? What is missing is planned again.";
        let short = self.send("run/finish", json!({ "short": true }), Some(ask));
        html! {
            (done.form("press", &html! { button.main type="submit" { "Done: all " (run.quantity) " good" } }))
            @if run.paused.is_some() {
                (self.press("run/resume", json!({}), "Go on", "main"))
            } @else {
                (self.send("run/pause", json!({}), None).form("", &html! {
                    p { label for="why-pause" { "Why (may stay empty)" } input #why-pause name="why" maxlength="200" autocomplete="off"; }
                    button type="submit" { "Pause" }
                }))
            }
            (count.form("", &html! { (pieces("count", run)) button type="submit" { "Count so far" } }))
            (short.form("", &html! { (pieces("short", run)) button type="submit" { "End short" } }))
        }
    }

    fn problem(&self) -> Markup {
        let ask = format!("Report {} down? Its work is planned again.", self.brake);
        let send = self.send("down", json!({}), Some(&ask));
        let spans = [
            (15, "15 minutes"),
            (60, "1 hour"),
            (240, "4 hours"),
            (1_440, "1 day"),
            (7 * 1_440, "1 week"),
        ];
        html! {
            details.problem #problem {
                summary { "Problem: report the brake down" }
                p.caution { "Make the machine safe first: stop it and secure it against being switched on, as its manual and local rules say." }
                (send.form("", &html! {
                    p { label for="until" { "Down for about" }
                        select #until name="until" {
                            @for (minutes, words) in spans {
                                @let until = self.now + Seconds(minutes * 60);
                                option value=(self.clock.exact(until)) selected[minutes == 60] { (words) ", until " (self.clock.on(until, self.clock.day(self.now))) }
                            }
                        }
                    }
                    p { label for="why-down" { "What is wrong" } input #why-down name="why" maxlength="200" autocomplete="off"; }
                    button.alarm type="submit" { "Report down" }
                }))
            }
        }
    }

    fn up(&self, down: &BrakeDown) -> Markup {
        let ask = format!("Is {} safe to use again?", self.brake);
        let send = self.send("up", json!({}), Some(&ask));
        html! {
            p.note { "Down until " (self.clock.on(down.window.end, self.clock.day(self.now)))
                @if !down.reason.is_empty() { ": " (down.reason) } "." }
            (send.form("press", &html! { button.main type="submit" { "Can be used again" } }))
        }
    }
}

fn pieces(of: &str, run: &RunOn) -> Markup {
    html! {
        p.pair {
            span { label for=(format!("{of}-good")) { "Good" } input id=(format!("{of}-good")) name="good" data-number type="number" inputmode="numeric" min="0" max=(run.quantity) value=(run.good) required; }
            span { label for=(format!("{of}-scrap")) { "Spoiled" } input id=(format!("{of}-scrap")) name="scrap" data-number type="number" inputmode="numeric" min="0" max="1000000" value=(run.scrap) required; }
        }
    }
}

//! A brake's page: the run now, the changeover before the next one, and the buttons.

use super::bed;
use super::bends::{bends, cautions};
use super::buttons::Buttons;
use super::floor::Place;
use super::frame::{Frame, caution};
use super::lengths::Lengths;
use super::query_word;
use super::words::minutes;
use daybook::{Doing, RunOn, State};
use maud::{Markup, html};
use model::{Brake, BrakePlan, Run, Shop, Step, Takedown};
use units::Seconds;
use workshop::{KeptPlan, RunBend};

/// Runs listed after the next one.
const AFTER: usize = 10;

/// Everything the page shows, taken at one moment.
pub(crate) struct Bench<'a> {
    pub(crate) frame: Frame<'a>,
    pub(crate) state: &'a State,
    pub(crate) brake: &'a Brake,
    /// The published plan.
    pub(crate) kept: Option<&'a KeptPlan>,
    pub(crate) chosen: Chosen<'a>,
    /// Bends of the run now.
    pub(crate) bends_now: Vec<RunBend>,
    /// Bends of the run shown below it.
    pub(crate) bends_shown: Vec<RunBend>,
}

/// Which runs are shown.
pub(crate) struct Chosen<'a> {
    pub(crate) place: Place<'a>,
    /// A run that was asked for by name.
    pub(crate) asked: Option<&'a Run>,
}

impl<'a> Chosen<'a> {
    /// Of a brake's part of the published plan.
    pub(crate) fn of(
        state: &State,
        brake: &Brake,
        line: Option<&'a BrakePlan>,
        asked: &str,
    ) -> Chosen<'a> {
        let runs = line.map_or(&[][..], |line| &line.runs);
        Chosen {
            place: Place::of(state, &brake.id, line),
            asked: runs.iter().find(|run| run.name == asked),
        }
    }

    /// The run whose changeover is shown: the one asked for, the one under way, else the next.
    pub(crate) fn shown(&self) -> Option<&'a Run> {
        self.asked
            .or(self.place.changing)
            .or(self.place.next.first().copied())
    }
}

impl Bench<'_> {
    /// The page.
    pub(crate) fn page(&self) -> Markup {
        let (brake, state) = (self.brake, self.state);
        let buttons = Buttons {
            state,
            brake: &brake.id,
            place: &self.chosen.place,
            reader: self.frame.reader,
            now: self.frame.now,
            clock: self.frame.clock,
        };
        self.frame.page(&html! {
            h1 { (brake.id) @if !brake.name.is_empty() { " " span.small { (brake.name) } } }
            (caution())
            (self.now(buttons.down().is_some()))
            section aria-labelledby="report" {
                h2 #report { "Report" }
                (buttons.all())
            }
            @match self.kept {
                Some(kept) => {
                    (self.running(&kept.shop))
                    (self.shown(&kept.shop))
                    (self.after())
                    (self.paper(kept))
                }
                None => {
                    p.note { "No plan is published yet, so there is nothing to run. A manager publishes one on the page " a href="/" { "Plan" } "." }
                }
            }
            (help())
        })
    }

    fn now(&self, is_down: bool) -> Markup {
        let clock = self.frame.clock;
        let day = clock.day(self.frame.now);
        let since = self
            .state
            .on_brake
            .get(&self.brake.id)
            .map(|on| clock.on(on.since, day));
        let said = match self.state.doing(&self.brake.id) {
            Doing::Idle => "Nothing runs".to_owned(),
            Doing::ChangingOver(change) => format!("Changing over for {}", change.order),
            Doing::Running(run) if run.paused.is_some() => format!("{} is paused", run.order),
            Doing::Running(run) => format!("Bending {}", run.order),
        };
        html! {
            section.now aria-labelledby="now" {
                h2 #now { @if is_down { "Down. " } (said) @if let Some(since) = since { span.small { " since " (since) } } }
                @if let Doing::Running(run) = self.state.doing(&self.brake.id) { (self.count(run)) }
                @else if let Some(next) = self.chosen.place.changing.or(self.chosen.place.next.first().copied()) {
                    p.big { "Next: " strong { (next.order) } ", " (next.quantity) " × " (next.part) ", bend from " (clock.on(next.start, day)) }
                }
            }
        }
    }

    fn count(&self, run: &RunOn) -> Markup {
        let clock = self.frame.clock;
        let day = clock.day(self.frame.now);
        html! {
            p.big { strong { (run.good) " of " (run.quantity) } " good" @if run.scrap > 0 { ", " (run.scrap) " spoiled" }
                @if let Some(end) = run.planned_end { ", planned end " (clock.on(end, day)) } }
            @if let Some(pause) = &run.paused {
                p.note { "Paused since " (clock.on(pause.since, day)) @if !pause.why.is_empty() { ": " (pause.why) } "." }
            }
        }
    }

    /// The bends of the run now.
    fn running(&self, shop: &Shop) -> Markup {
        let lengths = self.frame.reader.lengths;
        html! {
            @if let Some(run) = self.chosen.place.now {
                section aria-labelledby="running" {
                    h2 #running { "This run: " (run.order) }
                    (part_line(shop, run, None, lengths))
                    ul.cautions { @for text in cautions(shop, run) { li { (text) } } }
                    (bends(shop, run, &self.bends_now, lengths))
                }
            }
        }
    }

    /// The changeover before the run that is shown, and its bends.
    fn shown(&self, shop: &Shop) -> Markup {
        let lengths = self.frame.reader.lengths;
        let Some(run) = self.chosen.shown() else {
            return html! {
                section aria-labelledby="next" {
                    h2 #next { "Next" }
                    p { "Nothing more is planned on this brake. A new plan may bring more." }
                    @for (number, down) in self.chosen.place.before(None) { (takedown(*number, down, lengths)) }
                }
            };
        };
        let is_asked = self.chosen.asked.is_some();
        let is_now = self
            .chosen
            .place
            .now
            .is_some_and(|now| now.name == run.name);
        let clock = self.frame.clock;
        let day = clock.day(self.frame.now);
        let change = &run.changeover;
        let (before, after) = bed::beds(run, lengths);
        let by: Vec<&str> = change
            .segments
            .iter()
            .flat_map(|work| &work.crew)
            .map(units::PersonId::as_str)
            .collect();
        let mut by_once: Vec<&str> = Vec::new();
        for name in by {
            if !by_once.contains(&name) {
                by_once.push(name);
            }
        }
        html! {
            section aria-labelledby="next" {
                h2 #next { @if is_asked { "Run " (run.name) ": " } @else if self.chosen.place.changing.is_some() { "Changeover for " } @else { "Next changeover: for " } (run.order) }
                @if is_asked { p { a href=(super::brake_page(&self.brake.id)) { "Back to what is next" } } }
                @if !is_asked { @for (number, down) in self.chosen.place.before(Some(run)) { (takedown(*number, down, lengths)) } }
                @if !is_now && !change.steps.is_empty() && Place::is_set_up(self.state, &self.brake.id, run) {
                    p.big { "The tools of this run stand on the bed." }
                }
                @if change.steps.is_empty() {
                    p.big { "No changeover: bed and program stay." }
                } @else {
                    p.big { strong { (minutes(change.work)) " min" } ", " (clock.on(change.start, day)) " to " (clock.on(change.end, day))
                        @if !by_once.is_empty() { ", by " (by_once.join(", ")) } }
                }
                @if !is_now { ul.cautions { @for text in cautions(shop, run) { li { (text) } } } }
                (bed::drawing(self.brake, &before, &after, lengths))
                (bed::key())
                (bed::stations(shop, &before, &after, lengths))
                (steps(&change.steps, lengths))
            }
            @if !is_now {
                section aria-labelledby="bends" {
                    h2 #bends { "Bends of " (run.order) }
                    (part_line(shop, run, Some(run.quantity), lengths))
                    @if run.late > Seconds::ZERO { p.note { "Late by " (run.late) ": due " (clock.short(run.due)) "." } }
                    (bends(shop, run, &self.bends_shown, lengths))
                }
            }
        }
    }

    /// Lists and sheets to take along.
    fn paper(&self, kept: &KeptPlan) -> Markup {
        let one = |size: &str| {
            let brake = query_word(self.brake.id.as_str());
            format!(
                "/api/v1/plans/{}/paper?brake={brake}&size={size}",
                kept.number
            )
        };
        let sheet = self.chosen.shown().map(|run| {
            let run = query_word(&run.name);
            move |size: &str| format!("{}&run={run}", one(size))
        });
        let calendar = format!(
            "/api/v1/plans/{}/calendar?brake={}",
            kept.number,
            query_word(self.brake.id.as_str())
        );
        html! {
            @if self.frame.reader.reports {
                section aria-labelledby="paper" {
                    h2 #paper { "On paper" }
                    p { "Run lists of two days and all changeover sheets of " (self.brake.id) ": "
                        a href=(one("a4")) { "A4" } ", " a href=(one("letter")) { "letter" } " (PDF)." }
                    @if let Some(sheet) = sheet {
                        p { "The changeover sheet shown above alone: "
                            a href=(sheet("a4")) { "sheet, A4" } ", " a href=(sheet("letter")) { "sheet, letter" } " (PDF)." }
                    }
                    p { "For a calendar program: " a href=(calendar) { "the runs of " (self.brake.id) } " (iCalendar)." }
                }
            }
        }
    }

    fn after(&self) -> Markup {
        let clock = self.frame.clock;
        let day = clock.day(self.frame.now);
        let next = &self.chosen.place.next;
        html! {
            @if !next.is_empty() {
                section aria-labelledby="after" {
                    h2 #after { "Coming up" }
                    ol.coming {
                        @for run in next.iter().take(AFTER) {
                            li {
                                a href=(super::run_page(&self.brake.id, &run.name)) {
                                    (clock.on(run.start, day)) " " strong { (run.order) } ", " (run.quantity) " × " (run.part)
                                    @if run.changeover.work > Seconds::ZERO { ", changeover " (minutes(run.changeover.work)) " min" }
                                    @if run.late > Seconds::ZERO { ", " strong { "late " (run.late) } }
                                }
                            }
                        }
                    }
                    @if next.len() > AFTER { p { "and " (next.len() - AFTER) " more; " a href=(format!("/?brake={}", query_word(self.brake.id.as_str()))) { "see the day" } } }
                }
            }
        }
    }
}

fn help() -> Markup {
    html! {
        details #help {
            summary { "How to read this page" }
            p { "At the top stands what the brake does now. The large button is what comes next; the others report a pause, a count, scrap, an early end, or that the brake is down. A report is sent once, also when the button is pressed again because the connection was bad." }
            p { "The two beds are drawn to scale as the operator sees them, before and after the changeover, stations numbered from the left. Slanted lines come off, crossed lines go on, dots are turned, level lines are slid, plain ones stay. Below, each station has its sections with drawer and length, left to right." }
            p { "X is how far the back gauge stands from the tools, R the height of its stop. The force is worked out and not measured. Check all of it by the machine's manual and the tools' ratings before the first stroke." }
        }
    }
}

/// What is bent, how many of it when that is still the plan's number, and by which program.
fn part_line(shop: &Shop, run: &Run, quantity: Option<u32>, lengths: Lengths) -> Markup {
    let part = shop.part(&run.part);
    html! {
        p {
            @if let Some(quantity) = quantity { (quantity) " × " } strong { (run.part) }
            @if let Some(part) = part { " " (part.name) ", " (part.material) " " (lengths.say(part.thickness)) }
            "; "
            @match &run.program { Some(program) => { "program " strong { (program) } ", proven" } None => { "no proven program" } }
            @if let Some(order) = shop.order(&run.order) { @if !order.reference.is_empty() { "; reference " (order.reference) } }
        }
    }
}

fn takedown(number: u32, down: &Takedown, lengths: Lengths) -> Markup {
    html! {
        div.note {
            p { strong { "First: tools off for " (down.wanted_by) } ", " (minutes(down.work)) " min (takedown " (number) ")" }
            (steps(&down.steps, lengths))
        }
    }
}

fn steps(steps: &[Step], lengths: Lengths) -> Markup {
    html! {
        @if !steps.is_empty() {
            h3 { "Steps" }
            ol.steps {
                @for step in steps { li { span.minutes { (format!("{:.1} min", step.time.minutes())) } " " (lengths.text(&step.text)) } }
            }
        }
    }
}

//! The manager's page: every brake's day, how the site stands, what is proposed, what is late.

use super::chart::Chart;
use super::clock::{Clock, day_words};
use super::compare::compare;
use super::frame::{For, Frame, Send, caution};
use super::sought::Sought;
use super::{lists, load, pin};
use chrono::NaiveDate;
use daybook::State;
use maud::{Markup, html};
use serde_json::json;
use std::sync::Arc;
use units::{Finding, Moment};
use workshop::{KeptPlan, Standing};

/// Everything the page shows, taken at one moment.
pub(crate) struct Desk<'a> {
    pub(crate) frame: Frame<'a>,
    pub(crate) state: &'a State,
    pub(crate) published: Option<Arc<KeptPlan>>,
    pub(crate) proposal: Option<Arc<KeptPlan>>,
    pub(crate) standing: Standing,
    /// Since when a proposal is being made.
    pub(crate) planning_since: Option<Moment>,
    pub(crate) findings: Arc<[Finding]>,
    pub(crate) sought: Sought,
}

impl Desk<'_> {
    /// The page.
    pub(crate) fn page(&self) -> Markup {
        // A proposal that was published is no proposal any more.
        let open = self.proposal.as_deref().filter(|proposal| {
            self.published
                .as_ref()
                .is_none_or(|published| published.number < proposal.number)
        });
        let published = self.published.as_deref();
        let shown = open
            .filter(|_| published.is_none() || self.sought.wants_proposal())
            .or(published);
        let title = shown.map_or("No plan yet", |kept| kept.plan.shop.as_str());
        self.frame.page(&html! {
            h1 { (title) }
            (self.standing(shown))
            (caution())
            @if let Some(kept) = shown {
                @let is_published = published.is_some_and(|plan| plan.number == kept.number);
                (self.heading(kept, is_published))
                @if let Some(proposal) = open {
                    (compare(published, proposal, self.state, self.frame.reader, (self.frame.clock, self.sought.wants_all())))
                }
                @if self.frame.reader.decides { (pin::panel(self.state, &self.sought, self.frame.clock)) }
                (self.day(kept, open.is_some() && published.is_some(), is_published))
                (load::load(kept, self.frame.clock, self.frame.now))
                (lists::late(kept, self.frame.clock, &self.sought, self.frame.reader.lengths))
                (lists::unplaced(&kept.plan, &self.sought, self.frame.reader.lengths))
                (pin::tied(self.state, &self.sought, self.frame.reader.decides))
                (lists::totals(&kept.plan))
            }
            (lists::findings(&self.findings))
            (self.wish())
            (help())
        })
    }

    fn standing(&self, shown: Option<&KeptPlan>) -> Markup {
        let (clock, now) = (self.frame.clock, self.frame.now);
        let said = match &self.standing {
            Standing::UpToDate => String::new(),
            Standing::Waiting if self.state.base().is_none() => {
                "There is no shop data yet. Give the daemon a shop folder, or put the files through the API; the first proposal follows by itself.".to_owned()
            }
            Standing::Waiting if shown.is_none() => "The first proposal has not been made yet. It is made by itself, soon after the shop data came in.".to_owned(),
            Standing::Waiting => "Something has happened that no proposal knows of yet; the next one is made by itself.".to_owned(),
            Standing::Planning => match self.planning_since {
                Some(since) => format!(
                    "A proposal is being made since {}.",
                    clock.on(since, clock.day(now))
                ),
                None => "A proposal is being made.".to_owned(),
            },
            Standing::Faults if shown.is_some() => "The shop folder has faults; this plan is from before. Mend what the findings say.".to_owned(),
            Standing::Faults => "The shop folder has faults. Mend what the findings below say; planning goes on by itself.".to_owned(),
            Standing::Trouble(text) => format!("Planning is held up: {text}"),
        };
        let note = !matches!(
            self.standing,
            Standing::UpToDate | Standing::Planning | Standing::Waiting
        );
        // How long it has taken is counted on by the script, and not read out again and again.
        let so_far = match (&self.standing, self.planning_since) {
            (Standing::Planning, Some(since)) => Some((now - since).0.max(0)),
            _ => None,
        };
        html! {
            @if !said.is_empty() {
                div.standing.note[note] {
                    p role="status" { (said) }
                    @if let Some(so_far) = so_far { p { span.so-far data-seconds=(so_far) { (so_far) " s" } " so far. The page brings the proposal by itself." } }
                }
            }
        }
    }

    fn heading(&self, kept: &KeptPlan, is_published: bool) -> Markup {
        let clock = self.frame.clock;
        let span = format!(
            "{} to {}",
            clock.short(kept.plan.from),
            clock.short(kept.plan.until)
        );
        html! {
            p {
                @if let Some(now) = self.state.published.as_ref().filter(|_| is_published) {
                    strong { "Plan " (kept.number) } ", " (span) ", published " (clock.short(now.at)) " by " (now.by)
                    @if now.automatically { ", by the policy" } "."
                } @else {
                    strong { "Proposal " (kept.number) } ", " (span) ", made " (clock.short(kept.made_at)) "."
                }
                @if let Some(revision) = self.state.revision { " The shop data are revision " (revision) " of the shop folder." }
            }
            @if self.frame.reader.reports {
                @let to = |size: &str| format!("/api/v1/plans/{}/paper?size={size}", kept.number);
                p.paper { "On paper, run lists of two days and all changeover sheets: "
                    a href=(to("a4")) { "A4" } ", " a href=(to("letter")) { "letter" } " (PDF)." }
            }
            @if self.published.is_none() {
                p.note { "No plan is published. This is a proposal; the floor does not work to it." }
            } @else if !is_published {
                p.note { "The day below is the proposal's; the floor does not work to it. " a href=(self.sought.of_plan("")) { "Show the published plan" } }
            }
        }
    }

    fn day(&self, kept: &KeptPlan, has_both: bool, is_published: bool) -> Markup {
        let (clock, now) = (self.frame.clock, self.frame.now);
        let day = self
            .sought
            .day(clock, (kept.plan.from, kept.plan.until), now);
        let chart = Chart {
            kept,
            state: self.state,
            clock,
            day,
            now,
            sought: &self.sought,
            pins: self.frame.reader.decides,
        };
        html! {
            section aria-labelledby="day" {
                h2 #day { (day_words(day)) @if day == clock.day(now) { ", today" } }
                (self.filters(kept, day))
                @if has_both && is_published {
                    p { a href=(self.sought.of_plan("proposal")) { "Show the proposal's day instead" } }
                }
                (chart.draw())
            }
            (lists::runs((kept, self.state), (clock, day), &self.sought, self.frame.reader.decides))
            (lists::others(kept, self.state, &self.sought))
        }
    }

    fn filters(&self, kept: &KeptPlan, day: NaiveDate) -> Markup {
        let sought = &self.sought;
        html! {
            form.filters method="get" action="/" role="search" {
                @if sought.wants_proposal() { input type="hidden" name="plan" value="proposal"; }
                @if let Some(before) = day.pred_opt() { a.step href=(sought.on_day(before)) { "\u{2190} Day before" } }
                p { label for="on-day" { "Day" } input #on-day type="date" name="day" value=(day.to_string()); }
                @if let Some(next) = day.succ_opt() { a.step href=(sought.on_day(next)) { "Next day \u{2192}" } }
                p {
                    label for="on-brake" { "Brake" }
                    select #on-brake name="brake" {
                        option value="" { "all" }
                        @for line in &kept.plan.brakes { option value=(line.brake) selected[sought.brake == line.brake.as_str()] { (line.brake) } }
                    }
                }
                p { label for="q" { "Order, part, material, kit or reference" } input #q type="search" name="q" value=(sought.q) maxlength="100"; }
                p { label { input type="checkbox" name="only" value="late" checked[sought.only_late()]; " late alone" } }
                p { button type="submit" { "Show" } @if sought.narrows() { " " a href="/" { "Show everything" } } }
            }
        }
    }

    /// Asks for a proposal at once.
    fn wish(&self) -> Markup {
        let send = Send {
            method: "POST",
            path: "/api/v1/plans/proposal".to_owned(),
            on: For::Any,
            with: json!({}),
            ask: None,
        };
        html! {
            @if self.frame.reader.reports && self.state.base().is_some() {
                section aria-labelledby="wish" {
                    h2 #wish { "Another proposal" }
                    p { "Proposals are made by themselves after every change that matters. One can be asked for as well; nothing changes on the floor." }
                    (send.form("", &html! { button type="submit" { "Ask for a proposal" } }))
                }
            }
        }
    }
}

fn help() -> Markup {
    html! {
        details #help {
            summary { "How to read this page" }
            p { "Each row of the chart is a brake. A hatched bar is a changeover with its minutes, a full bar a run with order, pieces and part. A bar with a heavy foot and a mark above it ends late; how late stands in it and in the list. A bracket joins runs that share one set of tools. Each bar leads to the brake's page with the changeover drawn." }
            p { "A run with a pin drawn in its corner belongs to an order that was tied to its brake, with or without a place. A manager ties and unties: by the form below, by the link in the list of runs, or by dragging a run in the chart." }
            p { "A proposal changes nothing. What it would change stands at the top; publishing it makes it the plan of the floor. Runs that have begun, or begin within the frozen window, keep their brake, order and setup." }
            p { "Hours count against staffed hours, without breaks and without time a brake is down. Costs are counted in changeover minutes; no money is meant." }
            p { "The search looks at all days; day and brake say what the chart shows. The address holds what you look at, so it can be kept or handed on." }
        }
    }
}

/// The clock of the shop that is shown.
pub(crate) fn clock_of(state: &State) -> Clock {
    Clock(state.base().map_or(chrono_tz::UTC, |base| base.shop().zone))
}

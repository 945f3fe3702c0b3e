//! An answer in words, tables and pictures.

use crate::pages::clock::Clock;
use crate::pages::lengths::Lengths;
use crate::pages::odds::{Promise, breaks, curve, percent};
use crate::pages::words::{counted, minutes, shifted};
use maud::{Markup, html};
use model::{Chance, Run, Segment};
use units::Seconds;
use workshop::{PROMISED_ODDS, Quoted};

/// Orders that wait are listed up to here.
const MOVED_MOST: usize = 25;

pub(super) struct Shown<'a> {
    pub(super) quoted: &'a Quoted,
    pub(super) clock: Clock,
    pub(super) lengths: Lengths,
}

impl Shown<'_> {
    /// The dates, the picture of the odds, and what they were worked out from.
    pub(super) fn when(&self) -> Markup {
        let (clock, quote) = (self.clock, &self.quoted.quote);
        let Some((odds, place)) = quote.odds.as_ref().zip(quote.answer.place.as_ref()) else {
            return html! {
                section aria-labelledby="when" {
                    h2 #when { "No date" }
                    p.note { @if quote.answer.able.is_empty() { "No brake of the shop can bend it; why stands below." } @else { "No brake that can bend it has the time before its calendar ends." } }
                }
            };
        };
        let promises: Vec<Promise> = PROMISED_ODDS
            .iter()
            .map(|&share| Promise {
                share,
                by: odds.by(share),
            })
            .collect();
        let planned = place.run.end;
        html! {
            section aria-labelledby="when" {
                h2 #when { "When" }
                p { (self.quoted.ask.job.quantity) " × " @if let Some(part) = quote.part() { (part.name) ", " (part.material) " " (self.lengths.say(part.thickness)) } }
                table {
                    thead { tr { th scope="col" { "Odds" } th scope="col" { "Done by" } } }
                    tbody {
                        @for promise in &promises {
                            tr { th scope="row" { (percent(promise.share)) }
                                td { @match promise.by { Some(by) => { strong { (clock.short(by)) } } None => { "later than the calendars go" } } } }
                        }
                        tr { th scope="row" { (percent(odds.kept_by(planned))) } td { (clock.short(planned)) ", the end as planned" } }
                        @if let Some(due) = self.quoted.due {
                            tr { th scope="row" { (percent(odds.kept_by(due))) } td { (clock.short(due)) ", as wished for" } }
                        }
                    }
                }
                (curve(odds, &promises, self.quoted.due, clock))
                p.small { "Bending alone; other work before and after is not in it. The plan was played " (odds.samples()) " times." }
            }
        }
    }

    /// Hours of the brake and of people, and the place they are spent at.
    pub(super) fn hours(&self) -> Markup {
        let clock = self.clock;
        let Some(place) = &self.quoted.quote.answer.place else {
            return html! {};
        };
        let run = &place.run;
        let both = run.changeover.work + run.run_time;
        html! {
            section aria-labelledby="hours" {
                h2 #hours { "Hours" }
                table {
                    thead { tr { td {} th scope="col" { "Hours" } } }
                    tbody {
                        tr { th scope="row" { "Changeover" } td { (format!("{:.2}", run.changeover.work.hours())) } }
                        tr { th scope="row" { "Run, " (format!("{:.1}", seconds(run.cycle_ms))) " s a piece" } td { (format!("{:.2}", run.run_time.hours())) } }
                        tr { th scope="row" { "The brake, both" } td { strong { (format!("{:.2}", both.hours())) } } }
                        tr { th scope="row" { "People, both" } td { (format!("{:.2}", people(run).hours())) } }
                    }
                }
                p { "As planned on " strong { (place.brake) } ": changeover from " (clock.short(run.changeover.start.min(run.start))) ", run from " (clock.short(run.start)) " to " (clock.short(run.end)) ". Of the places tried this one costs least." }
                @if let Some(first) = &self.quoted.quote.answer.earliest {
                    p { "At the earliest: done " strong { (clock.short(first.run.end)) } " as planned, on " (first.brake) ", if the others stood back: "
                        (counted(count(first.price.later), "order", "orders")) " later, " (first.price.newly_late) " of them newly late." }
                }
            }
        }
    }

    /// Who has to wait.
    pub(super) fn waiting(&self) -> Markup {
        let clock = self.clock;
        let Some(place) = &self.quoted.quote.answer.place else {
            return html! {};
        };
        let price = &place.price;
        let later: Vec<_> = place
            .moved
            .iter()
            .filter(|one| one.after > one.before)
            .collect();
        let more = later.len().saturating_sub(MOVED_MOST);
        html! {
            section aria-labelledby="waiting" {
                h2 #waiting { "Who has to wait" }
                @if price.without_place > 0 { p.note { (counted(count(price.without_place), "order loses", "orders lose")) " a place." } }
                @if later.is_empty() {
                    p { "Nobody: no other order ends later." }
                } @else {
                    p { (counted(count(price.later), "order ends", "orders end")) " later, " (price.newly_late) " of them newly late. "
                        @if price.others_late > Seconds::ZERO { "All together the others are " (price.others_late) " more late than without this job." }
                        @else { "All together the others are no more late than without this job." } }
                    div.scroll tabindex="0" role="region" aria-label="Orders that wait; scrolls sideways" {
                        table.times {
                            thead { tr { th scope="col" { "Order" } th scope="col" { "Due" } th scope="col" { "Ended" } th scope="col" { "Ends now" } th scope="col" { "Shift" } th scope="col" { "Late" } } }
                            tbody {
                                @for one in later.iter().take(MOVED_MOST) {
                                    @let newly = one.late_before <= Seconds::ZERO && one.late_after > Seconds::ZERO;
                                    tr.late[newly] {
                                        th scope="row" { (one.order) }
                                        td { (clock.short(one.due)) }
                                        td { (clock.short(one.before)) }
                                        td { (clock.short(one.after)) }
                                        td { (shifted(one.after - one.before)) }
                                        td { @if newly { strong { "newly late, " (one.late_after) } } @else if one.late_after > Seconds::ZERO { "late " (one.late_after) } @else { "in time" } }
                                    }
                                }
                            }
                        }
                    }
                    @if more > 0 { p { "and " (more) " more" } }
                }
                @if price.overtime > Seconds::ZERO { p { "Overtime of the whole plan grows by " (price.overtime) "." } }
            }
        }
    }

    /// Brakes that can, and the others' reasons.
    pub(super) fn brakes(&self) -> Markup {
        let answer = &self.quoted.quote.answer;
        html! {
            section aria-labelledby="brakes" {
                h2 #brakes { "Brakes" }
                @if !answer.able.is_empty() {
                    div.scroll tabindex="0" role="region" aria-label="Brakes that can bend it; scrolls sideways" {
                        table {
                            caption { "Can bend it" }
                            thead { tr { th scope="col" { "Brake" } th scope="col" { "Seconds a piece" } th scope="col" { "People" } th scope="col" { "Set up on an empty bed" } th scope="col" { "Program" } } }
                            tbody {
                                @for able in &answer.able {
                                    tr {
                                        th scope="row" { (able.brake) }
                                        td { (format!("{:.1}", seconds(able.cycle_ms))) }
                                        td { (able.crew) }
                                        td { @match &able.setup { Some(setup) => { (minutes(setup.work)) " min" } None => { "not on an empty bed" } } }
                                        td { @match &able.program { Some(program) => { (program) ", proven" } None => { "has to be made" } } }
                                    }
                                }
                            }
                        }
                    }
                }
                @if !answer.refusals.is_empty() {
                    h3 { "Cannot, and why" }
                    ul { @for refusal in &answer.refusals { li { strong { (refusal.brake) } ": " (self.lengths.text(&refusal.text)) } } }
                }
            }
        }
    }

    /// What the dates hang on.
    pub(super) fn drives(&self) -> Markup {
        let quote = &self.quoted.quote;
        html! {
            section aria-labelledby="drives" {
                h2 #drives { "What drives it" }
                ul { @for text in varied(&quote.chance) { li { (text) } } }
                @if !quote.assumed.is_empty() {
                    h3 { "Assumed, as there is no drawing" }
                    ul { @for text in &quote.assumed { li { (self.lengths.text(text)) } } }
                }
            }
        }
    }

    /// Minutes a piece by quantity.
    pub(super) fn breaks(&self) -> Markup {
        let Some(all) = &self.quoted.quote.breaks else {
            return html! {};
        };
        html! {
            section aria-labelledby="breaks" {
                h2 #breaks { "Price breaks" }
                p { "Minutes of the brake a piece, set up on an empty bed. "
                    @match all.flat_from {
                        Some(quantity) => { "From " strong { (quantity) } " pieces on a larger lot saves less than a tenth." }
                        None => { "A larger lot is cheaper at any size." }
                    }
                }
                (breaks(all, self.quoted.ask.job.quantity))
            }
        }
    }
}

#[allow(clippy::cast_precision_loss)] // milliseconds of a piece
fn seconds(cycle_ms: i64) -> f64 {
    cycle_ms as f64 / 1_000.0
}

fn count(number: u32) -> usize {
    usize::try_from(number).unwrap_or(usize::MAX)
}

/// Work of people, changeover and run.
fn people(run: &Run) -> Seconds {
    let all = run.changeover.segments.iter().chain(&run.segments);
    let of = |work: &Segment| {
        let crew = i64::try_from(work.crew.len()).unwrap_or(i64::MAX);
        Seconds((work.end - work.start).0.saturating_mul(crew))
    };
    all.map(of).sum()
}

/// What varies from play to play, in words.
fn varied(chance: &Chance) -> Vec<String> {
    let mut out = vec![
        format!(
            "Runs spread by {} of their time, changeovers by {}.",
            percent(chance.run_spread),
            percent(chance.changeover_spread)
        ),
        match chance.rush_per_week {
            none if none <= 0.0 => "No rush orders are expected.".to_owned(),
            some => format!("Rush orders: {some} a week go before what is planned."),
        },
        match chance.hours_between_stops {
            none if none <= 0.0 => "Brakes are taken never to stop.".to_owned(),
            some => format!(
                "A brake stops every {some} hours of work, for {} hours.",
                chance.repair_hours
            ),
        },
    ];
    out.push(
        "These are the shop's own figures where shop.toml says them, else defaults.".to_owned(),
    );
    out
}

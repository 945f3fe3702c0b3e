//! Lists of the plan's page: late orders, orders without a place, runs, totals, findings.

use super::clock::Clock;
use super::lengths::Lengths;
use super::sought::Sought;
use super::words::{cost, counted, minutes};
use crate::problem::severity;
use chrono::NaiveDate;
use daybook::State;
use maud::{Markup, html};
use model::{BrakePlan, Changeover, Plan, Run, Totals};
use std::collections::BTreeMap;
use units::{Finding, OrderId, Seconds};
use workshop::KeptPlan;

/// Findings beyond this are counted, not listed: whoever mends a hundred looks again anyway.
const FINDINGS_MOST: usize = 100;
/// Late orders listed at first.
const LATE_MOST: usize = 25;
/// Runs listed at most.
const RUNS_MOST: usize = 300;
/// Orders without a place listed at first.
const UNPLACED_MOST: usize = 25;

/// Orders that end late, the latest first.
pub(crate) fn late(kept: &KeptPlan, clock: Clock, sought: &Sought, lengths: Lengths) -> Markup {
    let mut worst: BTreeMap<&OrderId, (&BrakePlan, &Run)> = BTreeMap::new();
    for line in &kept.plan.brakes {
        for run in line.runs.iter().filter(|run| run.late > Seconds::ZERO) {
            let seen = worst.entry(&run.order).or_insert((line, run));
            if run.late > seen.1.late {
                *seen = (line, run);
            }
        }
    }
    let mut late: Vec<(&BrakePlan, &Run)> = worst.into_values().collect();
    late.sort_by_key(|(_, run)| std::cmp::Reverse(run.late));
    let most = if sought.wants_all() {
        usize::MAX
    } else {
        LATE_MOST
    };
    let more = late.len().saturating_sub(most);
    html! {
        section aria-labelledby="late" {
            h2 #late { "Late orders" }
            @if late.is_empty() {
                p { "Every order that has a place ends in time." }
            } @else {
                div.scroll tabindex="0" role="region" aria-label="Late orders, the table" {
                    table {
                        thead { tr { th scope="col" { "Order" } th scope="col" { "Late by" } th scope="col" { "Due" } th scope="col" { "Ends" } th scope="col" { "Brake" } th scope="col" { "Part" } th scope="col" { "Why here and then" } } }
                        tbody {
                            @for (line, run) in late.iter().take(most) {
                                tr.late {
                                    th scope="row" { (run.order) }
                                    td { strong { (run.late) } }
                                    td { (clock.short(run.due)) }
                                    td { (clock.short(run.end)) }
                                    td { (to_run(line, run, line.brake.as_str())) }
                                    td { (run.quantity) " × " (run.part) }
                                    td.reasons { (lengths.text(&run.reasons.join("; "))) }
                                }
                            }
                        }
                    }
                }
                @if more > 0 { p { "and " (more) " more; " a href=(sought.whole()) { "show all" } } }
            }
        }
    }
}

fn to_run(line: &BrakePlan, run: &Run, text: &str) -> Markup {
    html! { a href=(super::run_page(&line.brake, &run.name)) { (text) } }
}

/// Orders without a place, with every brake's reason.
pub(crate) fn unplaced(plan: &Plan, sought: &Sought, lengths: Lengths) -> Markup {
    let most = if sought.wants_all() {
        usize::MAX
    } else {
        UNPLACED_MOST
    };
    let more = plan.unplaced.len().saturating_sub(most);
    html! {
        @if !plan.unplaced.is_empty() {
            section aria-labelledby="unplaced" {
                h2 #unplaced { "Orders without a place" }
                @for order in plan.unplaced.iter().take(most) {
                    h3 { (order.order) ", " (counted(usize::try_from(order.quantity).unwrap_or(usize::MAX), "piece", "pieces")) }
                    ul { @for refusal in &order.refusals { li { strong { (refusal.brake) } ": " (lengths.text(&refusal.text)) } } }
                }
                @if more > 0 { p { "and " (more) " more; " a href=(sought.whole()) { "show all" } } }
            }
        }
    }
}

/// The runs of a day; when something is looked for, those of all days that are it.
pub(crate) fn runs(
    (kept, state): (&KeptPlan, &State),
    (clock, day): (Clock, NaiveDate),
    sought: &Sought,
    pins: bool,
) -> Markup {
    let window = clock.window(day);
    let on_day = |run: &Run| run.start < window.end && run.end > window.start;
    let lines = kept
        .plan
        .brakes
        .iter()
        .filter(|line| sought.takes_brake(&line.brake));
    let mut runs: Vec<(&BrakePlan, &Run)> = lines
        .flat_map(|line| line.runs.iter().map(move |run| (line, run)))
        .filter(|(line, run)| (sought.picks() || on_day(run)) && sought.takes_run(kept, line, run))
        .collect();
    if sought.picks() {
        runs.sort_by_key(|(_, run)| run.start);
    }
    let more = runs.len().saturating_sub(RUNS_MOST);
    html! {
        section aria-labelledby="runs" {
            h2 #runs {
                @if sought.picks() { (counted(runs.len(), "run found", "runs found")) ", all days" }
                @else { "Runs of " (super::clock::day_words(day)) }
            }
            @if runs.is_empty() {
                p { @if sought.narrows() { "No run of this plan is like that. " a href="/" { "Show everything" } } @else { "Nothing runs on that day." } }
            } @else {
                div.scroll tabindex="0" role="region" aria-label="Runs, the table" {
                    table {
                        thead { tr { @for column in ["Brake", "Start", "End", "Order", "Part", "Pieces", "Due", "Late", "Changeover", "Off / stays / on"] { th scope="col" { (column) } } } }
                        tbody { @for (line, run) in runs.iter().take(RUNS_MOST) { (run_row((kept, state, sought, pins), (clock, day), line, run)) } }
                    }
                }
                @if more > 0 { p { "and " (more) " more; look for something, or choose one brake." } }
            }
        }
    }
}

fn run_row(
    (kept, state, sought, pins): (&KeptPlan, &State, &Sought, bool),
    (clock, day): (Clock, NaiveDate),
    line: &BrakePlan,
    run: &Run,
) -> Markup {
    let change = &run.changeover;
    let name = kept
        .shop
        .part(&run.part)
        .map_or("", |part| part.name.as_str());
    let late = run.late > Seconds::ZERO;
    html! {
        tr.late[late] {
            td { (line.brake) }
            td { (clock.on(run.start, day)) }
            td { (clock.on(run.end, day)) }
            th scope="row" { (to_run(line, run, run.order.as_str())) @if run.pinned { " (fixed)" } @if state.pin(&run.order).is_some() { " (pinned)" }
                @if pins && !run.pinned { " " a.pin-link href=(sought.pinning(run.order.as_str())) aria-label=(format!("Pin {}", run.order)) { "pin" } } }
            td { (run.part) @if !name.is_empty() { " " span.small { (name) } } }
            td { (run.quantity) }
            td { (clock.short(run.due)) }
            td { @if late { strong { "late " (run.late) } } @else { "\u{2013}" } }
            td { @if change.work > Seconds::ZERO { (minutes(change.work)) " min" } @else { "\u{2013}" } }
            td { (tools(change)) }
        }
    }
}

/// Stations off, staying and on, and how many of those that stay are turned or slid.
fn tools(change: &Changeover) -> String {
    let (turned, slid) = (change.turn.len(), change.slide.len());
    let stay = change.keep.len() + turned + slid;
    let mut out = format!("{} / {stay} / {}", change.remove.len(), change.insert.len());
    for (count, what) in [(turned, "turned"), (slid, "slid")] {
        if count > 0 {
            out.push_str(&format!(", {count} {what}"));
        }
    }
    out
}

/// Orders that fit what is looked for and have no run in the plan.
pub(crate) fn others(kept: &KeptPlan, state: &State, sought: &Sought) -> Markup {
    let needle = sought.q.trim().to_lowercase();
    if needle.is_empty() {
        return html! {};
    }
    let planned = |id: &OrderId| {
        kept.plan
            .brakes
            .iter()
            .any(|line| line.runs.iter().any(|run| run.order == *id))
    };
    let has = |text: &str| text.to_lowercase().contains(&needle);
    let found: Vec<daybook::OrderLine> = state
        .order_lines()
        .filter(|order| has(order.id.as_str()) || has(order.part.as_str()) || has(&order.reference))
        .filter(|order| !planned(&order.id))
        .take(50)
        .collect();
    html! {
        @if !found.is_empty() {
            section aria-labelledby="others" {
                h2 #others { "Orders like that without a run in this plan" }
                ul { @for order in &found {
                    li { strong { (order.id) } ", " (order.done) " of " (order.quantity) " × " (order.part) ": " (order.status.word()) }
                } }
            }
        }
    }
}

/// The plan's totals beside those of two plain ways of planning.
pub(crate) fn totals(plan: &Plan) -> Markup {
    let columns = [
        &plan.totals,
        &plan.baselines.due_date_order,
        &plan.baselines.grouped_by_die,
    ];
    let row = |name: &str, value: &dyn Fn(&Totals) -> String| {
        html! { tr { th scope="row" { (name) } @for totals in columns { td { (value(totals)) } } } }
    };
    html! {
        section aria-labelledby="totals" {
            h2 #totals { "Totals beside two plain ways of planning" }
            div.scroll tabindex="0" role="region" aria-label="Totals, the table" {
                table {
                    thead { tr { td {} th scope="col" { "This plan" } th scope="col" { "By due date" } th scope="col" { "Grouped by die" } } }
                    tbody {
                        (row("Late orders", &|t| t.late_orders.to_string()))
                        (row("Weighted late hours", &|t| format!("{:.1}", t.weighted_late.hours())))
                        (row("Orders without a place", &|t| t.unplaced_orders.to_string()))
                        (row("Changeovers", &|t| t.changeovers.to_string()))
                        (row("Changeover minutes", &|t| minutes(t.changeover).to_string()))
                        (row("Bending hours", &|t| format!("{:.1}", t.run.hours())))
                        (row("Overtime hours", &|t| format!("{:.1}", t.overtime.hours())))
                        (row("Cost in changeover minutes", &|t| cost(t.objective).to_string()))
                    }
                }
            }
        }
    }
}

/// What is to be mended, or known, in the shop folder.
pub(crate) fn findings(findings: &[Finding]) -> Markup {
    let more = findings.len().saturating_sub(FINDINGS_MOST);
    html! {
        @if !findings.is_empty() {
            section aria-labelledby="findings" {
                h2 #findings { "Findings in the shop folder" }
                ul.findings {
                    @for finding in findings.iter().take(FINDINGS_MOST) { li class=(severity(finding.severity)) { (finding) } }
                    @if more > 0 { li { "and " (more) " more" } }
                }
            }
        }
    }
}

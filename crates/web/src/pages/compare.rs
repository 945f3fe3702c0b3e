//! The proposal against the published plan.

use super::clock::Clock;
use super::frame::{For, Reader, Send};
use super::words::{cost, counted, minutes, shifted, signed};
use daybook::State;
use daybook::differences::{Differences, Lateness, OrderChange, Placing, differences};
use maud::{Markup, html};
use model::Totals;
use serde_json::json;
use std::cmp::Reverse;
use units::Seconds;
use workshop::KeptPlan;

/// Orders that are listed; the others are counted.
const LISTED: usize = 40;

/// What publishing the proposal would change, and the button that does it.
pub(crate) fn compare(
    published: Option<&KeptPlan>,
    proposal: &KeptPlan,
    state: &State,
    reader: &Reader,
    (clock, all): (Clock, bool),
) -> Markup {
    let cause = state
        .proposals
        .get(&proposal.number)
        .map(|one| one.cause.as_str());
    html! {
        section.proposal aria-labelledby="proposal" {
            h2 #proposal { "Proposal " (proposal.number) @if published.is_some() { " against the published plan" } }
            p {
                "Made " (clock.short(proposal.made_at))
                @if let Some(cause) = cause.filter(|cause| !cause.is_empty()) { ": " (cause) }
                ". It plans from " (clock.short(proposal.plan.from)) "."
            }
            @if let Some(published) = published { (changes(published, proposal, state, clock, all)) }
            (publish(proposal, state, reader))
        }
    }
}

fn publish(proposal: &KeptPlan, state: &State, reader: &Reader) -> Markup {
    let ask = format!(
        "Publish proposal {}? The floor works to it from then on.",
        proposal.number
    );
    let send = Send {
        method: "PUT",
        path: "/api/v1/plans/published".to_owned(),
        on: state
            .published
            .as_ref()
            .map_or(For::Nothing, |now| For::Version(now.number)),
        with: json!({ "plan": proposal.number }),
        ask: Some(&ask),
    };
    html! {
        @if state.unfit_since > proposal.made_from {
            p.note { "A bed, a section or the shop's data has changed since. This proposal cannot be published; wait for the next one." }
        } @else if reader.decides {
            (send.form("", &html! { button.main type="submit" { "Publish proposal " (proposal.number) } }))
        } @else {
            p.note { "A manager publishes it." }
        }
    }
}

fn changes(before: &KeptPlan, after: &KeptPlan, state: &State, clock: Clock, all: bool) -> Markup {
    let all_changes = differences(&before.plan, &after.plan);
    // Orders that are finished or withdrawn are in no new plan; that is no change of plan.
    let gone = |change: &&OrderChange| {
        let order = state.orders.get(&change.order);
        let open = order.is_some_and(|order| !order.withdrawn && order.done < order.order.quantity);
        change.known == (true, false) && !open
    };
    let over = all_changes.orders.iter().filter(gone).count();
    let mut orders: Vec<&OrderChange> =
        all_changes.orders.iter().filter(|one| !gone(one)).collect();
    orders.sort_by_key(|one| (rank(one), Reverse(one.ends.map_or(0, |by| by.0.abs()))));
    html! {
        ul.sums { @for text in sums(&orders, over) { li { (text) } } }
        (terms(&all_changes, before, after, clock))
        (brakes(&all_changes))
        (listed(&orders, all))
    }
}

/// Worst first.
fn rank(change: &OrderChange) -> u8 {
    match (change.placing(), change.lateness(), change.moved.is_some()) {
        (Some(Placing::Lost(_)), _, _) => 0,
        (_, Some(Lateness::NewlyLate(_)), _) => 1,
        (_, Some(Lateness::LaterStill(_)), _) => 2,
        (_, Some(_), _) | (Some(_), _, _) => 3,
        (_, _, true) => 4,
        _ => 5,
    }
}

fn sums(orders: &[&OrderChange], over: usize) -> Vec<String> {
    let count = |what: &dyn Fn(&OrderChange) -> bool| orders.iter().filter(|one| what(one)).count();
    let of = |number: usize| counted(number, "order", "orders");
    let mut out = Vec::new();
    for (number, said) in [
        (
            count(&|one| matches!(one.placing(), Some(Placing::Lost(_)))),
            "lose a place",
        ),
        (
            count(&|one| matches!(one.lateness(), Some(Lateness::NewlyLate(_)))),
            "newly late",
        ),
        (
            count(&|one| matches!(one.lateness(), Some(Lateness::LaterStill(_)))),
            "late, and later still",
        ),
        (
            count(&|one| matches!(one.lateness(), Some(Lateness::LessLate(_)))),
            "less late",
        ),
        (
            count(&|one| matches!(one.lateness(), Some(Lateness::NoLonger(_)))),
            "no longer late",
        ),
        (count(&|one| one.known == (false, true)), "new in the plan"),
        (
            count(&|one| one.known == (true, false)),
            "no longer in the plan",
        ),
        (
            count(&|one| one.moved.is_some() && one.known == (true, true)),
            "on another brake",
        ),
        (
            count(&|one| one.starts.is_some_and(|by| by.0 > 0)),
            "start later",
        ),
        (
            count(&|one| one.starts.is_some_and(|by| by.0 < 0)),
            "start earlier",
        ),
    ] {
        if number > 0 {
            out.push(format!("{} {said}", of(number)));
        }
    }
    if out.is_empty() {
        out.push("No order moves.".to_owned());
    }
    if over > 0 {
        out.push(format!("{} finished or withdrawn since", of(over)));
    }
    out
}

fn terms(differences: &Differences, before: &KeptPlan, after: &KeptPlan, clock: Clock) -> Markup {
    let (was, is) = (&differences.before, &differences.after);
    let row = |name: &str, value: &dyn Fn(&Totals) -> i64| {
        let (was, is) = (value(was), value(is));
        html! { tr { th scope="row" { (name) } td { (was) } td { (is) } td { strong { (signed(is - was)) } } } }
    };
    html! {
        div.scroll tabindex="0" role="region" aria-label="Totals of both plans" {
            table {
                caption { "Totals of both plans" }
                thead { tr { td {} th scope="col" { "Published" } th scope="col" { "Proposal" } th scope="col" { "Change" } } }
                tbody {
                    (row("Late orders", &|t| t.late_orders.into()))
                    (row("Weighted late minutes", &|t| minutes(t.weighted_late)))
                    (row("Orders without a place", &|t| t.unplaced_orders.into()))
                    (row("Changeovers", &|t| t.changeovers.into()))
                    (row("Changeover minutes", &|t| minutes(t.changeover)))
                    (row("Runs", &|t| t.runs.into()))
                    (row("Bending minutes", &|t| minutes(t.run)))
                    (row("Overtime minutes", &|t| minutes(t.overtime)))
                    (row("Minutes off the starts people know", &|t| minutes(t.moved)))
                    (row("Orders on another brake than people know", &|t| t.other_brakes.into()))
                    (row("Cost in changeover minutes", &|t| cost(t.objective)))
                }
            }
        }
        @if before.plan.from != after.plan.from {
            p.small { "The published plan begins " (clock.short(before.plan.from)) ", the proposal "
                (clock.short(after.plan.from)) ": each total counts what its own plan holds." }
        }
    }
}

fn brakes(differences: &Differences) -> Markup {
    html! {
        @if !differences.brakes.is_empty() {
            details {
                summary { (counted(differences.brakes.len(), "brake changes", "brakes change")) }
                div.scroll tabindex="0" role="region" aria-label="Brakes that change" {
                    table {
                        thead { tr { th scope="col" { "Brake" } th scope="col" { "Runs" } th scope="col" { "Changeovers" } th scope="col" { "Changeover minutes" } th scope="col" { "Bending minutes" } } }
                        tbody {
                            @for one in &differences.brakes {
                                tr {
                                    th scope="row" { (one.brake) }
                                    td { (one.runs.0) " \u{2192} " (one.runs.1) }
                                    td { (one.changeovers.0) " \u{2192} " (one.changeovers.1) }
                                    td { (minutes(one.changeover.0)) " \u{2192} " (minutes(one.changeover.1)) }
                                    td { (minutes(one.run.0)) " \u{2192} " (minutes(one.run.1)) }
                                }
                            }
                        }
                    }
                }
            }
        }
    }
}

fn listed(orders: &[&OrderChange], all: bool) -> Markup {
    let most = if all { usize::MAX } else { LISTED };
    let more = orders.len().saturating_sub(most);
    html! {
        @if !orders.is_empty() {
            details {
                summary { (counted(orders.len(), "order changes", "orders change")) }
                div.scroll tabindex="0" role="region" aria-label="Orders that change" {
                    table {
                        thead { tr { th scope="col" { "Order" } th scope="col" { "Brake" } th scope="col" { "Starts" } th scope="col" { "Ends" } th scope="col" { "Lateness and place" } } }
                        tbody { @for one in orders.iter().take(most) { (order(one)) } }
                    }
                }
                @if more > 0 { p { "and " (more) " more; "  a href="/?all=yes" { "show all" } } }
            }
        }
    }
}

fn order(change: &OrderChange) -> Markup {
    let names = |ids: &std::collections::BTreeSet<units::BrakeId>| {
        let names: Vec<&str> = ids.iter().map(units::BrakeId::as_str).collect();
        if names.is_empty() {
            "\u{2013}".to_owned()
        } else {
            names.join(", ")
        }
    };
    let when = |by: Option<Seconds>| by.map_or_else(|| "\u{2013}".to_owned(), shifted);
    let late = match change.lateness() {
        Some(Lateness::NewlyLate(by)) => format!("newly late, by {by}"),
        Some(Lateness::LaterStill(by)) => format!("late, {by} more"),
        Some(Lateness::LessLate(by)) => format!("late, {by} less"),
        Some(Lateness::NoLonger(by)) => format!("no longer late by {by}"),
        None => String::new(),
    };
    let place = match change.placing() {
        Some(Placing::Lost(pieces)) => format!("{pieces} pieces lose their place"),
        Some(Placing::Found(pieces)) => format!("{pieces} pieces find a place"),
        None => String::new(),
    };
    html! {
        tr {
            th scope="row" { (change.order) }
            td { @if let Some((was, is)) = &change.moved { (names(was)) " \u{2192} " (names(is)) } @else { "same" } }
            td { (when(change.starts)) }
            td { (when(change.ends)) }
            td { (late) @if !late.is_empty() && !place.is_empty() { "; " } (place) }
        }
    }
}

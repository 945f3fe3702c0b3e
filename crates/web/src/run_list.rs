//! One brake's run list.

use maud::{Markup, html};
use model::{BrakePlan, Changeover, Run, Shop, Takedown};
use units::{Moment, Seconds};

/// The run list of one brake: its runs and, between them, changes that only take tools off.
pub(crate) fn run_list(shop: &Shop, brake: &BrakePlan) -> Markup {
    let heading = format!("brake-{}", brake.brake);
    let name = shop
        .brake(&brake.brake)
        .map_or("", |brake| brake.name.as_str());
    html! {
        section aria-labelledby=(heading) {
            h2 id=(heading) { (brake.brake) @if !name.is_empty() { " " span.name { (name) } } }
            @if brake.runs.is_empty() && brake.takedowns.is_empty() {
                p { "Nothing to run." }
            } @else {
                div.scroll tabindex="0" role="region" aria-labelledby=(heading) {
                    table {
                        thead { tr {
                            @for column in COLUMNS { th scope="col" { (column) } }
                        } }
                        tbody { @for row in rows(brake) { (line(shop, &row)) } }
                    }
                }
            }
        }
    }
}

const COLUMNS: [&str; 10] = [
    "Changeover",
    "Minutes",
    "Off / stays / on",
    "Start",
    "End",
    "Order",
    "Part",
    "Pieces",
    "Due",
    "Late",
];

enum Row<'a> {
    Run(&'a Run),
    Takedown(&'a Takedown),
}

impl Row<'_> {
    fn start(&self) -> Moment {
        match self {
            Row::Run(run) => run.changeover.start,
            Row::Takedown(takedown) => takedown.start,
        }
    }
}

fn rows(brake: &BrakePlan) -> Vec<Row<'_>> {
    let runs = brake.runs.iter().map(Row::Run);
    let mut rows: Vec<Row<'_>> = brake
        .takedowns
        .iter()
        .map(Row::Takedown)
        .chain(runs)
        .collect();
    // Stable: a takedown that ends as a changeover starts comes first.
    rows.sort_by_key(Row::start);
    rows
}

fn line(shop: &Shop, row: &Row<'_>) -> Markup {
    match row {
        Row::Run(run) => run_line(shop, run),
        Row::Takedown(takedown) => takedown_line(shop, takedown),
    }
}

fn run_line(shop: &Shop, run: &Run) -> Markup {
    let change = &run.changeover;
    let name = shop.part(&run.part).map_or("", |part| part.name.as_str());
    let late = run.late > Seconds::ZERO;
    html! {
        tr.late[late] {
            td { (documents::local(change.start, shop.zone)) }
            td { (minutes(change.work)) }
            td { (tools(change)) }
            td { (documents::local(run.start, shop.zone)) }
            td { (documents::local(run.end, shop.zone)) }
            td { (run.order) @if run.pinned { " (fixed)" } }
            td { (run.part) @if !name.is_empty() { " " span.name { (name) } } }
            td { (run.quantity) }
            td { (documents::local(run.due, shop.zone)) }
            td { @if late { (run.late) } @else { "\u{2013}" } }
        }
    }
}

fn takedown_line(shop: &Shop, takedown: &Takedown) -> Markup {
    html! {
        tr.takedown {
            td { (documents::local(takedown.start, shop.zone)) }
            td { (minutes(takedown.work)) }
            td { (takedown.remove.len()) " off" }
            td colspan="7" { "Tools taken off for " (takedown.wanted_by) }
        }
    }
}

/// Stations off, staying and on, and how many of those that stay are turned or slid.
fn tools(change: &Changeover) -> String {
    let (turned, slid) = (change.turn.len(), change.slide.len());
    let (off, stay) = (change.remove.len(), change.keep.len() + turned + slid);
    let mut out = format!("{off} / {stay} / {}", change.insert.len());
    for (count, what) in [(turned, "turned"), (slid, "slid")] {
        if count > 0 {
            out.push_str(&format!(", {count} {what}"));
        }
    }
    out
}

/// Whole minutes, rounded up: a setter told 3 minutes should not need 3 and a half.
fn minutes(work: Seconds) -> i64 {
    work.0.saturating_add(59).div_euclid(60)
}

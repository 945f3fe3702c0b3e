//! The board as a page.

use crate::api::severity;
use crate::run_list::run_list;
use crate::state::Board;
use crate::{BoardState, Current, Standing};
use axum::extract::State;
use axum::http::header;
use axum::response::{Html, IntoResponse, Response};
use maud::{DOCTYPE, Markup, html};
use model::Totals;
use units::Finding;

/// Shown on every board, before anything else a reader could act on.
const CAUTION: &str = "Bending can maim. This plan advises; a trained person sets the machine up and answers for \
     the first stroke. The machine's manual, the tool maker's load ratings and local codes go \
     first.";

/// Findings beyond this are counted, not listed: whoever mends a hundred looks again anyway.
const FINDINGS_MOST: usize = 100;

pub(crate) async fn stylesheet() -> Response {
    let kind = [(header::CONTENT_TYPE, "text/css; charset=utf-8")];
    (kind, include_str!("../assets/board.css")).into_response()
}

pub(crate) async fn board(State(state): State<BoardState>) -> Html<String> {
    Html(page(&state.read()).into_string())
}

fn page(board: &Board) -> Markup {
    let title = match &board.current {
        Some(current) => current.plan().shop.as_str(),
        None => "No plan yet",
    };
    html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                title { (title) " \u{2013} brake plan" }
                link rel="stylesheet" href="/board.css";
            }
            body {
                header {
                    h1 { (title) }
                    (standing(board))
                }
                main {
                    p.caution { strong { "Caution. " } (CAUTION) }
                    @if let Some(current) = &board.current {
                        (totals(current))
                        @for brake in &current.plan().brakes {
                            (run_list(current.shop(), brake))
                        }
                        (unplaced(current))
                    }
                    (findings(&board.findings))
                }
            }
        }
    }
}

fn standing(board: &Board) -> Markup {
    let made = board.current.as_ref().map(|current| {
        let zone = current.shop().zone;
        format!(
            "Plan from {} to {}, made {} from revision {} of the shop folder.",
            documents::local(current.plan().from, zone),
            documents::local(current.plan().until, zone),
            documents::local(current.made_at(), zone),
            current.revision(),
        )
    });
    let said = match &board.standing {
        Standing::Starting => "The shop folder has not been read yet.".to_owned(),
        Standing::UpToDate => String::new(),
        Standing::Planning => "The shop folder has changed and is being planned.".to_owned(),
        Standing::Faults if board.current.is_some() => {
            "The shop folder has faults; this plan is from before. See the findings.".to_owned()
        }
        Standing::Faults => "The shop folder has faults; see the findings.".to_owned(),
        Standing::Trouble(text) => format!("Planning is held up: {text}"),
    };
    html! {
        @if let Some(made) = made { p { (made) } }
        @if !said.is_empty() { p.standing role="status" { (said) } }
    }
}

fn totals(current: &Current) -> Markup {
    let plan = current.plan();
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
            h2 #totals { "Totals" }
            div.scroll tabindex="0" role="region" aria-labelledby="totals" {
                table {
                    thead { tr {
                        td {}
                        th scope="col" { "This plan" }
                        th scope="col" { "By due date" }
                        th scope="col" { "Grouped by die" }
                    } }
                    tbody {
                        (row("Late orders", &|t| t.late_orders.to_string()))
                        (row("Weighted late hours", &|t| format!("{:.1}", t.weighted_late.hours())))
                        (row("Orders without a place", &|t| t.unplaced_orders.to_string()))
                        (row("Changeovers", &|t| t.changeovers.to_string()))
                        (row("Changeover minutes", &|t| format!("{:.0}", t.changeover.minutes())))
                        (row("Bending hours", &|t| format!("{:.1}", t.run.hours())))
                        (row("Overtime hours", &|t| format!("{:.1}", t.overtime.hours())))
                        (row("Cost in changeover minutes", &|t| cost(t.objective)))
                    }
                }
            }
        }
    }
}

/// The objective counts sixtieths of a changeover second: 3 600 to the minute.
fn cost(objective: i64) -> String {
    // Rounded half up in whole numbers; a cost is never negative.
    (objective.saturating_add(1_800) / 3_600).to_string()
}

fn unplaced(current: &Current) -> Markup {
    let unplaced = &current.plan().unplaced;
    html! {
        @if !unplaced.is_empty() {
            section aria-labelledby="unplaced" {
                h2 #unplaced { "Orders without a place" }
                @for order in unplaced {
                    h3 { (order.order) ", " (order.quantity) " pieces" }
                    ul {
                        @for refusal in &order.refusals {
                            li { strong { (refusal.brake) } ": " (refusal.text) }
                        }
                    }
                }
            }
        }
    }
}

fn findings(findings: &[Finding]) -> Markup {
    let more = findings.len().saturating_sub(FINDINGS_MOST);
    html! {
        @if !findings.is_empty() {
            section aria-labelledby="findings" {
                h2 #findings { "Findings in the shop folder" }
                ul {
                    @for finding in findings.iter().take(FINDINGS_MOST) {
                        li class=(severity(finding.severity)) { (finding) }
                    }
                    @if more > 0 { li { "and " (more) " more" } }
                }
            }
        }
    }
}

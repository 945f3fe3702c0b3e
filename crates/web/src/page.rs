//! The board as a page, and the page to sign in.

use crate::problem::severity;
use crate::run_list::run_list;
use maud::{DOCTYPE, Markup, html};
use model::{Plan, Totals};
use std::sync::Arc;
use units::Finding;
use workshop::{KeptPlan, Standing};

/// Shown on every board, before anything else a reader could act on.
pub(crate) const CAUTION: &str = "Bending can maim. This plan advises; a trained person sets the machine up and answers for \
     the first stroke. The machine's manual, the tool maker's load ratings and local codes go \
     first.";

/// Findings beyond this are counted, not listed: whoever mends a hundred looks again anyway.
const FINDINGS_MOST: usize = 100;

/// Everything the board shows, taken at one moment.
#[derive(Debug)]
pub(crate) struct Board {
    /// The published plan, or the latest proposal when none is published.
    pub(crate) kept: Option<Arc<KeptPlan>>,
    /// Whether it is the published one.
    pub(crate) published: bool,
    /// How the site stands.
    pub(crate) standing: Standing,
    /// What is to be mended in the shop folder.
    pub(crate) findings: Arc<[Finding]>,
}

/// The board.
pub(crate) fn board(board: &Board) -> Markup {
    let title = match &board.kept {
        Some(kept) => kept.plan.shop.as_str(),
        None => "No plan yet",
    };
    framed(
        &format!("{title} \u{2013} brake plan"),
        &html! {
            header {
                h1 { (title) }
                (standing(board))
            }
            main {
                p.caution { strong { "Caution. " } (CAUTION) }
                @if let Some(kept) = &board.kept {
                    (totals(&kept.plan))
                    @for brake in &kept.plan.brakes {
                        (run_list(&kept.shop, brake))
                    }
                    (unplaced(&kept.plan))
                }
                (findings(&board.findings))
            }
        },
    )
}

/// The page that asks for account and password.
pub(crate) fn sign_in(said: Option<&str>) -> Markup {
    framed(
        "Sign in \u{2013} brake plan",
        &html! {
            header { h1 { "Sign in" } }
            main {
                @if let Some(said) = said { p.standing role="alert" { (said) } }
                form method="post" action="/sign-in" {
                    p {
                        label for="account" { "Account" } " "
                        input #account name="account" autocomplete="username" required;
                    }
                    p {
                        label for="password" { "Password" } " "
                        input #password name="password" type="password"
                            autocomplete="current-password" required;
                    }
                    p { button type="submit" { "Sign in" } }
                }
            }
        },
    )
}

fn framed(title: &str, body: &Markup) -> Markup {
    html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                title { (title) }
                link rel="stylesheet" href="/board.css";
            }
            body { (body) }
        }
    }
}

fn standing(board: &Board) -> Markup {
    let made = board.kept.as_ref().map(|kept| {
        let zone = kept.shop.zone;
        format!(
            "{} {} from {} to {}, made {}.",
            if board.published { "Plan" } else { "Proposal" },
            kept.number,
            documents::local(kept.plan.from, zone),
            documents::local(kept.plan.until, zone),
            documents::local(kept.made_at, zone),
        )
    });
    let proposed = board.kept.is_some() && !board.published;
    let said = match &board.standing {
        Standing::Waiting | Standing::UpToDate => String::new(),
        Standing::Planning => "A proposal is being made.".to_owned(),
        Standing::Faults if board.kept.is_some() => {
            "The shop folder has faults; this plan is from before. See the findings.".to_owned()
        }
        Standing::Faults => "The shop folder has faults; see the findings.".to_owned(),
        Standing::Trouble(text) => format!("Planning is held up: {text}"),
    };
    html! {
        @if let Some(made) = made { p { (made) } }
        @if proposed {
            p.standing { "No plan is published. This is a proposal; the floor does not work to it." }
        }
        @if !said.is_empty() { p.standing role="status" { (said) } }
    }
}

fn totals(plan: &Plan) -> Markup {
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

fn unplaced(plan: &Plan) -> Markup {
    let unplaced = &plan.unplaced;
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

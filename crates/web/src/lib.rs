//! The board and its data over HTTP: what each brake runs, in what order, and what will be late.
//!
//! | path | answers |
//! | --- | --- |
//! | `/` | the board: run lists, unplaced orders, totals beside two plain ways of planning |
//! | `/api/v1/plan` | the plan as JSON, the very text that was stored |
//! | `/api/v1/findings` | what is to be mended in the shop folder |
//! | `/healthz` | 200 while the program runs |
//! | `/readyz` | 200 once a plan is up, 503 before |
//!
//! Whoever hosts the [`router`] feeds it through a [`BoardState`]. Errors are answered as
//! `application/problem+json` (RFC 9457).
//!
//! Invariants: reads what it is given and decides nothing; no clock, no files, no database. A plan
//! the audit has not accepted cannot be put up: [`Current::new`] refuses it. Pages hold no script,
//! and every text from the shop's files is escaped.

mod api;
mod guard;
mod page;
mod problem;
mod run_list;
mod state;

pub use state::{BoardState, Current, Standing};

use axum::Router;
use axum::middleware::{from_fn, map_response};
use axum::routing::get;

/// The board's routes.
///
/// Only requests addressed to this machine by a loopback name are answered: there are no roles yet,
/// so a page from elsewhere must not be able to read the board through somebody's browser.
pub fn router(state: BoardState) -> Router {
    Router::new()
        .route("/", get(page::board))
        .route("/board.css", get(page::stylesheet))
        .route("/api/v1/plan", get(api::plan))
        .route("/api/v1/findings", get(api::findings))
        .route("/healthz", get(api::healthz))
        .route("/readyz", get(api::readyz))
        .fallback(problem::not_found)
        .method_not_allowed_fallback(problem::only_reading)
        .with_state(state)
        .layer(from_fn(guard::loopback_only))
        .layer(map_response(guard::headers))
}

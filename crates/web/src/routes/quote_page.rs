//! The estimator's page.

use crate::app::{App, Peer, Site};
use crate::guard::is_foreign;
use crate::pages::frame::{Here, nothing};
use crate::pages::quote::{AskedQuote, QuotePage};
use crate::problem::Problem;
use crate::routes::pages::{frame, reader};
use crate::routes::quotes::{QuoteRequest, answered};
use axum::extract::rejection::QueryRejection;
use axum::extract::{Query, State};
use axum::http::{HeaderMap, StatusCode};
use axum::response::{Html, IntoResponse, Response};
use workshop::Quoted;

/// The page with its form; with a question in the address, the answer too. It works without script, and
/// the question can be kept as a bookmark.
pub(crate) async fn quote(
    State(app): State<App>,
    site: Site,
    peer: Peer,
    headers: HeaderMap,
    asked: Result<Query<AskedQuote>, QueryRejection>,
) -> Result<Response, Problem> {
    let known = match reader(&app, &site, (&headers, peer), "/quote").await? {
        Ok(known) => known,
        Err(elsewhere) => return Ok(elsewhere),
    };
    let state = site.office.state();
    if !known.0.asks {
        let frame = frame(&site, &state, &known, Here::Nowhere, "Not for this account");
        let said = "Estimators and managers ask for dates with odds.";
        let page = nothing(&frame, "Not for this account", said).into_string();
        return Ok((StatusCode::FORBIDDEN, Html(page)).into_response());
    }
    let asked = asked.map(|Query(asked)| asked).unwrap_or_default();
    // An answer takes all cores for a second or two: pages elsewhere cannot make a browser ask.
    let answer = if asked.asks() && !is_foreign(&app, &headers) {
        Some(answer(&site, &asked, known.0.lengths).await)
    } else {
        None
    };
    let frame = frame(&site, &state, &known, Here::Quote, "Quote");
    let page = QuotePage {
        frame,
        shop: state.base().map(|base| base.shop()),
        asked: &asked,
        answer: answer
            .as_ref()
            .map(|answer| answer.as_ref().map_err(Clone::clone)),
    };
    Ok(Html(page.page().into_string()).into_response())
}

async fn answer(
    site: &Site,
    asked: &AskedQuote,
    lengths: crate::pages::lengths::Lengths,
) -> Result<Quoted, String> {
    let body = asked.body(lengths)?;
    let body: QuoteRequest =
        serde_json::from_value(body).map_err(|error| format!("The form does not fit: {error}."))?;
    let quoted = answered(site, &body).await;
    quoted.map_err(|problem| problem.detail().to_owned())
}

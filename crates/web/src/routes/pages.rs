//! Pages for people.

use crate::access::{self, Who};
use crate::app::{App, Peer, Site};
use crate::page::{self, Board};
use crate::problem::Problem;
use crate::routes::session::{Credentials, begin};
use axum::Form;
use axum::extract::State;
use axum::http::{HeaderMap, StatusCode, header};
use axum::response::{Html, IntoResponse, Redirect, Response};

/// The board's stylesheet.
pub(crate) async fn stylesheet() -> Response {
    let kind = [(header::CONTENT_TYPE, "text/css; charset=utf-8")];
    (kind, include_str!("../../assets/board.css")).into_response()
}

/// The board, for whoever may read; others are asked to sign in.
pub(crate) async fn board(
    State(app): State<App>,
    site: Site,
    peer: Peer,
    headers: HeaderMap,
) -> Result<Response, Problem> {
    let who: Option<Who> = access::identify(&app, &site, &headers, peer).await?;
    if who.is_none() {
        return Ok(Redirect::to("/sign-in").into_response());
    }
    let (published, kept) = match site.office.published().await? {
        Some(kept) => (true, Some(kept)),
        None => (false, site.office.proposal().await?),
    };
    let board = Board {
        kept,
        published,
        findings: site.office.findings(),
        standing: site.office.standing(),
    };
    Ok(Html(page::board(&board).into_string()).into_response())
}

/// Asks for account and password.
pub(crate) async fn sign_in() -> Html<String> {
    Html(page::sign_in(None).into_string())
}

/// Begins a session, or asks again.
pub(crate) async fn signed_in(
    State(app): State<App>,
    site: Site,
    peer: Peer,
    form: Result<Form<Credentials>, axum::extract::rejection::FormRejection>,
) -> Response {
    let begun = match form {
        Ok(Form(credentials)) => begin(&app, &site, peer, credentials).await,
        Err(_) => Err(Problem::unknown_caller_with(
            "Account and password do not fit.",
        )),
    };
    match begun {
        Ok(begun) => {
            let cookie = [(header::SET_COOKIE, begun.cookie)];
            (cookie, Redirect::to("/")).into_response()
        }
        Err(problem) => {
            let page = page::sign_in(Some(problem.detail()));
            let mut response = problem.into_response();
            let status = match response.status() {
                StatusCode::UNAUTHORIZED => StatusCode::FORBIDDEN,
                other => other,
            };
            *response.status_mut() = status;
            let retry = response.headers().get(header::RETRY_AFTER).cloned();
            let mut page = (status, Html(page.into_string())).into_response();
            if let Some(retry) = retry {
                page.headers_mut().insert(header::RETRY_AFTER, retry);
            }
            page
        }
    }
}

//! Signing in and out in a browser, and who one is.

use crate::access::{By, Who, session_cookie_line};
use crate::app::{App, Peer, Site};
use crate::input::{Body, Id, Line};
use crate::problem::Problem;
use crate::roles::Role;
use crate::secrets;
use crate::wire::When;
use axum::Json;
use axum::extract::State;
use axum::http::{StatusCode, header};
use axum::response::{IntoResponse, Response};
use serde::{Deserialize, Serialize};
use std::time::Instant;
use tokio::task::spawn_blocking;
use units::Moment;
use utoipa::ToSchema;

/// Who signs in.
#[derive(Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub(crate) struct Credentials {
    #[schema(examples("M-1"))]
    pub(crate) account: Id,
    #[schema(value_type = Line<1, 256>, examples("nine cold chisels"))]
    pub(crate) password: Line<1, 256>,
}

/// Somebody who is signed in, or whose token it is.
#[derive(Serialize, ToSchema)]
pub(crate) struct Me {
    account: String,
    role: Role,
    /// How: `open-machine`, `token` or `session`.
    #[schema(examples("session"))]
    by: &'static str,
    /// The word that writes of a session carry in `X-CSRF-Token`; with a session only.
    #[serde(skip_serializing_if = "Option::is_none")]
    csrf: Option<String>,
    /// When the session ends; with a session only.
    #[serde(skip_serializing_if = "Option::is_none")]
    expires: Option<When>,
}

/// Show who one is, and what a session's writes must carry.
#[utoipa::path(get, path = "/api/v1/me", tag = "people", responses((status = 200, body = Me)))]
pub(crate) async fn me(who: Who) -> Json<Me> {
    let (by, csrf, expires) = match who.by {
        By::OpenMachine => ("open-machine", None, None),
        By::Token => ("token", None, None),
        By::Session(signed) => ("session", Some(signed.word), Some(When(signed.expires))),
    };
    Json(Me {
        account: who.name,
        role: who.role,
        by,
        csrf,
        expires,
    })
}

/// A session that has begun.
pub(crate) struct Begun {
    pub(crate) cookie: String,
    word: String,
    expires: Moment,
    role: Role,
}

/// Begins a session when account and password are right.
pub(crate) async fn begin(
    app: &App,
    site: &Site,
    peer: Peer,
    credentials: Credentials,
) -> Result<Begun, Problem> {
    let name = credentials.account.0;
    let now = Instant::now();
    let too_often = |seconds| {
        let detail = format!("Too many tries to sign in; the next in {seconds} s.");
        Problem::too_many(detail, seconds)
    };
    app.sign_ins_of_address
        .take(&peer.name(), now)
        .map_err(too_often)?;
    app.sign_ins_of_account
        .take(&name, now)
        .map_err(too_often)?;
    let account = site.office.account(&name).await?;
    let usable = account.filter(|account| !account.disabled);
    let role = usable.as_ref().and_then(|account| Role::of(&account.role));
    let hashed = usable.and_then(|account| account.password);
    let turn = app
        .hashing
        .acquire()
        .await
        .map_err(|error| Problem::fault(&error))?;
    let password = credentials.password.0;
    let checked = spawn_blocking(move || secrets::check_password(&password, hashed.as_deref()));
    let right = checked.await.map_err(|error| Problem::fault(&error))?;
    drop(turn);
    let Some(role) = role.filter(|_| right) else {
        tracing::warn!(account = name, peer = peer.name(), "signing in failed");
        return Err(Problem::unknown_caller_with(
            "Account and password do not fit.",
        ));
    };
    let session = secrets::random_word().map_err(|error| Problem::fault(&error))?;
    let word = secrets::session_word(&session);
    let expires = site.office.now() + app.limits.session;
    let (hash, word_hash) = (secrets::hash(&session), secrets::hash(&word));
    site.office
        .add_session(&hash, &name, &word_hash, expires)
        .await?;
    tracing::info!(account = name, "signed in");
    Ok(Begun {
        cookie: session_cookie_line(app, site, &session, app.limits.session.0),
        word,
        expires,
        role,
    })
}

/// Sign in with a password. The session is in the cookie that comes with the answer.
#[utoipa::path(post, path = "/api/v1/session", tag = "people", request_body = Credentials,
    responses((status = 200, body = Me, headers(("Set-Cookie" = String)))))]
pub(crate) async fn sign_in(
    State(app): State<App>,
    site: Site,
    peer: Peer,
    Body(credentials): Body<Credentials>,
) -> Result<Response, Problem> {
    let name = credentials.account.0.clone();
    let begun = begin(&app, &site, peer, credentials).await?;
    let me = Me {
        account: name,
        role: begun.role,
        by: "session",
        csrf: Some(begun.word),
        expires: Some(When(begun.expires)),
    };
    Ok(([(header::SET_COOKIE, begun.cookie)], Json(me)).into_response())
}

/// Sign out: the session ends. A token has no session to end.
#[utoipa::path(delete, path = "/api/v1/session", tag = "people", responses((status = 204)))]
pub(crate) async fn sign_out(
    State(app): State<App>,
    site: Site,
    who: Who,
) -> Result<Response, Problem> {
    let By::Session(signed) = &who.by else {
        return Err(Problem::conflict("There is no session to end."));
    };
    site.office.end_session(&signed.hash).await?;
    let cookie = session_cookie_line(&app, &site, "", 0);
    Ok((StatusCode::NO_CONTENT, [(header::SET_COOKIE, cookie)]).into_response())
}

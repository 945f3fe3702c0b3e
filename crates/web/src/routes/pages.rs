//! Pages for people.

use crate::access::{self, Who};
use crate::app::{App, Peer, Site};
use crate::page;
use crate::pages::bench::{Bench, Chosen};
use crate::pages::desk::Desk;
use crate::pages::frame::{Frame, Here, Reader, nothing};
use crate::pages::sought::Sought;
use crate::pages::wall::Wall;
use crate::pages::{brake_page, clock_of, query_word};
use crate::problem::Problem;
use crate::routes::session::{Credentials, begin};
use axum::Form;
use axum::extract::rejection::{FormRejection, PathRejection, QueryRejection};
use axum::extract::{Path, Query, State};
use axum::http::{HeaderMap, StatusCode, header};
use axum::response::{Html, IntoResponse, Redirect, Response};
use serde::Deserialize;
use std::sync::Arc;
use workshop::{KeptPlan, RunBend, run_bends};

/// The stylesheet.
pub(crate) async fn stylesheet() -> Response {
    let kind = [(header::CONTENT_TYPE, "text/css; charset=utf-8")];
    (kind, include_str!("../../assets/board.css")).into_response()
}

/// The script.
pub(crate) async fn script() -> Response {
    let kind = [(header::CONTENT_TYPE, "text/javascript; charset=utf-8")];
    (kind, include_str!("../../assets/board.js")).into_response()
}

/// The script that keeps pages for when there is no connection.
pub(crate) async fn keeper() -> Response {
    let kind = [(header::CONTENT_TYPE, "text/javascript; charset=utf-8")];
    (kind, include_str!("../../assets/keep.js")).into_response()
}

/// Who asks for a page; whoever may not read is sent to sign in, and comes back to `here`.
async fn reader(
    app: &App,
    site: &Site,
    (headers, peer): (&HeaderMap, Peer),
    here: &str,
) -> Result<Result<Reader, Response>, Problem> {
    let who: Option<Who> = access::identify(app, site, headers, peer).await?;
    Ok(match who {
        Some(who) => Ok(Reader::of(&who)),
        None if here == "/" => Err(Redirect::to("/sign-in").into_response()),
        None => Err(Redirect::to(&format!("/sign-in?next={}", query_word(here))).into_response()),
    })
}

fn frame<'a>(
    site: &Site,
    state: &'a daybook::State,
    reader: &'a Reader,
    here: Here<'a>,
    title: &str,
) -> Frame<'a> {
    let brakes = state.base().map_or(&[][..], |base| &base.shop().brakes);
    Frame {
        title: format!("{title} \u{2013} brake plan"),
        here,
        reader,
        brakes: brakes.iter().map(|brake| &brake.id).collect(),
        event: state.number,
        now: site.office.now(),
        clock: clock_of(state),
    }
}

/// The manager's page.
pub(crate) async fn desk(
    State(app): State<App>,
    site: Site,
    peer: Peer,
    headers: HeaderMap,
    sought: Result<Query<Sought>, QueryRejection>,
) -> Result<Response, Problem> {
    let reader = match reader(&app, &site, (&headers, peer), "/").await? {
        Ok(reader) => reader,
        Err(elsewhere) => return Ok(elsewhere),
    };
    let (published, proposal) = (
        site.office.published().await?,
        site.office.proposal().await?,
    );
    // Taken after the plans: it knows of everything they do.
    let state = site.office.state();
    let title = match published.as_ref().or(proposal.as_ref()) {
        Some(kept) => kept.plan.shop.clone(),
        None => "No plan yet".to_owned(),
    };
    let desk = Desk {
        frame: frame(&site, &state, &reader, Here::Desk, &title),
        state: &state,
        published,
        proposal,
        standing: site.office.standing(),
        findings: site.office.findings(),
        sought: sought.map(|Query(sought)| sought).unwrap_or_default(),
    };
    Ok(Html(desk.page().into_string()).into_response())
}

/// The wall.
pub(crate) async fn wall(
    State(app): State<App>,
    site: Site,
    peer: Peer,
    headers: HeaderMap,
) -> Result<Response, Problem> {
    let reader = match reader(&app, &site, (&headers, peer), "/wall").await? {
        Ok(reader) => reader,
        Err(elsewhere) => return Ok(elsewhere),
    };
    let kept = site.office.published().await?;
    let state = site.office.state();
    let wall = Wall {
        frame: frame(&site, &state, &reader, Here::Wall, "Wall"),
        state: &state,
        brakes: state.base().map_or(&[][..], |base| &base.shop().brakes),
        kept: kept.as_deref(),
    };
    Ok(Html(wall.page().into_string()).into_response())
}

/// Which run to show.
#[derive(Debug, Default, Deserialize)]
pub(crate) struct AskedRun {
    #[serde(default)]
    run: String,
}

/// A brake's page.
pub(crate) async fn bench(
    State(app): State<App>,
    site: Site,
    peer: Peer,
    headers: HeaderMap,
    path: Result<Path<String>, PathRejection>,
    asked: Result<Query<AskedRun>, QueryRejection>,
) -> Result<Response, Problem> {
    let name = path.map(|Path(name)| name).unwrap_or_default();
    let state = site.office.state();
    let brakes = state.base().map_or(&[][..], |base| &base.shop().brakes);
    let brake = brakes.iter().find(|brake| brake.id.as_str() == name);
    // An unknown name is not carried along: it could be anything.
    let here = brake.map_or_else(|| "/".to_owned(), |brake| brake_page(&brake.id));
    let reader = match reader(&app, &site, (&headers, peer), &here).await? {
        Ok(reader) => reader,
        Err(elsewhere) => return Ok(elsewhere),
    };
    let Some(brake) = brake else {
        let frame = frame(&site, &state, &reader, Here::Nowhere, "No such brake");
        let said =
            "The shop has no brake of that name. The brakes are named at the top of the page.";
        let page = nothing(&frame, "No such brake", said).into_string();
        return Ok((StatusCode::NOT_FOUND, Html(page)).into_response());
    };
    let published = match &state.published {
        Some(now) => site.office.plan(now.plan).await?,
        None => None,
    };
    let asked = asked.map(|Query(asked)| asked.run).unwrap_or_default();
    let line = published.as_ref().and_then(|kept| {
        let mut lines = kept.plan.brakes.iter();
        lines.find(|line| line.brake == brake.id)
    });
    let chosen = Chosen::of(&state, brake, line, &asked);
    let (now, shown) = (chosen.place.now, chosen.shown());
    let names = (
        now.map(|run| run.name.clone()),
        shown.map(|run| run.name.clone()),
    );
    let bends_now = studied(published.as_ref(), brake, names.0.clone()).await?;
    let bends_shown = if names.0 == names.1 {
        Vec::new()
    } else {
        studied(published.as_ref(), brake, names.1).await?
    };
    let bench = Bench {
        frame: frame(
            &site,
            &state,
            &reader,
            Here::Brake(&brake.id),
            brake.id.as_str(),
        ),
        state: &state,
        brake,
        kept: published.as_deref(),
        chosen,
        bends_now,
        bends_shown,
    };
    Ok(Html(bench.page().into_string()).into_response())
}

/// The bends of a run of the published plan, engineered again on a thread of its own.
async fn studied(
    kept: Option<&Arc<KeptPlan>>,
    brake: &model::Brake,
    run: Option<String>,
) -> Result<Vec<RunBend>, Problem> {
    let (Some(kept), Some(name)) = (kept.cloned(), run) else {
        return Ok(Vec::new());
    };
    let id = brake.id.clone();
    let study = tokio::task::spawn_blocking(move || {
        let brake = kept.shop.brake(&id)?;
        let line = kept.plan.brakes.iter().find(|line| line.brake == id)?;
        let run = line.runs.iter().find(|run| run.name == name)?;
        Some(run_bends(&kept.shop, brake, run))
    });
    let study = study.await.map_err(|error| Problem::fault(&error))?;
    Ok(study.unwrap_or_default())
}

/// The page to go to after signing in.
#[derive(Debug, Default, Deserialize)]
pub(crate) struct Next {
    next: Option<String>,
}

impl Next {
    /// A page of ours, or none: whoever made the address must not lead people elsewhere.
    fn ours(&self) -> Option<&str> {
        let next = self.next.as_deref()?;
        let plain = |byte: u8| byte.is_ascii_alphanumeric() || b"/-_.~%".contains(&byte);
        let known = next == "/wall" || next.starts_with("/brakes/");
        (known && next.bytes().all(plain)).then_some(next)
    }
}

fn next(asked: Result<Query<Next>, QueryRejection>) -> Next {
    asked.map(|Query(next)| next).unwrap_or_default()
}

/// Asks for account and password.
pub(crate) async fn sign_in(asked: Result<Query<Next>, QueryRejection>) -> Html<String> {
    Html(page::sign_in(None, next(asked).ours()).into_string())
}

/// Begins a session, or asks again.
pub(crate) async fn signed_in(
    State(app): State<App>,
    site: Site,
    peer: Peer,
    asked: Result<Query<Next>, QueryRejection>,
    form: Result<Form<Credentials>, FormRejection>,
) -> Response {
    let next = next(asked);
    let begun = match form {
        Ok(Form(credentials)) => begin(&app, &site, peer, credentials).await,
        Err(_) => Err(Problem::unknown_caller_with(
            "Account and password do not fit.",
        )),
    };
    match begun {
        Ok(begun) => {
            let cookie = [(header::SET_COOKIE, begun.cookie)];
            (cookie, Redirect::to(next.ours().unwrap_or("/"))).into_response()
        }
        Err(problem) => {
            let page = page::sign_in(Some(problem.detail()), next.ours());
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

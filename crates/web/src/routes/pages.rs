//! Pages for people.

use crate::access::{self, Who, cookie};
use crate::app::{App, Peer, Site};
use crate::page;
use crate::pages::bench::{Bench, Chosen};
use crate::pages::desk::Desk;
use crate::pages::frame::{Frame, Here, Reader, nothing};
use crate::pages::lengths::{COOKIE, Lengths};
use crate::pages::sites::sites as choice;
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

/// The mark in the browser's tab.
pub(crate) async fn mark() -> Response {
    let kind = [(header::CONTENT_TYPE, "image/svg+xml")];
    (kind, include_str!("../../assets/favicon.svg")).into_response()
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

/// Who reads a page, and the other sites they may see.
pub(crate) type Known = (Reader, Vec<(String, String)>);

/// Who asks for a page; whoever may not read is sent to sign in, and comes back to `here`.
pub(crate) async fn reader(
    app: &App,
    site: &Site,
    (headers, peer): (&HeaderMap, Peer),
    here: &str,
) -> Result<Result<Known, Response>, Problem> {
    let who: Option<Who> = access::identify(app, site, headers, peer).await?;
    let to_sign_in = || match here {
        "/" => format!("{}/sign-in", site.head),
        here => format!("{}/sign-in?next={}", site.head, query_word(here)),
    };
    let Some(who) = who else {
        return Ok(Err(Redirect::to(&to_sign_in()).into_response()));
    };
    let lengths = cookie(headers, COOKIE).unwrap_or_default();
    let reader = Reader::of(&who, Lengths::named(&lengths));
    let others = seen_sites(app, Some(site), (headers, peer)).await?;
    Ok(Ok((reader, others)))
}

/// Sites whoever asks may see, name and address, without the one they are at.
async fn seen_sites(
    app: &App,
    here: Option<&Site>,
    (headers, peer): (&HeaderMap, Peer),
) -> Result<Vec<(String, String)>, Problem> {
    let mut seen = Vec::new();
    for site in &app.sites {
        if here.is_some_and(|here| here.office.name() == site.office.name()) {
            continue;
        }
        if access::identify(app, site, headers, peer).await?.is_some() {
            seen.push((site.office.name().to_owned(), format!("{}/", site.head)));
        }
    }
    Ok(seen)
}

pub(crate) fn frame<'a>(
    site: &'a Site,
    state: &'a daybook::State,
    (reader, others): &'a Known,
    here: Here<'a>,
    title: &str,
) -> Frame<'a> {
    let brakes = state.base().map_or(&[][..], |base| &base.shop().brakes);
    Frame {
        title: format!("{title} \u{2013} brake plan"),
        here,
        reader,
        head: &site.head,
        others,
        site: site.office.name(),
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
        Ok(known) => known,
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
        planning_since: site.office.standing_since(),
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
        Ok(known) => known,
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
        Ok(known) => known,
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

/// What is asked for on the page of sites.
#[derive(Debug, Default, Deserialize)]
pub(crate) struct AskedSite {
    site: Option<String>,
}

/// Lets people choose a site.
pub(crate) async fn sites(
    State(app): State<App>,
    peer: Peer,
    headers: HeaderMap,
    asked: Result<Query<AskedSite>, QueryRejection>,
) -> Result<Response, Problem> {
    let asked = asked.ok().and_then(|Query(asked)| asked.site);
    if let Some(site) = asked
        .as_deref()
        .and_then(|name| app.site(Some(name.trim())))
    {
        return Ok(Redirect::to(&format!("{}/", site.head)).into_response());
    }
    let missing = asked.is_some();
    let seen = seen_sites(&app, None, (&headers, peer)).await?;
    let status = if missing {
        StatusCode::NOT_FOUND
    } else {
        StatusCode::OK
    };
    let page = choice(&seen, missing).into_string();
    Ok((status, Html(page)).into_response())
}

/// What lengths are to be written in.
#[derive(Debug, Deserialize)]
pub(crate) struct LengthsChosen {
    lengths: String,
    #[serde(flatten)]
    next: Next,
}

/// Keeps what lengths are to be written in, and goes back to the page.
pub(crate) async fn lengths(
    State(app): State<App>,
    site: Site,
    form: Result<Form<LengthsChosen>, FormRejection>,
) -> Result<Response, Problem> {
    let Form(chosen) = form.map_err(|error| Problem::malformed(error.body_text()))?;
    let secure = if app.encrypted { "; Secure" } else { "" };
    // A year.
    let cookie = format!(
        "{COOKIE}={}; Path=/; HttpOnly; SameSite=Strict; Max-Age=31536000{secure}",
        Lengths::named(&chosen.lengths).word()
    );
    let to = format!("{}{}", site.head, chosen.next.ours().unwrap_or("/"));
    Ok(([(header::SET_COOKIE, cookie)], Redirect::to(&to)).into_response())
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
        let plain = |byte: u8| byte.is_ascii_alphanumeric() || b"/-_.~%?&=+".contains(&byte);
        let path = next.split('?').next().unwrap_or_default();
        let known = matches!(path, "/" | "/wall" | "/quote") || path.starts_with("/brakes/");
        (known && next.bytes().all(plain)).then_some(next)
    }
}

fn next(asked: Result<Query<Next>, QueryRejection>) -> Next {
    asked.map(|Query(next)| next).unwrap_or_default()
}

/// Asks for account and password.
pub(crate) async fn sign_in(
    site: Site,
    asked: Result<Query<Next>, QueryRejection>,
) -> Html<String> {
    Html(page::sign_in(None, next(asked).ours(), &site.head).into_string())
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
            let to = format!("{}{}", site.head, next.ours().unwrap_or("/"));
            (cookie, Redirect::to(&to)).into_response()
        }
        Err(problem) => {
            let page = page::sign_in(Some(problem.detail()), next.ours(), &site.head);
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

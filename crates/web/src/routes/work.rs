//! Reports from a brake: changeovers, takedowns and runs of the published plan.

use crate::access::Who;
use crate::app::Site;
use crate::input::{Body, Expected, Id, Key, Line, Named, Pieces, Whole};
use crate::problem::Problem;
use crate::routes::brakes::{BrakePath, Paused, report};
use crate::wire::Written;
use axum::response::Response;
use daybook::Command;
use serde::Deserialize;
use utoipa::ToSchema;

/// Names a run of the published plan.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub(crate) struct RunName {
    /// The run's name in the plan.
    #[schema(value_type = Line<1, 64>, examples("B2-04"))]
    run: Line<1, 64>,
}

/// Begin the changeover before a run.
#[utoipa::path(post, path = "/api/v1/brakes/{brake}/changeover/start", tag = "work",
    params(("brake" = inline(Id), Path, description = "Brake", example = "B1")), request_body = RunName,
    responses((status = 200, body = Written, headers(("ETag" = String)))))]
pub(crate) async fn start_changeover(
    site: Site,
    who: Who,
    key: Key,
    expected: Expected,
    Named(path): Named<BrakePath>,
    Body(body): Body<RunName>,
) -> Result<Response, Problem> {
    let brake = path.id()?;
    let command = Command::StartChangeover {
        brake: brake.clone(),
        run: body.run.0,
    };
    report(&site, &who, key, expected, &brake, command).await
}

/// End the changeover under way.
#[utoipa::path(post, path = "/api/v1/brakes/{brake}/changeover/finish", tag = "work",
    params(("brake" = inline(Id), Path, description = "Brake", example = "B1")),
    responses((status = 200, body = Written, headers(("ETag" = String)))))]
pub(crate) async fn finish_changeover(
    site: Site,
    who: Who,
    key: Key,
    expected: Expected,
    Named(path): Named<BrakePath>,
) -> Result<Response, Problem> {
    let brake = path.id()?;
    let command = Command::FinishChangeover {
        brake: brake.clone(),
    };
    report(&site, &who, key, expected, &brake, command).await
}

/// Names a takedown.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub(crate) struct TakedownNumber {
    /// Which of the brake's takedowns in the published plan, from 1.
    takedown: Whole<1, 100_000>,
}

/// Report a takedown of the published plan as done.
#[utoipa::path(post, path = "/api/v1/brakes/{brake}/takedown/finish", tag = "work",
    params(("brake" = inline(Id), Path, description = "Brake", example = "B1")), request_body = TakedownNumber,
    responses((status = 200, body = Written, headers(("ETag" = String)))))]
pub(crate) async fn finish_takedown(
    site: Site,
    who: Who,
    key: Key,
    expected: Expected,
    Named(path): Named<BrakePath>,
    Body(body): Body<TakedownNumber>,
) -> Result<Response, Problem> {
    let brake = path.id()?;
    let command = Command::FinishTakedown {
        brake: brake.clone(),
        takedown: u32::try_from(body.takedown.0).unwrap_or(u32::MAX),
    };
    report(&site, &who, key, expected, &brake, command).await
}

/// Begin a run. It ends the changeover before it, if that is under way.
#[utoipa::path(post, path = "/api/v1/brakes/{brake}/run/start", tag = "work",
    params(("brake" = inline(Id), Path, description = "Brake", example = "B1")), request_body = RunName,
    responses((status = 200, body = Written, headers(("ETag" = String)))))]
pub(crate) async fn start_run(
    site: Site,
    who: Who,
    key: Key,
    expected: Expected,
    Named(path): Named<BrakePath>,
    Body(body): Body<RunName>,
) -> Result<Response, Problem> {
    let brake = path.id()?;
    let command = Command::StartRun {
        brake: brake.clone(),
        run: body.run.0,
    };
    report(&site, &who, key, expected, &brake, command).await
}

/// Stop the run for a while.
#[utoipa::path(post, path = "/api/v1/brakes/{brake}/run/pause", tag = "work",
    params(("brake" = inline(Id), Path, description = "Brake", example = "B1")), request_body = Paused,
    responses((status = 200, body = Written, headers(("ETag" = String)))))]
pub(crate) async fn pause_run(
    site: Site,
    who: Who,
    key: Key,
    expected: Expected,
    Named(path): Named<BrakePath>,
    Body(body): Body<Paused>,
) -> Result<Response, Problem> {
    let brake = path.id()?;
    let command = Command::PauseRun {
        brake: brake.clone(),
        why: body.why.0,
    };
    report(&site, &who, key, expected, &brake, command).await
}

/// Go on with the run.
#[utoipa::path(post, path = "/api/v1/brakes/{brake}/run/resume", tag = "work",
    params(("brake" = inline(Id), Path, description = "Brake", example = "B1")),
    responses((status = 200, body = Written, headers(("ETag" = String)))))]
pub(crate) async fn resume_run(
    site: Site,
    who: Who,
    key: Key,
    expected: Expected,
    Named(path): Named<BrakePath>,
) -> Result<Response, Problem> {
    let brake = path.id()?;
    let command = Command::ResumeRun {
        brake: brake.clone(),
    };
    report(&site, &who, key, expected, &brake, command).await
}

/// Pieces of a run since it began.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub(crate) struct Count {
    /// Good pieces.
    good: Pieces,
    /// Spoiled pieces.
    #[serde(default = "none")]
    scrap: Pieces,
}

fn none() -> Pieces {
    Whole(0)
}

/// Count the pieces of the run so far; a later count goes before an earlier one.
#[utoipa::path(post, path = "/api/v1/brakes/{brake}/run/count", tag = "work",
    params(("brake" = inline(Id), Path, description = "Brake", example = "B1")), request_body = Count,
    responses((status = 200, body = Written, headers(("ETag" = String)))))]
pub(crate) async fn count_pieces(
    site: Site,
    who: Who,
    key: Key,
    expected: Expected,
    Named(path): Named<BrakePath>,
    Body(body): Body<Count>,
) -> Result<Response, Problem> {
    let brake = path.id()?;
    let command = Command::CountPieces {
        brake: brake.clone(),
        good: body.good.count(),
        scrap: body.scrap.count(),
    };
    report(&site, &who, key, expected, &brake, command).await
}

/// Spoiled pieces.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub(crate) struct Spoiled {
    /// How many more.
    pieces: Whole<1, 4_000_000_000>,
}

/// Report more spoiled pieces of the run.
#[utoipa::path(post, path = "/api/v1/brakes/{brake}/run/scrap", tag = "work",
    params(("brake" = inline(Id), Path, description = "Brake", example = "B1")), request_body = Spoiled,
    responses((status = 200, body = Written, headers(("ETag" = String)))))]
pub(crate) async fn scrap(
    site: Site,
    who: Who,
    key: Key,
    expected: Expected,
    Named(path): Named<BrakePath>,
    Body(body): Body<Spoiled>,
) -> Result<Response, Problem> {
    let brake = path.id()?;
    let command = Command::Scrap {
        brake: brake.clone(),
        pieces: u32::try_from(body.pieces.0).unwrap_or(u32::MAX),
    };
    report(&site, &who, key, expected, &brake, command).await
}

/// How a run ended.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub(crate) struct Finish {
    /// Good pieces of the run.
    good: Pieces,
    /// Spoiled pieces of the run.
    #[serde(default = "none")]
    scrap: Pieces,
    /// Whether it ends although pieces are missing; the rest is planned again.
    #[serde(default)]
    short: bool,
}

/// End the run with its counts.
#[utoipa::path(post, path = "/api/v1/brakes/{brake}/run/finish", tag = "work",
    params(("brake" = inline(Id), Path, description = "Brake", example = "B1")), request_body = Finish,
    responses((status = 200, body = Written, headers(("ETag" = String)))))]
pub(crate) async fn finish_run(
    site: Site,
    who: Who,
    key: Key,
    expected: Expected,
    Named(path): Named<BrakePath>,
    Body(body): Body<Finish>,
) -> Result<Response, Problem> {
    let brake = path.id()?;
    let command = Command::FinishRun {
        brake: brake.clone(),
        good: body.good.count(),
        scrap: body.scrap.count(),
        short: body.short,
    };
    report(&site, &who, key, expected, &brake, command).await
}

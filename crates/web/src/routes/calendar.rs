//! A brake's or a person's part of a plan as a calendar.

use super::paper::{PlanPath, found};
use crate::app::Site;
use crate::input::{Asked, Id, Named};
use crate::problem::Problem;
use axum::http::header;
use axum::response::{IntoResponse, Response};
use exchange::ical::{Issue, of_brake, of_person};
use serde::Deserialize;
use tokio::task::spawn_blocking;
use utoipa::IntoParams;

/// Whose calendar.
#[derive(Debug, Deserialize, IntoParams)]
#[serde(deny_unknown_fields)]
#[into_params(parameter_in = Query)]
pub(crate) struct Whose {
    /// A brake's: an event for each run, changeover and takedown.
    #[param(inline, value_type = Option<Id>)]
    brake: Option<Id>,
    /// A person's: an event for each stretch of work without a pause.
    #[param(inline, value_type = Option<Id>)]
    person: Option<Id>,
}

/// Read a brake's or a person's part of a plan as a calendar (RFC 5545), to subscribe to or to take in
/// once. Say either `brake` or `person`.
#[utoipa::path(get, path = "/api/v1/plans/{plan}/calendar", tag = "plans",
    params(("plan" = String, Path, description = "The plan's number, `published` or `proposal`",
        example = "published"), Whose),
    responses((status = 200, content_type = "text/calendar", body = String)))]
pub(crate) async fn calendar(
    site: Site,
    Named(path): Named<PlanPath>,
    Asked(whose): Asked<Whose>,
) -> Result<Response, Problem> {
    let kept = found(&site, &path.plan).await?;
    let state = site.office.state();
    let issue = Issue {
        made: kept.made_at,
        invented: state.base().is_some_and(|base| base.is_invented()),
    };
    let written = spawn_blocking(move || {
        let (shop, plan) = (kept.shop.as_ref(), &kept.plan);
        match (&whose.brake, &whose.person) {
            (Some(brake), None) => {
                let known = shop.brakes.iter().find(|one| one.id.as_str() == brake.0);
                let known = known.ok_or_else(|| Problem::missing("There is no such brake."))?;
                Ok(of_brake(shop, plan, &known.id, issue))
            }
            (None, Some(person)) => {
                let known = shop.people.iter().find(|one| one.id.as_str() == person.0);
                let known = known.ok_or_else(|| Problem::missing("There is no such person."))?;
                Ok(of_person(shop, plan, &known.id, issue))
            }
            _ => Err(Problem::invalid("Say either `brake` or `person`.")),
        }
    });
    let text = written.await.map_err(|error| Problem::fault(&error))??;
    let headers = [(header::CONTENT_TYPE, "text/calendar; charset=utf-8")];
    Ok((headers, text).into_response())
}

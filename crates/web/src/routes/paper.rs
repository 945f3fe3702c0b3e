//! A plan's lists and sheets on paper.

use crate::app::Site;
use crate::input::{Asked, Id, Line, Named, Whole};
use crate::problem::Problem;
use axum::http::header;
use axum::response::{IntoResponse, Response};
use paper::{Issue, Paper, PaperError};
use serde::Deserialize;
use std::sync::Arc;
use units::BrakeId;
use utoipa::{IntoParams, ToSchema};
use workshop::KeptPlan;

/// Days of run lists when the caller does not say.
const DAYS: u32 = 2;

/// Size of the sheets.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Deserialize, ToSchema)]
#[serde(rename_all = "lowercase")]
enum Size {
    /// 210 × 297 mm.
    #[default]
    A4,
    /// 8.5 × 11 in.
    Letter,
}

/// What is to be printed.
#[derive(Debug, Deserialize, IntoParams)]
#[serde(deny_unknown_fields)]
#[into_params(parameter_in = Query)]
pub(crate) struct Wanted {
    /// One brake; all of them when left out.
    #[param(inline, value_type = Option<Id>)]
    brake: Option<Id>,
    /// One run of that brake, by its name: its changeover sheet alone.
    #[param(inline, value_type = Option<Line<1, 80>>)]
    run: Option<Line<1, 80>>,
    /// `a4` or `letter`; `a4` when left out.
    #[serde(default)]
    #[param(inline, required = false)]
    size: Size,
    /// Days of run lists, from the plan's first; 2 when left out. A day has a page for each brake also
    /// when nothing runs. Changeover sheets are all those of the plan.
    #[param(inline)]
    days: Option<Whole<1, 14>>,
}

/// Names a plan.
#[derive(Debug, Deserialize)]
pub(crate) struct PlanPath {
    pub(super) plan: String,
}

pub(super) async fn found(site: &Site, which: &str) -> Result<Arc<KeptPlan>, Problem> {
    let office = &site.office;
    let kept = match which {
        "published" => office.published().await?,
        "proposal" => office.proposal().await?,
        number => match number.parse() {
            Ok(number) => office.plan(number).await?,
            Err(_) => None,
        },
    };
    kept.ok_or_else(|| Problem::missing("There is no such plan."))
}

/// Print a plan: run lists of the first days, then changeover sheets, brake by brake.
#[utoipa::path(get, path = "/api/v1/plans/{plan}/paper", tag = "plans",
    params(("plan" = String, Path, description = "The plan's number, `published` or `proposal`",
        example = "published"), Wanted),
    responses((status = 200, content_type = "application/pdf", body = String)))]
pub(crate) async fn paper(
    site: Site,
    Named(path): Named<PlanPath>,
    Asked(wanted): Asked<Wanted>,
) -> Result<Response, Problem> {
    if wanted.run.is_some() && wanted.brake.is_none() {
        return Err(Problem::invalid("A run takes its brake as well."));
    }
    let brake = wanted.brake.map(|brake| BrakeId::new(&brake.0));
    let brake = brake.transpose();
    let brake = brake.map_err(|error| Problem::malformed(format!("brake: {error}")))?;
    let kept = found(&site, &path.plan).await?;
    let state = site.office.state();
    let issue = Issue {
        paper: match wanted.size {
            Size::A4 => Paper::A4,
            Size::Letter => Paper::Letter,
        },
        number: Some(kept.number),
        made: Some(kept.made_at),
        invented: state.base().is_some_and(|base| base.is_invented()),
    };
    let days = wanted
        .days
        .map_or(DAYS, |days| days.0.try_into().unwrap_or(DAYS));
    let name = match (&brake, &wanted.run) {
        (None, _) => format!("plan-{}", kept.number),
        (Some(brake), None) => format!("plan-{}-{brake}", kept.number),
        (Some(_), Some(run)) => format!("plan-{}-{}", kept.number, run.0),
    };
    let run = wanted.run.map(|run| run.0);
    let printed = tokio::task::spawn_blocking(move || {
        let (shop, plan) = (kept.shop.as_ref(), &kept.plan);
        match (&brake, &run) {
            (None, _) => paper::whole_plan(shop, plan, days, &issue),
            (Some(brake), None) => paper::brake_plan(shop, plan, brake, days, &issue),
            (Some(brake), Some(run)) => paper::changeover_sheet(shop, plan, brake, run, &issue),
        }
    });
    let printed = printed.await.map_err(|error| Problem::fault(&error))?;
    let bytes = printed.map_err(|error| match error {
        PaperError::Font(_) => Problem::fault(&error),
        other => Problem::missing(format!("{other}.")),
    })?;
    let plain = |letter: char| letter.is_ascii_alphanumeric() || "-_.".contains(letter);
    let name: String = name
        .chars()
        .map(|one| if plain(one) { one } else { '-' })
        .collect();
    let headers = [
        (header::CONTENT_TYPE, "application/pdf".to_owned()),
        (
            header::CONTENT_DISPOSITION,
            format!("inline; filename=\"{name}.pdf\""),
        ),
    ];
    Ok((headers, bytes).into_response())
}

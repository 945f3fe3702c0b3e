//! Tool sections that are out of service.

use crate::access::Who;
use crate::app::Site;
use crate::input::{Body, Id, Key, Named};
use crate::problem::Problem;
use crate::routes::orders::Reason;
use crate::wire::{When, Written, submit, written};
use axum::Json;
use axum::response::Response;
use daybook::Command;
use serde::{Deserialize, Serialize};
use units::SectionId;
use utoipa::ToSchema;

/// A section that was reported out of service.
#[derive(Debug, Serialize, ToSchema)]
pub(crate) struct SectionView {
    section: String,
    /// Since when.
    since: When,
    /// Why.
    why: String,
}

/// Sections.
#[derive(Debug, Serialize, ToSchema)]
pub(crate) struct SectionsOut {
    /// Those that people reported, beside those of the files.
    sections: Vec<SectionView>,
}

/// List the sections that were reported out of service.
#[utoipa::path(get, path = "/api/v1/sections/out", tag = "floor",
    responses((status = 200, body = SectionsOut)))]
pub(crate) async fn list(site: Site) -> Json<SectionsOut> {
    let state = site.office.state();
    let view = |(section, out): (&SectionId, &daybook::SectionOut)| SectionView {
        section: section.to_string(),
        since: When(out.since),
        why: out.why.clone(),
    };
    Json(SectionsOut {
        sections: state.sections_out.iter().map(view).collect(),
    })
}

/// Names a section.
#[derive(Debug, Deserialize)]
pub(crate) struct SectionPath {
    section: Id,
}

impl SectionPath {
    fn id(&self) -> Result<SectionId, Problem> {
        SectionId::new(&self.section.0).map_err(|error| Problem::missing(error.to_string()))
    }
}

/// Report a section out of service: it is taken off its bed.
#[utoipa::path(post, path = "/api/v1/sections/{section}/out", tag = "floor",
    params(("section" = inline(Id), Path, description = "Section")), request_body = Reason,
    responses((status = 200, body = Written)))]
pub(crate) async fn out(
    site: Site,
    who: Who,
    key: Key,
    Named(path): Named<SectionPath>,
    Body(body): Body<Reason>,
) -> Result<Response, Problem> {
    let command = Command::SectionOut {
        section: path.id()?,
        why: body.why.0,
    };
    let done = submit(&site, &who, key, None, command).await?;
    Ok(written(&site, &done, |state| state.number))
}

/// Report a section fit for use again.
#[utoipa::path(post, path = "/api/v1/sections/{section}/back", tag = "floor",
    params(("section" = inline(Id), Path, description = "Section")),
    responses((status = 200, body = Written)))]
pub(crate) async fn back(
    site: Site,
    who: Who,
    key: Key,
    Named(path): Named<SectionPath>,
) -> Result<Response, Problem> {
    let command = Command::SectionBack {
        section: path.id()?,
    };
    let done = submit(&site, &who, key, None, command).await?;
    Ok(written(&site, &done, |state| state.number))
}

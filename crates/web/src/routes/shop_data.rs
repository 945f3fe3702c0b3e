//! The shop's files: brakes, tools, parts, people and the rest.

use crate::access::Who;
use crate::app::Site;
use crate::input::{Body, Expected, Key, Line, Named};
use crate::problem::{FindingBody, Problem};
use crate::wire::tagged;
use axum::Json;
use axum::http::header;
use axum::response::{IntoResponse, Response};
use documents::{Base, FileSet, KNOWN_FILES};
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;
use std::sync::Arc;
use tokio::task::spawn_blocking;
use units::Finding;
use utoipa::ToSchema;
use workshop::{Expectation, Terms};

/// The shop data in use.
#[derive(Debug, Serialize, ToSchema)]
pub(crate) struct ShopData {
    /// Revision; its ETag. 0 when there is none yet.
    revision: u64,
    /// Its files.
    files: Vec<FileView>,
}

/// A file, without its content.
#[derive(Debug, Serialize, ToSchema)]
pub(crate) struct FileView {
    name: String,
    bytes: usize,
}

/// Show which shop data are in use.
#[utoipa::path(get, path = "/api/v1/shop-data", tag = "shop data",
    responses((status = 200, body = ShopData, headers(("ETag" = String)))))]
pub(crate) async fn get(site: Site) -> Result<Response, Problem> {
    let revision = site.office.state().revision.unwrap_or(0);
    let files = site.office.files(revision).await?;
    let view = |name: &str| FileView {
        name: name.to_owned(),
        bytes: files.get(name).map_or(0, <[u8]>::len),
    };
    let files = files.names().map(view).collect();
    Ok(tagged(revision, Json(ShopData { revision, files })))
}

/// Names a file.
#[derive(Debug, Deserialize)]
pub(crate) struct FilePath {
    file: Line<1, 64>,
}

/// Show one file of the shop data in use.
#[utoipa::path(get, path = "/api/v1/shop-data/{file}", tag = "shop data",
    params(("file" = inline(Line<1, 64>), Path, description = "Its name, such as parts.csv", example = "parts.csv")),
    responses((status = 200, content_type = "text/plain", body = String, headers(("ETag" = String)))))]
pub(crate) async fn file(site: Site, Named(path): Named<FilePath>) -> Result<Response, Problem> {
    let revision = site.office.state().revision.unwrap_or(0);
    let files = site.office.files(revision).await?;
    let Some(bytes) = files.get(&path.file.0) else {
        return Err(Problem::missing("The shop data have no such file."));
    };
    let kind = [(header::CONTENT_TYPE, "text/plain; charset=utf-8")];
    Ok(tagged(revision, (kind, bytes.to_vec()).into_response()))
}

/// A whole set of files.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub(crate) struct Files {
    /// Each file's text by its name, as docs/reference/shop-files.md describes them.
    #[schema(value_type = BTreeMap<String, String>,
        example = json!({"shop.toml": "name = \"Invented shop\"\n..."}))]
    files: BTreeMap<Line<1, 64>, String>,
}

impl Files {
    fn set(&self) -> Result<FileSet, Problem> {
        let mut set = FileSet::new();
        for (name, text) in &self.files {
            if !KNOWN_FILES.iter().any(|(known, _)| *known == name.0) {
                let known: Vec<&str> = KNOWN_FILES.iter().map(|(known, _)| *known).collect();
                return Err(Problem::invalid(format!(
                    "{} is no file of a shop; there are {}.",
                    name.0,
                    known.join(", ")
                )));
            }
            set.insert(&name.0, text.clone().into_bytes());
        }
        Ok(set)
    }
}

async fn read(files: FileSet) -> Result<(FileSet, Option<Base>, Vec<Finding>), Problem> {
    let read = spawn_blocking(move || {
        let (base, findings) = Base::read(&files);
        (files, base, findings)
    });
    read.await.map_err(|error| Problem::fault(&error))
}

/// What reading files has found.
#[derive(Debug, Serialize, ToSchema)]
pub(crate) struct Checked {
    /// Whether they can be used.
    usable: bool,
    /// Everything there is to say about them.
    findings: Vec<FindingBody>,
}

/// Check a set of files without taking it.
#[utoipa::path(post, path = "/api/v1/shop-data/check", tag = "shop data", request_body = Files,
    responses((status = 200, body = Checked)))]
pub(crate) async fn check(Body(body): Body<Files>) -> Result<Json<Checked>, Problem> {
    let (_, base, findings) = read(body.set()?).await?;
    Ok(Json(Checked {
        usable: base.is_some(),
        findings: findings.iter().map(FindingBody::from).collect(),
    }))
}

/// Shop data that are in use now.
#[derive(Debug, Serialize, ToSchema)]
pub(crate) struct Taken {
    /// Revision; its ETag.
    revision: u64,
    /// What is worth knowing about the files.
    findings: Vec<FindingBody>,
}

/// Take a whole set of files in the stead of the one in use: `If-Match` names its revision,
/// `If-None-Match: *` says that there is none yet.
///
/// Orders of the set that are new or changed are taken as well, those that are gone from it are
/// withdrawn unless work on them is recorded.
#[utoipa::path(put, path = "/api/v1/shop-data", tag = "shop data", request_body = Files,
    responses((status = 200, body = Taken, headers(("ETag" = String)))))]
pub(crate) async fn put(
    site: Site,
    who: Who,
    key: Key,
    expected: Expected,
    Body(body): Body<Files>,
) -> Result<Response, Problem> {
    let (files, base, findings) = read(body.set()?).await?;
    let Some(base) = base else {
        let detail = "The files have faults, and nothing was taken; the findings say which.";
        return Err(Problem::invalid(detail).with_findings(findings));
    };
    let current = site.office.state().revision.unwrap_or(0);
    // The same files again, as when a caller did not hear the answer, are no contradiction.
    let revision = if site.office.files(current).await? == files {
        current
    } else {
        let terms = Terms {
            expect: expected.version().map(Expectation::ShopData),
            key: key.0,
        };
        let (office, base) = (&site.office, Arc::new(base));
        let taken = office.take_files(&who.name, &files, base, terms).await?;
        taken.revision
    };
    let findings = findings.iter().map(FindingBody::from).collect();
    Ok(tagged(revision, Json(Taken { revision, findings })))
}

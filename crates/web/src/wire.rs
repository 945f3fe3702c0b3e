//! How values look in answers, and what all writes answer.

use crate::access::Who;
use crate::app::Site;
use crate::input::Key;
use crate::problem::Problem;
use axum::Json;
use axum::http::{HeaderValue, header};
use axum::response::{IntoResponse, Response};
use chrono::{DateTime, SecondsFormat};
use daybook::{Command, Expectation, State};
use serde::de::Error;
use serde::{Deserialize, Deserializer, Serialize, Serializer};
use std::borrow::Cow;
use units::Moment;
use utoipa::openapi::schema::{KnownFormat, ObjectBuilder, SchemaFormat, Type};
use utoipa::openapi::{RefOr, Schema};
use utoipa::{PartialSchema, ToSchema};
use workshop::{Done, Terms};

/// A moment, RFC 3339; in answers always UTC.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) struct When(pub(crate) Moment);

impl Serialize for When {
    fn serialize<S: Serializer>(&self, to: S) -> Result<S::Ok, S::Error> {
        let moment = DateTime::from_timestamp(self.0.0, 0);
        let text = moment.map(|moment| moment.to_rfc3339_opts(SecondsFormat::Secs, true));
        to.serialize_str(&text.unwrap_or_default())
    }
}

impl<'de> Deserialize<'de> for When {
    fn deserialize<D: Deserializer<'de>>(from: D) -> Result<When, D::Error> {
        let text = String::deserialize(from)?;
        let moment = DateTime::parse_from_rfc3339(&text);
        let moment = moment
            .map_err(|_| D::Error::custom("expected a moment such as 2027-03-22T06:00:00+01:00"))?;
        Ok(When(Moment(moment.timestamp())))
    }
}

impl PartialSchema for When {
    fn schema() -> RefOr<Schema> {
        ObjectBuilder::new()
            .schema_type(Type::String)
            .format(Some(SchemaFormat::KnownFormat(KnownFormat::DateTime)))
            .examples([serde_json::json!("2027-03-22T06:00:00Z")])
            .into()
    }
}

impl ToSchema for When {
    fn name() -> Cow<'static, str> {
        Cow::Borrowed("Moment")
    }
}

/// What a write answers.
#[derive(Debug, Serialize, ToSchema)]
pub(crate) struct Written {
    /// Number of the last event it led to; when nothing had to change, that of the last event so far.
    #[schema(minimum = 0, examples(812))]
    pub(crate) event: u64,
}

/// Sends a command to the daybook.
pub(crate) async fn submit(
    site: &Site,
    who: &Who,
    key: Key,
    expect: Option<Expectation>,
    command: Command,
) -> Result<Done, Problem> {
    let terms = Terms { expect, key: key.0 };
    Ok(site.office.submit(&who.name, command, terms).await?)
}

/// The answer to a write. `version` finds the version of the thing when nothing had to change.
pub(crate) fn written(site: &Site, done: &Done, version: impl FnOnce(&State) -> u64) -> Response {
    let version = if done.changed {
        done.number
    } else {
        version(&site.office.state())
    };
    let event = done.number;
    tagged(version, Json(Written { event }))
}

/// An answer with an ETag.
pub(crate) fn tagged(version: u64, answer: impl IntoResponse) -> Response {
    let mut response = answer.into_response();
    if let Ok(tag) = HeaderValue::from_str(&format!("\"{version}\"")) {
        response.headers_mut().insert(header::ETAG, tag);
    }
    response
}

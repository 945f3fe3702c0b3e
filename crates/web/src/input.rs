//! What a request brings: checked on the way in, so that handlers see only what may be.

use crate::problem::Problem;
use crate::secrets;
use axum::extract::{FromRequest, FromRequestParts, Path, Query, Request};
use axum::http::request::Parts;
use axum::http::{HeaderMap, StatusCode, header};
use serde::de::{DeserializeOwned, Error};
use serde::{Deserialize, Deserializer, Serialize};
use serde_json::error::Category;
use std::borrow::Cow;
use utoipa::openapi::schema::{KnownFormat, ObjectBuilder, SchemaFormat, Type};
use utoipa::openapi::{RefOr, Schema};
use utoipa::{PartialSchema, ToSchema};
use workshop::IdempotencyKey;

/// A JSON body.
pub(crate) struct Body<T>(pub(crate) T);

impl<S: Send + Sync, T: DeserializeOwned> FromRequest<S> for Body<T> {
    type Rejection = Problem;

    async fn from_request(request: Request, _: &S) -> Result<Body<T>, Problem> {
        let kind = request.headers().get(header::CONTENT_TYPE);
        let kind = kind.and_then(|kind| kind.to_str().ok()).unwrap_or("");
        let kind = kind.split(';').next().unwrap_or("").trim();
        if !kind.eq_ignore_ascii_case("application/json") {
            let status = StatusCode::UNSUPPORTED_MEDIA_TYPE;
            let detail = "Send JSON, with Content-Type: application/json.";
            return Err(Problem::new(status, "other-format", "Not JSON", detail));
        }
        // The guard has read the body already, within its limit.
        let bytes = axum::body::to_bytes(request.into_body(), usize::MAX).await;
        let bytes = bytes.map_err(|error| Problem::malformed(error.to_string()))?;
        serde_json::from_slice(&bytes)
            .map(Body)
            .map_err(|error| unreadable(&error))
    }
}

fn unreadable(error: &serde_json::Error) -> Problem {
    let detail = format!("The body does not fit: {error}.");
    match error.classify() {
        Category::Data => Problem::invalid(detail),
        Category::Io | Category::Syntax | Category::Eof => Problem::malformed(detail),
    }
}

/// The parts of the path.
pub(crate) struct Named<T>(pub(crate) T);

impl<S: Send + Sync, T: DeserializeOwned + Send> FromRequestParts<S> for Named<T> {
    type Rejection = Problem;

    async fn from_request_parts(parts: &mut Parts, state: &S) -> Result<Named<T>, Problem> {
        let path = Path::<T>::from_request_parts(parts, state).await;
        let path = path.map_err(|error| Problem::missing(format!("No such thing: {error}.")))?;
        Ok(Named(path.0))
    }
}

/// The query.
pub(crate) struct Asked<T>(pub(crate) T);

impl<S: Send + Sync, T: DeserializeOwned> FromRequestParts<S> for Asked<T> {
    type Rejection = Problem;

    async fn from_request_parts(parts: &mut Parts, state: &S) -> Result<Asked<T>, Problem> {
        let query = Query::<T>::from_request_parts(parts, state).await;
        let query = query.map_err(|error| Problem::malformed(error.body_text()))?;
        Ok(Asked(query.0))
    }
}

/// The caller's key for a write, made its own.
#[derive(Clone, Debug)]
pub(crate) struct Key(pub(crate) Option<IdempotencyKey>);

impl Key {
    /// The same key, tied to more of what the request says.
    pub(crate) fn tied_to(self, parts: &[&[u8]]) -> Key {
        Key(self.0.map(|key| {
            let mut all: Vec<&[u8]> = vec![&key.request];
            all.extend(parts);
            IdempotencyKey {
                request: secrets::hash_parts(&all),
                key: key.key,
            }
        }))
    }
}

impl<S: Send + Sync> FromRequestParts<S> for Key {
    type Rejection = std::convert::Infallible;

    async fn from_request_parts(parts: &mut Parts, _: &S) -> Result<Key, Self::Rejection> {
        Ok(parts.extensions.get::<Key>().cloned().unwrap_or(Key(None)))
    }
}

/// What the caller takes for so.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Expected {
    /// It does not say.
    Anything,
    /// The thing is not there: `If-None-Match: *`.
    Absent,
    /// It has this version: `If-Match: "7"`.
    Version(u64),
}

impl Expected {
    /// Reads the headers.
    pub(crate) fn of(headers: &HeaderMap) -> Result<Expected, Problem> {
        let if_match = headers.get(header::IF_MATCH);
        let if_none = headers.get(header::IF_NONE_MATCH);
        match (if_match, if_none) {
            (None, None) => Ok(Expected::Anything),
            (None, Some(none)) if none == "*" => Ok(Expected::Absent),
            (Some(tag), None) => tag
                .to_str()
                .ok()
                .and_then(version)
                .map(Expected::Version)
                .ok_or_else(|| {
                    Problem::malformed("If-Match takes one ETag as it was given, such as \"7\".")
                }),
            (None, Some(_)) => Err(Problem::malformed("If-None-Match takes * alone here.")),
            (Some(_), Some(_)) => Err(Problem::malformed(
                "If-Match and If-None-Match contradict each other; send one of them.",
            )),
        }
    }

    /// The version meant, 0 for a thing that is not there; `None` when the caller does not say.
    pub(crate) fn version(self) -> Option<u64> {
        match self {
            Expected::Anything => None,
            Expected::Absent => Some(0),
            Expected::Version(version) => Some(version),
        }
    }
}

/// The number in an ETag; without its quotes too, as they are easily lost on a command line.
fn version(tag: &str) -> Option<u64> {
    let tag = tag.trim();
    let inside = tag.strip_prefix('"').and_then(|tag| tag.strip_suffix('"'));
    let digits = inside.unwrap_or(tag);
    let plain = !digits.is_empty() && digits.bytes().all(|byte| byte.is_ascii_digit());
    plain.then(|| digits.parse().ok())?
}

impl<S: Send + Sync> FromRequestParts<S> for Expected {
    type Rejection = Problem;

    async fn from_request_parts(parts: &mut Parts, _: &S) -> Result<Expected, Problem> {
        Expected::of(&parts.headers)
    }
}

/// A text on one line of `MIN` to `MAX` characters.
#[derive(Clone, Debug, Default, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) struct Line<const MIN: usize, const MAX: usize>(pub(crate) String);

/// No control characters: no line ends, no NUL, which not every database takes.
const LINE_PATTERN: &str = r"^[^\u0000-\u001f\u007f-\u009f]*$";

impl<'de, const MIN: usize, const MAX: usize> Deserialize<'de> for Line<MIN, MAX> {
    fn deserialize<D: Deserializer<'de>>(from: D) -> Result<Self, D::Error> {
        let text = String::deserialize(from)?;
        let length = text.chars().count();
        if length < MIN || length > MAX {
            let rule = format!("{length} characters, expected {MIN} to {MAX}");
            return Err(D::Error::custom(rule));
        }
        match text.chars().find(|c| c.is_control()) {
            Some(bad) => Err(D::Error::custom(format!(
                "the character {bad:?} cannot be used here"
            ))),
            None => Ok(Line(text)),
        }
    }
}

impl<const MIN: usize, const MAX: usize> PartialSchema for Line<MIN, MAX> {
    fn schema() -> RefOr<Schema> {
        ObjectBuilder::new()
            .schema_type(Type::String)
            .min_length(Some(MIN))
            .max_length(Some(MAX))
            .pattern(Some(LINE_PATTERN))
            .into()
    }
}

impl<const MIN: usize, const MAX: usize> ToSchema for Line<MIN, MAX> {
    fn name() -> Cow<'static, str> {
        Cow::Owned(format!("Line{MIN}To{MAX}"))
    }
}

/// An id as the shop's files have it: 1 to 64 letters, digits or `- _ . / + # :`.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize)]
pub(crate) struct Id(pub(crate) String);

/// What ids are made of, without the letters beyond ASCII that they may hold as well: the alphabets
/// of all languages do not fit a pattern every reader understands.
const ID_PATTERN: &str = "^[A-Za-z0-9_./+#:-]+$";

impl<'de> Deserialize<'de> for Id {
    fn deserialize<D: Deserializer<'de>>(from: D) -> Result<Self, D::Error> {
        let text = String::deserialize(from)?;
        match units::OrderId::new(&text) {
            Ok(_) => Ok(Id(text)),
            Err(error) => Err(D::Error::custom(error)),
        }
    }
}

impl PartialSchema for Id {
    fn schema() -> RefOr<Schema> {
        ObjectBuilder::new()
            .schema_type(Type::String)
            .min_length(Some(1))
            .max_length(Some(64))
            .pattern(Some(ID_PATTERN))
            .into()
    }
}

impl ToSchema for Id {
    fn name() -> Cow<'static, str> {
        Cow::Borrowed("Id")
    }
}

/// A whole number from `MIN` to `MAX`.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Whole<const MIN: u64, const MAX: u64>(pub(crate) u64);

impl<'de, const MIN: u64, const MAX: u64> Deserialize<'de> for Whole<MIN, MAX> {
    fn deserialize<D: Deserializer<'de>>(from: D) -> Result<Self, D::Error> {
        let number = u64::deserialize(from)?;
        if (MIN..=MAX).contains(&number) {
            Ok(Whole(number))
        } else {
            Err(D::Error::custom(format!(
                "{number}, expected {MIN} to {MAX}"
            )))
        }
    }
}

impl<const MIN: u64, const MAX: u64> PartialSchema for Whole<MIN, MAX> {
    fn schema() -> RefOr<Schema> {
        // No limit here needs more than a number of 53 bits, which is exact.
        #[allow(clippy::cast_precision_loss)]
        let (least, most) = (MIN as f64, MAX as f64);
        ObjectBuilder::new()
            .schema_type(Type::Integer)
            .format(Some(SchemaFormat::KnownFormat(KnownFormat::Int64)))
            .minimum(Some(least))
            .maximum(Some(most))
            .into()
    }
}

impl<const MIN: u64, const MAX: u64> ToSchema for Whole<MIN, MAX> {
    fn name() -> Cow<'static, str> {
        Cow::Owned(format!("Whole{MIN}To{MAX}"))
    }
}

/// Pieces.
pub(crate) type Pieces = Whole<0, 4_000_000_000>;

impl Pieces {
    pub(crate) fn count(self) -> u32 {
        u32::try_from(self.0).unwrap_or(u32::MAX)
    }
}

/// The number of an event or a plan.
pub(crate) type Number = Whole<0, 9_007_199_254_740_991>;

/// A reason, for people.
pub(crate) type Why = Line<0, 500>;

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn etags_are_read_and_nothing_else_is() {
        for (tag, read) in [
            ("\"7\"", Some(7)),
            ("\"0\"", Some(0)),
            ("7", Some(7)),
            ("\"7", None),
            ("\"+7\"", None),
            ("\"\"", None),
            ("W/\"7\"", None),
            ("*", None),
            ("\"7\", \"8\"", None),
            ("\"99999999999999999999\"", None),
        ] {
            assert_eq!(version(tag), read, "{tag}");
        }
    }

    #[test]
    fn texts_are_held_to_their_limits() {
        let read = |text: &str| serde_json::from_str::<Line<1, 3>>(text).is_ok();
        assert!(read("\"abc\"") && read("\"äöü\""));
        assert!(!read("\"\"") && !read("\"abcd\"") && !read("\"a\\u0000\"") && !read("1"));
        assert!(serde_json::from_str::<Whole<1, 5>>("5").is_ok());
        assert!(serde_json::from_str::<Whole<1, 5>>("6").is_err());
        assert!(serde_json::from_str::<Whole<1, 5>>("-1").is_err());
        assert!(serde_json::from_str::<Id>("\"B 1\"").is_err());
    }
}

//! Errors as `application/problem+json` (RFC 9457).

use axum::http::{HeaderValue, StatusCode, header};
use axum::response::{IntoResponse, Response};
use daybook::{Refusal, RefusalKind};
use serde::Serialize;
use units::{Finding, Severity};
use utoipa::ToSchema;
use workshop::OfficeError;

/// What went wrong with a request, and what to do about it (RFC 9457).
#[derive(Debug, Serialize, ToSchema)]
#[schema(as = Problem)]
pub(crate) struct ProblemBody {
    /// Always `about:blank`: the status and `kind` say what it is.
    #[serde(rename = "type")]
    about: &'static str,
    /// A short title.
    title: &'static str,
    /// The HTTP status.
    #[schema(minimum = 400, maximum = 599)]
    status: u16,
    /// What kind of problem it is, for programs.
    kind: &'static str,
    /// What is so, and what can be done, for people.
    detail: String,
    /// The version the thing has now; with `stale` only.
    #[serde(skip_serializing_if = "Option::is_none")]
    current: Option<u64>,
    /// What is wrong with the data; with `invalid` only.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    findings: Vec<FindingBody>,
}

/// One thing to mend in data that were sent or read.
#[derive(Debug, Serialize, ToSchema)]
#[schema(as = Finding)]
pub(crate) struct FindingBody {
    /// Stable code; docs/reference/codes.md explains each.
    #[schema(examples("D204"))]
    code: &'static str,
    /// How much it matters.
    #[schema(pattern = "^(note|warning|error)$")]
    severity: &'static str,
    /// File, or `request` for what was sent.
    file: String,
    /// Line or row, from 1.
    #[serde(skip_serializing_if = "Option::is_none")]
    line: Option<u64>,
    /// Column or key.
    #[serde(skip_serializing_if = "Option::is_none")]
    field: Option<String>,
    /// What was found there.
    found: String,
    /// What was expected instead.
    expected: String,
    /// What to do about it.
    action: String,
}

impl From<&Finding> for FindingBody {
    fn from(finding: &Finding) -> FindingBody {
        FindingBody {
            code: finding.code,
            severity: severity(finding.severity),
            file: finding.place.file.clone(),
            line: finding.place.line,
            field: finding.place.field.clone(),
            found: finding.found.clone(),
            expected: finding.expected.clone(),
            action: finding.action.clone(),
        }
    }
}

pub(crate) fn severity(severity: Severity) -> &'static str {
    match severity {
        Severity::Note => "note",
        Severity::Warning => "warning",
        Severity::Error => "error",
    }
}

/// An error response in the making.
#[derive(Debug)]
pub(crate) struct Problem {
    status: StatusCode,
    kind: &'static str,
    title: &'static str,
    detail: String,
    current: Option<u64>,
    findings: Vec<Finding>,
    retry_after: Option<u64>,
    challenge: bool,
}

impl Problem {
    pub(crate) fn new(
        status: StatusCode,
        kind: &'static str,
        title: &'static str,
        detail: impl Into<String>,
    ) -> Problem {
        Problem {
            status,
            kind,
            title,
            detail: detail.into(),
            current: None,
            findings: Vec::new(),
            retry_after: None,
            challenge: false,
        }
    }

    /// The request cannot be read as one.
    pub(crate) fn malformed(detail: impl Into<String>) -> Problem {
        Problem::new(StatusCode::BAD_REQUEST, "malformed", "Malformed", detail)
    }

    /// It can be read, and what it says cannot be used.
    pub(crate) fn invalid(detail: impl Into<String>) -> Problem {
        let status = StatusCode::UNPROCESSABLE_ENTITY;
        Problem::new(status, "invalid", "Invalid data", detail)
    }

    pub(crate) fn missing(detail: impl Into<String>) -> Problem {
        Problem::new(StatusCode::NOT_FOUND, "missing", "Not there", detail)
    }

    pub(crate) fn conflict(detail: impl Into<String>) -> Problem {
        Problem::new(StatusCode::CONFLICT, "conflict", "Conflict", detail)
    }

    /// It was made before, by the same request.
    pub(crate) fn made_before(detail: impl Into<String>) -> Problem {
        Problem {
            kind: "made-before",
            ..Problem::conflict(detail)
        }
    }

    pub(crate) fn forbidden(detail: impl Into<String>) -> Problem {
        Problem::new(StatusCode::FORBIDDEN, "forbidden", "Not allowed", detail)
    }

    /// Who asks is not known.
    pub(crate) fn unknown_caller() -> Problem {
        Problem::unknown_caller_with("Sign in, or send a token: Authorization: Bearer bw_...")
    }

    /// Who asks is not known, said otherwise.
    pub(crate) fn unknown_caller_with(detail: &str) -> Problem {
        let status = StatusCode::UNAUTHORIZED;
        Problem {
            challenge: true,
            ..Problem::new(status, "unknown-caller", "Who is asking?", detail)
        }
    }

    pub(crate) fn stale(detail: impl Into<String>, current: u64) -> Problem {
        let status = StatusCode::PRECONDITION_FAILED;
        Problem {
            current: Some(current),
            ..Problem::new(status, "stale", "Changed since", detail)
        }
    }

    /// Too many requests; another may come after `seconds`.
    pub(crate) fn too_many(detail: impl Into<String>, seconds: u64) -> Problem {
        let status = StatusCode::TOO_MANY_REQUESTS;
        Problem::new(status, "too-many-requests", "Too many requests", detail).again_after(seconds)
    }

    /// It cannot be answered now and may be a little later.
    pub(crate) fn unavailable(kind: &'static str, detail: impl Into<String>) -> Problem {
        let status = StatusCode::SERVICE_UNAVAILABLE;
        Problem::new(status, kind, "Not now", detail).again_after(1)
    }

    /// A fault of this program; the cause goes to the log alone.
    pub(crate) fn fault(cause: &dyn std::fmt::Display) -> Problem {
        tracing::error!(%cause, "a request could not be answered");
        let detail = "The daemon could not answer, which is no fault of the request. Its log says \
                      more.";
        let status = StatusCode::INTERNAL_SERVER_ERROR;
        Problem::new(status, "fault", "Fault in the daemon", detail)
    }

    /// What is said to people.
    pub(crate) fn detail(&self) -> &str {
        &self.detail
    }

    pub(crate) fn with_findings(self, findings: Vec<Finding>) -> Problem {
        Problem { findings, ..self }
    }

    fn again_after(self, seconds: u64) -> Problem {
        Problem {
            retry_after: Some(seconds.max(1)),
            ..self
        }
    }
}

impl IntoResponse for Problem {
    fn into_response(self) -> Response {
        let body = ProblemBody {
            about: "about:blank",
            title: self.title,
            status: self.status.as_u16(),
            kind: self.kind,
            detail: self.detail,
            current: self.current,
            findings: self.findings.iter().map(FindingBody::from).collect(),
        };
        let kind = [(header::CONTENT_TYPE, "application/problem+json")];
        let text = serde_json::to_string(&body).unwrap_or_default();
        let mut response = (self.status, kind, text).into_response();
        let headers = response.headers_mut();
        if let Some(seconds) = self.retry_after {
            headers.insert(header::RETRY_AFTER, HeaderValue::from(seconds));
        }
        if let Some(current) = self.current
            && let Ok(tag) = HeaderValue::from_str(&format!("\"{current}\""))
        {
            headers.insert(header::ETAG, tag);
        }
        if self.challenge {
            let challenge = HeaderValue::from_static("Bearer realm=\"brakewright\"");
            headers.insert(header::WWW_AUTHENTICATE, challenge);
        }
        response
    }
}

impl From<Refusal> for Problem {
    fn from(refusal: Refusal) -> Problem {
        let text = refusal.text;
        match refusal.kind {
            RefusalKind::Missing => Problem::missing(text),
            RefusalKind::Conflict => Problem::conflict(text),
            RefusalKind::Stale { current } => Problem::stale(text, current),
            RefusalKind::Invalid(findings) => Problem::invalid(text).with_findings(findings),
            RefusalKind::NotNow => Problem {
                kind: "not-now",
                ..Problem::conflict(text)
            },
        }
    }
}

impl From<OfficeError> for Problem {
    fn from(error: OfficeError) -> Problem {
        match error {
            OfficeError::Refused(refusal) => refusal.into(),
            OfficeError::KeyUsed => Problem {
                kind: "key-used",
                ..Problem::invalid(error.to_string())
            },
            OfficeError::Nobody(text) => Problem::missing(text),
            OfficeError::Job(error) => Problem::invalid(error.to_string()),
            OfficeError::NoShop | OfficeError::NoPlan => Problem {
                kind: "not-now",
                ..Problem::conflict(error.to_string())
            },
            OfficeError::Busy | OfficeError::Stopping => {
                Problem::unavailable("busy", error.to_string())
            }
            other => Problem::fault(&other),
        }
    }
}

pub(crate) async fn not_found() -> Problem {
    Problem::missing("Nothing is here; /api/v1/openapi.json lists what is.")
}

pub(crate) async fn other_method() -> Problem {
    let detail = "This cannot be done here; the Allow header says what can.";
    let status = StatusCode::METHOD_NOT_ALLOWED;
    Problem::new(status, "other-method", "Not with this method", detail)
}

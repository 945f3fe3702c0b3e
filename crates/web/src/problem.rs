//! Errors as `application/problem+json` (RFC 9457) [memory].

use axum::http::{StatusCode, header};
use axum::response::{IntoResponse, Response};
use serde_json::json;

/// An error response: a short title, and what to do about it.
pub(crate) fn problem(status: StatusCode, title: &str, detail: &str) -> Response {
    let body = json!({
        "type": "about:blank",
        "title": title,
        "status": status.as_u16(),
        "detail": detail,
    });
    let kind = [(header::CONTENT_TYPE, "application/problem+json")];
    (status, kind, body.to_string()).into_response()
}

pub(crate) async fn not_found() -> Response {
    let detail = "The board is at /, its data under /api/v1.";
    problem(StatusCode::NOT_FOUND, "Nothing here", detail)
}

pub(crate) async fn only_reading() -> Response {
    let detail = "The board can only be read; change the shop folder's files instead.";
    problem(StatusCode::METHOD_NOT_ALLOWED, "Only GET", detail)
}

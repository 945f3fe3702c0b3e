//! The board's data, for programs.

use crate::BoardState;
use crate::problem::problem;
use axum::Json;
use axum::extract::State;
use axum::http::{StatusCode, header};
use axum::response::{IntoResponse, Response};
use serde_json::{Value, json};
use units::{Finding, Severity};

pub(crate) async fn healthz() -> &'static str {
    "ok"
}

pub(crate) async fn readyz(State(state): State<BoardState>) -> Response {
    let board = state.read();
    match board.current {
        Some(_) => "ready".into_response(),
        None => no_plan(StatusCode::SERVICE_UNAVAILABLE),
    }
}

pub(crate) async fn plan(State(state): State<BoardState>) -> Response {
    match state.read().current {
        Some(current) => {
            let kind = [(header::CONTENT_TYPE, "application/json")];
            (kind, current.json().to_owned()).into_response()
        }
        None => no_plan(StatusCode::NOT_FOUND),
    }
}

fn no_plan(status: StatusCode) -> Response {
    let detail = "No plan has been made yet; /api/v1/findings says whether the shop folder can be \
                  planned.";
    problem(status, "No plan yet", detail)
}

pub(crate) async fn findings(State(state): State<BoardState>) -> Json<Value> {
    let board = state.read();
    let findings: Vec<Value> = board.findings.iter().map(finding).collect();
    let trouble = match &board.standing {
        crate::Standing::Trouble(text) => Some(text.as_str()),
        _ => None,
    };
    Json(json!({
        "format": "brakewright.findings/1",
        "standing": board.standing.name(),
        "trouble": trouble,
        "findings": findings,
    }))
}

fn finding(finding: &Finding) -> Value {
    json!({
        "code": finding.code,
        "severity": severity(finding.severity),
        "file": finding.place.file,
        "line": finding.place.line,
        "field": finding.place.field,
        "found": finding.found,
        "expected": finding.expected,
        "action": finding.action,
    })
}

pub(crate) fn severity(severity: Severity) -> &'static str {
    match severity {
        Severity::Note => "note",
        Severity::Warning => "warning",
        Severity::Error => "error",
    }
}

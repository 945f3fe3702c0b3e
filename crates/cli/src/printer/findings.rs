//! Findings, counted and as JSON.

use super::{counted, severity_word};
use model::Shop;
use serde_json::{Value, json};
use std::fmt::Write as _;
use units::{Finding, Severity};

/// The code under which an absent optional file is reported.
const ABSENT_FILE: &str = "D115";

/// `Demo shop: 5 brakes, 146 orders, …`.
pub(crate) fn read_line(shop: &Shop) -> String {
    format!(
        "{}: {}, {}, {}, {}, {}, {}.\n",
        shop.name,
        counted(shop.brakes.len(), "brake", "brakes"),
        counted(shop.profiles.len(), "tool profile", "tool profiles"),
        counted(shop.sections.len(), "section", "sections"),
        counted(shop.parts.len(), "part", "parts"),
        counted(shop.orders.len(), "open order", "open orders"),
        counted(shop.people.len(), "person", "people"),
    )
}

/// How many findings of each severity, and which optional files are not there.
pub(crate) fn count_line(findings: &[Finding]) -> String {
    let count = |severity| findings.iter().filter(|f| f.severity == severity).count();
    let mut line = format!(
        "{}, {}, {}.",
        counted(count(Severity::Error), "error", "errors"),
        counted(count(Severity::Warning), "warning", "warnings"),
        counted(count(Severity::Note), "note", "notes"),
    );
    let absent: Vec<&Finding> = absent(findings).collect();
    if absent.is_empty() {
        line.push_str(" Every optional file is there.");
    }
    for finding in absent {
        let _ = write!(line, " {} is {}.", finding.place.file, finding.found);
    }
    line.push('\n');
    line
}

fn absent(findings: &[Finding]) -> impl Iterator<Item = &Finding> {
    findings.iter().filter(|f| f.code == ABSENT_FILE)
}

/// Everything, for machines.
pub(crate) fn as_json(findings: &[Finding]) -> Value {
    let count = |severity| findings.iter().filter(|f| f.severity == severity).count();
    let all: Vec<Value> = findings
        .iter()
        .map(|finding| {
            json!({
                "code": finding.code,
                "severity": severity_word(finding),
                "file": finding.place.file,
                "line": finding.place.line,
                "field": finding.place.field,
                "found": finding.found,
                "expected": finding.expected,
                "action": finding.action,
            })
        })
        .collect();
    let absent: Vec<&str> = absent(findings).map(|f| f.place.file.as_str()).collect();
    json!({
        "format": "brakewright.check/1",
        "errors": count(Severity::Error),
        "warnings": count(Severity::Warning),
        "notes": count(Severity::Note),
        "absent": absent,
        "findings": all,
    })
}

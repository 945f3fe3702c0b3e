//! What the judge says.

use super::counted;
use model::{Plan, Verdict};
use serde_json::{Value, json};
use std::fmt::Write as _;

/// Accepted, or every violation.
pub(crate) fn as_text(plan: &Plan, verdict: &Verdict) -> String {
    let runs: usize = plan.brakes.iter().map(|brake| brake.runs.len()).sum();
    if verdict.accepted() {
        return format!(
            "accepted: {} and {} without a place keep every rule of docs/rules.md\n",
            counted(runs, "run", "runs"),
            counted(plan.unplaced.len(), "order", "orders"),
        );
    }
    let mut out = String::new();
    for violation in &verdict.violations {
        let _ = writeln!(
            out,
            "{} {} at {}: {}",
            violation.code, violation.rule, violation.at, violation.text
        );
    }
    let _ = writeln!(
        out,
        "rejected: {}; do not work from this plan",
        counted(verdict.violations.len(), "violation", "violations")
    );
    out
}

/// The same for machines.
pub(crate) fn as_json(verdict: &Verdict) -> Value {
    let violations: Vec<Value> = verdict
        .violations
        .iter()
        .map(|violation| {
            json!({
                "code": violation.code,
                "rule": violation.rule,
                "at": violation.at,
                "text": violation.text,
            })
        })
        .collect();
    json!({
        "format": "brakewright.verdict/1",
        "accepted": verdict.accepted(),
        "violations": violations,
    })
}

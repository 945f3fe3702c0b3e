//! How the daemon plans.

use crate::access::Who;
use crate::app::Site;
use crate::input::{Body, Expected, Key, Whole};
use crate::problem::Problem;
use crate::wire::{Written, submit, tagged, written};
use axum::Json;
use axum::response::Response;
use daybook::{Command, Expectation, Policy};
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

/// How proposals are made and published.
#[derive(Debug, Serialize, ToSchema)]
#[schema(as = Policy)]
pub(crate) struct PolicyView {
    /// Whether a proposal that the judge accepted is published without a person.
    publish_automatically: bool,
    /// Search steps of a proposal.
    steps: u64,
    /// Seconds to wait after the last change before a proposal is made.
    quiet_seconds: u32,
    /// Seconds by which a run may start or end off its plan before a new plan is wanted.
    drift_seconds: u32,
}

/// How proposals are to be made and published.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({"publish_automatically": false, "steps": 200_000, "quiet_seconds": 10, "drift_seconds": 900}))]
pub(crate) struct NewPolicy {
    /// Whether a proposal that the judge accepted is published without a person.
    publish_automatically: bool,
    /// Search steps of a proposal.
    steps: Whole<1, { Policy::MOST_STEPS }>,
    /// Seconds to wait after the last change before a proposal is made.
    quiet_seconds: Whole<0, 86_400>,
    /// Seconds by which a run may start or end off its plan before a new plan is wanted.
    drift_seconds: Whole<0, 86_400>,
}

/// Show the policy.
#[utoipa::path(get, path = "/api/v1/policy", tag = "policy",
    responses((status = 200, body = PolicyView, headers(("ETag" = String)))))]
pub(crate) async fn get(site: Site) -> Response {
    let state = site.office.state();
    let policy = &state.policy;
    let view = PolicyView {
        publish_automatically: policy.publish_automatically,
        steps: policy.steps,
        quiet_seconds: policy.quiet_seconds,
        drift_seconds: policy.drift_seconds,
    };
    tagged(state.policy_version, Json(view))
}

/// Set the policy. `If-Match` takes the ETag that reading it gave, also the first time.
#[utoipa::path(put, path = "/api/v1/policy", tag = "policy", request_body = NewPolicy,
    responses((status = 200, body = Written, headers(("ETag" = String)))))]
pub(crate) async fn put(
    site: Site,
    who: Who,
    key: Key,
    expected: Expected,
    Body(body): Body<NewPolicy>,
) -> Result<Response, Problem> {
    let seconds = |whole: Whole<0, 86_400>| u32::try_from(whole.0).unwrap_or(u32::MAX);
    let policy = Policy {
        publish_automatically: body.publish_automatically,
        steps: body.steps.0,
        quiet_seconds: seconds(body.quiet_seconds),
        drift_seconds: seconds(body.drift_seconds),
    };
    let command = Command::ChangePolicy {
        policy,
        expect: None,
    };
    let expect = expected.version().map(Expectation::Policy);
    let done = submit(&site, &who, key, expect, command).await?;
    Ok(written(&site, &done, |state| state.policy_version))
}

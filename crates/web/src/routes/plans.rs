//! Plans: proposals, the published one, and how two of them differ.

use crate::access::Who;
use crate::app::Site;
use crate::input::{Asked, Body, Expected, Key, Named, Number, Whole};
use crate::problem::{FindingBody, Problem};
use crate::wire::{When, Written, submit, tagged, written};
use axum::Json;
use axum::http::{StatusCode, header};
use axum::response::{IntoResponse, Response};
use daybook::differences::{BrakeChange, Differences, OrderChange, differences as compare};
use daybook::{Command, Expectation};
use model::Totals;
use serde::{Deserialize, Serialize};
use std::collections::BTreeSet;
use std::sync::Arc;
use units::BrakeId;
use utoipa::{IntoParams, ToSchema};
use workshop::{KeptPlan, Standing};

/// A plan that was kept, in short.
#[derive(Debug, Serialize, ToSchema)]
pub(crate) struct PlanView {
    /// Its number at this site.
    plan: i64,
    /// Number of the last event it knows of.
    made_from: i64,
    /// Revision of the shop data it was made from.
    revision: i64,
    /// What it costs, in sixtieths of a changeover second.
    objective: i64,
    /// When it was kept.
    made_at: When,
    /// Whether it is the plan of the floor.
    published: bool,
}

/// Plans.
#[derive(Debug, Serialize, ToSchema)]
pub(crate) struct Plans {
    /// The latest first.
    plans: Vec<PlanView>,
}

/// How many.
#[derive(Debug, Deserialize, IntoParams)]
#[serde(deny_unknown_fields)]
#[into_params(parameter_in = Query)]
pub(crate) struct HowMany {
    /// So many at most; 50 when not said.
    #[param(inline)]
    limit: Option<Whole<1, 500>>,
}

/// List the plans that were made last.
#[utoipa::path(get, path = "/api/v1/plans", tag = "plans", params(HowMany),
    responses((status = 200, body = Plans)))]
pub(crate) async fn list(site: Site, Asked(many): Asked<HowMany>) -> Result<Json<Plans>, Problem> {
    let limit = many
        .limit
        .map_or(50, |limit| u32::try_from(limit.0).unwrap_or(50));
    let published = site.office.state().published.as_ref().map(|now| now.plan);
    let plans = site.office.plans(limit).await?;
    let plans = plans.into_iter().map(|plan| PlanView {
        plan: plan.plan.number(),
        made_from: plan.made_from.number(),
        revision: plan.revision.number(),
        objective: plan.objective,
        made_at: When(plan.created_at),
        published: published.and_then(|now| i64::try_from(now).ok()) == Some(plan.plan.number()),
    });
    Ok(Json(Plans {
        plans: plans.collect(),
    }))
}

/// Names a plan.
#[derive(Debug, Deserialize)]
pub(crate) struct PlanPath {
    plan: Number,
}

async fn kept(site: &Site, number: u64) -> Result<Arc<KeptPlan>, Problem> {
    let kept = site.office.plan(number).await?;
    kept.ok_or_else(|| Problem::missing(format!("There is no plan {number}.")))
}

fn plan_text(kept: &KeptPlan) -> Response {
    let kind = [(header::CONTENT_TYPE, "application/json")];
    (kind, kept.json.clone()).into_response()
}

/// Show a plan, as docs/reference/plan-json.md describes it.
#[utoipa::path(get, path = "/api/v1/plans/{plan}", tag = "plans",
    params(("plan" = inline(Number), Path, description = "The plan's number", example = 1)),
    responses((status = 200, content_type = "application/json", body = Object)))]
pub(crate) async fn one(site: Site, Named(path): Named<PlanPath>) -> Result<Response, Problem> {
    Ok(plan_text(kept(&site, path.plan.0).await?.as_ref()))
}

/// Show the published plan. Its ETag is what publishing another one takes as `If-Match`.
#[utoipa::path(get, path = "/api/v1/plans/published", tag = "plans",
    responses((status = 200, content_type = "application/json", body = Object,
        headers(("ETag" = String)))))]
pub(crate) async fn published(site: Site) -> Result<Response, Problem> {
    // The version goes with the plan of the same state.
    let state = site.office.state();
    let Some(now) = &state.published else {
        return Err(Problem::missing(
            "No plan is published; POST a proposal's number first.",
        ));
    };
    let kept = kept(&site, now.plan).await?;
    Ok(tagged(now.number, plan_text(&kept)))
}

/// Show the latest proposal.
#[utoipa::path(get, path = "/api/v1/plans/proposal", tag = "plans",
    responses((status = 200, content_type = "application/json", body = Object,
        headers(("X-Plan" = u64)))))]
pub(crate) async fn proposal(site: Site) -> Result<Response, Problem> {
    let Some(kept) = site.office.proposal().await? else {
        return Err(Problem::missing(
            "No plan has been proposed yet; see /api/v1/standing.",
        ));
    };
    Ok(([("x-plan", kept.number.to_string())], plan_text(&kept)).into_response())
}

/// What was asked for is under way.
#[derive(Debug, Serialize, ToSchema)]
pub(crate) struct Wanted {
    /// Number of the last event the proposal will know of, at least.
    event: u64,
}

/// Ask for a proposal now. It is made in the background; the stream tells when it is there.
#[utoipa::path(post, path = "/api/v1/plans/proposal", tag = "plans",
    responses((status = 202, body = Wanted)))]
pub(crate) async fn ask(site: Site, who: Who, key: Key) -> Result<Response, Problem> {
    if site.office.state().base().is_none() {
        return Err(Problem::conflict(
            "There is no shop data yet; put some first.",
        ));
    }
    let why = format!("asked for by {}", who.name);
    let event = site.office.want_plan(&why, key.0.as_ref()).await?;
    Ok((StatusCode::ACCEPTED, Json(Wanted { event })).into_response())
}

/// Which plan.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub(crate) struct Publish {
    /// The proposal's number.
    #[schema(value_type = Whole<1, 9_007_199_254_740_991>, examples(7))]
    plan: Whole<1, 9_007_199_254_740_991>,
}

/// Publish a proposal: the floor works to it from now on. `If-Match` names the published plan it
/// replaces; `If-None-Match: *` says that none is published yet.
#[utoipa::path(put, path = "/api/v1/plans/published", tag = "plans", request_body = Publish,
    responses((status = 200, body = Written, headers(("ETag" = String)))))]
pub(crate) async fn publish(
    site: Site,
    who: Who,
    key: Key,
    expected: Expected,
    Body(body): Body<Publish>,
) -> Result<Response, Problem> {
    let command = Command::Publish {
        plan: body.plan.0,
        expect_published: None,
    };
    let expect = expected.version().map(Expectation::Published);
    let done = submit(&site, &who, key, expect, command).await?;
    Ok(written(&site, &done, |state| {
        state.published.as_ref().map_or(0, |now| now.number)
    }))
}

/// Names two plans.
#[derive(Debug, Deserialize)]
pub(crate) struct TwoPlans {
    before: Number,
    after: Number,
}

/// Show what changes from one plan to another.
#[utoipa::path(get, path = "/api/v1/plans/{before}/differences/{after}", tag = "plans",
    params(("before" = inline(Number), Path, description = "The plan's number", example = 1),
        ("after" = inline(Number), Path, description = "The other plan's number", example = 1)),
    responses((status = 200, body = DifferencesView)))]
pub(crate) async fn differences(
    site: Site,
    Named(path): Named<TwoPlans>,
) -> Result<Json<DifferencesView>, Problem> {
    let before = kept(&site, path.before.0).await?;
    let after = kept(&site, path.after.0).await?;
    Ok(Json(DifferencesView::of(&compare(
        &before.plan,
        &after.plan,
    ))))
}

/// What another plan changes. Times are after less before: negative is earlier.
#[derive(Debug, Serialize, ToSchema)]
pub(crate) struct DifferencesView {
    /// Orders that are not alike in both.
    orders: Vec<OrderChangeView>,
    /// Brakes that are not alike in both.
    brakes: Vec<BrakeChangeView>,
    /// Totals before.
    before: TotalsView,
    /// Totals after.
    after: TotalsView,
}

/// What changes for one order.
#[derive(Debug, Serialize, ToSchema)]
struct OrderChangeView {
    order: String,
    /// Brakes before, when they are others after.
    #[serde(skip_serializing_if = "Option::is_none")]
    brakes_before: Option<Vec<String>>,
    /// Brakes after.
    #[serde(skip_serializing_if = "Option::is_none")]
    brakes_after: Option<Vec<String>>,
    /// Seconds by which its first run starts later.
    #[serde(skip_serializing_if = "Option::is_none")]
    starts_later_seconds: Option<i64>,
    /// Seconds by which its last run ends later.
    #[serde(skip_serializing_if = "Option::is_none")]
    ends_later_seconds: Option<i64>,
    /// Seconds late before.
    late_seconds_before: i64,
    /// Seconds late after.
    late_seconds_after: i64,
    /// Pieces without a place before.
    unplaced_before: u32,
    /// Pieces without a place after.
    unplaced_after: u32,
    /// Whether it is in the plan before.
    known_before: bool,
    /// Whether it is in the plan after.
    known_after: bool,
}

/// What changes on one brake.
#[derive(Debug, Serialize, ToSchema)]
struct BrakeChangeView {
    brake: String,
    runs_before: u32,
    runs_after: u32,
    changeovers_before: u32,
    changeovers_after: u32,
    changeover_seconds_before: i64,
    changeover_seconds_after: i64,
    run_seconds_before: i64,
    run_seconds_after: i64,
}

/// What a plan costs.
#[derive(Debug, Serialize, ToSchema)]
pub(crate) struct TotalsView {
    runs: u32,
    changeovers: u32,
    changeover_seconds: i64,
    run_seconds: i64,
    late_orders: u32,
    weighted_late_seconds: i64,
    overtime_seconds: i64,
    unplaced_orders: u32,
    /// Starts off what people were told by the plan before, summed.
    moved_seconds: i64,
    /// Orders on another brake than people were told.
    other_brakes: u32,
    /// In sixtieths of a changeover second.
    objective: i64,
}

impl From<&Totals> for TotalsView {
    fn from(totals: &Totals) -> TotalsView {
        TotalsView {
            runs: totals.runs,
            changeovers: totals.changeovers,
            changeover_seconds: totals.changeover.0,
            run_seconds: totals.run.0,
            late_orders: totals.late_orders,
            weighted_late_seconds: totals.weighted_late.0,
            overtime_seconds: totals.overtime.0,
            unplaced_orders: totals.unplaced_orders,
            moved_seconds: totals.moved.0,
            other_brakes: totals.other_brakes,
            objective: totals.objective,
        }
    }
}

impl DifferencesView {
    pub(crate) fn of(differences: &Differences) -> DifferencesView {
        DifferencesView {
            orders: differences.orders.iter().map(order_change).collect(),
            brakes: differences.brakes.iter().map(brake_change).collect(),
            before: TotalsView::from(&differences.before),
            after: TotalsView::from(&differences.after),
        }
    }
}

fn order_change(change: &OrderChange) -> OrderChangeView {
    let names = |ids: &BTreeSet<BrakeId>| ids.iter().map(ToString::to_string).collect();
    let moved = change.moved.as_ref();
    OrderChangeView {
        order: change.order.to_string(),
        brakes_before: moved.map(|(before, _)| names(before)),
        brakes_after: moved.map(|(_, after)| names(after)),
        starts_later_seconds: change.starts.map(|by| by.0),
        ends_later_seconds: change.ends.map(|by| by.0),
        late_seconds_before: change.late.0.0,
        late_seconds_after: change.late.1.0,
        unplaced_before: change.unplaced.0,
        unplaced_after: change.unplaced.1,
        known_before: change.known.0,
        known_after: change.known.1,
    }
}

fn brake_change(change: &BrakeChange) -> BrakeChangeView {
    BrakeChangeView {
        brake: change.brake.to_string(),
        runs_before: change.runs.0,
        runs_after: change.runs.1,
        changeovers_before: change.changeovers.0,
        changeovers_after: change.changeovers.1,
        changeover_seconds_before: change.changeover.0.0,
        changeover_seconds_after: change.changeover.1.0,
        run_seconds_before: change.run.0.0,
        run_seconds_after: change.run.1.0,
    }
}

/// How the site stands.
#[derive(Debug, Serialize, ToSchema)]
pub(crate) struct StandingView {
    /// `waiting`, `up-to-date`, `planning`, `faults` or `trouble`.
    #[schema(examples("up-to-date"))]
    standing: &'static str,
    /// What stands in the way; with `trouble` only.
    #[serde(skip_serializing_if = "Option::is_none")]
    trouble: Option<String>,
    /// Number of the last event.
    event: u64,
    /// Whether something has happened that no plan knows of.
    plan_wanted: bool,
    /// Number of the published plan.
    #[serde(skip_serializing_if = "Option::is_none")]
    published: Option<u64>,
    /// Number of the latest proposal.
    #[serde(skip_serializing_if = "Option::is_none")]
    proposal: Option<u64>,
    /// What to know about, or to mend in, the shop folder that was read last.
    findings: Vec<FindingBody>,
}

pub(crate) fn standing_word(standing: &Standing) -> &'static str {
    match standing {
        Standing::Waiting => "waiting",
        Standing::UpToDate => "up-to-date",
        Standing::Planning => "planning",
        Standing::Faults => "faults",
        Standing::Trouble(_) => "trouble",
    }
}

/// Show how the site stands: up to date, being planned, or held up.
#[utoipa::path(get, path = "/api/v1/standing", tag = "plans",
    responses((status = 200, body = StandingView)))]
pub(crate) async fn standing(site: Site) -> Json<StandingView> {
    let (state, standing) = (site.office.state(), site.office.standing());
    Json(StandingView {
        standing: standing_word(&standing),
        event: state.number,
        plan_wanted: site.office.plan_is_wanted(),
        published: state.published.as_ref().map(|now| now.plan),
        proposal: state.latest_proposal().map(|last| last.plan),
        findings: site
            .office
            .findings()
            .iter()
            .map(FindingBody::from)
            .collect(),
        trouble: match standing {
            Standing::Trouble(text) => Some(text),
            _ => None,
        },
    })
}

//! Whether the daemon is well, what it counts, and what it offers.

use crate::app::{App, Site};
use crate::metrics::Now;
use crate::problem::Problem;
use axum::extract::State;
use axum::http::header;
use axum::response::{IntoResponse, Response};
use daybook::OrderStatus;

/// Tell that the program runs.
#[utoipa::path(get, path = "/healthz", tag = "daemon",
    responses((status = 200, content_type = "text/plain", body = String)))]
pub(crate) async fn healthz() -> &'static str {
    "ok"
}

/// Tell whether requests can be answered: the database answers as well.
#[utoipa::path(get, path = "/readyz", tag = "daemon",
    responses((status = 200, content_type = "text/plain", body = String)))]
pub(crate) async fn readyz(State(app): State<App>) -> Result<&'static str, Problem> {
    for site in &app.sites {
        if let Err(error) = site.office.ping().await {
            tracing::error!(%error, "the database does not answer");
            return Err(Problem::unavailable(
                "no-database",
                "The database does not answer.",
            ));
        }
    }
    Ok("ready")
}

/// Show what was counted since the daemon started, for Prometheus.
#[utoipa::path(get, path = "/metrics", tag = "daemon",
    responses((status = 200, content_type = "text/plain", body = String)))]
pub(crate) async fn metrics(State(app): State<App>) -> Response {
    let sites: Vec<Now> = app.sites.iter().map(now).collect();
    let kind = [(
        header::CONTENT_TYPE,
        "text/plain; version=0.0.4; charset=utf-8",
    )];
    (kind, app.metrics.text(&sites)).into_response()
}

fn now(site: &Site) -> Now {
    let state = site.office.state();
    let lines = state.arrived().map(|order| state.order_line(order).status);
    let open = lines.filter(|status| matches!(status, OrderStatus::Open | OrderStatus::Running));
    Now {
        site: site.office.name().to_owned(),
        events: state.number,
        open_orders: open.count(),
        proposals: state.proposals.len(),
        plan_wanted: site.office.plan_is_wanted(),
        published: state.published.is_some(),
        counted: site.office.counted(),
    }
}

/// Show this description.
#[utoipa::path(get, path = "/api/v1/openapi.json", tag = "daemon",
    responses((status = 200, content_type = "application/json", body = Object)))]
pub(crate) async fn description(State(app): State<App>) -> Response {
    let kind = [(header::CONTENT_TYPE, "application/json")];
    (kind, app.description.clone()).into_response()
}

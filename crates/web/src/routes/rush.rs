//! What orders would cost, before they are taken.

use crate::app::{App, Site};
use crate::input::Body;
use crate::problem::Problem;
use crate::routes::orders::{ManyOrders, PlannedRun, planned_runs, put_orders};
use crate::routes::plans::DifferencesView;
use crate::wire::When;
use axum::Json;
use axum::extract::State;
use daybook::Command;
use documents::OrderRow;
use serde::Serialize;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use units::OrderId;
use utoipa::ToSchema;
use workshop::Rush;

/// What taking orders, or pinning one, would do.
#[derive(Debug, Serialize, ToSchema)]
pub(crate) struct RushView {
    /// Where each order would run; an order without runs has no place.
    orders: Vec<PlacedOrder>,
    /// What changes for everybody, against a plan of equal effort in which things are left as they are.
    differences: DifferencesView,
}

/// An order that is not taken yet, in a plan.
#[derive(Debug, Serialize, ToSchema)]
pub(crate) struct PlacedOrder {
    order: String,
    runs: Vec<PlannedRun>,
    /// When its last piece would be done; nothing when it has no place.
    #[serde(skip_serializing_if = "Option::is_none")]
    end: Option<When>,
    /// Why it has no place, or only a part of it, by brake.
    unplaced: Vec<String>,
}

/// Tells the search to end when nobody waits for it any more.
struct Interrupt(Arc<AtomicBool>);

impl Drop for Interrupt {
    fn drop(&mut self) {
        self.0.store(true, Ordering::Relaxed);
    }
}

impl RushView {
    /// What was found about these orders.
    fn of(rush: &Rush, orders: &[OrderId]) -> RushView {
        RushView {
            orders: orders.iter().map(|order| placed(rush, order)).collect(),
            differences: DifferencesView::of(&rush.differences),
        }
    }
}

/// What a command would do to these orders and to everybody else.
pub(crate) async fn effect_of(
    app: &App,
    site: &Site,
    command: &Command,
    orders: &[OrderId],
) -> Result<Json<RushView>, Problem> {
    let rush = search(app, site, command).await?;
    Ok(Json(RushView::of(&rush, orders)))
}

async fn search(app: &App, site: &Site, command: &Command) -> Result<Rush, Problem> {
    let Ok(_turn) = app.searching.try_acquire() else {
        let detail = "Another question of this kind is being answered; ask again in a moment.";
        return Err(Problem::unavailable("busy", detail));
    };
    app.metrics.rush_planned(site.office.name());
    let interrupt = Interrupt(Arc::default());
    Ok(site.office.rush(command, app.effort, &interrupt.0).await?)
}

fn placed(rush: &Rush, order: &OrderId) -> PlacedOrder {
    let runs = planned_runs(&rush.with, order);
    let unplaced = rush
        .with
        .unplaced
        .iter()
        .filter(|left| left.order == *order);
    let refusals = unplaced.flat_map(|left| &left.refusals);
    PlacedOrder {
        order: order.to_string(),
        end: runs.iter().map(|run| run.end).max(),
        runs,
        unplaced: refusals
            .map(|refusal| format!("{}: {}", refusal.brake, refusal.text))
            .collect(),
    }
}

fn ids(rows: &[OrderRow]) -> Vec<OrderId> {
    let cells = rows.iter().filter_map(|row| row.cells.get("order"));
    cells
        .filter_map(|text| OrderId::new(text.trim()).ok())
        .collect()
}

/// Ask what taking these orders would do to everybody else. Nothing is kept.
#[utoipa::path(post, path = "/api/v1/rush", tag = "questions", request_body = ManyOrders,
    responses((status = 200, body = RushView)))]
pub(crate) async fn rush(
    State(app): State<App>,
    site: Site,
    Body(body): Body<ManyOrders>,
) -> Result<Json<RushView>, Problem> {
    let rows = body.rows()?;
    let orders = ids(&rows);
    effect_of(&app, &site, &put_orders(rows, body.new_only), &orders).await
}

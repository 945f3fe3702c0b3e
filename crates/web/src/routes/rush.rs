//! What orders would cost, before they are taken.

use crate::app::{App, Site};
use crate::input::{Body, Id, Line, Whole};
use crate::problem::Problem;
use crate::routes::orders::{ManyOrders, PlannedRun, planned_runs, put_orders};
use crate::routes::plans::DifferencesView;
use crate::wire::When;
use axum::Json;
use axum::extract::State;
use daybook::Command;
use documents::OrderRow;
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use units::{Moment, OrderId};
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
    app.metrics.rush_planned();
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

/// An order somebody may place.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub(crate) struct Enquiry {
    /// Part of the shop data.
    #[schema(value_type = Id, examples("BR-608"))]
    part: Id,
    /// Pieces.
    quantity: Whole<1, 1_000_000>,
    /// When it is wanted, as work-orders.csv has it. Left out: far away, so that it displaces nobody.
    #[schema(value_type = Option<Line<1, 40>>, examples("2027-03-26"))]
    due: Option<Line<1, 40>>,
    /// Earliest moment bending may start, as work-orders.csv has it.
    #[schema(value_type = Option<Line<1, 40>>, examples("2027-03-23"))]
    ready: Option<Line<1, 40>>,
}

/// What an order that does not exist yet could get.
#[derive(Debug, Serialize, ToSchema)]
pub(crate) struct QuoteView {
    /// When its first piece would be bent; nothing when it has no place.
    #[serde(skip_serializing_if = "Option::is_none")]
    start: Option<When>,
    /// When its last piece would be done. A plan, not a promise: there are no odds with it yet.
    #[serde(skip_serializing_if = "Option::is_none")]
    end: Option<When>,
    /// Its runs.
    runs: Vec<PlannedRun>,
    /// Why it has no place, by brake.
    unplaced: Vec<String>,
    /// What changes for everybody else.
    differences: DifferencesView,
}

/// The last moment a due date may have is in 2199; this is in sight of no plan and fits.
const FAR_AWAY: &str = "2150-01-01";

/// Ask when an order that does not exist yet could be bent, by placing it in a plan on trial. The
/// dates are those of a plan; odds are not given yet. Nothing is kept.
#[utoipa::path(post, path = "/api/v1/quotes", tag = "questions", request_body = Enquiry,
    responses((status = 200, body = QuoteView)))]
pub(crate) async fn quote(
    State(app): State<App>,
    site: Site,
    Body(body): Body<Enquiry>,
) -> Result<Json<QuoteView>, Problem> {
    let state = site.office.state();
    let order = unused_id(|id| state.orders.contains_key(id))?;
    let due = body.due.map_or_else(|| FAR_AWAY.to_owned(), |due| due.0);
    let mut cells: BTreeMap<String, String> = [
        ("order", order.to_string()),
        ("part", body.part.0),
        ("quantity", body.quantity.0.to_string()),
        ("due", due),
    ]
    .map(|(column, text)| (column.to_owned(), text))
    .into();
    if let Some(ready) = body.ready {
        cells.insert("ready".to_owned(), ready.0);
    }
    let row = OrderRow {
        cells,
        ..OrderRow::default()
    };
    let rush = search(&app, &site, &put_orders(vec![row], true)).await?;
    let placed = placed(&rush, &order);
    let start: Option<Moment> = placed.runs.iter().map(|run| run.start.0).min();
    Ok(Json(QuoteView {
        start: start.map(When),
        end: placed.end,
        runs: placed.runs,
        unplaced: placed.unplaced,
        differences: DifferencesView::of(&rush.differences),
    }))
}

/// A name for an order that no order has.
fn unused_id(taken: impl Fn(&OrderId) -> bool) -> Result<OrderId, Problem> {
    let names = (1..).map(|number: u32| format!("enquiry-{number}"));
    let mut ids = names.filter_map(|name| OrderId::new(&name).ok());
    ids.find(|id| !taken(id))
        .ok_or_else(|| Problem::fault(&"no name is free"))
}

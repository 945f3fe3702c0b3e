//! Work orders.

use crate::access::Who;
use crate::app::Site;
use crate::input::{Asked, Body, Expected, Id, Key, Line, Named, Whole, Why};
use crate::problem::Problem;
use crate::routes::pins::PinView;
use crate::wire::{When, Written, submit, tagged, written};
use axum::Json;
use axum::response::Response;
use daybook::{
    Command, Expectation, OrderEntry, OrderLine, OrderState, OrderStatus, Source, State,
};
use documents::OrderRow;
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;
use units::OrderId;
use utoipa::{IntoParams, ToSchema};

/// The name by which findings call what was sent.
pub(crate) const REQUEST: &str = "request";

/// Texts by column.
pub(crate) type Columns = BTreeMap<Line<1, 64>, Line<0, 500>>;

/// An order as a row of work-orders.csv would have it: same columns, same meaning, same findings.
#[derive(Clone, Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub(crate) struct OrderRows {
    /// Texts by column: `order`, `part`, `quantity`, `due` or `ship_date`, and those of
    /// docs/reference/shop-files.md that are not needed.
    #[schema(value_type = BTreeMap<String, Line<0, 500>>,
        example = json!({"order": "W-5001", "part": "BR-608", "quantity": "40", "due": "2027-03-26"}))]
    pub(crate) cells: Columns,
    /// Rows of deliveries.csv, when the order ships in shares.
    #[serde(default)]
    #[schema(value_type = Vec<BTreeMap<String, Line<0, 500>>>, max_items = 1000)]
    pub(crate) deliveries: Vec<Columns>,
    /// Rows of blanks.csv, when not all blanks are on hand.
    #[serde(default)]
    #[schema(value_type = Vec<BTreeMap<String, Line<0, 500>>>, max_items = 1000)]
    pub(crate) blanks: Vec<Columns>,
}

impl OrderRows {
    pub(crate) fn row(&self) -> OrderRow {
        let plain = |columns: &Columns| {
            let pairs = columns.iter();
            pairs
                .map(|(column, text)| (column.0.clone(), text.0.clone()))
                .collect()
        };
        OrderRow {
            cells: plain(&self.cells),
            deliveries: self.deliveries.iter().map(plain).collect(),
            blanks: self.blanks.iter().map(plain).collect(),
            ..OrderRow::default()
        }
    }
}

/// How an order stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "lowercase")]
pub(crate) enum Status {
    /// It has pieces to bend, and none is being bent.
    Open,
    /// It is being bent.
    Running,
    /// All pieces are done.
    Done,
    /// It is not wanted any more.
    Withdrawn,
}

impl From<OrderStatus> for Status {
    fn from(status: OrderStatus) -> Status {
        match status {
            OrderStatus::Open => Status::Open,
            OrderStatus::Running => Status::Running,
            OrderStatus::Done => Status::Done,
            OrderStatus::Withdrawn => Status::Withdrawn,
        }
    }
}

/// One order in a list.
#[derive(Debug, Serialize, ToSchema)]
pub(crate) struct OrderView {
    /// Order.
    #[schema(examples("W-5001"))]
    order: String,
    /// Part.
    #[schema(examples("BR-608"))]
    part: String,
    /// Pieces ordered.
    quantity: u32,
    /// Good pieces so far.
    done: u32,
    /// Spoiled pieces so far.
    scrap: u32,
    /// How it stands.
    status: Status,
    /// Number of the event that last changed it; its ETag.
    version: u64,
    /// Due at bending.
    due: When,
    /// How much an hour late matters.
    weight: u32,
    /// Kit.
    #[serde(skip_serializing_if = "Option::is_none")]
    kit: Option<String>,
    /// The brake somebody tied it to, and its place there.
    #[serde(skip_serializing_if = "Option::is_none")]
    pin: Option<PinView>,
    /// Brakes it is being bent on.
    brakes: Vec<String>,
    /// Where it came from: `folder`, `inbox` or `request`.
    source: &'static str,
    /// Customer or job reference.
    reference: String,
}

fn view(line: OrderLine) -> OrderView {
    OrderView {
        order: line.id.to_string(),
        part: line.part.to_string(),
        quantity: line.quantity,
        done: line.done,
        scrap: line.scrap,
        status: line.status.into(),
        version: line.version,
        due: When(line.due),
        weight: line.weight,
        kit: line.kit.map(|kit| kit.to_string()),
        pin: line.pin.map(PinView::from),
        brakes: line.brakes.iter().map(ToString::to_string).collect(),
        source: match line.source {
            Source::Folder => "folder",
            Source::Inbox => "inbox",
            Source::Request => "request",
        },
        reference: line.reference,
    }
}

/// Which orders.
#[derive(Debug, Deserialize, IntoParams)]
#[serde(deny_unknown_fields)]
#[into_params(parameter_in = Query)]
pub(crate) struct Which {
    /// Those that stand so.
    #[param(inline)]
    status: Option<Status>,
    /// Those of this part.
    #[param(inline)]
    part: Option<Id>,
    /// Those of this kit.
    #[param(inline)]
    kit: Option<Id>,
    /// Those that come after this order in order of arrival.
    #[param(inline)]
    after: Option<Id>,
    /// So many at most; 100 when not said.
    #[param(inline)]
    limit: Option<Whole<1, 1000>>,
}

/// A page of orders.
#[derive(Debug, Serialize, ToSchema)]
pub(crate) struct OrderPage {
    /// The orders, by arrival.
    orders: Vec<OrderView>,
    /// The order to continue `after`, when there are more.
    #[serde(skip_serializing_if = "Option::is_none")]
    next: Option<String>,
}

/// List work orders by arrival.
#[utoipa::path(get, path = "/api/v1/orders", tag = "orders", params(Which),
    responses((status = 200, body = OrderPage)))]
pub(crate) async fn list(
    site: Site,
    Asked(which): Asked<Which>,
) -> Result<Json<OrderPage>, Problem> {
    let state = site.office.state();
    let after = match &which.after {
        Some(id) => Some(order_of(&state, id)?.arrived),
        None => None,
    };
    let limit = which
        .limit
        .map_or(100, |limit| usize::try_from(limit.0).unwrap_or(100));
    let part = which.part.as_ref().map(|id| id.0.as_str());
    let kit = which.kit.as_ref().map(|id| id.0.as_str());
    let mut wanted = state
        .arrived()
        .filter(|order| after.is_none_or(|after| order.arrived > after))
        .filter(|order| part.is_none_or(|part| order.order.part.as_str() == part))
        .filter(|order| kit.is_none() || order.order.kit.as_ref().map(units::KitId::as_str) == kit)
        .map(|order| view(state.order_line(order)))
        .filter(|line| which.status.is_none_or(|status| line.status == status));
    let orders: Vec<OrderView> = wanted.by_ref().take(limit).collect();
    let more = wanted.next().is_some();
    let next = orders
        .last()
        .filter(|_| more)
        .map(|last| last.order.clone());
    Ok(Json(OrderPage { orders, next }))
}

/// Names an order.
#[derive(Debug, Deserialize)]
pub(crate) struct OrderPath {
    order: Id,
}

impl OrderPath {
    pub(crate) fn id(&self) -> Result<OrderId, Problem> {
        OrderId::new(&self.order.0).map_err(|error| Problem::missing(error.to_string()))
    }
}

fn order_of<'s>(state: &'s State, id: &Id) -> Result<&'s OrderState, Problem> {
    let found = OrderId::new(&id.0)
        .ok()
        .and_then(|id| state.orders.get(&id));
    found.ok_or_else(|| Problem::missing(format!("There is no order {}.", id.0)))
}

/// One order.
#[derive(Debug, Serialize, ToSchema)]
pub(crate) struct OrderAnswer {
    /// In short.
    #[serde(flatten)]
    line: OrderView,
    /// Everything that was ordered.
    #[schema(value_type = Object)]
    entry: OrderEntry,
    /// Its runs in the published plan.
    planned: Vec<PlannedRun>,
}

/// A run of a plan, in short.
#[derive(Debug, Serialize, ToSchema)]
pub(crate) struct PlannedRun {
    /// Brake.
    pub(crate) brake: String,
    /// The run's name in the plan.
    pub(crate) run: String,
    /// Pieces.
    pub(crate) quantity: u32,
    /// When bending begins.
    pub(crate) start: When,
    /// When it ends.
    pub(crate) end: When,
    /// Seconds late.
    pub(crate) late_seconds: i64,
}

/// Show one work order, with its runs in the published plan.
#[utoipa::path(get, path = "/api/v1/orders/{order}", tag = "orders",
    params(("order" = inline(Id), Path, description = "Order", example = "T-1")),
    responses((status = 200, body = OrderAnswer, headers(("ETag" = String)))))]
pub(crate) async fn one(site: Site, Named(path): Named<OrderPath>) -> Result<Response, Problem> {
    let state = site.office.state();
    let order = order_of(&state, &path.order)?;
    let published = site.office.published().await?;
    let planned = published
        .as_deref()
        .map(|kept| planned_runs(&kept.plan, &order.order.id));
    let answer = OrderAnswer {
        line: view(state.order_line(order)),
        entry: OrderEntry::from(&order.order),
        planned: planned.unwrap_or_default(),
    };
    Ok(tagged(order.version, Json(answer)))
}

/// An order's runs in a plan.
pub(crate) fn planned_runs(plan: &model::Plan, order: &OrderId) -> Vec<PlannedRun> {
    let all = plan
        .brakes
        .iter()
        .flat_map(|line| line.runs.iter().map(move |run| (&line.brake, run)));
    let of_order = all.filter(|(_, run)| run.order == *order);
    of_order
        .map(|(brake, run)| PlannedRun {
            brake: brake.to_string(),
            run: run.name.clone(),
            quantity: run.quantity,
            start: When(run.start),
            end: When(run.end),
            late_seconds: run.late.0,
        })
        .collect()
}

/// Take one order, new (`If-None-Match: *`) or in the stead of the one that was read (`If-Match`).
#[utoipa::path(put, path = "/api/v1/orders/{order}", tag = "orders",
    params(("order" = inline(Id), Path, description = "Order; the column `order` may be left out or says the same", example = "T-1")),
    request_body = OrderRows,
    responses((status = 200, body = Written, headers(("ETag" = String)))))]
pub(crate) async fn put(
    site: Site,
    who: Who,
    key: Key,
    expected: Expected,
    Named(path): Named<OrderPath>,
    Body(body): Body<OrderRows>,
) -> Result<Response, Problem> {
    let id = path.id()?;
    let mut row = body.row();
    let cell = row
        .cells
        .entry("order".to_owned())
        .or_insert_with(|| id.to_string());
    if cell.trim() != id.as_str() {
        return Err(Problem::invalid(format!(
            "The column `order` says {cell}, the path {id}; leave the column out."
        )));
    }
    let expect = expected
        .version()
        .map(|version| Expectation::Order(id.clone(), version));
    let command = put_orders(vec![row], expected == Expected::Absent);
    let done = submit(&site, &who, key, expect, command).await?;
    Ok(written(&site, &done, |state| version_of(state, &id)))
}

pub(crate) fn version_of(state: &State, id: &OrderId) -> u64 {
    state.orders.get(id).map_or(0, |order| order.version)
}

pub(crate) fn put_orders(rows: Vec<OrderRow>, new_only: bool) -> Command {
    Command::PutOrders {
        source: Source::Request,
        name: REQUEST.to_owned(),
        rows,
        new_only,
        expect: None,
    }
}

/// Many orders.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub(crate) struct ManyOrders {
    /// The orders; all of them are taken, or none.
    #[schema(min_items = 1, max_items = 5000)]
    pub(crate) orders: Vec<OrderRows>,
    /// Whether an order that is there already is a conflict, rather than replaced.
    #[serde(default)]
    pub(crate) new_only: bool,
}

impl ManyOrders {
    pub(crate) fn rows(&self) -> Result<Vec<OrderRow>, Problem> {
        if self.orders.is_empty() || self.orders.len() > 5_000 {
            return Err(Problem::invalid(
                "From 1 to 5000 orders come in one request.",
            ));
        }
        Ok(self.orders.iter().map(OrderRows::row).collect())
    }
}

/// Take many orders at once, all or none.
#[utoipa::path(post, path = "/api/v1/orders", tag = "orders", request_body = ManyOrders,
    responses((status = 200, body = Written, headers(("ETag" = String)))))]
pub(crate) async fn put_many(
    site: Site,
    who: Who,
    key: Key,
    Body(body): Body<ManyOrders>,
) -> Result<Response, Problem> {
    let command = put_orders(body.rows()?, body.new_only);
    let done = submit(&site, &who, key, None, command).await?;
    Ok(written(&site, &done, |state| state.number))
}

/// Why something is done.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub(crate) struct Reason {
    /// Why, for people.
    #[serde(default)]
    pub(crate) why: Why,
}

/// Withdraw one order. It must not be on a brake.
#[utoipa::path(post, path = "/api/v1/orders/{order}/withdraw", tag = "orders",
    params(("order" = inline(Id), Path, description = "Order", example = "T-1")), request_body = Reason,
    responses((status = 200, body = Written, headers(("ETag" = String)))))]
pub(crate) async fn withdraw(
    site: Site,
    who: Who,
    key: Key,
    expected: Expected,
    Named(path): Named<OrderPath>,
    Body(body): Body<Reason>,
) -> Result<Response, Problem> {
    let id = path.id()?;
    let expect = expected
        .version()
        .map(|version| Expectation::Order(id.clone(), version));
    let command = Command::WithdrawOrders {
        orders: vec![id.clone()],
        why: body.why.0,
    };
    let done = submit(&site, &who, key, expect, command).await?;
    Ok(written(&site, &done, |state| version_of(state, &id)))
}

/// Orders that are not wanted.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub(crate) struct Withdrawal {
    /// Which; all of them are withdrawn, or none.
    #[schema(min_items = 1, max_items = 5000)]
    orders: Vec<Id>,
    /// Why, for people.
    #[serde(default)]
    why: Why,
}

/// Withdraw many orders, all or none.
#[utoipa::path(post, path = "/api/v1/withdrawals", tag = "orders", request_body = Withdrawal,
    responses((status = 200, body = Written, headers(("ETag" = String)))))]
pub(crate) async fn withdraw_many(
    site: Site,
    who: Who,
    key: Key,
    Body(body): Body<Withdrawal>,
) -> Result<Response, Problem> {
    if body.orders.is_empty() || body.orders.len() > 5_000 {
        return Err(Problem::invalid(
            "From 1 to 5000 orders come in one request.",
        ));
    }
    let ids: Result<Vec<OrderId>, _> = body.orders.iter().map(|id| OrderId::new(&id.0)).collect();
    let command = Command::WithdrawOrders {
        orders: ids.map_err(|error| Problem::invalid(error.to_string()))?,
        why: body.why.0,
    };
    let done = submit(&site, &who, key, None, command).await?;
    Ok(written(&site, &done, |state| state.number))
}

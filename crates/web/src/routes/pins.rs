//! Orders tied to a brake and a place.

use crate::access::Who;
use crate::app::{App, Site};
use crate::input::{Body, Expected, Id, Key, Named, Whole};
use crate::problem::Problem;
use crate::routes::orders::{OrderPath, version_of};
use crate::routes::rush::{RushView, effect_of};
use crate::wire::{Written, submit, written};
use axum::Json;
use axum::extract::State;
use axum::response::Response;
use daybook::{Command, Expectation, Pin};
use serde::{Deserialize, Serialize};
use units::{BrakeId, OrderId};
use utoipa::ToSchema;

/// Where somebody wants an order bent.
#[derive(Debug, Serialize, ToSchema)]
pub(crate) struct PinView {
    /// The brake it must run on.
    #[schema(examples("B2"))]
    brake: String,
    /// Its place there among the orders that have one, 1 the first; nothing when it has none.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(minimum = 1, maximum = 999)]
    place: Option<u32>,
}

impl From<Pin> for PinView {
    fn from(pin: Pin) -> PinView {
        PinView {
            brake: pin.brake.to_string(),
            place: pin.place,
        }
    }
}

/// Where an order is to be bent.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub(crate) struct PinWanted {
    /// The brake it must run on.
    #[schema(value_type = Id, examples("B1"))]
    brake: Id,
    /// Its place there: 1 comes first, and orders with this place or a later one move up. Left out:
    /// the brake alone.
    #[schema(value_type = Option<Whole<1, 999>>, examples(1))]
    place: Option<Whole<1, 999>>,
}

impl PinWanted {
    fn command(self, order: OrderId) -> Result<Command, Problem> {
        let brake = BrakeId::new(&self.brake.0);
        let place = self.place.map(|place| u32::try_from(place.0));
        let place = place.transpose();
        Ok(Command::PinOrder {
            order,
            brake: brake.map_err(|error| Problem::invalid(error.to_string()))?,
            place: place.map_err(|error| Problem::invalid(error.to_string()))?,
        })
    }
}

/// Tie an order to a brake and, with a place, put it there before the orders without one. It must not
/// be on a brake.
#[utoipa::path(put, path = "/api/v1/orders/{order}/pin", tag = "orders",
    params(("order" = inline(Id), Path, description = "Order", example = "T-1")), request_body = PinWanted,
    responses((status = 200, body = Written, headers(("ETag" = String)))))]
pub(crate) async fn put(
    site: Site,
    who: Who,
    key: Key,
    expected: Expected,
    Named(path): Named<OrderPath>,
    Body(body): Body<PinWanted>,
) -> Result<Response, Problem> {
    let id = path.id()?;
    let command = body.command(id.clone())?;
    write(&site, &who, key, expected, (id, command)).await
}

/// Take the pin of an order away: its row alone says where it is bent. It must not be on a brake.
#[utoipa::path(delete, path = "/api/v1/orders/{order}/pin", tag = "orders",
    params(("order" = inline(Id), Path, description = "Order", example = "T-1")),
    responses((status = 200, body = Written, headers(("ETag" = String)))))]
pub(crate) async fn delete(
    site: Site,
    who: Who,
    key: Key,
    expected: Expected,
    Named(path): Named<OrderPath>,
) -> Result<Response, Problem> {
    let id = path.id()?;
    let command = Command::UnpinOrder { order: id.clone() };
    write(&site, &who, key, expected, (id, command)).await
}

async fn write(
    site: &Site,
    who: &Who,
    key: Key,
    expected: Expected,
    (id, command): (OrderId, Command),
) -> Result<Response, Problem> {
    let expect = expected
        .version()
        .map(|version| Expectation::Order(id.clone(), version));
    let done = submit(site, who, key, expect, command).await?;
    Ok(written(site, &done, |state| version_of(state, &id)))
}

/// Ask what a pin would do to everybody else. Nothing is kept.
#[utoipa::path(post, path = "/api/v1/orders/{order}/pin/effect", tag = "questions",
    params(("order" = inline(Id), Path, description = "Order", example = "T-1")), request_body = PinWanted,
    responses((status = 200, body = RushView)))]
pub(crate) async fn effect(
    State(app): State<App>,
    site: Site,
    Named(path): Named<OrderPath>,
    Body(body): Body<PinWanted>,
) -> Result<Json<RushView>, Problem> {
    let id = path.id()?;
    let command = body.command(id.clone())?;
    effect_of(&app, &site, &command, &[id]).await
}

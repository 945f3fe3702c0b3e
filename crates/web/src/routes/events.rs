//! What has happened, page by page.

use crate::access::Who;
use crate::app::Site;
use crate::input::{Asked, Number, Whole};
use crate::problem::Problem;
use crate::roles::{DECIDERS, Role};
use crate::wire::When;
use axum::Json;
use daybook::PEOPLE_KINDS;
use serde::{Deserialize, Serialize};
use serde_json::{Value, json};
use units::Moment;
use utoipa::{IntoParams, ToSchema};

/// Something that has happened.
#[derive(Debug, Serialize, ToSchema)]
pub(crate) struct EventView {
    /// Its number; the next one is greater by 1.
    pub(crate) number: i64,
    /// When.
    at: When,
    /// Who reported it.
    who: String,
    /// Its kind.
    #[schema(examples("run-started"))]
    pub(crate) kind: String,
    /// The rest, by kind.
    #[schema(value_type = Object)]
    what: Value,
}

impl EventView {
    /// An event as the store has it: number, moment, who, kind and payload. Of accounts and tokens
    /// only those are told more than the kind who may list them.
    pub(crate) fn of(
        reader: Role,
        number: i64,
        at: Moment,
        who: String,
        kind: String,
        json: &str,
    ) -> EventView {
        let hidden = !DECIDERS.contains(&reader) && PEOPLE_KINDS.contains(&kind.as_str());
        EventView {
            number,
            at: When(at),
            who,
            what: if hidden {
                json!({ "kind": kind })
            } else {
                // The store takes only JSON.
                serde_json::from_str(json).unwrap_or(Value::Null)
            },
            kind,
        }
    }
}

/// Which events.
#[derive(Debug, Deserialize, IntoParams)]
#[serde(deny_unknown_fields)]
#[into_params(parameter_in = Query)]
pub(crate) struct Which {
    /// Those before this number, the latest first; the last ones when neither is said.
    #[param(inline)]
    before: Option<Number>,
    /// Those after this number, in order; with `before`, those between the two.
    #[param(inline)]
    after: Option<Number>,
    /// So many at most; 100 when not said.
    #[param(inline)]
    limit: Option<Whole<1, 1000>>,
}

/// Events.
#[derive(Debug, Serialize, ToSchema)]
pub(crate) struct Events {
    events: Vec<EventView>,
    /// Number of the last event there is.
    last: u64,
}

/// Page through the daybook.
#[utoipa::path(get, path = "/api/v1/events", tag = "events", params(Which),
    responses((status = 200, body = Events)))]
pub(crate) async fn list(
    site: Site,
    who: Who,
    Asked(which): Asked<Which>,
) -> Result<Json<Events>, Problem> {
    let limit = which
        .limit
        .map_or(100, |limit| u32::try_from(limit.0).unwrap_or(100));
    let events = match which.after {
        None => {
            let before = which.before.map(|before| before.0);
            site.office.events_before(before, limit).await?
        }
        Some(after) => site.office.events_after(after.0, limit).await?,
    };
    let before = which.before.and_then(|before| i64::try_from(before.0).ok());
    let events = events
        .into_iter()
        .filter(|event| before.is_none_or(|before| event.number.number() < before));
    Ok(Json(Events {
        events: events
            .map(|one| {
                EventView::of(
                    who.role,
                    one.number.number(),
                    one.at,
                    one.who,
                    one.kind,
                    &one.json,
                )
            })
            .collect(),
        last: site.office.state().number,
    }))
}

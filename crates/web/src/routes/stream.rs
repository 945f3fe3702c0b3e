//! What happens, as it happens: server-sent events.

use crate::access::{self, Who};
use crate::app::{App, Peer, Site};
use crate::input::{Asked, Number};
use crate::problem::Problem;
use crate::routes::events::EventView;
use crate::routes::plans::standing_word;
use axum::extract::State;
use axum::http::HeaderMap;
use axum::response::sse::{Event, KeepAlive, Sse};
use axum::response::{IntoResponse, Response};
use futures_util::stream;
use serde::Deserialize;
use std::collections::VecDeque;
use std::convert::Infallible;
use std::time::Duration;
use tokio::sync::watch;
use tokio::time::Instant;
use utoipa::IntoParams;

/// Events read from the store at once.
const PAGE: u32 = 200;

/// How often a quiet stream shows that it is still there.
const SIGN_OF_LIFE: Duration = Duration::from_secs(15);

/// Where to begin.
#[derive(Debug, Deserialize, IntoParams)]
#[serde(deny_unknown_fields)]
#[into_params(parameter_in = Query)]
pub(crate) struct From {
    /// Events after this number; `Last-Event-ID` goes before it. Without either, those from now on.
    #[param(inline)]
    after: Option<Number>,
}

struct Reader {
    app: App,
    site: Site,
    headers: HeaderMap,
    peer: Peer,
    news: watch::Receiver<u64>,
    stood: watch::Receiver<()>,
    last: u64,
    waiting: VecDeque<EventView>,
    ends: Instant,
}

/// Listen to events as they happen. Each carries its number as `id`, its kind as `event` and what
/// /api/v1/events shows as `data`; a reader that comes again with `Last-Event-ID` misses none. An event
/// `standing` has no number: it tells that a search has begun or ended, its `data` as in /api/v1/standing. A
/// stream ends after a while, when access is withdrawn, and when the daemon stops.
#[utoipa::path(get, path = "/api/v1/stream", tag = "events", params(From,
        ("Last-Event-ID" = Option<String>, Header, description = "Number of the last event heard")),
    responses((status = 200, content_type = "text/event-stream", body = String)))]
pub(crate) async fn stream(
    State(app): State<App>,
    site: Site,
    _who: Who,
    peer: Peer,
    headers: HeaderMap,
    Asked(from): Asked<From>,
) -> Result<Response, Problem> {
    let (news, stood) = (site.office.news(), site.office.stood());
    let last = match headers.get("last-event-id") {
        Some(id) => {
            let number = id
                .to_str()
                .ok()
                .and_then(|id| id.trim().parse::<u64>().ok());
            let fits = number.filter(|number| *number <= 9_007_199_254_740_991);
            fits.ok_or_else(|| Problem::malformed("Last-Event-ID takes an event's number."))?
        }
        None => from
            .after
            .map_or(site.office.state().number, |after| after.0),
    };
    app.metrics.stream_opened(site.office.name());
    let reader = Reader {
        ends: Instant::now() + app.limits.stream,
        app,
        site,
        headers,
        peer,
        news,
        stood,
        last,
        waiting: VecDeque::new(),
    };
    let events = stream::unfold(reader, |mut reader| async move {
        let event = reader.next().await?;
        Some((Ok::<Event, Infallible>(event), reader))
    });
    Ok(Sse::new(events)
        .keep_alive(KeepAlive::new().interval(SIGN_OF_LIFE))
        .into_response())
}

impl Reader {
    /// The next event; `None` ends the stream.
    async fn next(&mut self) -> Option<Event> {
        loop {
            if let Some(view) = self.waiting.pop_front() {
                self.last = u64::try_from(view.number).ok()?;
                let event = Event::default().id(self.last.to_string()).event(&view.kind);
                return event.json_data(&view).ok();
            }
            self.news.mark_unchanged();
            if self.site.office.state().number <= self.last {
                // Not longer than it takes to notice that access was withdrawn.
                let wait = (Instant::now() + SIGN_OF_LIFE).min(self.ends);
                let stood = tokio::select! {
                    news = self.news.changed() => { news.ok()?; false }
                    stood = self.stood.changed() => { stood.ok()?; true }
                    () = tokio::time::sleep_until(wait) => {
                        if Instant::now() >= self.ends {
                            return None;
                        }
                        false
                    }
                };
                if stood {
                    self.still_welcome().await?;
                    let word = standing_word(&self.site.office.standing());
                    return Some(Event::default().event("standing").data(word));
                }
            }
            let who = self.still_welcome().await?;
            if self.site.office.state().number <= self.last {
                continue;
            }
            let read = self.site.office.events_after(self.last, PAGE).await.ok()?;
            if read.is_empty() {
                return None;
            }
            self.waiting = read
                .into_iter()
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
                .collect();
        }
    }

    async fn still_welcome(&self) -> Option<Who> {
        let who = access::identify(&self.app, &self.site, &self.headers, self.peer).await;
        who.ok().flatten()
    }
}

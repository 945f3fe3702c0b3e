//! Reading what has happened.

use super::Office;
use super::error::OfficeError;
use super::numbers::{signed, unsigned};
use daybook::{Happening, State};
use documents::{Base, FileSet};
use std::sync::Arc;
use store::{Event, EventNumber, Files, Revision, Site};
use tokio::task::spawn_blocking;

/// Events read at once.
const PAGE: u32 = 1_000;

/// Kinds of events from before there was a daybook. Nothing follows from them: the folder is read
/// again, and the plans they tell of are there without them.
const BEFORE_THE_DAYBOOK: [&str; 2] = ["shop-imported", "plan-saved"];

/// The state of a site after its last event, or after event `until`.
pub(super) async fn from_start(site: &Site, until: Option<u64>) -> Result<State, OfficeError> {
    further(site, State::default(), until).await
}

/// The state after the events that follow `state`, up to event `until` at most.
pub(super) async fn further(
    site: &Site,
    mut state: State,
    until: Option<u64>,
) -> Result<State, OfficeError> {
    let last = until.unwrap_or(u64::MAX);
    'pages: loop {
        let events = site
            .events_after(EventNumber(signed(state.number)), PAGE)
            .await?;
        if events.is_empty() {
            break;
        }
        for event in events {
            if unsigned(event.number.0) > last {
                break 'pages;
            }
            if BEFORE_THE_DAYBOOK.contains(&event.kind.as_str()) {
                state.number = unsigned(event.number.0);
                continue;
            }
            let happening = read(site, &event)?;
            state.apply(&happening, unsigned(event.number.0), event.at, &event.who);
        }
    }
    if let Some(revision) = state.wants_base() {
        state.furnish(revision, base(site, revision).await?);
    }
    Ok(state)
}

/// The revision an event took over.
pub(super) fn revision_taken(event: &Event) -> Option<u64> {
    match Happening::from_json(&event.json) {
        Ok(Happening::ShopDataTaken { revision, .. }) => Some(revision),
        _ => None,
    }
}

fn read(site: &Site, event: &Event) -> Result<Happening, OfficeError> {
    Happening::from_json(&event.json).map_err(|why| OfficeError::EventUnreadable {
        site: site.name().to_owned(),
        number: unsigned(event.number.0),
        why: why.to_string(),
    })
}

/// The shop data of a revision.
async fn base(site: &Site, revision: u64) -> Result<Arc<Base>, OfficeError> {
    let files = from_store(site.files(Revision(signed(revision))).await?);
    let (base, _) = spawn_blocking(move || Base::read(&files)).await?;
    base.map(Arc::new)
        .ok_or(OfficeError::RevisionUnreadable { revision })
}

pub(super) fn to_store(files: &FileSet) -> Files {
    let named = |name: &str| Some((name.to_owned(), files.get(name)?.to_vec()));
    files.names().filter_map(named).collect()
}

pub(super) fn from_store(stored: Files) -> FileSet {
    let mut files = FileSet::new();
    for (name, bytes) in stored {
        files.insert(&name, bytes);
    }
    files
}

impl Office {
    /// The state after event `number`, which must have happened.
    pub(super) async fn state_at(&self, number: u64) -> Result<Arc<State>, OfficeError> {
        let now = self.state();
        if now.number == number {
            return Ok(now);
        }
        Ok(Arc::new(from_start(self.site(), Some(number)).await?))
    }
}

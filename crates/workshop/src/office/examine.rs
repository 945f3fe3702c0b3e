//! Examining a site: whether what is kept can be read back and still holds.

use super::error::OfficeError;
use super::numbers::unsigned;
use super::{Clock, Office, replay};
use daybook::State;
use std::sync::Arc;
use store::{Site, Store};
use tokio::task::spawn_blocking;
use units::Moment;

/// What a look at a site found.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Health {
    /// What is there, in a line.
    pub summary: String,
    /// What is wrong; nothing when the site is sound.
    pub troubles: Vec<String>,
}

/// Reads all that has happened at a site, the shop data it uses, its published plan and its latest
/// proposal, and has the audit judge both plans for the shop they were made from.
///
/// # Errors
/// [`OfficeError`] when the store cannot be read. What cannot be read *back* is among the troubles.
pub async fn examine(store: &Store, name: &str, now: Moment) -> Result<Health, OfficeError> {
    let site = store.site(name, now).await?;
    let clock: Clock = Arc::new(move || now);
    let mut troubles = Vec::new();
    let state = match replayed(&site, &mut troubles).await {
        Ok(state) => state,
        Err(error) => {
            return told(error).map(|trouble| Health {
                summary: "cannot be read".to_owned(),
                troubles: vec![trouble],
            });
        }
    };
    let office = Office::of(site, clock, state, 0);
    let state = office.state();
    let published = state.published.as_ref().map(|published| published.plan);
    let proposed = state.latest_proposal().map(|proposal| proposal.plan);
    let mut plans = vec![("published plan", published)];
    if proposed != published {
        plans.push(("proposal", proposed));
    }
    for (what, number) in plans {
        let Some(number) = number else { continue };
        match office.plan(number).await {
            Ok(Some(kept)) => {
                let judged = spawn_blocking(move || {
                    let verdict = crate::verify(&kept.shop, &kept.plan);
                    verdict.violations.first().map(|first| first.text.clone())
                });
                if let Some(first) = judged.await? {
                    troubles.push(format!("the audit rejects the {what} {number}: {first}"));
                }
            }
            Ok(None) => troubles.push(format!("the {what} {number} is not there")),
            Err(error) => troubles.push(format!("the {what} {number}: {}", told(error)?)),
        }
    }
    let open = state
        .order_lines()
        .filter(|line| line.status.word() == "open");
    let summary = format!(
        "{} events, {} open orders, {}",
        state.number,
        open.count(),
        match published {
            Some(number) => format!("plan {number} published"),
            None => "no plan published".to_owned(),
        }
    );
    Ok(Health { summary, troubles })
}

/// The state after the last event, from the first event on. A checkpoint on the way must say the same.
async fn replayed(site: &Site, troubles: &mut Vec<String>) -> Result<State, OfficeError> {
    let checkpoint = site.checkpoint().await?;
    let checkpoint = checkpoint.filter(|kept| kept.format == State::CHECKPOINT_FORMAT);
    let Some(checkpoint) = checkpoint else {
        return replay::from_start(site, None).await;
    };
    let number = unsigned(checkpoint.event.0);
    let there = replay::from_start(site, Some(number)).await?;
    let state = there.clone();
    let text = spawn_blocking(move || there.to_checkpoint()).await?;
    if text.ok().as_deref() != Some(&checkpoint.json) {
        troubles.push(format!(
            "the checkpoint after event {number} does not say what follows from the events; delete \
             the site's row in the table checkpoint, and the next start reads all events"
        ));
    }
    replay::further(site, state, None).await
}

/// An error as a trouble, unless the store itself cannot be read.
fn told(error: OfficeError) -> Result<String, OfficeError> {
    match error {
        OfficeError::Store(_) | OfficeError::Fault(_) => Err(error),
        other => Ok(other.to_string()),
    }
}

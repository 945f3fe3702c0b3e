//! Plans that were kept, read back with the shop they were made from.

use super::Office;
use super::error::OfficeError;
use super::numbers::{signed, unsigned};
use super::proposing::shop_to_plan;
use daybook::State;
use model::{Plan, Shop};
use std::collections::VecDeque;
use std::sync::{Arc, Mutex, PoisonError};
use store::{PlanNumber, PlanSummary, StoredPlan};
use units::Moment;

/// Plans held in memory: the published one, the proposal, and what somebody looks at. Read again
/// from the store when it has been pushed out.
const HELD_MOST: usize = 8;

/// A plan that was kept, with the shop it was made from. The audit had accepted it.
#[derive(Debug)]
pub struct KeptPlan {
    /// Its number at this site.
    pub number: u64,
    /// The last event it takes into account.
    pub made_from: u64,
    /// When it was kept.
    pub made_at: Moment,
    /// The plan.
    pub plan: Plan,
    /// The plan as its readers get it.
    pub json: String,
    /// The shop it was made from.
    pub shop: Arc<Shop>,
}

/// The plans held, the one used last at the front.
#[derive(Debug, Default)]
pub(super) struct Held(Mutex<VecDeque<Arc<KeptPlan>>>);

impl Held {
    fn get(&self, number: u64) -> Option<Arc<KeptPlan>> {
        let mut held = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        let at = held.iter().position(|plan| plan.number == number)?;
        let plan = held.remove(at)?;
        held.push_front(Arc::clone(&plan));
        Some(plan)
    }

    pub(super) fn put(&self, plan: Arc<KeptPlan>) {
        let mut held = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        held.retain(|other| other.number != plan.number);
        held.push_front(plan);
        held.truncate(HELD_MOST);
    }
}

impl Office {
    /// A plan by its number; `None` when this site has no such plan.
    ///
    /// # Errors
    /// [`OfficeError`] when the store cannot be read, or what it holds cannot be read back.
    pub async fn plan(&self, number: u64) -> Result<Option<Arc<KeptPlan>>, OfficeError> {
        if let Some(plan) = self.held().get(number) {
            return Ok(Some(plan));
        }
        let Some(stored) = self.site().plan(PlanNumber(signed(number))).await? else {
            return Ok(None);
        };
        let state = self.state_at(unsigned(stored.made_from.number())).await?;
        let read = tokio::task::spawn_blocking(move || read_back(&state, stored)).await?;
        let plan = Arc::new(read?);
        self.held().put(Arc::clone(&plan));
        Ok(Some(plan))
    }

    /// The plan the floor works to; `None` before the first was published.
    ///
    /// # Errors
    /// As [`Office::plan`].
    pub async fn published(&self) -> Result<Option<Arc<KeptPlan>>, OfficeError> {
        self.published_in(&self.state()).await
    }

    /// The published plan of a state that may be later than the one known here.
    pub(super) async fn published_in(
        &self,
        state: &State,
    ) -> Result<Option<Arc<KeptPlan>>, OfficeError> {
        match state.published.as_ref().map(|published| published.plan) {
            Some(number) => self.plan(number).await,
            None => Ok(None),
        }
    }

    /// The latest proposal, published or not; `None` before the first.
    ///
    /// # Errors
    /// As [`Office::plan`].
    pub async fn proposal(&self) -> Result<Option<Arc<KeptPlan>>, OfficeError> {
        let number = self.state().latest_proposal().map(|proposal| proposal.plan);
        match number {
            Some(number) => self.plan(number).await,
            None => Ok(None),
        }
    }

    /// The plans kept last, the latest first, without their content.
    ///
    /// # Errors
    /// [`OfficeError`] when the store cannot be read.
    pub async fn plans(&self, limit: u32) -> Result<Vec<PlanSummary>, OfficeError> {
        Ok(self.site().plans(limit).await?)
    }
}

/// The plan of a stored text, for the shop as it was then.
fn read_back(state: &State, stored: StoredPlan) -> Result<KeptPlan, OfficeError> {
    let number = unsigned(stored.plan.number());
    let shop =
        shop_to_plan(state, stored.created_at).ok_or(OfficeError::PlanUnreadable { number })?;
    let name = format!("plan {number}");
    let plan = documents::read_plan(&name, stored.json.as_bytes(), &shop)
        .map_err(|_| OfficeError::PlanUnreadable { number })?;
    Ok(KeptPlan {
        number,
        made_from: unsigned(stored.made_from.number()),
        made_at: stored.created_at,
        plan,
        json: stored.json,
        shop: Arc::new(shop),
    })
}

//! Proposals: plans made from the state as it is, behind what must stay.

use super::error::OfficeError;
use super::kept::KeptPlan;
use super::numbers::{signed, unsigned};
use super::{Office, Terms};
use crate::{Budget, Earlier, Made, PlanAsk, default_from, make_plan};
use daybook::{Command, State};
use model::{Plan, Shop};
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::Instant;
use store::{EventNumber, NewPlan, Revision};
use tokio::task::spawn_blocking;
use units::{Moment, OrderId, Seconds};

/// Finding of a run in progress that the engine has no setup for on its bed.
const RUNNING_WITHOUT_SETUP: &str = "D390";

/// The name events carry that the planner itself writes.
pub const PLANNER: &str = "planner";

/// How long to search at most, and from which number. How many steps are wanted is the site's policy.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Effort {
    /// Seconds at most.
    pub seconds: u64,
    /// Number the generators start from.
    pub seed: u64,
}

/// What a plan is an answer to: the state it was made from, and the moment it was asked for.
#[derive(Clone, Debug)]
pub(super) struct Question {
    pub(super) state: Arc<State>,
    pub(super) asked_at: Moment,
    pub(super) shop: Shop,
    pub(super) from: Moment,
    pub(super) before: Option<Arc<KeptPlan>>,
    /// Whether that one is the published plan, which people go by.
    pub(super) in_force: bool,
}

impl Office {
    /// Whether something has happened since the latest proposal that a plan should take into account.
    #[must_use]
    pub fn plan_is_wanted(&self) -> bool {
        let state = self.state();
        state.base().is_some() && state.plan_wanted()
    }

    /// Makes a plan of the state as it is, has it judged, keeps it and notes it as the proposal.
    /// `None` when `interrupt` cut the search short, and when the state cannot be planned.
    ///
    /// # Errors
    /// [`OfficeError`]; then there is no new proposal.
    pub async fn propose(
        &self,
        effort: Effort,
        cause: &str,
        interrupt: &Arc<AtomicBool>,
    ) -> Result<Option<Arc<KeptPlan>>, OfficeError> {
        let question = self.question(self.state()).await?;
        let made_from = question.state.number;
        let question_revision = question.state.revision.unwrap_or(0);
        let asked_at = question.asked_at;
        let (shop, made) = self.search(question, effort, interrupt).await?;
        if interrupt.load(Ordering::Relaxed) {
            return Ok(None);
        }
        // Megabytes of text: not for a thread that answers requests.
        let text = spawn_blocking(move || {
            let json = documents::write_plan(&made.plan, &shop);
            (shop, made, json)
        });
        let (shop, made, json) = text.await?;
        let revision = Revision(signed(question_revision));
        let new = NewPlan {
            made_from: EventNumber(signed(made_from)),
            revision,
            json: &json,
            objective: made.plan.totals.objective,
            verified: made.plan.verified,
        };
        let number = unsigned(self.site().save_plan(new, asked_at).await?.number());
        let objective = made.plan.totals.objective;
        let kept = Arc::new(KeptPlan {
            number,
            made_from,
            made_at: asked_at,
            plan: made.plan,
            json,
            shop: Arc::new(shop),
        });
        self.held().put(Arc::clone(&kept));
        let note = Command::RecordProposal {
            plan: number,
            made_from,
            cause: cause.to_owned(),
            objective,
        };
        self.submit(PLANNER, note, Terms::default()).await?;
        Ok(Some(kept))
    }

    /// What a plan of `state` made now would be an answer to.
    pub(super) async fn question(&self, state: Arc<State>) -> Result<Question, OfficeError> {
        let asked_at = self.now();
        let described = Arc::clone(&state);
        let shop = spawn_blocking(move || shop_to_plan(&described, asked_at)).await?;
        let shop = shop.ok_or(OfficeError::NoShop)?;
        let published = self.published_in(&state).await?;
        let from = plan_from(&shop, published.as_deref().map(|kept| &kept.plan), asked_at);
        let in_force = published.is_some();
        let before = match published {
            Some(plan) => Some(plan),
            None => self.proposal().await?,
        };
        Ok(Question {
            state,
            asked_at,
            shop,
            from,
            before,
            in_force,
        })
    }

    /// Searches on a thread of its own.
    pub(super) async fn search(
        &self,
        question: Question,
        effort: Effort,
        interrupt: &Arc<AtomicBool>,
    ) -> Result<(Shop, Made), OfficeError> {
        let interrupt = Arc::clone(interrupt);
        let ask = PlanAsk {
            from: question.from,
            seed: effort.seed,
            budget: Budget::Within {
                steps: question.state.policy.steps,
                seconds: effort.seconds,
            },
        };
        let search = spawn_blocking(move || {
            let before = question.before.as_deref().map(|kept| Earlier {
                plan: &kept.plan,
                in_force: question.in_force,
            });
            let began = Instant::now();
            let made = make_plan(&question.shop, ask, before, &interrupt, &mut ());
            (made.map(|made| (question.shop, made)), began.elapsed())
        });
        let (made, took) = search.await?;
        self.counts().searched(took);
        Ok(made?)
    }
}

/// The shop of a state, described at the moment of asking: never before the moment its files say. Runs
/// that have no setup on the bed they are on are set aside: planned as not begun, but for what is done.
pub(super) fn shop_to_plan(state: &State, asked_at: Moment) -> Option<Shop> {
    let described = |mut shop: Shop| {
        shop.as_of = shop.as_of.max(Some(asked_at));
        shop
    };
    let shop = described(state.shop()?);
    if shop.floor.running.is_empty() {
        return Some(shop);
    }
    let (_, findings) = schedule::compile(&shop, default_from(&shop, asked_at));
    let without_setup = findings
        .iter()
        .filter(|finding| finding.code == RUNNING_WITHOUT_SETUP)
        .filter_map(|finding| OrderId::new(finding.place.field.as_deref()?).ok());
    let aside: Vec<OrderId> = without_setup.collect();
    if aside.is_empty() {
        return Some(shop);
    }
    state.shop_without(&aside).map(described)
}

/// The first moment a plan made now plans: now, on a day that has a published plan; the next day's
/// first shift otherwise.
fn plan_from(shop: &Shop, published: Option<&Plan>, now: Moment) -> Moment {
    match published {
        Some(plan) if plan.from <= now && now < plan.until => next_minute(now),
        _ => default_from(shop, now),
    }
}

fn next_minute(now: Moment) -> Moment {
    now + Seconds((60 - now.0.rem_euclid(60)) % 60)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_plan_begins_on_a_whole_minute() {
        assert_eq!(next_minute(Moment(120)), Moment(120));
        assert_eq!(next_minute(Moment(121)), Moment(180));
    }
}

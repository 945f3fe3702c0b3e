//! A date with odds for a job that is not in the shop yet.

use crate::planning::{Rejected, judged, threads};
use model::{Chance, Part, Plan, Shop};
use quoting::{
    Answer, Breaks, Job, JobError, Odds, Sampling, WithJob, place, price_breaks, simulate,
    with_order,
};
use units::{Moment, OrderId};

/// What is asked.
#[derive(Clone, Debug, PartialEq)]
pub struct QuoteAsk {
    /// The job.
    pub job: Job,
    /// First moment planned.
    pub from: Moment,
    /// Number the generators start from.
    pub seed: u64,
    /// How often the plan is played, at least once.
    pub samples: u32,
    /// What varies; the shop's own when `None`.
    pub chance: Option<Chance>,
}

/// The answer.
#[derive(Debug)]
pub struct Quote {
    /// The shop with the job among its orders.
    pub shop: Shop,
    /// The job's order there.
    pub order: OrderId,
    /// What was assumed of a part that was only described, in words; empty for a part of the shop's.
    pub assumed: Vec<String>,
    /// Brakes, refusals and places. Every plan in it has been accepted by the judge.
    pub answer: Answer,
    /// When the job ends, over all plays; `None` when it has no place.
    pub odds: Option<Odds>,
    /// Minutes a piece by quantity, set up on an empty bed of the brake it has a place on; `None`
    /// when it has none.
    pub breaks: Option<Breaks>,
    /// What varied.
    pub chance: Chance,
}

impl Quote {
    /// The part that was asked for.
    #[must_use]
    pub fn part(&self) -> Option<&Part> {
        self.shop.part(&self.shop.order(&self.order)?.part)
    }
}

/// Why there is no answer.
#[derive(Debug, thiserror::Error)]
pub enum QuoteError {
    /// There is no such part, or there cannot be.
    #[error(transparent)]
    Job(#[from] JobError),
    /// The judge refused a plan of ours.
    #[error(transparent)]
    Rejected(#[from] Box<Rejected>),
}

/// Tries the job in a plan made before it came, has the plan with it judged, and plays that plan as
/// often as asked.
///
/// # Errors
/// [`QuoteError`] for a part that is not there or cannot be, and for a plan the judge rejects.
pub fn quote(shop: &Shop, ask: &QuoteAsk, before: &Plan) -> Result<Quote, QuoteError> {
    let threads = threads();
    let WithJob {
        shop,
        order,
        assumed,
    } = with_order(shop, &ask.job)?;
    let chance = ask.chance.unwrap_or(shop.rules.chance);
    let mut answer = place(&shop, ask.from, before, threads);
    let sampling = Sampling {
        seed: ask.seed,
        samples: ask.samples,
        threads,
    };
    for (placed, which) in [
        (answer.place.as_mut(), "plan with the job"),
        (
            answer.earliest.as_mut(),
            "plan with the job as early as may be",
        ),
    ] {
        if let Some(placed) = placed {
            placed.plan = judged(&shop, placed.plan.clone(), which, threads)?;
        }
    }
    let played = answer.replay.as_ref();
    let odds = played.map(|(replay, item)| simulate(replay, *item, &chance, sampling));
    let breaks = breaks(&shop, &answer, ask.job.quantity);
    Ok(Quote {
        shop,
        order,
        assumed,
        answer,
        odds,
        breaks,
        chance,
    })
}

/// From an empty bed where that is possible, so that the figures do not hang on what stands there
/// today; else with the changeover of its place.
fn breaks(shop: &Shop, answer: &Answer, quantity: u32) -> Option<Breaks> {
    let placed = answer.place.as_ref()?;
    let able = answer.able.iter().find(|able| able.brake == placed.brake)?;
    let setup = able.setup.as_ref().map(|setup| setup.work);
    let changeover = setup.unwrap_or(placed.run.changeover.work);
    Some(price_breaks(
        changeover,
        able.cycle_ms,
        &shop.rules,
        quantity,
    ))
}

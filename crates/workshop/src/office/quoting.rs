//! When a job that is not in the shop yet would be done, told from the plan the floor works to.

use super::Office;
use super::error::OfficeError;
use super::kept::KeptPlan;
use crate::quote::{Quote, QuoteAsk, quote};
use crate::quote_json::{QuoteSheet, quote_json};
use quoting::{Job, Wanted};
use serde_json::Value;
use std::sync::Arc;
use std::time::Instant;
use tokio::task::spawn_blocking;
use units::Moment;

/// Quotes worked out at once at a site; whoever comes then waits. Each takes all cores for a second
/// or two.
pub(super) const AT_ONCE: usize = 2;

/// What is asked.
#[derive(Clone, Debug, PartialEq)]
pub struct Enquiry {
    /// What is to be bent.
    pub wanted: Wanted,
    /// Pieces, at least one.
    pub quantity: u32,
    /// From when the blanks are there; the first moment planned when `None` or earlier.
    pub ready: Option<Moment>,
    /// The moment wished for: its odds are told. It moves nothing.
    pub due: Option<Moment>,
    /// How much an hour of waiting matters, 1 (ordinary) to 99.
    pub weight: u32,
    /// How often the plan is played, at least once.
    pub samples: u32,
    /// Number the generators start from.
    pub seed: u64,
}

/// The answer, and what it was answered from.
#[derive(Debug)]
pub struct Quoted {
    /// The answer.
    pub quote: Quote,
    /// What was asked of the plan.
    pub ask: QuoteAsk,
    /// The moment wished for.
    pub due: Option<Moment>,
    /// The plan the job was tried in.
    pub before: Arc<KeptPlan>,
    /// Whether that plan was published; else it is the latest proposal.
    pub published: bool,
    /// Whether the shop is made up.
    pub invented: bool,
}

impl Quoted {
    /// As docs/reference/quote-json.md describes it.
    #[must_use]
    pub fn json(&self) -> Value {
        quote_json(&QuoteSheet {
            quote: &self.quote,
            ask: &self.ask,
            due: self.due,
            stands: true,
            invented: self.invented,
        })
    }
}

impl Office {
    /// Tries a job in the published plan, or in the latest proposal while none is published, and plays
    /// it as often as asked. Spread, rush orders and stops are those of the shop's rules. Nothing is
    /// kept.
    ///
    /// # Errors
    /// [`OfficeError::NoShop`] and [`OfficeError::NoPlan`] before there is one, [`OfficeError::Job`]
    /// for a part that is not there or cannot be, and errors of the store.
    pub async fn quote(&self, enquiry: Enquiry) -> Result<Quoted, OfficeError> {
        // Held until the thread is done, not only as long as somebody waits for it.
        let turn = Arc::clone(&self.inner.quoting).acquire_owned().await;
        let turn = turn.map_err(|_| OfficeError::Stopping)?;
        let state = self.state();
        let invented = state.base().is_some_and(|base| base.is_invented());
        let published = state.published.is_some();
        let question = self.question(state).await?;
        let before = question.before.ok_or(OfficeError::NoPlan)?;
        let (shop, from) = (question.shop, question.from);
        let ask = QuoteAsk {
            job: Job {
                wanted: enquiry.wanted,
                quantity: enquiry.quantity,
                ready: enquiry.ready.unwrap_or(from).max(from),
                weight: enquiry.weight,
            },
            from,
            seed: enquiry.seed,
            samples: enquiry.samples,
            chance: None,
        };
        let work = spawn_blocking(move || {
            let _turn = turn;
            let began = Instant::now();
            let quote = quote(&shop, &ask, &before.plan)?;
            Ok::<_, OfficeError>((quote, ask, before, began.elapsed()))
        });
        let (quote, ask, before, took) = work.await??;
        self.counts().quoted(took);
        Ok(Quoted {
            quote,
            ask,
            due: enquiry.due,
            before,
            published,
            invented,
        })
    }
}

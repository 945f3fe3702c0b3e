//! What can go wrong in the office.

use crate::{QuoteError, Rejected};
use daybook::Refusal;
use quoting::JobError;
use std::sync::Arc;
use store::StoreError;
use tokio::task::JoinError;

/// Why the office could not do what was asked.
#[derive(Debug, thiserror::Error)]
pub enum OfficeError {
    /// What was asked does not fit what has happened; says why and what to do.
    #[error("{0}")]
    Refused(#[from] Refusal),
    /// The caller's key was used before, for another request.
    #[error("this idempotency key was used before for another request; use a new key")]
    KeyUsed,
    /// The store failed. Shared: one change may carry the commands of several callers.
    #[error(transparent)]
    Store(Arc<StoreError>),
    /// Other daemons on this database change the site all the time.
    #[error("other daemons were faster every time; ask again")]
    Busy,
    /// An event in the store cannot be read: a newer program wrote it, or the store is damaged.
    #[error("event {number} of site {site} cannot be read: {why}; run `brakewright db doctor`")]
    EventUnreadable {
        /// The site.
        site: String,
        /// The event's number.
        number: u64,
        /// What is wrong with it.
        why: String,
    },
    /// What happened cannot be written down: a fault of this program.
    #[error("what happened cannot be written down, which is a fault of this program: {why}")]
    Unwritable {
        /// Why.
        why: String,
    },
    /// A revision of the shop's files no longer reads without errors.
    #[error(
        "revision {revision} of the shop's files cannot be read any more; run `brakewright db doctor`"
    )]
    RevisionUnreadable {
        /// The revision.
        revision: u64,
    },
    /// A plan in the store cannot be read back.
    #[error("plan {number} cannot be read back; run `brakewright db doctor`")]
    PlanUnreadable {
        /// The plan.
        number: u64,
    },
    /// There is no shop data yet.
    #[error("this site has no shop data yet; import a shop folder first")]
    NoShop,
    /// There is no such account, or no such token in force.
    #[error("{0}")]
    Nobody(String),
    /// A question about a plan, and there is none yet.
    #[error("this site has no plan yet to try the job in; ask for a proposal first")]
    NoPlan,
    /// What was asked about is no job of this shop: no such part, or none that can be.
    #[error(transparent)]
    Job(#[from] JobError),
    /// The planner made a plan that the audit rejects: a fault of this program.
    #[error("a plan was made and the audit rejected it, which is a fault of this program: {0}")]
    Rejected(#[from] Box<Rejected>),
    /// Part of the program failed.
    #[error("part of the program failed, which is a fault of it: {0}")]
    Fault(#[from] JoinError),
    /// The daemon is stopping.
    #[error("the daemon is stopping; ask again when it is back")]
    Stopping,
}

impl From<StoreError> for OfficeError {
    fn from(error: StoreError) -> OfficeError {
        match error {
            StoreError::NoSuchAccount(_) | StoreError::NoSuchToken(_) => {
                OfficeError::Nobody(error.to_string())
            }
            error => OfficeError::Store(Arc::new(error)),
        }
    }
}

impl From<QuoteError> for OfficeError {
    fn from(error: QuoteError) -> OfficeError {
        match error {
            QuoteError::Job(error) => OfficeError::Job(error),
            QuoteError::Rejected(rejected) => OfficeError::Rejected(rejected),
        }
    }
}

impl OfficeError {
    /// The same error for another caller whose command was in the same change.
    pub(super) fn again(&self) -> OfficeError {
        match self {
            OfficeError::Store(error) => OfficeError::Store(Arc::clone(error)),
            OfficeError::EventUnreadable { site, number, why } => OfficeError::EventUnreadable {
                site: site.clone(),
                number: *number,
                why: why.clone(),
            },
            OfficeError::RevisionUnreadable { revision } => OfficeError::RevisionUnreadable {
                revision: *revision,
            },
            _ => OfficeError::Busy,
        }
    }
}

//! How a site stands, for people: being planned, held up, faulty. Kept in memory only.

use super::Office;
use std::sync::{Arc, Mutex, PoisonError};
use tokio::sync::watch;
use units::{Finding, Moment, Seconds};

/// How the latest proposal stands to what has happened.
#[derive(Clone, Debug, PartialEq, Eq, Default)]
pub enum Standing {
    /// Nothing has been planned since the daemon started.
    #[default]
    Waiting,
    /// The latest proposal takes everything into account that it should.
    UpToDate,
    /// A proposal is being made.
    Planning,
    /// The shop folder cannot be used; the findings say why.
    Faults,
    /// Something other than the shop's data stands in the way; in words.
    Trouble(String),
}

#[derive(Debug, Default)]
struct Front {
    standing: Standing,
    /// Since when it stands so.
    since: Option<Moment>,
    findings: Arc<[Finding]>,
    resting_until: Option<Moment>,
}

/// What is shown of a site besides its state.
#[derive(Debug, Default)]
pub(super) struct Fronting {
    front: Mutex<Front>,
    /// Told when it stands otherwise.
    stood: watch::Sender<()>,
}

impl Fronting {
    fn with<T>(&self, look: impl FnOnce(&mut Front) -> T) -> T {
        // Each change replaces whole values, so what is there is sound even after a panic elsewhere.
        look(&mut self.front.lock().unwrap_or_else(PoisonError::into_inner))
    }
}

impl Office {
    /// How the site stands.
    #[must_use]
    pub fn standing(&self) -> Standing {
        let standing = self.fronting().with(|front| front.standing.clone());
        let wanted = self.plan_is_wanted();
        let proposed = self.state().latest_proposal().is_some();
        match standing {
            Standing::UpToDate if wanted => Standing::Waiting,
            // After a restart: the proposal made before knows of everything.
            Standing::Waiting if proposed && !wanted => Standing::UpToDate,
            standing => standing,
        }
    }

    /// Says how the site stands.
    pub fn stand(&self, standing: Standing) {
        let now = self.now();
        self.fronting().with(|front| {
            if front.standing != standing {
                front.since = Some(now);
            }
            front.standing = standing;
        });
        self.fronting().stood.send_replace(());
    }

    /// Since when it has stood as was said last; `None` when nothing was said since the daemon started.
    #[must_use]
    pub fn standing_since(&self) -> Option<Moment> {
        self.fronting().with(|front| front.since)
    }

    /// Changes whenever it is said how the site stands.
    #[must_use]
    pub fn stood(&self) -> watch::Receiver<()> {
        self.fronting().stood.subscribe()
    }

    /// What is to be mended, or to be known, in the shop folder that was read last.
    #[must_use]
    pub fn findings(&self) -> Arc<[Finding]> {
        self.fronting().with(|front| Arc::clone(&front.findings))
    }

    /// Replaces the findings.
    pub fn report(&self, findings: Vec<Finding>) {
        self.fronting()
            .with(|front| front.findings = findings.into());
    }

    /// Whether planning has failed and is to be left alone for now.
    #[must_use]
    pub fn resting(&self, now: Moment) -> bool {
        let until = self.fronting().with(|front| front.resting_until);
        until.is_some_and(|until| now < until)
    }

    /// Leaves planning alone until then.
    pub fn rest_until(&self, until: Moment) {
        self.fronting()
            .with(|front| front.resting_until = Some(until));
    }

    /// Whether nothing has happened for as long as the policy wants before a proposal.
    #[must_use]
    pub fn is_quiet(&self, now: Moment) -> bool {
        let state = self.state();
        now - state.at >= Seconds(i64::from(state.policy.quiet_seconds))
    }
}

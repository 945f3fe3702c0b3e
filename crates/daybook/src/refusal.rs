//! Why a command is not done.

use crate::state::EventNumber;
use std::fmt;
use units::Finding;

/// What kind of refusal it is.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum RefusalKind {
    /// What the command names is not there.
    Missing,
    /// It contradicts what is so now.
    Conflict,
    /// It was decided on an older version; the number is that of the event which last changed the
    /// thing, 0 when it is not there.
    Stale {
        /// The version now.
        current: EventNumber,
    },
    /// What it brings is wrong; the findings say where, when it came as rows.
    Invalid(Vec<Finding>),
    /// It may be right, but something else must be done or waited for first.
    NotNow,
}

/// A command that is not done, and what to do about it.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("{text}")]
pub struct Refusal {
    /// What kind.
    pub kind: RefusalKind,
    /// In words: what is so, and what can be done.
    pub text: String,
}

impl Refusal {
    /// What is wrong with the data it refuses, when it came as rows.
    #[must_use]
    pub fn findings(&self) -> &[Finding] {
        match &self.kind {
            RefusalKind::Invalid(findings) => findings,
            _ => &[],
        }
    }

    pub(crate) fn missing(text: impl Into<String>) -> Refusal {
        Refusal::of(RefusalKind::Missing, text)
    }

    pub(crate) fn conflict(text: impl Into<String>) -> Refusal {
        Refusal::of(RefusalKind::Conflict, text)
    }

    pub(crate) fn not_now(text: impl Into<String>) -> Refusal {
        Refusal::of(RefusalKind::NotNow, text)
    }

    pub(crate) fn stale(what: impl fmt::Display, current: EventNumber) -> Refusal {
        let text =
            format!("{what} has changed since (event {current}); read it again and decide anew");
        Refusal::of(RefusalKind::Stale { current }, text)
    }

    pub(crate) fn stale_revision(current: u64) -> Refusal {
        let text = format!("the shop data are revision {current} now; read them again");
        Refusal::of(RefusalKind::Stale { current }, text)
    }

    /// Wrong in itself, and not from a table: there are no findings.
    pub(crate) fn unusable(text: impl Into<String>) -> Refusal {
        Refusal::of(RefusalKind::Invalid(Vec::new()), text)
    }

    pub(crate) fn invalid(findings: Vec<Finding>) -> Refusal {
        let first = findings.iter().find(|finding| finding.is_error());
        let text = match first {
            Some(first) if findings.len() > 1 => {
                format!("{first} (and {} more)", findings.len() - 1)
            }
            Some(first) => first.to_string(),
            None => "the data cannot be used".to_owned(),
        };
        Refusal::of(RefusalKind::Invalid(findings), text)
    }

    fn of(kind: RefusalKind, text: impl Into<String>) -> Refusal {
        Refusal {
            kind,
            text: text.into(),
        }
    }
}

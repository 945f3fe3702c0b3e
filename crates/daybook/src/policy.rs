//! How the daemon plans: what the manager sets and the daybook keeps.

use serde::{Deserialize, Serialize};

/// The policy of a site.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Policy {
    /// Whether a proposal that the judge accepted is published without a person; off by default.
    pub publish_automatically: bool,
    /// Search steps of a proposal, 1 to 1 000 000 000.
    pub steps: u64,
    /// Seconds to wait after the last change before a proposal is made, 0 to 86 400: a burst of
    /// changes is then one proposal.
    pub quiet_seconds: u32,
    /// Seconds by which a run may start or end off its plan before a new plan is wanted, 0 to
    /// 86 400.
    pub drift_seconds: u32,
}

impl Policy {
    /// Most search steps of a proposal.
    pub const MOST_STEPS: u64 = 1_000_000_000;
    /// Most seconds of waiting or drift.
    pub const MOST_SECONDS: u32 = 86_400;
}

impl Default for Policy {
    /// Nothing is published without a person; figures are common practice, no source.
    fn default() -> Policy {
        Policy {
            publish_automatically: false,
            steps: 200_000,
            quiet_seconds: 10,
            drift_seconds: 900,
        }
    }
}

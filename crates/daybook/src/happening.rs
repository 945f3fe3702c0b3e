//! What happens in a shop: one JSON object each, tagged by `kind`.
//!
//! Times are RFC 3339 in UTC, lengths texts in millimetres exact to the nanometre. An unknown kind
//! or field is an error: a log that this program does not understand is not guessed at.

use crate::floor_entry::{DownEntry, RunningEntry, StationEntry};
use crate::order_entry::OrderEntry;
use crate::policy::Policy;
use crate::state::EventNumber;
use crate::text::{list, maybe, one};
use model::StepKind;
use serde::{Deserialize, Serialize};
use units::{BrakeId, Moment, OrderId, PartId, SectionId};

/// Something that has happened.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(tag = "kind", rename_all = "kebab-case", deny_unknown_fields)]
pub enum Happening {
    /// The shop's files were taken over.
    ShopDataTaken {
        /// Revision of the files in the store.
        revision: u64,
        /// Whether nothing but orders and the floor differ from the files taken before.
        only_orders: bool,
    },
    /// Orders came in, new ones or in the stead of earlier ones.
    OrdersTaken {
        /// Where they came from.
        source: Source,
        /// The orders.
        orders: Vec<OrderEntry>,
    },
    /// Orders are not wanted any more.
    OrdersWithdrawn {
        /// Who says so: the folder when they are gone from it.
        source: Source,
        /// Which.
        #[serde(with = "list")]
        orders: Vec<OrderId>,
        /// Why, for people.
        why: String,
    },
    /// An order was tied to a brake, whatever its row says.
    OrderPinned {
        /// Order.
        #[serde(with = "one")]
        order: OrderId,
        /// The brake it must run on.
        #[serde(with = "one")]
        brake: BrakeId,
        /// The orders that have a place on the brake now, this one among them, the first first;
        /// empty when it has none.
        #[serde(with = "list", default, skip_serializing_if = "Vec::is_empty")]
        line: Vec<OrderId>,
    },
    /// It is so no more.
    OrderUnpinned {
        /// Order.
        #[serde(with = "one")]
        order: OrderId,
    },
    /// The whole floor was described; it replaces what was known.
    FloorDescribed {
        /// Stations on the beds.
        stations: Vec<StationEntry>,
        /// Orders in progress, at most one a brake.
        running: Vec<RunningEntry>,
        /// Brakes that cannot be used.
        down: Vec<DownEntry>,
    },
    /// One bed was described. A changeover under way there is over with it.
    BedDescribed {
        /// Brake.
        #[serde(with = "one")]
        brake: BrakeId,
        /// Stations on it.
        stations: Vec<StationEntry>,
    },
    /// A changeover began.
    ChangeoverStarted {
        /// Brake.
        #[serde(with = "one")]
        brake: BrakeId,
        /// Plan it is of.
        plan: u64,
        /// Run it prepares, by its name in the plan.
        run: String,
        /// Order of that run.
        #[serde(with = "one")]
        order: OrderId,
        /// What stands on the bed afterwards.
        bed: Vec<StationEntry>,
        /// What the plan says of it.
        planned: PlannedChange,
    },
    /// A changeover is done.
    ChangeoverFinished {
        /// Brake.
        #[serde(with = "one")]
        brake: BrakeId,
        /// Plan it was of.
        plan: u64,
        /// Run it prepared.
        run: String,
        /// What stands on the bed now.
        bed: Vec<StationEntry>,
        /// What the plan said of it.
        planned: PlannedChange,
    },
    /// Tools were taken off a bed because another brake needs their sections.
    TakedownDone {
        /// Brake.
        #[serde(with = "one")]
        brake: BrakeId,
        /// Plan it was of.
        plan: u64,
        /// Which of the brake's takedowns in the plan, from 1.
        takedown: u32,
        /// What stands on the bed now.
        bed: Vec<StationEntry>,
    },
    /// Bending began.
    RunStarted {
        /// Brake.
        #[serde(with = "one")]
        brake: BrakeId,
        /// Plan it is of.
        plan: u64,
        /// Its name in the plan.
        run: String,
        /// Order.
        #[serde(with = "one")]
        order: OrderId,
        /// Pieces to bend, at least 1.
        quantity: u32,
        /// What stands on the bed.
        bed: Vec<StationEntry>,
        /// Which of those stations bend, from 0.
        uses: Vec<usize>,
        /// Milliseconds a piece in the plan.
        planned_cycle_ms: i64,
        /// Seconds of pauses in the plan: breaks and closed hours.
        planned_pause_seconds: i64,
        /// End in the plan.
        #[serde(with = "one")]
        planned_end: Moment,
        /// Whether it was its turn and its time, within the policy's drift.
        as_planned: bool,
    },
    /// Bending stopped for a while.
    RunPaused {
        /// Brake.
        #[serde(with = "one")]
        brake: BrakeId,
        /// Why, for people.
        why: String,
    },
    /// Bending went on.
    RunResumed {
        /// Brake.
        #[serde(with = "one")]
        brake: BrakeId,
    },
    /// Pieces of the run so far; a later count goes before an earlier one.
    PiecesCounted {
        /// Brake.
        #[serde(with = "one")]
        brake: BrakeId,
        /// Good pieces since the run began.
        good: u32,
        /// Spoiled pieces since the run began.
        scrap: u32,
    },
    /// Bending ended.
    RunFinished {
        /// Brake.
        #[serde(with = "one")]
        brake: BrakeId,
        /// Good pieces of the run.
        good: u32,
        /// Spoiled pieces of the run.
        scrap: u32,
        /// Whether it ended before all its pieces were good.
        short: bool,
        /// Milliseconds a piece in the plan; 0 when no plan said.
        planned_cycle_ms: i64,
        /// Whether all pieces were made, and in time within the policy's drift.
        as_planned: bool,
    },
    /// A brake cannot be used for a while; it replaces an earlier report for the brake.
    BrakeDown {
        /// Brake.
        #[serde(with = "one")]
        brake: BrakeId,
        /// From when.
        #[serde(with = "one")]
        from: Moment,
        /// Until when.
        #[serde(with = "one")]
        until: Moment,
        /// Why, for people.
        why: String,
    },
    /// A brake can be used again.
    BrakeUp {
        /// Brake.
        #[serde(with = "one")]
        brake: BrakeId,
    },
    /// A section is out of service; it is taken off its bed.
    SectionOut {
        /// Section.
        #[serde(with = "one")]
        section: SectionId,
        /// Why, for people.
        why: String,
    },
    /// A section is fit for use again.
    SectionBack {
        /// Section.
        #[serde(with = "one")]
        section: SectionId,
    },
    /// A plan was made and accepted by the judge; nothing on the floor changes by it.
    ProposalMade {
        /// Plan.
        plan: u64,
        /// Number of the last event the plan knows of.
        made_from: EventNumber,
        /// Why it was made, for people.
        cause: String,
        /// What it costs, in the unit of plan totals.
        objective: i64,
    },
    /// A proposal became the plan of the floor.
    Published {
        /// Plan.
        plan: u64,
        /// Number of the last event the plan knows of.
        made_from: EventNumber,
        /// Whether the policy did it rather than a person.
        automatically: bool,
    },
    /// The policy was set anew.
    PolicyChanged {
        /// The whole policy.
        policy: Policy,
    },
    /// Measured times suggest another planned time.
    CalibrationOffered {
        /// Brake.
        #[serde(with = "one")]
        brake: BrakeId,
        /// What.
        what: Calibrated,
        /// Of a step: what planned times are multiplied by. Of a part: seconds a piece.
        factor: f64,
        /// What it rests on.
        evidence: Evidence,
    },
    /// An offer was taken; plans use it from now on.
    CalibrationAccepted {
        /// Brake.
        #[serde(with = "one")]
        brake: BrakeId,
        /// What.
        what: Calibrated,
        /// As offered.
        factor: f64,
        /// As offered.
        evidence: Evidence,
    },
    /// An offer was turned down; it is not made again from the same data.
    CalibrationRefused {
        /// Brake.
        #[serde(with = "one")]
        brake: BrakeId,
        /// What.
        what: Calibrated,
        /// As offered.
        factor: f64,
        /// As offered.
        evidence: Evidence,
        /// Why, for people.
        why: String,
    },
    /// An account was added, or changed. Nothing of the plan follows from it.
    AccountPut {
        /// Its name.
        account: String,
        /// Its role.
        role: String,
        /// Whether it has a new password, which is not told.
        new_password: bool,
        /// Whether it is refused.
        #[serde(default, skip_serializing_if = "std::ops::Not::not")]
        disabled: bool,
    },
    /// An account is refused from now on, and nothing else of it has changed.
    AccountDisabled {
        /// Its name.
        account: String,
    },
    /// A token was made, which is not told.
    TokenMade {
        /// Account it acts for.
        account: String,
        /// Its number at this site.
        token: u64,
        /// What it is for.
        label: String,
        /// From when on it is refused; never when `null` or left out.
        #[serde(default, with = "maybe", skip_serializing_if = "Option::is_none")]
        expires: Option<Moment>,
    },
    /// A token was revoked.
    TokenEnded {
        /// Account it acted for.
        account: String,
        /// Its number at this site.
        token: u64,
    },
}

/// The kinds that tell of accounts and tokens. Not everybody who may read the log may read what these
/// say beyond that they happened.
pub const PEOPLE_KINDS: [&str; 4] = [
    "account-put",
    "account-disabled",
    "token-made",
    "token-ended",
];

/// A text that is no happening.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("not an event of this program: {0}")]
pub struct Unreadable(pub String);

impl Happening {
    /// The kind, as JSON has it.
    #[must_use]
    pub fn kind(&self) -> &'static str {
        match self {
            Happening::ShopDataTaken { .. } => "shop-data-taken",
            Happening::OrdersTaken { .. } => "orders-taken",
            Happening::OrdersWithdrawn { .. } => "orders-withdrawn",
            Happening::OrderPinned { .. } => "order-pinned",
            Happening::OrderUnpinned { .. } => "order-unpinned",
            Happening::FloorDescribed { .. } => "floor-described",
            Happening::BedDescribed { .. } => "bed-described",
            Happening::ChangeoverStarted { .. } => "changeover-started",
            Happening::ChangeoverFinished { .. } => "changeover-finished",
            Happening::TakedownDone { .. } => "takedown-done",
            Happening::RunStarted { .. } => "run-started",
            Happening::RunPaused { .. } => "run-paused",
            Happening::RunResumed { .. } => "run-resumed",
            Happening::PiecesCounted { .. } => "pieces-counted",
            Happening::RunFinished { .. } => "run-finished",
            Happening::BrakeDown { .. } => "brake-down",
            Happening::BrakeUp { .. } => "brake-up",
            Happening::SectionOut { .. } => "section-out",
            Happening::SectionBack { .. } => "section-back",
            Happening::ProposalMade { .. } => "proposal-made",
            Happening::Published { .. } => "published",
            Happening::PolicyChanged { .. } => "policy-changed",
            Happening::CalibrationOffered { .. } => "calibration-offered",
            Happening::CalibrationAccepted { .. } => "calibration-accepted",
            Happening::CalibrationRefused { .. } => "calibration-refused",
            Happening::AccountPut { .. } => "account-put",
            Happening::AccountDisabled { .. } => "account-disabled",
            Happening::TokenMade { .. } => "token-made",
            Happening::TokenEnded { .. } => "token-ended",
        }
    }

    /// As one JSON object.
    ///
    /// # Errors
    /// [`Unreadable`] when a moment lies beyond what RFC 3339 can say, which no command brings.
    pub fn to_json(&self) -> Result<String, Unreadable> {
        serde_json::to_string(self).map_err(|error| Unreadable(error.to_string()))
    }

    /// From one JSON object.
    ///
    /// # Errors
    /// [`Unreadable`] names an unknown kind or field, or what is wrong with a value.
    pub fn from_json(text: &str) -> Result<Happening, Unreadable> {
        serde_json::from_str(text).map_err(|error| Unreadable(error.to_string()))
    }
}

/// Where orders come from.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Source {
    /// The shop's folder of files.
    Folder,
    /// A file in the inbox.
    Inbox,
    /// A request.
    Request,
}

/// What a plan says of a changeover's time.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct PlannedChange {
    /// Seconds of work; the steps add up to it.
    pub seconds: i64,
    /// Seconds of pauses within it: breaks and closed hours.
    pub pause_seconds: i64,
    /// Work by kind of step.
    pub steps: Vec<StepSeconds>,
}

/// Planned work of one kind of step.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct StepSeconds {
    /// Kind of step.
    #[serde(with = "one")]
    pub step: StepKind,
    /// Seconds of work.
    pub seconds: i64,
}

/// What a calibration is about.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub enum Calibrated {
    /// One kind of step of the brake's changeovers.
    Step(#[serde(with = "one")] StepKind),
    /// Seconds a piece of one part on the brake.
    Part(#[serde(with = "one")] PartId),
}

/// What an offer rests on.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Evidence {
    /// Observations.
    pub observations: u32,
    /// Lower end of the interval for the factor, or for the seconds a piece.
    pub low: f64,
    /// Its upper end.
    pub high: f64,
    /// Median absolute error of the planned times, seconds.
    pub error_before: f64,
    /// The same had the offer held.
    pub error_after: f64,
    /// Number of the last event it knows of.
    pub known_until: EventNumber,
    /// Events that ended the changeovers or runs it rests on, the latest 500.
    pub events: Vec<EventNumber>,
}

#[cfg(test)]
mod tests;

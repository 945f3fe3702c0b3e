//! What follows from all that has happened.

use crate::checkpoint::{stations, steps};
use crate::floor_entry::StationEntry;
use crate::happening::{Calibrated, Evidence, PlannedChange, Source};
use crate::pins::Pin;
use crate::policy::Policy;
use crate::text::{maybe, one};
use documents::Base;
use model::{BedStation, BrakeDown, Floor, Run, StepKind, WorkOrder};
use serde::{Deserialize, Serialize};
use std::collections::{BTreeMap, BTreeSet, VecDeque};
use std::sync::Arc;
use units::{BrakeId, Moment, OrderId, PartId, SectionId};

/// The number of an event in a site's log, from 1; 0 stands for before the first.
pub type EventNumber = u64;

/// The state of a shop after the event [`State::number`].
///
/// Two states are equal when all that followed from happenings is; the base is not compared, as it
/// follows from the revision.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct State {
    /// Number of the last event taken in.
    pub number: EventNumber,
    /// Latest moment of an event.
    pub at: Moment,
    /// Revision of the shop's files that was taken last.
    pub revision: Option<u64>,
    pub(crate) base: Furnished,
    /// All orders that ever came in, by id.
    pub orders: BTreeMap<OrderId, OrderState>,
    /// Orders by arrival.
    pub(crate) queue: BTreeMap<u64, OrderId>,
    /// Orders that somebody tied to a brake.
    pub(crate) pins: BTreeMap<OrderId, Pin>,
    /// Orders as the folder had them when they were taken from it.
    pub(crate) imported: BTreeMap<OrderId, Arc<WorkOrder>>,
    /// The floor as the folder described it last.
    pub(crate) described: Floor,
    /// Stations by brake, by position. No section is in two of them.
    pub beds: BTreeMap<BrakeId, Vec<BedStation>>,
    /// What each brake is doing; a brake that is not there is idle and was never heard of.
    pub on_brake: BTreeMap<BrakeId, OnBrake>,
    /// Brakes that cannot be used for a while.
    pub downs: Vec<BrakeDown>,
    /// Sections that people reported out of service, beside those of the files.
    pub sections_out: BTreeMap<SectionId, SectionOut>,
    /// Proposals of late, by plan.
    pub proposals: BTreeMap<u64, Proposal>,
    /// The plan of the floor.
    pub published: Option<Published>,
    /// Runs of the published plan that have begun, by name.
    pub begun: BTreeSet<String>,
    /// Orders that were being bent when the plan was published, by brake: the plan's first run of
    /// one there has begun before it.
    pub going_on: BTreeMap<BrakeId, OrderId>,
    /// Takedowns of the published plan that are done, by brake and number from 1.
    pub taken_down: BTreeSet<(BrakeId, u32)>,
    /// The policy.
    pub policy: Policy,
    /// Number of the event that last changed the policy; 0 when none did.
    pub policy_version: EventNumber,
    /// Calibrations in force.
    pub factors: BTreeMap<(BrakeId, Calibrated), Factor>,
    /// Calibrations offered, or refused, of late.
    pub offers: BTreeMap<(BrakeId, Calibrated), Offer>,
    /// What was planned and what it took.
    pub actuals: Actuals,
    /// Number of the last event that changes what a plan is made from; 0 when none did.
    pub plan_wanted_since: EventNumber,
    /// Number of the last event after which a plan made before it must not be published: the shop's
    /// data, a bed or a section is not what the plan takes it for.
    pub unfit_since: EventNumber,
}

/// An order and what became of it.
#[derive(Clone, Debug, PartialEq)]
pub struct OrderState {
    /// The order as it came in last. Shared, so that a state is copied fast.
    pub order: Arc<WorkOrder>,
    /// Where that came from.
    pub source: Source,
    /// Number of the event that last changed it.
    pub version: EventNumber,
    /// Its place in the order of arrival.
    pub arrived: u64,
    /// Good pieces of finished runs.
    pub done: u32,
    /// Spoiled pieces of finished runs.
    pub scrap: u32,
    /// Whether it was withdrawn.
    pub withdrawn: bool,
}

/// What a brake is doing, since when.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct OnBrake {
    /// What.
    pub doing: Doing,
    /// Since when.
    #[serde(with = "one")]
    pub since: Moment,
    /// Number of the event that last changed the brake: its bed, its work, its being down.
    pub version: EventNumber,
}

/// What a brake can be doing.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub enum Doing {
    /// Nothing.
    Idle,
    /// Tools are being changed.
    ChangingOver(Box<ChangeOn>),
    /// An order is being bent, or its run is paused.
    Running(Box<RunOn>),
}

/// A changeover under way.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ChangeOn {
    /// Plan it is of.
    pub plan: u64,
    /// Number of the last event that plan knows of.
    pub made_from: EventNumber,
    /// Run it prepares.
    pub run: String,
    /// Order of that run.
    #[serde(with = "one")]
    pub order: OrderId,
    /// What stands on the bed afterwards.
    pub bed: Vec<StationEntry>,
    /// What the plan says of it.
    pub planned: PlannedChange,
}

/// A run under way.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct RunOn {
    /// Plan and run, when it was started from a plan.
    pub of: Option<(u64, String)>,
    /// Number of the last event that plan knows of.
    pub made_from: EventNumber,
    /// Order.
    #[serde(with = "one")]
    pub order: OrderId,
    /// Pieces to bend.
    pub quantity: u32,
    /// Good pieces so far.
    pub good: u32,
    /// Spoiled pieces so far.
    pub scrap: u32,
    /// The stations it bends at. While they stand on the bed, it can go on.
    #[serde(with = "stations")]
    pub stations: Vec<BedStation>,
    /// When it began.
    #[serde(with = "one")]
    pub started: Moment,
    /// The pause it is in.
    pub paused: Option<Pause>,
    /// Seconds of earlier pauses.
    pub paused_seconds: i64,
    /// Milliseconds a piece in the plan; 0 when no plan said.
    pub planned_cycle_ms: i64,
    /// Seconds of pauses in the plan.
    pub planned_pause_seconds: i64,
    /// End in the plan, when one said.
    #[serde(with = "maybe")]
    pub planned_end: Option<Moment>,
}

/// A run that stands still.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Pause {
    /// Since when.
    #[serde(with = "one")]
    pub since: Moment,
    /// Why, for people.
    pub why: String,
}

/// A section that was reported out of service.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct SectionOut {
    /// When.
    #[serde(with = "one")]
    pub since: Moment,
    /// Why, for people.
    pub why: String,
}

/// A plan not yet published.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Proposal {
    /// Plan.
    pub plan: u64,
    /// Number of the last event it knows of.
    pub made_from: EventNumber,
    /// Why it was made.
    pub cause: String,
    /// What it costs, in the unit of plan totals.
    pub objective: i64,
    /// When it was made.
    #[serde(with = "one")]
    pub at: Moment,
    /// Number of its event.
    pub number: EventNumber,
}

/// The plan of the floor.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Published {
    /// Plan.
    pub plan: u64,
    /// Number of the last event it knows of.
    pub made_from: EventNumber,
    /// When it was published.
    #[serde(with = "one")]
    pub at: Moment,
    /// By whom.
    pub by: String,
    /// Whether the policy did it rather than a person.
    pub automatically: bool,
    /// Number of the event, its version.
    pub number: EventNumber,
}

/// A calibration in force.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Factor {
    /// Of a step: what the files' times are multiplied by. Of a part: seconds a piece.
    pub factor: f64,
    /// Number of the event that put it in force.
    pub since: EventNumber,
}

/// A calibration offered.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Offer {
    /// Of a step: what planned times are multiplied by. Of a part: seconds a piece.
    pub factor: f64,
    /// What it rests on.
    pub evidence: Evidence,
    /// Number of its event.
    pub number: EventNumber,
    /// Why it was refused, when it was.
    pub refused: Option<String>,
}

/// What was planned and what it took, the latest last.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Actuals {
    /// Changeovers.
    pub changes: VecDeque<Arc<ActualChange>>,
    /// Runs.
    pub runs: VecDeque<Arc<ActualRun>>,
}

/// A changeover that was reported from start to end.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ActualChange {
    /// Number of the event that ended it.
    pub number: EventNumber,
    /// Number of the last event its plan knew of.
    pub made_from: EventNumber,
    /// Brake.
    #[serde(with = "one")]
    pub brake: BrakeId,
    /// Planned seconds by kind of step.
    #[serde(with = "steps")]
    pub planned: Vec<(StepKind, i64)>,
    /// Seconds it took, without the pauses that were planned.
    pub seconds: i64,
}

/// A run that was reported from start to end.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ActualRun {
    /// Number of the event that ended it.
    pub number: EventNumber,
    /// Number of the last event its plan knew of.
    pub made_from: EventNumber,
    /// Brake.
    #[serde(with = "one")]
    pub brake: BrakeId,
    /// Part.
    #[serde(with = "one")]
    pub part: PartId,
    /// Pieces bent, good and spoiled.
    pub pieces: u32,
    /// Planned milliseconds a piece.
    pub planned_ms: i64,
    /// Milliseconds a piece it took, without pauses reported or planned.
    pub actual_ms: i64,
}

/// The files that were read, once somebody has handed them over.
#[derive(Clone, Debug, Default)]
pub(crate) struct Furnished(pub(crate) Option<(u64, Arc<Base>)>);

/// Follows from the revision, which is compared.
impl PartialEq for Furnished {
    fn eq(&self, _: &Furnished) -> bool {
        true
    }
}

impl State {
    /// Nothing has happened.
    #[must_use]
    pub fn new() -> State {
        State::default()
    }

    /// Hands over the files of a revision, read. Events carry the revision alone, so whoever
    /// applies [`crate::Happening::ShopDataTaken`] follows it with this.
    pub fn furnish(&mut self, revision: u64, base: Arc<Base>) {
        self.base = Furnished(Some((revision, base)));
    }

    /// The revision whose files must be handed over before [`State::shop`] and commands that read
    /// orders or beds can be answered.
    #[must_use]
    pub fn wants_base(&self) -> Option<u64> {
        let held = self.base.0.as_ref().map(|(revision, _)| *revision);
        self.revision.filter(|wanted| held != Some(*wanted))
    }

    /// The shop's files, when those of the revision taken last are there.
    #[must_use]
    pub fn base(&self) -> Option<&Arc<Base>> {
        let (held, base) = self.base.0.as_ref()?;
        (self.revision == Some(*held)).then_some(base)
    }

    /// The proposal made last.
    #[must_use]
    pub fn latest_proposal(&self) -> Option<&Proposal> {
        self.proposals
            .values()
            .max_by_key(|proposal| proposal.number)
    }

    /// Whether something has happened that no plan made so far knows of.
    #[must_use]
    pub fn plan_wanted(&self) -> bool {
        let known = self.latest_proposal().map_or(0, |last| last.made_from);
        self.plan_wanted_since > known
    }

    /// What a brake is doing.
    #[must_use]
    pub fn doing(&self, brake: &BrakeId) -> &Doing {
        self.on_brake
            .get(brake)
            .map_or(&Doing::Idle, |on| &on.doing)
    }

    /// The run on a brake.
    #[must_use]
    pub fn run_on(&self, brake: &BrakeId) -> Option<&RunOn> {
        match self.doing(brake) {
            Doing::Running(run) => Some(run),
            Doing::Idle | Doing::ChangingOver(_) => None,
        }
    }

    /// Whether a run of the published plan has begun: `at` is its place in the sequence of its brake,
    /// from 0.
    #[must_use]
    pub fn has_begun(&self, brake: &BrakeId, at: usize, run: &Run) -> bool {
        let before = at == 0 && self.going_on.get(brake) == Some(&run.order);
        before || self.begun.contains(&run.name)
    }

    /// Number of the event that last changed a brake; 0 when none did.
    #[must_use]
    pub fn brake_version(&self, brake: &BrakeId) -> EventNumber {
        self.on_brake.get(brake).map_or(0, |on| on.version)
    }
}

//! A plan: what each brake runs, in what order, after which changeovers, and why.

use units::{
    BrakeId, Kilonewtons, Length, Moment, OrderId, PartId, PersonId, ProfileId, Seconds, SectionId,
};

/// An answer to a shop. Times are instants; documents print them in the shop's zone.
#[derive(Clone, Debug, PartialEq)]
pub struct Plan {
    /// The shop's name.
    pub shop: String,
    /// First moment planned.
    pub from: Moment,
    /// Every run ends by this moment.
    pub until: Moment,
    /// Number the search's generators were started from.
    pub seed: u64,
    /// Search steps done; with the seed they reproduce the plan.
    pub iterations: u64,
    /// Time limit that was asked for, when one was.
    pub seconds: Option<u64>,
    /// One entry per brake, in the shop's order.
    pub brakes: Vec<BrakePlan>,
    /// Orders, or shares of them, that have no place.
    pub unplaced: Vec<Unplaced>,
    /// What people on the floor go by: the earlier plan's next runs, where there was an earlier plan.
    pub told: Vec<Told>,
    /// The plan's totals.
    pub totals: Totals,
    /// The same totals for two plain ways of planning.
    pub baselines: Baselines,
    /// What no plan can beat.
    pub bound: Bound,
    /// Whether the audit has accepted it.
    pub verified: bool,
}

/// One brake's sequence.
#[derive(Clone, Debug, PartialEq)]
pub struct BrakePlan {
    /// Brake.
    pub brake: BrakeId,
    /// Runs in time order.
    pub runs: Vec<Run>,
    /// Changes that only take tools off because another brake needs their sections.
    pub takedowns: Vec<Takedown>,
}

/// One order, or a share of it, on one brake.
#[derive(Clone, Debug, PartialEq)]
pub struct Run {
    /// Its name in this plan, such as `B2-04`.
    pub name: String,
    /// Order.
    pub order: OrderId,
    /// Part.
    pub part: PartId,
    /// Pieces.
    pub quantity: u32,
    /// Batch: consecutive runs that share one bed layout carry the same name.
    pub batch: String,
    /// What happens on the bed before it.
    pub changeover: Changeover,
    /// First second of bending.
    pub start: Moment,
    /// First second after the last piece.
    pub end: Moment,
    /// Spans worked, with the people; breaks and closed hours lie between them.
    pub segments: Vec<Segment>,
    /// Time worked, without pauses.
    pub run_time: Seconds,
    /// Milliseconds a piece.
    pub cycle_ms: i64,
    /// Bends with the station that makes each.
    pub bends: Vec<BendUse>,
    /// Stations on the bed during the run, from left to right, idle ones included.
    pub bed: Vec<Station>,
    /// Program at the brake when the setup is proven.
    pub program: Option<String>,
    /// Blanks (and the order's ready time) were there from this moment.
    pub ready: Moment,
    /// Due at bending.
    pub due: Moment,
    /// Seconds late, counted at the kit's last member when it belongs to one.
    pub late: Seconds,
    /// Whether it was fixed before planning began: in progress, or frozen by the plan made before.
    pub pinned: bool,
    /// Why here and why now, in words.
    pub reasons: Vec<String>,
}

/// Time worked by named people.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Segment {
    /// First second.
    pub start: Moment,
    /// First second after.
    pub end: Moment,
    /// Who, as many as the part needs.
    pub crew: Vec<PersonId>,
}

/// One bend at one station.
#[derive(Clone, Debug, PartialEq)]
pub struct BendUse {
    /// Bend number within the part.
    pub bend: u8,
    /// Hit within the bend, from 1: a hem has two.
    pub hit: u8,
    /// Index of the station in the run's `bed`.
    pub station: usize,
    /// Force at the shop's formula and the declared strength.
    pub force: Kilonewtons,
    /// Gauge X.
    pub x: Length,
    /// Gauge R, height of the edge against the stop.
    pub r: Length,
    /// Inside radius produced.
    pub radius: Length,
}

/// From one bed layout to the next.
#[derive(Clone, Debug, PartialEq)]
pub struct Changeover {
    /// First second; sections put on belong to this brake from here.
    pub start: Moment,
    /// First second after; sections taken off are free from here.
    pub end: Moment,
    /// Work in it, without pauses.
    pub work: Seconds,
    /// Spans worked, with the setter.
    pub segments: Vec<Segment>,
    /// Stations taken off.
    pub remove: Vec<Station>,
    /// Stations that stay where and as they are.
    pub keep: Vec<Station>,
    /// Stations that stay where they are, their die block turned to another V.
    pub turn: Vec<Turned>,
    /// Stations that stay on the bed but are slid along it.
    pub slide: Vec<Slid>,
    /// Stations put on.
    pub insert: Vec<Station>,
    /// What is done, in order; their times add up to `work`.
    pub steps: Vec<Step>,
}

/// A station whose die block is turned.
#[derive(Clone, Debug, PartialEq)]
pub struct Turned {
    /// Die it showed before.
    pub from: ProfileId,
    /// The station after.
    pub station: Station,
}

/// A station slid along the bed.
#[derive(Clone, Debug, PartialEq)]
pub struct Slid {
    /// Its left end before.
    pub from: Length,
    /// The station after.
    pub station: Station,
}

/// A change that only takes tools off.
#[derive(Clone, Debug, PartialEq)]
pub struct Takedown {
    /// First second.
    pub start: Moment,
    /// First second after; the sections are free from here.
    pub end: Moment,
    /// Work in it, without pauses.
    pub work: Seconds,
    /// Spans worked, with the setter.
    pub segments: Vec<Segment>,
    /// Stations taken off.
    pub remove: Vec<Station>,
    /// Brake that needs the sections.
    pub wanted_by: BrakeId,
    /// What is done, in order.
    pub steps: Vec<Step>,
}

/// What a step of a changeover does.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum StepKind {
    /// Fetch the cart, open and close the clamping.
    Prepare,
    /// Take a station off.
    TakeOff,
    /// Turn a station's die block to another of its V openings.
    Turn,
    /// Slide a station along the bed.
    Slide,
    /// Put a station on and align it.
    PutOn,
    /// Slide the gauge fingers by hand.
    Fingers,
    /// Set and test the guard for a new tool height.
    Guard,
    /// Call up the program.
    Program,
    /// Make a program that does not exist yet.
    Programming,
    /// Bend the first piece and measure it.
    FirstPiece,
    /// Have the first piece approved.
    Approval,
}

/// One step of a changeover.
#[derive(Clone, Debug, PartialEq)]
pub struct Step {
    /// What it does.
    pub kind: StepKind,
    /// Work.
    pub time: Seconds,
    /// In words, with sections and drawers.
    pub text: String,
}

/// A punch and die over a length of bed.
#[derive(Clone, Debug, PartialEq)]
pub struct Station {
    /// Punch profile.
    pub punch: ProfileId,
    /// Die profile.
    pub die: ProfileId,
    /// V opening.
    pub v: Length,
    /// Left end, from the bed's left end as the operator faces the brake; punch and die both start
    /// here.
    pub left: Length,
    /// Bed length taken: the longer of punch and die.
    pub length: Length,
    /// Whether the punch stands turned about, its relief toward the gauge instead of the operator.
    pub reversed: bool,
    /// Punch sections from left to right.
    pub punch_sections: Vec<StationPiece>,
    /// Die sections from left to right.
    pub die_sections: Vec<StationPiece>,
    /// Punch height plus die height, tip on shoulders.
    pub closed_height: Length,
}

/// A physical section in a station.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct StationPiece {
    /// Section.
    pub section: SectionId,
    /// Its length.
    pub length: Length,
    /// Where it is kept.
    pub drawer: String,
}

/// What an earlier plan has told people of an order.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Told {
    /// Order.
    pub order: OrderId,
    /// Start of its first run that was still to come.
    pub start: Moment,
    /// Brakes of its runs that were still to come, in the shop's order.
    pub brakes: Vec<BrakeId>,
}

/// An order that has no place, and every brake's reason.
#[derive(Clone, Debug, PartialEq)]
pub struct Unplaced {
    /// Order.
    pub order: OrderId,
    /// Pieces without a place.
    pub quantity: u32,
    /// One or more per brake.
    pub refusals: Vec<Refusal>,
}

/// Why a brake cannot take a part.
#[derive(Clone, Debug, PartialEq)]
pub struct Refusal {
    /// Brake.
    pub brake: BrakeId,
    /// Which limit.
    pub limit: Limit,
    /// Bend it was met at, when one was.
    pub bend: Option<u8>,
    /// The number needed.
    pub needed: f64,
    /// The number there is.
    pub available: f64,
    /// Unit of both.
    pub unit: &'static str,
    /// In words.
    pub text: String,
}

/// The limits a brake or its tooling can set.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Limit {
    /// Order is tied to another brake.
    Pinned,
    /// Part may only run where it is proven.
    Proven,
    /// Rated force.
    Force,
    /// Load per metre of the weakest link: clamp, holder, punch, die, rail or bed.
    LineLoad,
    /// Off-centre share of one drive.
    OffCentre,
    /// Bed length.
    BedLength,
    /// Between frames and throat depth.
    Throat,
    /// Ram travel.
    Stroke,
    /// Open tools against the deepest flange.
    Daylight,
    /// Gauge X range.
    GaugeX,
    /// X1/X2 for a taper.
    GaugeX1X2,
    /// Gauge R.
    GaugeR,
    /// Fingers for several stations.
    Fingers,
    /// No V opening owned within the range for this thickness.
    VOpening,
    /// Flange too short for the V openings that would do.
    Flange,
    /// Inside radius.
    Radius,
    /// Tool angle against the bend angle less springback.
    ToolAngle,
    /// Punch relief against a returned flange.
    Relief,
    /// The part as bent so far meets a tool, the ram or the bed.
    Collision,
    /// No pair of flattening tools for a hem.
    Flattening,
    /// Blank developed for another V.
    Developed,
    /// Sections owned do not make up the station.
    Sections,
    /// Tang or mount.
    Mount,
    /// Angle accuracy.
    AngleAccuracy,
    /// Mass by hand.
    Mass,
    /// Nobody is trained on this brake for what the part needs.
    Crew,
    /// Blanks that are neither on hand nor announced.
    Blanks,
    /// The order that must be finished first has no place.
    Predecessor,
    /// No staffed time before the horizon.
    Horizon,
}

/// What a plan costs. Money plays no part: everything is counted in changeover minutes.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Default)]
pub struct Totals {
    /// Runs.
    pub runs: u32,
    /// Changeovers and takedowns in which a tool was moved.
    pub changeovers: u32,
    /// Work in all changeovers and takedowns.
    pub changeover: Seconds,
    /// Work in all runs.
    pub run: Seconds,
    /// Orders with a late run.
    pub late_orders: u32,
    /// Sum over promises of weight times lateness.
    pub weighted_late: Seconds,
    /// Work in overtime shifts.
    pub overtime: Seconds,
    /// Orders without a place, or with a share of them without one.
    pub unplaced_orders: u32,
    /// Sum over orders of which people have been told: time between the start told and the start now.
    pub moved: Seconds,
    /// Sum over the same orders: brakes they are bent on now and were not to be bent on.
    pub other_brakes: u32,
    /// The number that is made least, in sixtieths of a changeover second (see docs/rules.md).
    pub objective: i64,
}

/// Two honest plain ways of planning, under the same rules.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Default)]
pub struct Baselines {
    /// Orders by due time, each where it ends first.
    pub due_date_order: Totals,
    /// Orders due within three days together, grouped by die within them.
    pub grouped_by_die: Totals,
}

/// A number no plan can be below.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Default)]
pub struct Bound {
    /// Lower bound on the objective, in its unit; `None` when nothing better than zero is known.
    pub objective: Option<i64>,
}

//! The JSON twins of a plan, field by field in the order in which they are written.

use serde::{Deserialize, Serialize};

/// A plan.
#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct PlanJson {
    pub(super) format: String,
    pub(super) shop: String,
    pub(super) from: String,
    pub(super) until: String,
    pub(super) seed: u64,
    pub(super) iterations: u64,
    pub(super) seconds: Option<u64>,
    pub(super) brakes: Vec<BrakeJson>,
    pub(super) unplaced: Vec<UnplacedJson>,
    /// Plans written before there was such a thing have none.
    #[serde(default)]
    pub(super) told: Vec<ToldJson>,
    pub(super) totals: TotalsJson,
    pub(super) baselines: BaselinesJson,
    pub(super) bound: BoundJson,
    pub(super) verified: bool,
}

/// One brake's sequence.
#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct BrakeJson {
    pub(super) brake: String,
    pub(super) runs: Vec<RunJson>,
    pub(super) takedowns: Vec<TakedownJson>,
}

/// One run.
#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct RunJson {
    pub(super) run: String,
    pub(super) order: String,
    pub(super) part: String,
    pub(super) quantity: u32,
    pub(super) batch: String,
    pub(super) changeover: ChangeoverJson,
    pub(super) start: String,
    pub(super) end: String,
    pub(super) segments: Vec<SegmentJson>,
    /// Derived: everybody named in the segments.
    pub(super) crew: Vec<String>,
    /// Derived from `run_seconds`.
    pub(super) run_minutes: f64,
    pub(super) run_seconds: i64,
    pub(super) cycle_seconds: f64,
    /// Derived: the greatest force of the bends.
    pub(super) peak_force_kn: f64,
    pub(super) bends: Vec<BendJson>,
    pub(super) bed: Vec<StationJson>,
    pub(super) program: Option<String>,
    pub(super) ready: String,
    pub(super) due: String,
    /// Derived from `late_seconds`.
    pub(super) late_minutes: f64,
    pub(super) late_seconds: i64,
    pub(super) pinned: bool,
    pub(super) reasons: Vec<String>,
}

/// A span worked.
#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct SegmentJson {
    pub(super) start: String,
    pub(super) end: String,
    pub(super) crew: Vec<String>,
}

/// A bend at its station.
#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct BendJson {
    pub(super) bend: u8,
    pub(super) hit: u8,
    pub(super) station: usize,
    pub(super) force_kn: f64,
    pub(super) x_mm: f64,
    pub(super) r_mm: f64,
    pub(super) radius_mm: f64,
}

/// A changeover.
#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct ChangeoverJson {
    pub(super) start: String,
    pub(super) end: String,
    /// Derived from `work_seconds`.
    pub(super) minutes: f64,
    pub(super) work_seconds: i64,
    pub(super) segments: Vec<SegmentJson>,
    pub(super) remove: Vec<StationJson>,
    pub(super) keep: Vec<StationJson>,
    pub(super) turn: Vec<TurnedJson>,
    pub(super) slide: Vec<SlidJson>,
    pub(super) insert: Vec<StationJson>,
    pub(super) steps: Vec<StepJson>,
}

/// A station whose die block is turned.
#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct TurnedJson {
    pub(super) from_die: String,
    pub(super) station: StationJson,
}

/// A station slid along the bed.
#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct SlidJson {
    pub(super) from_mm: f64,
    pub(super) station: StationJson,
}

/// A takedown.
#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct TakedownJson {
    pub(super) start: String,
    pub(super) end: String,
    /// Derived from `work_seconds`.
    pub(super) minutes: f64,
    pub(super) work_seconds: i64,
    pub(super) segments: Vec<SegmentJson>,
    pub(super) remove: Vec<StationJson>,
    pub(super) wanted_by: String,
    pub(super) steps: Vec<StepJson>,
}

/// A step of a changeover.
#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct StepJson {
    pub(super) action: String,
    pub(super) seconds: i64,
    /// Derived from `seconds`.
    pub(super) minutes: f64,
    pub(super) text: String,
}

/// A station.
#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct StationJson {
    pub(super) punch: String,
    pub(super) die: String,
    pub(super) v_mm: f64,
    pub(super) left_mm: f64,
    pub(super) length_mm: f64,
    pub(super) reversed: bool,
    pub(super) punch_sections: Vec<SectionJson>,
    pub(super) die_sections: Vec<SectionJson>,
    pub(super) closed_height_mm: f64,
}

/// A section in a station.
#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct SectionJson {
    pub(super) id: String,
    pub(super) length_mm: f64,
    pub(super) drawer: String,
}

/// An order, or a share of it, without a place.
#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct UnplacedJson {
    pub(super) order: String,
    pub(super) quantity: u32,
    pub(super) reasons: Vec<ReasonJson>,
}

/// A brake's reason.
#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct ReasonJson {
    pub(super) brake: String,
    pub(super) code: String,
    pub(super) bend: Option<u8>,
    /// `null` stands for a number beyond all bounds.
    pub(super) needed: Option<f64>,
    /// `null` stands for a number beyond all bounds.
    pub(super) limit: Option<f64>,
    pub(super) unit: String,
    pub(super) text: String,
}

/// What an earlier plan has told people of an order.
#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct ToldJson {
    pub(super) order: String,
    pub(super) start: String,
    pub(super) brakes: Vec<String>,
}

/// Totals.
#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct TotalsJson {
    pub(super) runs: u32,
    pub(super) changeovers: u32,
    /// Derived from `changeover_seconds`.
    pub(super) changeover_minutes: f64,
    pub(super) changeover_seconds: i64,
    /// Derived from `run_seconds`.
    pub(super) run_minutes: f64,
    pub(super) run_seconds: i64,
    pub(super) late_orders: u32,
    /// Derived from `weighted_late_seconds`.
    pub(super) weighted_late_hours: f64,
    pub(super) weighted_late_seconds: i64,
    /// Derived from `overtime_seconds`.
    pub(super) overtime_minutes: f64,
    pub(super) overtime_seconds: i64,
    pub(super) unplaced_orders: u32,
    /// Derived from `moved_seconds`.
    #[serde(default)]
    pub(super) moved_minutes: f64,
    #[serde(default)]
    pub(super) moved_seconds: i64,
    #[serde(default)]
    pub(super) other_brakes: u32,
    pub(super) objective: i64,
}

/// Totals of the two plain ways of planning.
#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct BaselinesJson {
    pub(super) due_date_order: TotalsJson,
    pub(super) grouped_by_die: TotalsJson,
}

/// What no plan can beat.
#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct BoundJson {
    pub(super) objective: Option<i64>,
    /// Derived: the share of the objective above the bound.
    pub(super) gap: Option<f64>,
}

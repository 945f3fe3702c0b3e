//! The shop's rules: every figure the engine uses that is policy or practice rather than physics.

use units::{Kilograms, Length, Seconds};

/// V openings allowed for thicknesses up to a limit.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct VRule {
    /// Largest thickness this row is for.
    pub thickness_to: Length,
    /// Smallest V over thickness.
    pub least: f64,
    /// Preferred V over thickness.
    pub preferred: f64,
    /// Largest V over thickness.
    pub most: f64,
}

/// The shop's rules. Every field is a key of `[rules]` in shop.toml over config/defaults.toml.
#[derive(Clone, Debug, PartialEq)]
pub struct Rules {
    /// Name of the force formula used to refuse: oehler, textbook, manual, inch-shop.
    pub force_form: String,
    /// V by thickness, rising.
    pub v_rules: Vec<VRule>,
    /// How far a produced inside radius may be from one that is asked for, as a share of it.
    pub radius_tolerance: f64,
    /// K-factor for deductions; `None` uses DIN 6935.
    pub k_factor: Option<f64>,
    /// Least distance between neighbouring stations on a bed.
    pub station_gap: Length,
    /// How much longer than its bend a new station may be when nothing limits it.
    pub station_overhang: Length,
    /// How much shorter than a bend between box sides its punch may be.
    pub box_short: Length,
    /// Clearance between the deepest flange and the open tools.
    pub daylight_clearance: Length,
    /// Clearance every idle station keeps from its own die at the deepest programmed ram position.
    pub crash_clearance: Length,
    /// Least opening above the sheet before each stroke.
    pub approach: Length,
    /// How far a bent part may reach into a tool's outline before it counts as a collision.
    pub touch_allowance: Length,
    /// Height of the face of the back gauge's stops: an edge within it needs no R axis.
    pub stop_height: Length,
    /// Force of flattening a hem over the air-bending force of its sheet in a V of 8 thicknesses.
    pub flatten_factor: f64,
    /// How far the facets of a stepped radius may lie from the true arc.
    pub step_depth: Length,
    /// Dwell at the bottom.
    pub dwell_seconds: f64,
    /// Loading and unloading a piece.
    pub load_seconds: f64,
    /// Placing a piece against the stops for one bend.
    pub place_seconds: f64,
    /// More per metre of blank length plus width, per bend and for loading.
    pub size_seconds_per_metre: f64,
    /// More per kilogram carried by each person, per bend and for loading.
    pub mass_seconds_per_kg: f64,
    /// Flipping the piece between bends of opposite direction.
    pub flip_seconds: f64,
    /// Turning the piece between bends on different edges.
    pub turn_seconds: f64,
    /// Above this mass a piece takes two people.
    pub one_person_mass: Kilograms,
    /// Above this mass a piece is not bent by hand at all.
    pub two_person_mass: Kilograms,
    /// Above this mass a section takes two people or a crane.
    pub heavy_section_mass: Kilograms,
    /// Pieces between checks.
    pub check_every: u32,
    /// Seconds a check takes.
    pub check_seconds: u32,
    /// Making a program that does not exist yet, before its first run on a brake.
    pub programming: Seconds,
    /// Pieces of cycle time the first good piece takes.
    pub first_off_pieces: u32,
    /// Approval of a first piece by the operator.
    pub approve_own: Seconds,
    /// By an inspector.
    pub approve_inspector: Seconds,
    /// By the customer.
    pub approve_customer: Seconds,
    /// Calendar of the inspector's hours; any time when `None`.
    pub inspector_calendar: Option<units::CalendarId>,
    /// No changeover begins within this time of the setter's shift end.
    pub quiet_before_shift_end: Seconds,
    /// Whether a changeover may go on after its shift's end.
    pub changeover_may_span_shifts: bool,
    /// Whether a run may go on in a later shift.
    pub run_may_span_shifts: bool,
    /// Runs that start within this time of the plan's start keep brake, place and setup.
    pub frozen: Seconds,
    /// Changeover minutes that one late hour of weight 1 is worth.
    pub late_hour_minutes: u32,
    /// Changeover minutes that one overtime minute is worth, in tenths.
    pub overtime_tenths: u32,
    /// Runs of an earlier plan that start within this span have been told to people: blanks stand at
    /// the brake, papers are out.
    pub told: Seconds,
    /// Changeover minutes that bending such an order on another brake is worth.
    pub other_brake_minutes: u32,
    /// Changeover minutes that starting it an hour earlier or later is worth.
    pub moved_hour_minutes: u32,
    /// Changeover minutes that an unplaced order of weight 1 is worth.
    pub unplaced_minutes: u32,
    /// Days ahead within which every run must end.
    pub horizon_days: u16,
    /// What varies on the floor; no plan depends on it.
    pub chance: Chance,
}

/// How far the floor departs from the times a plan reckons with: what dates with odds rest on.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Chance {
    /// Standard deviation of a run's time as a share of its mean, 0 to 5.
    pub run_spread: f64,
    /// The same of a changeover's time.
    pub changeover_spread: f64,
    /// Orders a week that come unannounced and go before what is planned.
    pub rush_per_week: f64,
    /// Mean hours of work between two stops of a brake, at least one; zero for brakes that never stop.
    pub hours_between_stops: f64,
    /// Mean hours until a brake that stopped works again, in its staffed hours.
    pub repair_hours: f64,
}

impl Chance {
    /// Nothing varies and nothing comes between.
    pub const NONE: Chance = Chance {
        run_spread: 0.0,
        changeover_spread: 0.0,
        rush_per_week: 0.0,
        hours_between_stops: 0.0,
        repair_hours: 0.0,
    };
}

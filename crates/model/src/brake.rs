//! Press brakes: what limits a bend and what a change costs.

use chrono::NaiveDate;
use units::{
    BrakeId, CalendarId, Degrees, Kilonewtons, KilonewtonsPerMetre, Length, MillimetresPerSecond,
    Seconds,
};

/// One press brake.
#[derive(Clone, Debug, PartialEq)]
pub struct Brake {
    /// Its id in the shop's files.
    pub id: BrakeId,
    /// What people call it.
    pub name: String,
    /// Rated force.
    pub force: Kilonewtons,
    /// Length over which tools can be seated; positions on the bed run from 0 at its left end.
    pub bed: Length,
    /// Clear distance between the side frames, centred on the bed.
    pub between_frames: Length,
    /// Throat depth: how far the frames let a part longer than `between_frames` reach in.
    pub throat: Length,
    /// Ram seat to bed seat with the ram fully open.
    pub open_height: Length,
    /// Ram travel.
    pub stroke: Length,
    /// Distance between the two drives, centred on the bed; each carries half the rated force.
    pub drive_span: Length,
    /// Height the punch holder takes from the open height.
    pub upper_holder: Length,
    /// Height the die holder or rail takes from the open height.
    pub lower_holder: Length,
    /// Line load the ram and bed bear; when not stated, rated force over 60 % of the frame
    /// distance.
    pub bed_load: Option<KilonewtonsPerMetre>,
    /// Line load the punch clamps bear.
    pub clamp_load: KilonewtonsPerMetre,
    /// Line load the punch holder bears.
    pub holder_load: KilonewtonsPerMetre,
    /// Line load the die rail bears.
    pub rail_load: KilonewtonsPerMetre,
    /// Punch tang the clamps take; a punch must have the same.
    pub tang: String,
    /// Die mount the rail takes; a die must have the same.
    pub die_mount: String,
    /// How tools are clamped.
    pub clamping: Clamping,
    /// Ram and gauge speeds.
    pub speeds: Speeds,
    /// Thickness of the ram above the punches, front to back.
    pub ram_thickness: Length,
    /// Thickness of the bed below the dies, front to back.
    pub bed_thickness: Length,
    /// Height above the sheet where fast closing ends.
    pub mute_height: Length,
    /// The back gauge.
    pub gauge: Gauge,
    /// Angle the brake holds, plus or minus.
    pub angle_accuracy: Degrees,
    /// When it is staffed.
    pub calendar: CalendarId,
    /// What a change costs on this brake.
    pub times: ChangeTimes,
}

/// How tools are held.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Clamping {
    /// Bolted clamps, opened one by one.
    Bolted,
    /// Hand-operated quick clamps.
    Quick,
    /// Powered clamping of the whole bed.
    Powered,
}

/// Ram and gauge speeds.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Speeds {
    /// Fast closing.
    pub fast: MillimetresPerSecond,
    /// Slow closing below the mute height.
    pub slow: MillimetresPerSecond,
    /// Bending.
    pub bend: MillimetresPerSecond,
    /// Return.
    pub back: MillimetresPerSecond,
    /// Gauge X axis.
    pub gauge: MillimetresPerSecond,
}

/// A gauge axis: its range, and the day it was or will be fitted.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Axis {
    /// Least position.
    pub from: Length,
    /// Greatest position.
    pub to: Length,
    /// First local day it can be used; always when `None`.
    pub fitted: Option<NaiveDate>,
}

/// How the fingers move along the bed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum ZDrive {
    /// Slid by hand at a changeover.
    Hand,
    /// Driven to position by the control.
    Powered,
}

/// The back gauge.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Gauge {
    /// X: distance from the bend line, front to back.
    pub x: Axis,
    /// The greatest difference between X1 and X2, when the two fingers move separately.
    pub x_difference: Option<Axis>,
    /// R: height.
    pub r: Option<Axis>,
    /// Z: along the bed.
    pub z: ZDrive,
    /// Number of fingers.
    pub fingers: u8,
}

/// What a change costs on one brake. Rules for adding them up are in docs/rules.md.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct ChangeTimes {
    /// Once per change that touches any tool: fetch the cart, open and close the clamping.
    pub base: Seconds,
    /// Per station taken off.
    pub station_off: Seconds,
    /// Per section taken off.
    pub section_off: Seconds,
    /// Per station put on and aligned.
    pub station_on: Seconds,
    /// Per section put on.
    pub section_on: Seconds,
    /// Per station slid along the bed and aligned again, without being lifted.
    pub station_slide: Seconds,
    /// Per die section of a block turned to another of its V openings, the punch staying where it
    /// is.
    pub section_turn: Seconds,
    /// More for each section too heavy for one person, off, on or turned.
    pub heavy_section: Seconds,
    /// Per station used, when fingers are slid by hand.
    pub fingers: Seconds,
    /// Setting the guard to a new tool height and testing it.
    pub guard: Seconds,
    /// Calling up a program that exists.
    pub program: Seconds,
}

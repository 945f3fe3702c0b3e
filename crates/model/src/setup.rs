//! Proven setups: what has already made good parts.

use chrono::NaiveDate;
use units::{BrakeId, Length, PartId, ProfileId};

/// A setup that made good parts on one brake.
#[derive(Clone, Debug, PartialEq)]
pub struct ProvenSetup {
    /// Part.
    pub part: PartId,
    /// Brake.
    pub brake: BrakeId,
    /// Program name at the brake.
    pub program: String,
    /// Stations, left to right.
    pub stations: Vec<ProvenStation>,
    /// Measured seconds a piece, tenths kept.
    pub seconds_a_piece: Option<f64>,
    /// Last run.
    pub last_run: Option<NaiveDate>,
}

/// One station of a proven setup.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ProvenStation {
    /// Punch profile.
    pub punch: ProfileId,
    /// Die profile.
    pub die: ProfileId,
    /// Least station length.
    pub length: Length,
    /// Bends made there. Of a hem, both hits are made at the stations that name it: the sharp bend
    /// at the one with a V, the flattening at the one with flattening tools.
    pub bends: Vec<u8>,
}

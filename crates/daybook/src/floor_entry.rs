//! Beds, orders in progress and brakes down, as events have them.

use crate::text::{list, one};
use model::{BedStation, BrakeDown, RunningOrder, Station};
use serde::{Deserialize, Serialize};
use units::{BrakeId, Length, Moment, OrderId, ProfileId, SectionId, Window};

/// A station on a bed.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct StationEntry {
    /// Brake.
    #[serde(with = "one")]
    pub brake: BrakeId,
    /// Punch profile.
    #[serde(with = "one")]
    pub punch: ProfileId,
    /// Die profile.
    #[serde(with = "one")]
    pub die: ProfileId,
    /// Left end, mm from the bed's left end.
    #[serde(with = "one")]
    pub left: Length,
    /// Whether the punch stands turned about.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub reversed: bool,
    /// Punch sections from left to right.
    #[serde(with = "list")]
    pub punch_sections: Vec<SectionId>,
    /// Die sections from left to right.
    #[serde(with = "list")]
    pub die_sections: Vec<SectionId>,
}

impl From<&BedStation> for StationEntry {
    fn from(station: &BedStation) -> StationEntry {
        StationEntry {
            brake: station.brake.clone(),
            punch: station.punch.clone(),
            die: station.die.clone(),
            left: station.left,
            reversed: station.reversed,
            punch_sections: station.punch_sections.clone(),
            die_sections: station.die_sections.clone(),
        }
    }
}

impl From<&StationEntry> for BedStation {
    fn from(entry: &StationEntry) -> BedStation {
        BedStation {
            brake: entry.brake.clone(),
            punch: entry.punch.clone(),
            die: entry.die.clone(),
            left: entry.left,
            reversed: entry.reversed,
            punch_sections: entry.punch_sections.clone(),
            die_sections: entry.die_sections.clone(),
        }
    }
}

impl StationEntry {
    /// A plan's station on a brake's bed.
    pub(crate) fn planned(brake: &BrakeId, station: &Station) -> StationEntry {
        let ids = |pieces: &[model::StationPiece]| {
            pieces.iter().map(|piece| piece.section.clone()).collect()
        };
        StationEntry {
            brake: brake.clone(),
            punch: station.punch.clone(),
            die: station.die.clone(),
            left: station.left,
            reversed: station.reversed,
            punch_sections: ids(&station.punch_sections),
            die_sections: ids(&station.die_sections),
        }
    }
}

/// An order in progress.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct RunningEntry {
    /// Brake.
    #[serde(with = "one")]
    pub brake: BrakeId,
    /// Order.
    #[serde(with = "one")]
    pub order: OrderId,
    /// Good pieces of the order finished, on earlier runs too.
    pub pieces_done: u32,
}

impl From<&RunningOrder> for RunningEntry {
    fn from(running: &RunningOrder) -> RunningEntry {
        RunningEntry {
            brake: running.brake.clone(),
            order: running.order.clone(),
            pieces_done: running.pieces_done,
        }
    }
}

/// A brake that cannot be used.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct DownEntry {
    /// Brake.
    #[serde(with = "one")]
    pub brake: BrakeId,
    /// From when.
    #[serde(with = "one")]
    pub from: Moment,
    /// Until when, after `from`.
    #[serde(with = "one")]
    pub until: Moment,
    /// Why, for people.
    pub why: String,
}

impl From<&BrakeDown> for DownEntry {
    fn from(down: &BrakeDown) -> DownEntry {
        DownEntry {
            brake: down.brake.clone(),
            from: down.window.start,
            until: down.window.end,
            why: down.reason.clone(),
        }
    }
}

impl From<&DownEntry> for BrakeDown {
    fn from(entry: &DownEntry) -> BrakeDown {
        BrakeDown {
            brake: entry.brake.clone(),
            window: Window {
                start: entry.from,
                end: entry.until,
            },
            reason: entry.why.clone(),
        }
    }
}

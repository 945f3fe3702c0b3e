//! The floor as it is now.

use units::{BrakeId, Length, Moment, OrderId, ProfileId, SectionId, Window};

/// What stands on the beds, what is running, what is down.
#[derive(Clone, Debug, PartialEq, Default)]
pub struct Floor {
    /// Stations on the beds, by brake and position.
    pub stations: Vec<BedStation>,
    /// Orders in progress, at most one a brake.
    pub running: Vec<RunningOrder>,
    /// Brakes that cannot be used for a while.
    pub down: Vec<BrakeDown>,
}

/// A station on a bed.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct BedStation {
    /// Brake.
    pub brake: BrakeId,
    /// Punch profile.
    pub punch: ProfileId,
    /// Die profile.
    pub die: ProfileId,
    /// Left end, from the bed's left end.
    pub left: Length,
    /// Whether the punch stands turned about, its relief toward the gauge.
    pub reversed: bool,
    /// Punch sections from left to right.
    pub punch_sections: Vec<SectionId>,
    /// Die sections from left to right.
    pub die_sections: Vec<SectionId>,
}

/// An order in progress.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct RunningOrder {
    /// Brake.
    pub brake: BrakeId,
    /// Order.
    pub order: OrderId,
    /// Good pieces finished.
    pub pieces_done: u32,
}

/// A brake that cannot be used.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct BrakeDown {
    /// Brake.
    pub brake: BrakeId,
    /// When.
    pub window: Window,
    /// Why, for people.
    pub reason: String,
}

/// Lets a station say where its sections end without asking the stock.
impl BedStation {
    /// All sections, punch first.
    pub fn sections(&self) -> impl Iterator<Item = &SectionId> {
        self.punch_sections.iter().chain(&self.die_sections)
    }

    /// A moment-free description for messages: `P-88/26 over V16 at 400`.
    #[must_use]
    pub fn describe(&self) -> String {
        format!("{} over {} at {}", self.punch, self.die, self.left)
    }
}

impl Floor {
    /// Whether the brake is down at the moment.
    #[must_use]
    pub fn is_down(&self, brake: &BrakeId, at: Moment) -> bool {
        self.down
            .iter()
            .any(|down| down.brake == *brake && down.window.start <= at && at < down.window.end)
    }
}

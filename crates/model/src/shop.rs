//! The ground state.

use crate::{
    Brake, Calendar, Deduction, Die, Floor, Material, Part, Person, Profile, ProvenSetup, Punch,
    Rules, Section, WorkOrder,
};
use chrono_tz::Tz;
use units::{BrakeId, CalendarId, MaterialId, Moment, OrderId, PartId, ProfileId, SectionId};

/// Everything a plan is made from. Lists are in file order, ids are unique within each list and
/// every reference resolves: whoever builds a `Shop` has checked that (`documents` does).
#[derive(Clone, Debug)]
pub struct Shop {
    /// What people call it.
    pub name: String,
    /// The shop's own time zone.
    pub zone: Tz,
    /// The moment the floor and the orders were described.
    pub as_of: Option<Moment>,
    /// The shop's rules.
    pub rules: Rules,
    /// Staffing calendars.
    pub calendars: Vec<Calendar>,
    /// Press brakes.
    pub brakes: Vec<Brake>,
    /// Materials.
    pub materials: Vec<Material>,
    /// Punch and die profiles.
    pub profiles: Vec<Profile>,
    /// Physical sections.
    pub sections: Vec<Section>,
    /// Parts.
    pub parts: Vec<Part>,
    /// The shop's own deductions; they go before any formula.
    pub deductions: Vec<Deduction>,
    /// Proven setups.
    pub setups: Vec<ProvenSetup>,
    /// Open work orders.
    pub orders: Vec<WorkOrder>,
    /// Operators and setters.
    pub people: Vec<Person>,
    /// Beds, runs in progress and brakes down.
    pub floor: Floor,
}

macro_rules! lookup {
    ($(#[$doc:meta])* $name:ident, $list:ident, $id:ty, $thing:ty) => {
        $(#[$doc])*
        #[must_use]
        pub fn $name(&self, id: &$id) -> Option<&$thing> {
            self.$list.iter().find(|thing| thing.id == *id)
        }
    };
}

impl Shop {
    lookup!(
        /// The calendar with this id.
        calendar, calendars, CalendarId, Calendar);
    lookup!(
        /// The brake with this id.
        brake, brakes, BrakeId, Brake);
    lookup!(
        /// The material with this id.
        material, materials, MaterialId, Material);
    lookup!(
        /// The section with this id.
        section, sections, SectionId, Section);
    lookup!(
        /// The part with this id.
        part, parts, PartId, Part);
    lookup!(
        /// The order with this id.
        order, orders, OrderId, WorkOrder);

    /// The punch with this id.
    #[must_use]
    pub fn punch(&self, id: &ProfileId) -> Option<&Punch> {
        self.profiles.iter().find_map(|profile| match profile {
            Profile::Punch(punch) if punch.id == *id => Some(punch),
            _ => None,
        })
    }

    /// The die with this id.
    #[must_use]
    pub fn die(&self, id: &ProfileId) -> Option<&Die> {
        self.profiles.iter().find_map(|profile| match profile {
            Profile::Die(die) if die.id == *id => Some(die),
            _ => None,
        })
    }

    /// The proven setups of a part on a brake.
    pub fn setups_of<'a>(
        &'a self,
        part: &'a PartId,
        brake: &'a BrakeId,
    ) -> impl Iterator<Item = &'a ProvenSetup> {
        self.setups
            .iter()
            .filter(move |setup| setup.part == *part && setup.brake == *brake)
    }

    /// Pieces of an order still to bend: quantity less what the floor has finished.
    #[must_use]
    pub fn pieces_left(&self, order: &WorkOrder) -> u32 {
        let done = self
            .floor
            .running
            .iter()
            .find(|running| running.order == order.id)
            .map_or(0, |running| running.pieces_done);
        order.quantity.saturating_sub(done)
    }
}

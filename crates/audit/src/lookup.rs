//! The shop's things by their ids.

use model::{
    Brake, BrakeDown, Die, Material, Part, Person, Profile, Punch, Section, Shop, WorkOrder,
};
use std::collections::BTreeMap;
use units::{BrakeId, MaterialId, OrderId, PartId, PersonId, ProfileId, SectionId};

/// Every list of the shop as a map.
pub(crate) struct Lookup<'a> {
    pub(crate) brakes: BTreeMap<&'a BrakeId, &'a Brake>,
    pub(crate) materials: BTreeMap<&'a MaterialId, &'a Material>,
    pub(crate) punches: BTreeMap<&'a ProfileId, &'a Punch>,
    pub(crate) dies: BTreeMap<&'a ProfileId, &'a Die>,
    pub(crate) sections: BTreeMap<&'a SectionId, &'a Section>,
    pub(crate) parts: BTreeMap<&'a PartId, &'a Part>,
    pub(crate) orders: BTreeMap<&'a OrderId, &'a WorkOrder>,
    pub(crate) people: BTreeMap<&'a PersonId, &'a Person>,
    pub(crate) down: BTreeMap<&'a BrakeId, Vec<&'a BrakeDown>>,
}

impl<'a> Lookup<'a> {
    pub(crate) fn of(shop: &'a Shop) -> Lookup<'a> {
        let mut punches = BTreeMap::new();
        let mut dies = BTreeMap::new();
        for profile in &shop.profiles {
            match profile {
                Profile::Punch(punch) => drop(punches.insert(&punch.id, punch)),
                Profile::Die(die) => drop(dies.insert(&die.id, die)),
            }
        }
        let mut down: BTreeMap<_, Vec<_>> = BTreeMap::new();
        for entry in &shop.floor.down {
            down.entry(&entry.brake).or_default().push(entry);
        }
        Lookup {
            brakes: shop.brakes.iter().map(|brake| (&brake.id, brake)).collect(),
            materials: shop
                .materials
                .iter()
                .map(|material| (&material.id, material))
                .collect(),
            punches,
            dies,
            sections: shop
                .sections
                .iter()
                .map(|section| (&section.id, section))
                .collect(),
            parts: shop.parts.iter().map(|part| (&part.id, part)).collect(),
            orders: shop.orders.iter().map(|order| (&order.id, order)).collect(),
            people: shop
                .people
                .iter()
                .map(|person| (&person.id, person))
                .collect(),
            down,
        }
    }
}

//! tooling.toml: punch and die profiles.

use super::general::General;
use crate::fields::Fields;
use crate::findings::Findings;
use crate::known::Known;
use crate::settings::{Settings, read_settings};
use crate::value::{Id, LengthIn, Number, Text};
use model::{Die, Profile, Punch};
use std::collections::BTreeMap;
use units::{Degrees, KilonewtonsPerMetre, Length, ProfileId};

pub(super) const FILE: &str = "tooling.toml";

const ANGLE: Number = Number::from(10.0, 179.0, "degrees");
const HEIGHT: LengthIn = LengthIn::above_zero(5_000);
const LOAD: Number = Number::above(0.0, 100_000.0, "kN/m");

/// The profiles and their ids.
pub(super) struct Tooling {
    pub(super) list: Vec<Profile>,
    pub(super) ids: Known<ProfileId>,
    index: BTreeMap<ProfileId, usize>,
}

impl Tooling {
    pub(super) fn punch(&self, id: &ProfileId) -> Option<&Punch> {
        match self.get(id)? {
            Profile::Punch(punch) => Some(punch),
            Profile::Die(_) => None,
        }
    }

    pub(super) fn die(&self, id: &ProfileId) -> Option<&Die> {
        match self.get(id)? {
            Profile::Die(die) => Some(die),
            Profile::Punch(_) => None,
        }
    }

    fn get(&self, id: &ProfileId) -> Option<&Profile> {
        self.list.get(*self.index.get(id)?)
    }

    fn add(&mut self, profile: Option<Profile>) {
        if let Some(profile) = profile {
            self.index.insert(profile.id().clone(), self.list.len());
            self.list.push(profile);
        }
    }
}

/// Reads tooling.toml.
pub(super) fn read_tooling(bytes: Option<&[u8]>, general: &General, out: &mut Findings) -> Tooling {
    let mut tooling = Tooling {
        list: Vec::new(),
        ids: Known::new(),
        index: BTreeMap::new(),
    };
    let whole = bytes.is_some_and(|bytes| {
        read_settings(FILE, bytes, out, |file| {
            file.unit = general.unit;
            file.each("punch", |punch| {
                let (id, fresh) = read_id(punch, &mut tooling.ids);
                let read = read_punch(punch, id).map(Profile::Punch);
                tooling.add(read.filter(|_| fresh));
            });
            file.each("die", |die| {
                let (id, fresh) = read_id(die, &mut tooling.ids);
                let read = read_die(die, id).map(Profile::Die);
                tooling.add(read.filter(|_| fresh));
            });
        })
    });
    if !whole {
        tooling.ids.mark_incomplete();
    }
    tooling
}

/// The profile's id, and whether it is its first use.
fn read_id(
    profile: &mut Settings<'_, '_>,
    ids: &mut Known<ProfileId>,
) -> (Option<ProfileId>, bool) {
    let id = profile.required("id", &Id(ProfileId::new));
    let fresh = match &id {
        Some(id) => ids.add(id, profile.place("id"), profile.out),
        None => {
            ids.mark_incomplete();
            false
        }
    };
    (id, fresh)
}

fn read_punch(punch: &mut Settings<'_, '_>, id: Option<ProfileId>) -> Option<Punch> {
    let angle = punch.required("angle_deg", &ANGLE);
    let tip_radius = punch.required("tip_radius", &LengthIn::from(0, 500));
    let height = punch.required("height", &HEIGHT);
    let load = punch.required("load_kn_m", &LOAD);
    let tang = punch.required("tang", &Text);
    let relief = punch.or("relief", &LengthIn::from(0, 5_000), Length::ZERO);
    Some(Punch {
        id: id?,
        angle: Degrees::of(angle?),
        tip_radius: tip_radius?,
        height: height?,
        load: KilonewtonsPerMetre::of(load?),
        tang: tang?,
        relief,
    })
}

fn read_die(die: &mut Settings<'_, '_>, id: Option<ProfileId>) -> Option<Die> {
    let v = die.required("v", &LengthIn::above_zero(2_000));
    let angle = die.required("angle_deg", &ANGLE);
    let height = die.required("height", &HEIGHT);
    let groove_depth = die.required("groove_depth", &HEIGHT);
    let load = die.required("load_kn_m", &LOAD);
    let mount = die.required("mount", &Text);
    Some(Die {
        id: id?,
        v: v?,
        angle: Degrees::of(angle?),
        height: height?,
        groove_depth: groove_depth?,
        load: KilonewtonsPerMetre::of(load?),
        mount: mount?,
    })
}

//! tooling.toml: punch and die profiles, and the blocks that several dies share.

use super::general::General;
use crate::codes::{DUPLICATE_ID, NECK_IN_THE_WAY, NOT_FOR_THIS, NOT_USED, REVERSED};
use crate::fields::Fields;
use crate::findings::{Findings, Problem};
use crate::known::Known;
use crate::settings::{Settings, read_settings};
use crate::value::{Id, LengthIn, Number, Text, YesNo};
use model::{Die, Profile, Punch};
use std::collections::BTreeMap;
use units::{Degrees, KilonewtonsPerMetre, Length, Place, ProfileId};

pub(super) const FILE: &str = "tooling.toml";

const ANGLE: Number = Number::from(10.0, 179.0, "degrees");
/// The angle of a tool that presses flat, where it has one at all.
const FLAT_ANGLE: Number = Number::from(0.0, 180.0, "degrees");
/// The angle kept for a flattening tool without one: a flat face. No bend is as wide, so the tool
/// never seems to suit an air bend.
const FLAT: f64 = 180.0;
const HEIGHT: LengthIn = LengthIn::above_zero(5_000);
const TIP: LengthIn = LengthIn::from(0, 500);
const BODY: LengthIn = LengthIn::above_zero(2_500);
const LOAD: Number = Number::above(0.0, 100_000.0, "kN/m");
/// A punch's body when nothing is said of it [trade].
const BODY_THICKNESS: Length = Length::from_whole_mm(25);
/// A die is so much wider than its V when nothing is said of it, and at least so wide [trade].
const SHOULDERS: Length = Length::from_whole_mm(20);
const LEAST_WIDTH: Length = Length::from_whole_mm(40);

/// The profiles and their ids.
pub(super) struct Tooling {
    pub(super) list: Vec<Profile>,
    pub(super) ids: Known<ProfileId>,
    index: BTreeMap<ProfileId, usize>,
    /// The block of every die that names one, also of a die that is bad otherwise.
    faces: BTreeMap<ProfileId, ProfileId>,
    /// Where each block is named first.
    blocks: BTreeMap<ProfileId, Place>,
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

    /// The block a die is a face of.
    pub(super) fn block_of(&self, die: &ProfileId) -> Option<&ProfileId> {
        self.faces.get(die)
    }

    /// Whether some die names it as its block.
    pub(super) fn is_block(&self, id: &ProfileId) -> bool {
        self.blocks.contains_key(id)
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

    fn add_face(&mut self, die: Option<&ProfileId>, block: &ProfileId, place: Place) {
        self.blocks.entry(block.clone()).or_insert(place);
        if let Some(die) = die {
            self.faces.insert(die.clone(), block.clone());
        }
    }

    /// Blocks and profiles share one list of names, since a section may name either.
    fn check_blocks(&self, out: &mut Findings) {
        for (block, place) in &self.blocks {
            if let Some(profile) = self.ids.place(block) {
                let found = format!("block {block} has the id of the profile at {profile}");
                let action = "give the block another id, in all of its dies";
                let expected = "an id that no punch or die has";
                out.add(
                    place.clone(),
                    Problem::new(DUPLICATE_ID, found, expected, action),
                );
            }
        }
    }
}

/// Reads tooling.toml.
pub(super) fn read_tooling(bytes: Option<&[u8]>, general: &General, out: &mut Findings) -> Tooling {
    let mut tooling = Tooling {
        list: Vec::new(),
        ids: Known::new(),
        index: BTreeMap::new(),
        faces: BTreeMap::new(),
        blocks: BTreeMap::new(),
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
                let block = die.optional("block", &Id(ProfileId::new));
                if die.has("block") && block.is_none() {
                    // A section of that block is then no finding of its own.
                    tooling.ids.mark_incomplete();
                }
                if let Some(block) = &block {
                    let face = id.as_ref().filter(|_| fresh);
                    tooling.add_face(face, block, die.place("block"));
                }
                let read = read_die(die, id, block).map(Profile::Die);
                tooling.add(read.filter(|_| fresh));
            });
        })
    });
    if !whole {
        tooling.ids.mark_incomplete();
    }
    tooling.check_blocks(out);
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
    let flattening = punch.or("flattening", &YesNo, false);
    let (angle, tip_radius) = if flattening {
        let angle = punch.or("angle_deg", &FLAT_ANGLE, FLAT);
        (
            Some(angle),
            Some(punch.or("tip_radius", &TIP, Length::ZERO)),
        )
    } else {
        let angle = punch.required("angle_deg", &ANGLE);
        (angle, punch.required("tip_radius", &TIP))
    };
    let height = punch.required("height", &HEIGHT);
    let load = punch.required("load_kn_m", &LOAD);
    let tang = punch.required("tang", &Text);
    let relief = punch.or("relief", &LengthIn::from(0, 5_000), Length::ZERO);
    let body = punch.or("body", &BODY, BODY_THICKNESS);
    let relief_height = read_relief_height(punch, relief, body, height);
    Some(Punch {
        id: id?,
        angle: Degrees::of(angle?),
        tip_radius: tip_radius?,
        height: height?,
        load: KilonewtonsPerMetre::of(load?),
        tang: tang?,
        relief,
        relief_height,
        body,
        flattening,
    })
}

/// How high the relief reaches: zero without one; else as given, or as high as the back leg of a
/// square bend asks, as far as the punch reaches.
fn read_relief_height(
    punch: &mut Settings<'_, '_>,
    relief: Length,
    body: Length,
    height: Option<Length>,
) -> Length {
    let given = punch.optional("relief_height", &HEIGHT);
    if relief == Length::ZERO {
        if given.is_some() {
            let action = "give the punch its relief, or take the height out";
            let expected = "a relief above zero beside it";
            let problem = Problem::new(NOT_USED, "a height of no relief", expected, action);
            punch.report("relief_height", problem);
        }
        return Length::ZERO;
    }
    // The leg rises from the tip at 45 degrees; halfway up, the neck lies relief + body/2 behind it.
    let clear = relief + relief + body;
    let reach = given.unwrap_or_else(|| height.map_or(clear, |height| clear.min(height)));
    if let Some(height) = height.filter(|height| reach > *height) {
        let found = format!("relief to {reach} mm, punch {height} mm high");
        let expected = "no more than the punch's height";
        let problem = Problem::new(REVERSED, found, expected, "correct one of the two");
        punch.report("relief_height", problem);
    } else if reach < clear {
        let found = format!("a relief of {relief} mm that reaches {reach} mm high");
        let expected = format!("at least {clear} mm: twice the relief, and the body");
        let action = "check relief, relief_height and body against the tool's drawing";
        let problem = Problem::new(NECK_IN_THE_WAY, found, expected, action);
        punch.report("relief_height", problem);
    }
    reach
}

fn read_die(
    die: &mut Settings<'_, '_>,
    id: Option<ProfileId>,
    block: Option<ProfileId>,
) -> Option<Die> {
    let flattening = die.or("flattening", &YesNo, false);
    let groove = if flattening {
        refuse_groove(die);
        Some((Length::ZERO, FLAT, Length::ZERO))
    } else {
        read_groove(die)
    };
    let height = die.required("height", &HEIGHT);
    let load = die.required("load_kn_m", &LOAD);
    let mount = die.required("mount", &Text);
    let width = die.optional("width", &BODY);
    let (v, angle, groove_depth) = groove?;
    if let Some(width) = width.filter(|width| *width <= v) {
        let found = format!("{width} mm wide with a V of {v} mm");
        let expected = "wider than the V";
        let problem = Problem::new(REVERSED, found, expected, "correct one of the two");
        die.report("width", problem);
    }
    Some(Die {
        id: id?,
        v,
        angle: Degrees::of(angle),
        height: height?,
        groove_depth,
        load: KilonewtonsPerMetre::of(load?),
        mount: mount?,
        width: width.unwrap_or_else(|| (v + SHOULDERS).max(LEAST_WIDTH)),
        block,
        flattening,
    })
}

/// Opening, angle and depth of the V.
fn read_groove(die: &mut Settings<'_, '_>) -> Option<(Length, f64, Length)> {
    let v = die.required("v", &LengthIn::above_zero(2_000));
    let angle = die.required("angle_deg", &ANGLE);
    let groove_depth = die.required("groove_depth", &HEIGHT);
    Some((v?, angle?, groove_depth?))
}

/// A die that presses flat has no V; zero may stand for that.
fn refuse_groove(die: &mut Settings<'_, '_>) {
    let length = LengthIn::from(0, 5_000);
    let v = die.optional("v", &length).map(Length::mm);
    let angle = die.optional("angle_deg", &FLAT_ANGLE);
    let depth = die.optional("groove_depth", &length).map(Length::mm);
    for (key, value) in [("v", v), ("angle_deg", angle), ("groove_depth", depth)] {
        if let Some(value) = value.filter(|value| *value > 0.0) {
            let found = format!("{value} on a die that flattens");
            let action = "take it out, or describe the V as a die of its own";
            let problem = Problem::new(NOT_FOR_THIS, found, "no V, or 0", action);
            die.report(key, problem);
        }
    }
}

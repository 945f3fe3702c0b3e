//! Punches, dies and their sections. Loads are plausible and stand for no real tool [trade].

use crate::dice::Dice;
use crate::recipe::{Recipe, Sections, Tools};
use model::{Die, Horn, Profile, Punch, Section, SectionStatus};
use units::{Degrees, Kilograms, KilonewtonsPerMetre, Length, ProfileId, SectionId};

/// The straight punch and the gooseneck that every shop has.
pub(crate) const STRAIGHT: &str = "ST85-R1-120";
pub(crate) const GOOSENECK: &str = "GN85-R1-120";

/// Tools of every shop with hems: a sharp pair, and one that presses flat. The flat pair is low
/// enough to stand open beside the sharp one at its bottom, and high enough to let it pass.
const SHARP_PUNCH: &str = "AC30-R1-120";
const SHARP_DIE: &str = "V12-30";
const FLAT_PUNCH: &str = "FL-upper-90";
const FLAT_DIE: &str = "FL-lower-90";
const FLAT_HEIGHT: Length = Length::from_whole_mm(90);
/// A block of dies, and its faces by V.
const BLOCK: &str = "FW-80";
const FACES: [i64; 2] = [10, 20];

/// Thickness of every punch, front to back.
const BODY: Length = Length::from_whole_mm(25);

/// Lengths of the plain sections of a set, in millimetres. With the overhang allowed, they make up
/// every length from 40 to 2 775.
pub(crate) const SET: [i64; 9] = [835, 835, 415, 200, 200, 100, 100, 50, 40];
/// Lengths of the two horn sections of a gooseneck set.
pub(crate) const HORNS: [i64; 2] = [100, 100];

/// Id, angle, tip radius, height, load, relief; the first two are in every shop.
const PUNCHES: [(&str, f64, i64, i64, f64, i64); 5] = [
    (STRAIGHT, 85.0, 1, 120, 1_000.0, 0),
    (GOOSENECK, 85.0, 1, 120, 500.0, 45),
    ("GN85-R1-150", 85.0, 1, 150, 400.0, 60),
    ("AC30-R1-120", 30.0, 1, 120, 600.0, 0),
    ("ST85-R2-120", 85.0, 2, 120, 1_000.0, 0),
];
/// Id, V, angle, height, load; those marked are in every shop.
const DIES: [(&str, i64, f64, i64, f64, bool); 8] = [
    ("V8-85", 8, 85.0, 80, 700.0, true),
    ("V12-85", 12, 85.0, 80, 900.0, false),
    ("V16-85", 16, 85.0, 80, 1_000.0, true),
    ("V25-85", 25, 85.0, 80, 1_000.0, true),
    ("V40-85", 40, 85.0, 80, 1_100.0, false),
    ("V50-85", 50, 85.0, 80, 1_200.0, false),
    ("V12-30", 12, 30.0, 80, 600.0, false),
    ("V16-85-low", 16, 85.0, 60, 800.0, false),
];

/// Id of the ordinary die with this opening.
pub(crate) fn die_of(v: i64) -> String {
    format!("V{v}-85")
}

/// How many sets of each profile.
pub(crate) fn sets(recipe: &Recipe) -> usize {
    match recipe.sections {
        Sections::Scarce => recipe.brakes.div_ceil(4).max(1),
        Sections::Ample => 1 + (recipe.brakes * 2).div_ceil(3),
    }
}

fn id(text: &str) -> ProfileId {
    ProfileId::new(text).expect("an id")
}

pub(crate) fn profiles(recipe: &Recipe) -> Vec<Profile> {
    let many = recipe.tools == Tools::Many;
    let (hems, blocks) = (recipe.features.hems, recipe.features.blocks);
    let punches = PUNCHES.iter().enumerate();
    let punches = punches.filter(|(at, punch)| many || *at < 2 || (hems && punch.0 == SHARP_PUNCH));
    let punches = punches.map(|(_, figures)| Profile::Punch(punch(figures)));
    let dies = DIES.iter();
    let dies = dies.filter(|die| many || die.5 || (hems && die.0 == SHARP_DIE));
    let dies = dies.map(|&(name, v, angle, height, load, _)| {
        Profile::Die(die(name, (v, angle, height), load))
    });
    let faces = FACES.iter().filter(|_| blocks).map(|&v| face(v));
    punches
        .chain(hems.then(flat_punch))
        .chain(dies)
        .chain(faces)
        .chain(hems.then(flat_die))
        .collect()
}

fn punch(&(name, angle, radius, height, load, relief): &(&str, f64, i64, i64, f64, i64)) -> Punch {
    let mm = Length::from_whole_mm;
    Punch {
        id: id(name),
        angle: Degrees::of(angle),
        tip_radius: mm(radius),
        height: mm(height),
        load: KilonewtonsPerMetre::of(load),
        tang: "groove-20".to_owned(),
        relief: mm(relief),
        // High enough for the back leg of a square bend to rise beside the neck.
        relief_height: if relief > 0 {
            mm(2 * relief) + BODY
        } else {
            Length::ZERO
        },
        body: BODY,
        flattening: false,
    }
}

fn flat_punch() -> Profile {
    Profile::Punch(Punch {
        angle: Degrees::of(180.0),
        height: FLAT_HEIGHT,
        flattening: true,
        ..punch(&(FLAT_PUNCH, 180.0, 0, 0, 2_000.0, 0))
    })
}

fn die(name: &str, (v, angle, height): (i64, f64, i64), load: f64) -> Die {
    let mm = Length::from_whole_mm;
    let half = (angle / 2.0).to_radians();
    Die {
        id: id(name),
        v: mm(v),
        angle: Degrees::of(angle),
        height: mm(height),
        // A groove is a little shallower than its walls would meet.
        groove_depth: Length::from_mm((mm(v).mm() / (2.0 * half.tan()) * 9.5).round() / 10.0),
        load: KilonewtonsPerMetre::of(load),
        mount: "rail-60".to_owned(),
        width: (mm(v) + mm(20)).max(mm(40)),
        block: None,
        flattening: false,
    }
}

fn face(v: i64) -> Profile {
    Profile::Die(Die {
        width: Length::from_whole_mm(60),
        block: Some(id(BLOCK)),
        ..die(&format!("{BLOCK}-V{v}"), (v, 85.0, 80), 900.0)
    })
}

fn flat_die() -> Profile {
    Profile::Die(Die {
        height: FLAT_HEIGHT,
        groove_depth: Length::ZERO,
        flattening: true,
        ..die(FLAT_DIE, (0, 180.0, 0), 2_000.0)
    })
}

pub(crate) fn sections(recipe: &Recipe, profiles: &[Profile], dice: &mut Dice) -> Vec<Section> {
    let mut all = Vec::new();
    // The first face of a block stands for its sections, which are one.
    let mut blocks: Vec<&ProfileId> = Vec::new();
    for profile in profiles {
        if let Profile::Die(Die {
            block: Some(block), ..
        }) = profile
        {
            if blocks.contains(&block) {
                continue;
            }
            blocks.push(block);
        }
        for set in 1..=sets(recipe) {
            one_set(recipe, profile, set, &mut all);
        }
        if dice.one_in(3) {
            let mut spare = section(profile, "old", 415, Horn::None, "rack", 1);
            spare.status = SectionStatus::Out;
            all.push(spare);
        }
    }
    all
}

fn one_set(recipe: &Recipe, profile: &Profile, set: usize, all: &mut Vec<Section>) {
    let name = format!("S{set}");
    for (at, &length) in SET.iter().enumerate() {
        let drawer = format!(
            "drawer {}, {}",
            set,
            if at % 2 == 0 { "left" } else { "right" }
        );
        all.push(section(profile, &name, length, Horn::None, &drawer, at + 1));
    }
    let gooseneck = matches!(profile, Profile::Punch(punch) if punch.relief > Length::ZERO);
    if gooseneck && recipe.features.boxes {
        all.push(section(profile, &name, HORNS[0], Horn::Left, "horns", 10));
        all.push(section(profile, &name, HORNS[1], Horn::Right, "horns", 11));
    }
}

fn section(
    profile: &Profile,
    set: &str,
    length: i64,
    horn: Horn,
    drawer: &str,
    number: usize,
) -> Section {
    let (id, per_metre) = match profile {
        Profile::Punch(punch) => (&punch.id, 14.0),
        Profile::Die(die) => (
            die.block.as_ref().unwrap_or(&die.id),
            12.0 + die.v.mm() / 4.0,
        ),
    };
    let metres = Length::from_whole_mm(length).metres();
    Section {
        id: SectionId::new(&format!("{id}/{set}-{number}")).expect("an id"),
        profile: id.clone(),
        set: set.to_owned(),
        length: Length::from_whole_mm(length),
        horn,
        drawer: drawer.to_owned(),
        mass: Kilograms::of((per_metre * metres * 10.0).round() / 10.0),
        status: SectionStatus::Good,
    }
}

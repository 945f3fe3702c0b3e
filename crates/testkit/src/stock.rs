//! Punches, dies and their sections. Loads are plausible and stand for no real tool [trade].

use crate::dice::Dice;
use crate::recipe::{Recipe, Sections, Tools};
use model::{Die, Horn, Profile, Punch, Section, SectionStatus};
use units::{Degrees, Kilograms, KilonewtonsPerMetre, Length, ProfileId, SectionId};

/// The straight punch and the gooseneck that every shop has.
pub(crate) const STRAIGHT: &str = "ST85-R1-120";
pub(crate) const GOOSENECK: &str = "GN85-R1-120";

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

pub(crate) fn profiles(recipe: &Recipe) -> Vec<Profile> {
    let id = |text: &str| ProfileId::new(text).expect("an id");
    let mm = Length::from_whole_mm;
    let many = recipe.tools == Tools::Many;
    let punches = PUNCHES.iter().take(if many { PUNCHES.len() } else { 2 });
    let punches = punches.map(|&(name, angle, radius, height, load, relief)| {
        Profile::Punch(Punch {
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
        })
    });
    let dies = DIES.iter().filter(|die| many || die.5);
    let dies = dies.map(|&(name, v, angle, height, load, _)| {
        let half = (angle / 2.0_f64).to_radians();
        Profile::Die(Die {
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
        })
    });
    punches.chain(dies).collect()
}

pub(crate) fn sections(recipe: &Recipe, profiles: &[Profile], dice: &mut Dice) -> Vec<Section> {
    let mut all = Vec::new();
    for profile in profiles {
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
        Profile::Die(die) => (&die.id, 12.0 + die.v.mm() / 4.0),
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

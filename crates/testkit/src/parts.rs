//! Parts that the first brake of an invented shop can bend, and on request some that none can.

use crate::dice::Dice;
use crate::lines::lay_out;
use crate::recipe::{Recipe, Tools};
use crate::stock::{GOOSENECK, HORNS, SET, STRAIGHT, die_of, sets};
use model::{Approval, Bend, BendKind, Direction, Edge, Grain, Material, Part};
use units::{Degrees, Length, PartId};

/// A part, and what its maker knows of it.
pub(crate) struct Blueprint {
    pub(crate) part: Part,
    /// Punch, die and station length, when one plain station makes all of it.
    pub(crate) plain: Option<(String, String, Length)>,
    /// Whether the punch of that station stands turned about: its lips come back on the gauge's side.
    pub(crate) turned: bool,
}

/// Thickness in tenths of a millimetre, V, longest bend: light enough for one person.
const SHEETS: [(i64, i64, i64); 7] = [
    (10, 8, 2_400),
    (20, 16, 2_200),
    (30, 25, 1_400),
    (15, 12, 2_400),
    (15, 8, 1_800),
    (40, 40, 1_000),
    (60, 50, 600),
];

#[derive(Clone, Copy, PartialEq, Eq)]
pub(crate) enum Family {
    Angle,
    Channel,
    Zed,
    Lipped,
    Tray,
    TwoStations,
    Box,
    Acute,
    Lifted,
    Tapered,
    Hemmed,
    Rounded,
}

/// What a sheet allows.
struct Sheet {
    longest: i64,
    /// Shortest leg that the V holds, with a little to spare.
    leg: i64,
}

pub(crate) fn parts(recipe: &Recipe, materials: &[Material], dice: &mut Dice) -> Vec<Blueprint> {
    let mut all: Vec<Blueprint> = (0..recipe.parts.max(1))
        .map(|number| part(recipe, materials, dice, number))
        .collect();
    if recipe.features.misfits {
        for blueprint in all.iter_mut().skip(1).step_by(7) {
            spoil(&mut blueprint.part, dice);
            blueprint.plain = None;
            blueprint.turned = false;
        }
    }
    all
}

/// Makes a part that no brake can bend.
fn spoil(part: &mut Part, dice: &mut Dice) {
    // Its lines would no longer be those of its blank.
    for bend in &mut part.bends {
        bend.line = None;
    }
    if dice.one_in(2) {
        part.bends[0].leg = Length::from_whole_mm(4);
    } else {
        part.thickness = Length::from_whole_mm(25);
    }
}

fn families(recipe: &Recipe) -> Vec<Family> {
    use Family::{
        Acute, Angle, Box, Channel, Hemmed, Lifted, Lipped, Rounded, Tapered, Tray, TwoStations,
        Zed,
    };
    let mut all = vec![
        Angle, Angle, Channel, Channel, Zed, Lipped, Lipped, Tray, Lifted,
    ];
    let optional = [
        (recipe.features.boxes, Box),
        (recipe.features.tapers, Tapered),
        (recipe.tools == Tools::Many, Acute),
        (recipe.features.hems, Hemmed),
        (recipe.features.stepped, Rounded),
        // Two stations of one pair of tools at once take two sets.
        (sets(recipe) > 1, TwoStations),
    ];
    all.extend(
        optional
            .iter()
            .filter(|(on, _)| *on)
            .map(|(_, family)| *family),
    );
    all
}

fn part(recipe: &Recipe, materials: &[Material], dice: &mut Dice, number: usize) -> Blueprint {
    let family = dice.pick(&families(recipe));
    let sheets = if recipe.tools == Tools::Many {
        SHEETS.len()
    } else {
        3
    };
    let mut chosen = SHEETS[dice.count(0, sheets - 1)];
    let sharp = matches!(family, Family::Acute | Family::Hemmed);
    if sharp {
        chosen = SHEETS[3];
    } else if !matches!(family, Family::Angle | Family::Channel | Family::Zed) && chosen.0 > 30 {
        chosen = SHEETS[1];
    }
    let (tenths, v, longest) = chosen;
    let sheet = Sheet {
        longest,
        leg: v * 72 / 100 + 3,
    };
    let steel_only = tenths > 30 || sharp;
    let material = if steel_only {
        &materials[0]
    } else {
        &materials[dice.count(0, materials.len() - 1)]
    };
    let (bends, plain) = bends(family, &sheet, dice);
    let name = format!("invented {} of V{v}, \"{tenths}\" tenths", name(family));
    let mut part = Part {
        id: PartId::new(&format!("#{}", number + 1)).expect("an id"),
        name,
        material: material.id.clone(),
        thickness: Length::from_nanometres(tenths * 100_000),
        blank: blank(&bends),
        developed_for_v: (!dice.one_in(4)).then(|| Length::from_whole_mm(v)),
        length_tolerance: Length::from_mm(dice.pick(&[0.5, 0.5, 1.5])),
        angle_tolerance: Degrees::of(dice.pick(&[0.5, 1.0, 1.0])),
        crew: None,
        approval: approval(recipe, dice),
        proven_only: false,
        grain: [None, Some(Grain::Long), Some(Grain::Short)][number % 3],
        bends,
    };
    if recipe.features.two_person && dice.one_in(4) {
        part.crew = Some(2);
    }
    let natural = Length::from_whole_mm(v).mm() * material.radius_share_of_v;
    let lined =
        recipe.features.lines && !dice.one_in(3) && lay_out(&mut part, family, natural, dice);
    ask_for_radius(&mut part, natural, dice);
    let plain = plain.map(|(punch, length)| (punch.to_owned(), die_of(v), length));
    Blueprint {
        part,
        plain,
        turned: lined && family == Family::Lipped,
    }
}

/// A drawing sometimes asks for the radius that the V gives anyway.
fn ask_for_radius(part: &mut Part, natural: f64, dice: &mut Dice) {
    let first = &part.bends[0];
    if first.kind == BendKind::Air && first.angle.get() > 80.0 && dice.one_in(6) {
        part.bends[0].radius = Some(Length::from_mm((natural.max(1.0) * 10.0).round() / 10.0));
    }
}

fn approval(recipe: &Recipe, dice: &mut Dice) -> Approval {
    if !recipe.features.inspectors {
        return Approval::Own;
    }
    dice.pick(&[
        Approval::Own,
        Approval::Own,
        Approval::Own,
        Approval::Inspector,
        Approval::Customer,
    ])
}

fn name(family: Family) -> &'static str {
    match family {
        Family::Angle => "angle",
        Family::Channel => "channel",
        Family::Zed => "offset strap",
        Family::Lipped => "lipped channel",
        Family::Tray => "tray",
        Family::TwoStations => "wide tray",
        Family::Box => "box with returns",
        Family::Acute => "drip edge",
        Family::Lifted => "raised angle",
        Family::Tapered => "tapered gusset",
        Family::Hemmed => "hemmed strip",
        Family::Rounded => "rounded cover",
    }
}

pub(crate) fn bend(number: u8, length: Length, leg: Length, edge: Edge) -> Bend {
    Bend {
        number,
        angle: Degrees::of(90.0),
        kind: BendKind::Air,
        length,
        line: None,
        leg,
        direction: Direction::Up,
        edge,
        radius: None,
        inside: None,
        side_return: Length::ZERO,
        return_depth: Length::ZERO,
        lift: Length::ZERO,
        taper: Degrees::of(0.0),
        flange_height: leg,
    }
}

type Plain = Option<(&'static str, Length)>;

fn bends(family: Family, sheet: &Sheet, dice: &mut Dice) -> (Vec<Bend>, Plain) {
    let length = dice.mm(100, sheet.longest);
    let leg = dice.mm(sheet.leg, sheet.leg + 70);
    let straight = Some((STRAIGHT, length));
    let lip = Length::from_whole_mm(sheet.leg);
    let flange = lip + dice.mm(15, 60);
    match family {
        Family::Angle => (vec![bend(1, length, leg, Edge::A)], straight),
        Family::Channel => (
            vec![bend(1, length, leg, Edge::A), bend(2, length, leg, Edge::B)],
            straight,
        ),
        Family::Zed => {
            let down = Bend {
                direction: Direction::Down,
                ..bend(2, length, leg, Edge::B)
            };
            (vec![bend(1, length, leg, Edge::A), down], straight)
        }
        Family::Lipped => {
            let returned = |number, edge| Bend {
                return_depth: lip,
                ..bend(number, length, flange, edge)
            };
            let all = vec![
                bend(1, length, lip, Edge::A),
                bend(2, length, lip, Edge::B),
                returned(3, Edge::B),
                returned(4, Edge::A),
            ];
            (all, Some((GOOSENECK, length)))
        }
        Family::Tray | Family::TwoStations => (tray(family, leg, dice), None),
        Family::Box => (box_with_returns(lip, flange, dice), None),
        Family::Acute => (acute(length.min(Length::from_whole_mm(1_200)), leg), None),
        Family::Hemmed => (
            hemmed(length.min(Length::from_whole_mm(1_200)), leg, dice),
            None,
        ),
        Family::Rounded => (vec![rounded(length, sheet, dice)], straight),
        Family::Lifted => {
            let lifted = Bend {
                lift: dice.mm(20, 90),
                ..bend(1, length, leg, Edge::A)
            };
            (vec![lifted], straight)
        }
        Family::Tapered => {
            let short = length.min(Length::from_whole_mm(500));
            let taper = Degrees::of(dice.pick(&[1.5, 3.0, 6.0]));
            (
                vec![Bend {
                    taper,
                    ..bend(1, short, leg, Edge::A)
                }],
                Some((STRAIGHT, short)),
            )
        }
    }
}

/// A length that plain sections of one set make up exactly.
fn exact_length(dice: &mut Dice) -> Length {
    let first = dice.count(2, SET.len() - 2);
    let last = dice.count(first, (first + 3).min(SET.len() - 1));
    Length::from_whole_mm(SET[first..=last].iter().sum())
}

fn tray(family: Family, leg: Length, dice: &mut Dice) -> Vec<Bend> {
    let exact = exact_length(dice);
    let inside = exact + dice.mm(0, 8);
    let sides = if family == Family::Tray {
        dice.mm(40, 2_000).min(exact)
    } else {
        inside + dice.mm(30, 200)
    };
    let between = |number, edge| Bend {
        inside: Some(inside),
        ..bend(number, inside, leg, edge)
    };
    vec![
        bend(1, sides, leg, Edge::C),
        bend(2, sides, leg, Edge::D),
        between(3, Edge::A),
        between(4, Edge::B),
    ]
}

fn box_with_returns(lip: Length, side: Length, dice: &mut Dice) -> Vec<Bend> {
    let exact = exact_length(dice) + Length::from_whole_mm(HORNS.iter().sum());
    let inside = exact + dice.mm(0, 8);
    let width = dice.mm(60, 1_500).min(exact);
    let returned = |number, edge| Bend {
        return_depth: lip,
        ..bend(number, width, side, edge)
    };
    let last = |number, edge| Bend {
        inside: Some(inside),
        side_return: lip,
        ..bend(number, inside, side, edge)
    };
    vec![
        bend(1, width, lip, Edge::C),
        bend(2, width, lip, Edge::D),
        returned(3, Edge::C),
        returned(4, Edge::D),
        last(5, Edge::A),
        last(6, Edge::B),
    ]
}

fn acute(length: Length, leg: Length) -> Vec<Bend> {
    let leg = leg + Length::from_whole_mm(15);
    let sharp = Bend {
        angle: Degrees::of(45.0),
        ..bend(1, length, leg, Edge::A)
    };
    vec![sharp, bend(2, length, leg, Edge::B)]
}

/// A hem on one edge and a flange on the other. The hem's leg spans the V of 12 mm at 30 degrees.
fn hemmed(length: Length, leg: Length, dice: &mut Dice) -> Vec<Bend> {
    let gap = Length::from_mm(dice.pick(&[0.0, 0.0, 0.5, 1.0]));
    let hem = Bend {
        angle: Degrees::of(0.0),
        kind: BendKind::Hem { gap },
        ..bend(1, length, dice.mm(26, 34), Edge::A)
    };
    vec![hem, bend(2, length, leg, Edge::B)]
}

fn rounded(length: Length, sheet: &Sheet, dice: &mut Dice) -> Bend {
    let radius = dice.mm(15, 40);
    let leg = radius + dice.mm(sheet.leg + 5, sheet.leg + 30);
    Bend {
        angle: Degrees::of(dice.pick(&[90.0, 90.0, 120.0])),
        kind: BendKind::Stepped,
        radius: Some(radius),
        ..bend(1, length, leg, Edge::A)
    }
}

/// A blank about as large as the bends need, the longer side first.
pub(crate) fn blank(bends: &[Bend]) -> (Length, Length) {
    let length = bends
        .iter()
        .map(|bend| bend.length)
        .max()
        .unwrap_or_default();
    let legs: Length = bends.iter().map(|bend| bend.leg).sum();
    let short = bends
        .iter()
        .map(|bend| bend.length)
        .min()
        .unwrap_or_default();
    let width = legs
        + if short < length {
            short
        } else {
            Length::from_whole_mm(60)
        };
    (length.max(width), length.min(width))
}

//! A part of plain bends out of what somebody says on the telephone.

use model::{Approval, Bend, BendKind, Direction, Edge, Part, Shop};
use units::{Degrees, Length, MaterialId, PartId};

/// Bends of one direction at most; with more, half of them go the other way.
const ONE_WAY_MOST: u8 = 4;

/// What is known of a part before there is a drawing.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Rough {
    /// Bends, at least one.
    pub bends: u8,
    /// Blank along the bend lines, above zero.
    pub length: Length,
    /// Blank across the bend lines, above zero.
    pub width: Length,
    /// Sheet thickness, above zero.
    pub thickness: Length,
    /// Material, one of the shop's.
    pub material: MaterialId,
    /// Outside height of each flange; the width in equal parts when `None`.
    pub flange: Option<Length>,
}

/// Why there is no such part.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum RoughError {
    /// The shop has no such material; it has these.
    Material {
        /// What was asked for.
        asked: MaterialId,
        /// What there is.
        known: Vec<MaterialId>,
    },
    /// A part without a bend is none.
    NoBend,
    /// A length that is not above zero.
    NotAbove {
        /// Which.
        what: &'static str,
    },
    /// All flanges together are wider than the blank.
    Flanges {
        /// Their sum.
        sum: Length,
        /// The blank.
        width: Length,
    },
}

impl std::fmt::Display for RoughError {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            RoughError::Material { asked, known } => {
                let known: Vec<&str> = known.iter().map(MaterialId::as_str).collect();
                write!(
                    f,
                    "no material {asked} in this shop; there are {}",
                    known.join(", ")
                )
            }
            RoughError::NoBend => write!(f, "a part to be bent has at least one bend"),
            RoughError::NotAbove { what } => write!(f, "the {what} must be above zero"),
            RoughError::Flanges { sum, width } => write!(
                f,
                "the flanges together take {} mm, the blank is {} mm wide; give less, or another width",
                sum.mm(),
                width.mm()
            ),
        }
    }
}

impl std::error::Error for RoughError {}

/// An invented part of plain bends, and everything that was assumed, in words.
///
/// # Errors
/// [`RoughError`] when the description cannot be one of a part of this shop.
pub fn part_from(
    shop: &Shop,
    rough: &Rough,
    id: PartId,
) -> Result<(Part, Vec<String>), RoughError> {
    check(shop, rough)?;
    let equal = tenths_over(rough.width, i64::from(rough.bends) + 1);
    let flange = rough.flange.unwrap_or(equal);
    let sum = (0..rough.bends).map(|_| flange).sum::<Length>();
    if sum >= rough.width {
        let width = rough.width;
        return Err(RoughError::Flanges { sum, width });
    }
    let along = rough.length >= rough.width;
    let (first, second) = if along {
        (Edge::A, Edge::B)
    } else {
        (Edge::C, Edge::D)
    };
    let half = rough.bends.div_ceil(2);
    let both_ways = rough.bends > ONE_WAY_MOST;
    let bend = |number: u8| Bend {
        number,
        angle: Degrees::of(90.0),
        kind: BendKind::Air,
        length: rough.length,
        line: None,
        leg: flange,
        direction: if both_ways && number > half {
            Direction::Down
        } else {
            Direction::Up
        },
        edge: if number > half { second } else { first },
        radius: None,
        inside: None,
        side_return: Length::ZERO,
        return_depth: Length::ZERO,
        lift: Length::ZERO,
        taper: Degrees::of(0.0),
        flange_height: flange,
    };
    let part = Part {
        id,
        name: "rough description, not a drawing".to_owned(),
        material: rough.material.clone(),
        thickness: rough.thickness,
        blank: if along {
            (rough.length, rough.width)
        } else {
            (rough.width, rough.length)
        },
        developed_for_v: None,
        length_tolerance: Length::from_whole_mm(1),
        angle_tolerance: Degrees::of(1.0),
        crew: None,
        approval: Approval::Own,
        proven_only: false,
        grain: None,
        bends: (1..=rough.bends).map(bend).collect(),
    };
    let assumed = assumptions(rough, flange, both_ways);
    Ok((part, assumed))
}

fn check(shop: &Shop, rough: &Rough) -> Result<(), RoughError> {
    if rough.bends == 0 {
        return Err(RoughError::NoBend);
    }
    let lengths = [
        ("length", Some(rough.length)),
        ("width", Some(rough.width)),
        ("thickness", Some(rough.thickness)),
        ("flange", rough.flange),
    ];
    for (what, length) in lengths {
        if length.is_some_and(|length| length <= Length::ZERO) {
            return Err(RoughError::NotAbove { what });
        }
    }
    if shop.material(&rough.material).is_none() {
        return Err(RoughError::Material {
            asked: rough.material.clone(),
            known: shop.materials.iter().map(|m| m.id.clone()).collect(),
        });
    }
    Ok(())
}

/// An equal part, down to the full tenth of a millimetre.
#[allow(clippy::cast_possible_truncation)] // within 100 m
fn tenths_over(length: Length, parts: i64) -> Length {
    let tenths = (length.mm() * 10.0 + 1e-6) as i64 / parts.max(1);
    Length::from_nanometres(tenths * 100_000)
}

fn assumptions(rough: &Rough, flange: Length, both_ways: bool) -> Vec<String> {
    let mm = |length: Length| format!("{:.1}", length.mm()).replace(".0", "");
    let mut assumed = vec![
        format!(
            "plain air bends of 90 degrees over the blank's length of {} mm",
            mm(rough.length)
        ),
        match rough.flange {
            Some(_) => format!("flanges of {} mm, as given", mm(flange)),
            None => format!("equal flanges of {} mm", mm(flange)),
        },
        if both_ways {
            "half of the bends up from one edge, half down from the other: one flip and one turn"
                .to_owned()
        } else if rough.bends > 1 {
            "all bends up, half from each of two edges: one turn".to_owned()
        } else {
            "the bend goes up".to_owned()
        },
        "the gauge finds a flat edge; no flange is in a tool's way, as no section is drawn"
            .to_owned(),
        "any inside radius will do; angles within 1 degree; the operator approves the first piece"
            .to_owned(),
        "a new program, blanks cut and ready in time, typical strength of the material".to_owned(),
    ];
    assumed.retain(|line| !line.is_empty());
    assumed
}

#[cfg(test)]
mod tests {
    use super::*;
    use testkit::{Recipe, Sections, invent};

    fn rough(bends: u8, length: i64, width: i64) -> (Shop, Rough) {
        let shop = invent(&Recipe::bed(8, 0.0, Sections::Ample, 1));
        let material = shop.materials[0].id.clone();
        let rough = Rough {
            bends,
            length: Length::from_whole_mm(length),
            width: Length::from_whole_mm(width),
            thickness: Length::from_whole_mm(2),
            material,
            flange: None,
        };
        (shop, rough)
    }

    #[test]
    fn twelve_bends_share_the_width_and_go_both_ways() {
        let (shop, rough) = rough(12, 800, 650);
        let (part, assumed) = part_from(&shop, &rough, PartId::new("R").unwrap()).unwrap();
        assert_eq!(part.bends.len(), 12);
        assert!(
            part.bends
                .iter()
                .all(|bend| bend.leg == Length::from_whole_mm(50))
        );
        let flips = part.bends.windows(2);
        assert_eq!(
            flips
                .filter(|two| two[0].direction != two[1].direction)
                .count(),
            1
        );
        assert!(
            assumed.iter().any(|line| line.contains("50 mm")),
            "{assumed:?}"
        );
        assert_eq!(part.blank, (rough.length, rough.width));
    }

    #[test]
    fn a_part_wider_than_long_has_its_longer_side_first() {
        let (shop, rough) = rough(2, 300, 900);
        let (part, _) = part_from(&shop, &rough, PartId::new("R").unwrap()).unwrap();
        assert_eq!(part.blank, (rough.width, rough.length));
        assert_eq!((part.bends[0].edge, part.bends[1].edge), (Edge::C, Edge::D));
        assert_eq!(part.bends[0].length, rough.length);
    }

    #[test]
    fn what_cannot_be_is_refused() {
        let refused = |change: fn(&mut Rough)| {
            let (shop, mut rough) = rough(4, 500, 200);
            change(&mut rough);
            part_from(&shop, &rough, PartId::new("R").unwrap()).unwrap_err()
        };
        assert_eq!(refused(|rough| rough.bends = 0), RoughError::NoBend);
        let what = "thickness";
        let no_sheet = refused(|rough| rough.thickness = Length::ZERO);
        assert_eq!(no_sheet, RoughError::NotAbove { what });
        let wide = refused(|rough| rough.flange = Some(Length::from_whole_mm(50)));
        assert!(matches!(wide, RoughError::Flanges { .. }), "{wide}");
        let unknown = refused(|rough| rough.material = MaterialId::new("nothing").unwrap());
        assert!(matches!(unknown, RoughError::Material { .. }), "{unknown}");
    }
}

//! Proven setups and the floor as it is: beds, orders in progress, brakes down.

use crate::calendars::at;
use crate::dice::Dice;
use crate::parts::Blueprint;
use crate::recipe::Recipe;
use crate::stock::{GOOSENECK, STRAIGHT};
use chrono::NaiveDate;
use model::{
    BedStation, Brake, BrakeDown, Horn, Profile, ProvenSetup, ProvenStation, RunningOrder,
    SectionStatus, Shop,
};
use std::collections::BTreeSet;
use units::{Length, PartId, ProfileId, Seconds, SectionId, Window};

/// Setups on the first brake, some on another that is long enough; parts of one plain station only.
pub(crate) fn setups(
    recipe: &Recipe,
    blueprints: &mut [Blueprint],
    brakes: &[Brake],
    day: NaiveDate,
    dice: &mut Dice,
) -> Vec<ProvenSetup> {
    let mut all = Vec::new();
    for blueprint in blueprints {
        let Some((punch, die, length)) = &blueprint.plain else {
            continue;
        };
        if !dice.below(recipe.proven) {
            continue;
        }
        blueprint.part.proven_only = dice.one_in(6);
        let mut places = vec![&brakes[0]];
        let other = dice.count(0, brakes.len() - 1);
        let lifted = blueprint
            .part
            .bends
            .iter()
            .any(|bend| bend.lift > Length::ZERO);
        // A lip against the stop lifts the edge too.
        if other > 0 && *length <= brakes[other].bed && !lifted && !blueprint.turned {
            places.push(&brakes[other]);
        }
        for brake in places {
            let station = ProvenStation {
                punch: ProfileId::new(punch).expect("an id"),
                die: ProfileId::new(die).expect("an id"),
                length: *length,
                bends: blueprint
                    .part
                    .bends
                    .iter()
                    .map(|bend| bend.number)
                    .collect(),
            };
            let tenths = dice.whole(150, 900);
            #[allow(clippy::cast_precision_loss)]
            let seconds = tenths as f64 / 10.0;
            all.push(ProvenSetup {
                part: blueprint.part.id.clone(),
                brake: brake.id.clone(),
                program: format!("{} of {}", blueprint.part.id, brake.id),
                stations: vec![station],
                seconds_a_piece: (!dice.one_in(3)).then_some(seconds),
                last_run: (!dice.one_in(3)).then_some(day),
            });
        }
    }
    all
}

/// Lays tools on the beds, takes orders in progress and puts a brake out of use.
pub(crate) fn furnish(
    recipe: &Recipe,
    shop: &mut Shop,
    blueprints: &[Blueprint],
    day: NaiveDate,
    dice: &mut Dice,
) {
    let mut used = BTreeSet::new();
    for brake in 0..shop.brakes.len() {
        let running = recipe.features.running && dice.one_in(2);
        if running && put_in_progress(shop, blueprints, brake, &mut used, dice) {
            continue;
        }
        if dice.below(recipe.tooled) {
            tool_a_bed(shop, brake, &mut used, dice);
        }
    }
    if recipe.features.down {
        let from = shop.as_of.map_or(0, |as_of| as_of.0);
        for (brake, days) in [(shop.brakes.len() - 1, 1), (0, 2)] {
            let start = at(shop.zone, day, 4, 30) + Seconds((days - 1) * 86_400 * 3);
            let end = units::Moment(from.max(start.0) + dice.whole(1, 20) * 3_600);
            shop.floor.down.push(BrakeDown {
                brake: shop.brakes[brake].id.clone(),
                window: Window { start, end },
                reason: "light curtain, \"test\"".to_owned(),
            });
        }
    }
}

/// Sections of one set, the longest that still fit first, that are together as long as asked and
/// not used yet.
fn take(
    shop: &Shop,
    profile: &ProfileId,
    least: Length,
    used: &mut BTreeSet<SectionId>,
) -> Option<(Vec<SectionId>, Length)> {
    let block = shop.die(profile).and_then(|die| die.block.as_ref());
    let free = |section: &&model::Section| {
        (section.profile == *profile || Some(&section.profile) == block)
            && section.status == SectionStatus::Good
            && section.horn == Horn::None
            && !used.contains(&section.id)
    };
    let mut sets: Vec<&str> = shop
        .sections
        .iter()
        .filter(free)
        .map(|s| s.set.as_str())
        .collect();
    sets.dedup();
    for set in sets {
        let mut of_set: Vec<&model::Section> = shop
            .sections
            .iter()
            .filter(free)
            .filter(|section| section.set == set)
            .collect();
        of_set.sort_by_key(|section| std::cmp::Reverse(section.length));
        let (mut taken, mut sum) = (Vec::new(), Length::ZERO);
        let mut last = None;
        for section in of_set {
            if sum + section.length <= least {
                sum += section.length;
                taken.push(section.id.clone());
            } else {
                last = Some(section);
            }
        }
        if sum < least {
            let Some(section) = last else { continue };
            sum += section.length;
            taken.push(section.id.clone());
        }
        if sum >= least {
            used.extend(taken.iter().cloned());
            return Some((taken, sum));
        }
    }
    None
}

/// What is to stand on a bed.
struct Tools {
    punch: ProfileId,
    die: ProfileId,
    reversed: bool,
    /// Least length.
    least: Length,
}

/// A station of these tools in the middle of a bed.
fn lay(shop: &mut Shop, brake: usize, tools: Tools, used: &mut BTreeSet<SectionId>) -> bool {
    let before = used.clone();
    let punches = take(shop, &tools.punch, tools.least, used);
    let dies = take(shop, &tools.die, tools.least, used);
    let bed = shop.brakes[brake].bed;
    let (Some((punch_sections, above)), Some((die_sections, below))) = (punches, dies) else {
        *used = before;
        return false;
    };
    if above.max(below) > bed {
        *used = before;
        return false;
    }
    shop.floor.stations.push(BedStation {
        brake: shop.brakes[brake].id.clone(),
        punch: tools.punch,
        die: tools.die,
        left: (bed - above.max(below)).half(),
        reversed: tools.reversed,
        punch_sections,
        die_sections,
    });
    true
}

fn tool_a_bed(shop: &mut Shop, brake: usize, used: &mut BTreeSet<SectionId>, dice: &mut Dice) {
    let dies: Vec<ProfileId> = shop
        .profiles
        .iter()
        .filter(|profile| matches!(profile, Profile::Die(die) if !die.flattening))
        .map(|profile| profile.id().clone())
        .collect();
    let punch = dice.pick(&[STRAIGHT, STRAIGHT, STRAIGHT, GOOSENECK]);
    let tools = Tools {
        punch: ProfileId::new(punch).expect("an id"),
        die: dice.pick(&dies),
        reversed: punch == GOOSENECK && dice.one_in(2),
        least: dice.mm(100, 1_100),
    };
    lay(shop, brake, tools, used);
}

/// An order whose one station stands on the brake's bed.
fn put_in_progress(
    shop: &mut Shop,
    blueprints: &[Blueprint],
    brake: usize,
    used: &mut BTreeSet<SectionId>,
    dice: &mut Dice,
) -> bool {
    let here = shop.brakes[brake].id.clone();
    let made_here: BTreeSet<&PartId> = blueprints
        .iter()
        .filter(|blueprint| makes(shop, brake, blueprint))
        .map(|blueprint| &blueprint.part.id)
        .collect();
    let suits = |order: &model::WorkOrder| {
        let begun = shop
            .floor
            .running
            .iter()
            .any(|running| running.order == order.id);
        order.brake.as_ref().is_none_or(|tied| *tied == here)
            && !begun
            && made_here.contains(&order.part)
    };
    let candidates: Vec<usize> = (0..shop.orders.len())
        .filter(|&at| suits(&shop.orders[at]))
        .collect();
    if candidates.is_empty() {
        return false;
    }
    let chosen = dice.pick(&candidates);
    let part = shop.orders[chosen].part.clone();
    let blueprint = blueprints
        .iter()
        .find(|blueprint| blueprint.part.id == part);
    let Some((blueprint, (punch, die, least))) =
        blueprint.and_then(|blueprint| Some((blueprint, blueprint.plain.clone()?)))
    else {
        return false;
    };
    let tools = Tools {
        punch: ProfileId::new(&punch).expect("an id"),
        die: ProfileId::new(&die).expect("an id"),
        reversed: blueprint.turned,
        least,
    };
    if !lay(shop, brake, tools, used) {
        return false;
    }
    let as_of = shop.as_of.unwrap_or_default();
    let order = &mut shop.orders[chosen];
    order.ready = as_of;
    order.after = None;
    order.blanks.clear();
    let done = dice.whole(0, i64::from(order.quantity) - 1);
    shop.floor.running.push(RunningOrder {
        brake: here,
        order: order.id.clone(),
        pieces_done: u32::try_from(done).unwrap_or(0),
    });
    true
}

/// Whether a brake surely makes a part of one plain station.
fn makes(shop: &Shop, brake: usize, blueprint: &Blueprint) -> bool {
    let (brake, part) = (&shop.brakes[brake], &blueprint.part);
    let Some((_, _, length)) = &blueprint.plain else {
        return false;
    };
    let plain = |bend: &model::Bend| bend.lift == Length::ZERO && bend.taper.get() <= 0.0;
    // A setter reaches for the preferred V, about eight times the thickness, where there is little
    // else to choose from, unless a setup is proven.
    let preferred = part
        .developed_for_v
        .is_some_and(|v| v.mm() / part.thickness.mm() > 7.0)
        && rivals(shop, part) <= FEW_PAIRS;
    let proven = shop.setups_of(&part.id, &brake.id).next().is_some();
    // The heaviest sheets take 0.65 kN a millimetre, and no leg is deeper than a small brake opens.
    let strong = length.mm() * 0.65 < brake.force.get();
    let open = part
        .bends
        .iter()
        .all(|bend| bend.flange_height < Length::from_whole_mm(60));
    *length + Length::from_whole_mm(200) < brake.bed
        && *length <= brake.between_frames
        && brake.angle_accuracy <= part.angle_tolerance
        && part.bends.iter().all(plain)
        && (!blueprint.turned || brake.gauge.r.is_some())
        && (proven || (preferred && !part.proven_only))
        && strong
        && open
}

/// Pairs among which the tools of an order in progress are still the ones to expect.
const FEW_PAIRS: usize = 5;

/// Pairs of tools that may air bend the part, a gooseneck counted either way round.
fn rivals(shop: &Shop, part: &model::Part) -> usize {
    let openings = part.thickness.mm() * 5.0..=part.thickness.mm() * 12.0;
    let (mut punches, mut dies) = (0, 0);
    for profile in &shop.profiles {
        match profile {
            Profile::Punch(punch) if !punch.flattening => {
                punches += if punch.relief > Length::ZERO { 2 } else { 1 };
            }
            Profile::Die(die) if openings.contains(&die.v.mm()) => dies += 1,
            Profile::Punch(_) | Profile::Die(_) => {}
        }
    }
    punches * dies
}

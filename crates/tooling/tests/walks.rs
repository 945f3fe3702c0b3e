//! Long walks from bed to bed on invented shops: whatever is asked for, the bed stays sound.

#![allow(clippy::unwrap_used, clippy::panic)] // what it invents is there

mod hand;

use hand::Elsewhere;
use model::{Horn, Shop};
use rand::{RngExt, SeedableRng};
use rand_pcg::Pcg64;
use std::sync::Arc;
use testkit::{Recipe, invent};
use tooling::{
    Bed, BedChange, Composer, Job, Need, Request, Stand, Stock, ToolingOption, change, options_for,
};
use units::Length;

/// Options of all parts on one brake.
fn options(stock: &Stock<'_>, shop: &Shop, brake: usize) -> Vec<ToolingOption> {
    let mut composer = Composer::new();
    let mut all = Vec::new();
    for (part, description) in shop.parts.iter().enumerate() {
        let material = shop.material(&description.material).unwrap();
        let job = Job {
            shop,
            brake: &shop.brakes[brake],
            part: description,
            material,
            strength: material.strength_typical,
            at: shop.as_of.unwrap(),
        };
        all.extend(options_for(stock, &mut composer, &job, part, brake).options);
    }
    all
}

fn serves(stand: &Stand, need: &Need, bed: Length) -> bool {
    let off = (stand.left + stand.left + stand.punch_length - bed)
        .abs()
        .half();
    (stand.punch, stand.die) == (need.punch, need.die)
        && need.punch_span.least <= stand.punch_length
        && stand.punch_length <= need.punch_span.most
        && need.die_least <= stand.die_length
        && (stand.horns || !need.punch_span.horns)
        && need.ways.allow(stand.reversed)
        && off <= need.off_centre_most
}

/// Everything docs/rules.md section 3 says of a bed.
fn assert_sound(
    shop: &Shop,
    request: &Request<'_>,
    before: &Bed,
    after: &BedChange,
    gone: &[usize],
) {
    let (bed, gap) = (request.brake.bed, shop.rules.station_gap);
    let stands = &after.bed.stands;
    for stand in stands {
        assert!(Length::ZERO <= stand.left && stand.right() <= bed);
        one_set(shop, stand);
    }
    let moved = |at: usize| after.inserted.contains(&at) || after.left_before(at).is_some();
    for (at, pair) in stands.windows(2).enumerate() {
        let new = moved(at) || moved(at + 1);
        let between = if new { gap } else { Length::ZERO };
        assert!(pair[0].right() + between <= pair[1].left, "{pair:#?}");
    }
    let mut sections: Vec<usize> = stands.iter().flat_map(|stand| stand.sections()).collect();
    let all = sections.len();
    sections.sort_unstable();
    sections.dedup();
    assert_eq!(sections.len(), all, "a section twice");
    for &at in &after.inserted {
        assert!(
            stands[at]
                .sections()
                .all(|section| !gone.contains(&section))
        );
    }
    assert_what_stays_is_what_was_there(shop, before, after);
    let mut used = after.stand_of_need.clone();
    for (need, &at) in request.option.needs.iter().zip(&after.stand_of_need) {
        assert!(
            serves(&stands[at], need, bed),
            "{need:#?}\n{:#?}",
            stands[at]
        );
    }
    used.sort_unstable();
    used.dedup();
    assert_eq!(
        used.len(),
        request.option.needs.len(),
        "two needs at one station"
    );
    for (at, stand) in stands.iter().enumerate() {
        let need = after.stand_of_need.iter().position(|&stand| stand == at);
        let clearance = shop.rules.crash_clearance;
        assert!(
            request
                .option
                .clears(need, stand.closed, stand.free_depth, clearance)
        );
    }
}

/// Taken off, kept, turned or slid: one of these, and what is not taken off keeps its order.
fn assert_what_stays_is_what_was_there(shop: &Shop, before: &Bed, after: &BedChange) {
    let off = |stand: &&Arc<Stand>| after.removed.iter().any(|other| Arc::ptr_eq(stand, other));
    let stayed = before.stands.iter().filter(|stand| !off(stand));
    let stay = (0..after.bed.stands.len()).filter(|at| !after.inserted.contains(at));
    let (stayed, stay): (Vec<_>, Vec<_>) = (stayed.collect(), stay.collect());
    assert_eq!(stayed.len(), stay.len());
    assert_eq!(stayed.len() + after.removed.len(), before.stands.len());
    for (&at, old) in stay.iter().zip(stayed) {
        let now = &after.bed.stands[at];
        let same = (now.punch, now.reversed) == (old.punch, old.reversed)
            && now.punch_sections == old.punch_sections
            && now.die_sections == old.die_sections;
        assert!(same, "{old:#?}\n{now:#?}");
        match (after.die_before(at), after.left_before(at)) {
            (None, None) => assert!(Arc::ptr_eq(old, now)),
            (Some(die), None) => {
                assert!(die == old.die && die != now.die && old.left == now.left);
                let block = |die: usize| match &shop.profiles[die] {
                    model::Profile::Die(die) => die.block.clone().unwrap(),
                    model::Profile::Punch(_) => panic!("a punch"),
                };
                assert_eq!(block(die), block(now.die));
                let stocked = |&at: &usize| shop.sections[at].profile == block(die);
                assert!(now.die_sections.iter().all(stocked));
            }
            (None, Some(left)) => {
                assert!(left == old.left && left != now.left && now.die == old.die);
            }
            (Some(_), Some(_)) => panic!("turned and slid"),
        }
    }
}

fn one_set(shop: &Shop, stand: &Stand) {
    for (profile, half) in [
        (stand.punch, &stand.punch_sections),
        (stand.die, &stand.die_sections),
    ] {
        let of = |&at: &usize| &shop.sections[at];
        // A section of a block serves as any of its faces.
        let id = shop.profiles[profile].id();
        let block = shop.die(id).and_then(|die| die.block.as_ref());
        assert!(
            half.iter()
                .map(of)
                .all(|s| s.profile == *id || Some(&s.profile) == block)
        );
        assert!(half.iter().map(of).all(|s| s.set == of(&half[0]).set));
        for (at, section) in half.iter().map(of).enumerate() {
            match section.horn {
                Horn::None => {}
                // Turned about, horns change hands.
                Horn::Left if stand.reversed => assert_eq!(at, half.len() - 1),
                Horn::Right if stand.reversed => assert_eq!(at, 0),
                Horn::Left => assert_eq!(at, 0),
                Horn::Right => assert_eq!(at, half.len() - 1),
            }
        }
    }
}

/// Another brake's business, at random.
fn elsewhere(shop: &Shop, bed: &Bed, rng: &mut Pcg64) -> Elsewhere {
    let here = |section: usize| bed.stands.iter().any(|stand| stand.holds(section));
    let mut out = Elsewhere::default();
    for section in (0..shop.sections.len()).filter(|&section| !here(section)) {
        match rng.random_range(0..12) {
            0 => out.gone.push(section),
            1 => out.later.push((section, rng.random_range(0..7_200))),
            _ => {}
        }
    }
    out.wanted
        .extend((0..shop.profiles.len()).filter(|_| rng.random_range(0..5) == 0));
    out
}

#[test]
fn beds_stay_sound_on_long_walks() {
    let (mut changes, mut impossible, mut shared) = (0, 0, 0);
    let (mut turned, mut slid) = (0, 0);
    for seed in 0..300 {
        let shop = invent(&Recipe::anything(seed));
        let stock = Stock::new(&shop);
        let mut rng = Pcg64::seed_from_u64(seed);
        for brake in 0..shop.brakes.len() {
            let all = options(&stock, &shop, brake);
            if all.is_empty() {
                continue;
            }
            let here = shop
                .floor
                .stations
                .iter()
                .filter(|s| s.brake == shop.brakes[brake].id);
            let mut bed = Bed::of_floor(&stock, here);
            let mut composer = Composer::new();
            for _ in 0..25 {
                let custody = elsewhere(&shop, &bed, &mut rng);
                let mut pick = || &all[rng.random_range(0..all.len())];
                let (option, later) = (pick(), [pick(), pick(), pick()]);
                let request = Request {
                    brake: &shop.brakes[brake],
                    option,
                    later: &later,
                };
                match change(&stock, &mut composer, &bed, &request, &custody) {
                    Some(after) => {
                        assert_sound(&shop, &request, &bed, &after, &custody.gone);
                        turned += after.turned.len();
                        slid += after.slid.len();
                        shared += usize::from(after.bed.stands.len() > option.needs.len());
                        bed = after.bed;
                        changes += 1;
                    }
                    None => impossible += 1,
                }
            }
        }
    }
    println!("{changes} changes, {impossible} impossible, {shared} with idle stations");
    println!("{turned} stations turned, {slid} slid");
    assert!(changes > 2_000 && impossible > 20 && shared > 500);
    assert!(turned > 20 && slid > 100);
}

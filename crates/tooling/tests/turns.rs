//! Die blocks turned where they stand.

#![allow(clippy::expect_used)] // helpers of tests fail by it

mod hand;

use hand::{Elsewhere, STRAIGHT, V8, V16, V25, bed, change_for, mm, section, shop, single};
use model::{Horn, Shop, StepKind};
use tooling::{Bed, BedChange, Previous, Stand, Stock, ToolingOption, change_steps};
use units::{Kilograms, ProfileId, Seconds};

/// V8, V16 and V25 are faces of one block, owned in 500, 500 and 300; round times.
fn block_shop() -> Shop {
    let mut shop = shop();
    hand::round_times(&mut shop);
    let block = ProfileId::new("BL").expect("an id");
    let dies = [V8, V16, V25].map(|die| hand::id(&shop, die));
    shop.sections
        .retain(|section| !dies.contains(&section.profile));
    for die in [V8, V16, V25] {
        hand::die_mut(&mut shop, die).block = Some(block.clone());
    }
    // So low that no run over another face crushes it.
    hand::die_mut(&mut shop, V8).height = mm(75);
    for length in [500, 500, 300] {
        let at = hand::own(&mut shop, V8, "A", length, Horn::None);
        shop.sections[at].profile = block.clone();
    }
    shop
}

/// Index of the first block section of a length.
fn piece(shop: &Shop, length: i64, skip: usize) -> usize {
    let like = |at: &usize| {
        let section = &shop.sections[*at];
        section.profile.as_str() == "BL" && section.length == mm(length)
    };
    let mut alike = (0..shop.sections.len()).filter(like);
    alike.nth(skip).expect("owned")
}

/// A station of the first sections of 500 that shows a die.
fn showing(shop: &Shop, die: usize, left: i64) -> Stand {
    showing_on(shop, die, left, 500)
}

fn showing_on(shop: &Shop, die: usize, left: i64, length: i64) -> Stand {
    let (punch, block) = (section(shop, STRAIGHT, length, 0), piece(shop, length, 0));
    let stock = Stock::new(shop);
    let tools = (STRAIGHT, die);
    let stand = Stand::assemble(&stock, tools, false, mm(left), vec![punch], vec![block]);
    stand.expect("tools")
}

fn free(shop: &Shop, bed: &Bed, option: &ToolingOption, later: &[&ToolingOption]) -> BedChange {
    let change = change_for(shop, bed, option, later, &Elsewhere::default());
    change.expect("sections lie free")
}

#[test]
fn a_block_is_turned_where_it_stands_instead_of_carried() {
    let mut shop = block_shop();
    let option = single(&mut shop, V16, 450);
    let old = showing(&shop, V8, 1_300);
    let change = free(&shop, &bed(vec![old.clone()]), &option, &[]);
    assert_eq!((change.removed.len(), change.inserted.len()), (0, 0));
    assert_eq!((change.turned[0].stand, change.turned[0].from), (0, V8));
    let now = &change.bed.stands[0];
    assert_eq!((now.die, now.left), (V16, old.left));
    assert_eq!(now.punch_sections, old.punch_sections);
    assert_eq!(now.die_sections, old.die_sections);
    assert!(
        now.free_depth > old.free_depth,
        "the groove of V16 is deeper"
    );
    assert_eq!(change.stand_of_need, [0]);
}

#[test]
fn turning_has_its_time_for_each_die_section_and_more_for_a_heavy_one() {
    let mut shop = block_shop();
    let option = single(&mut shop, V16, 450);
    let change = free(&shop, &bed(vec![showing(&shop, V8, 1_300)]), &option, &[]);
    let previous = Previous {
        part: option.part,
        tallest: option.tallest,
    };
    let steps = |shop: &Shop| -> Vec<(StepKind, Seconds)> {
        let stock = Stock::new(shop);
        change_steps(
            &stock,
            &shop.brakes[0],
            &option,
            &change,
            Some(previous),
            true,
        )
        .iter()
        .map(|step| (step.kind, step.time))
        .collect()
    };
    let light = steps(&shop);
    assert_eq!(light[0], (StepKind::Prepare, Seconds(240)));
    assert_eq!(light[1], (StepKind::Turn, Seconds(25)));
    assert_eq!(light[2], (StepKind::Guard, Seconds(60)));
    assert_eq!(light[3].0, StepKind::FirstPiece);
    let block = piece(&shop, 500, 0);
    shop.sections[block].mass = Kilograms::of(30.0);
    assert_eq!(steps(&shop)[1], (StepKind::Turn, Seconds(125)));
    // The punch is not lifted: its mass does not count.
    let punch = section(&shop, STRAIGHT, 500, 0);
    shop.sections[punch].mass = Kilograms::of(30.0);
    assert_eq!(steps(&shop)[1], (StepKind::Turn, Seconds(125)));
}

#[test]
fn a_station_that_serves_as_it_stands_goes_before_one_to_be_turned() {
    let mut shop = block_shop();
    let option = single(&mut shop, V16, 290);
    let other = showing_on(&shop, V8, 2_000, 300);
    let before = bed(vec![showing(&shop, V16, 1_300), other]);
    let change = free(&shop, &before, &option, &[]);
    assert_eq!(change.turned, []);
    assert_eq!((change.stand_of_need[0], &change.bed), (0, &before));
}

/// Turning there and back takes 25 + 60 s and 25 + 240 + 60 s; a new station 180 + 60 s.
#[test]
fn a_block_whose_v_is_needed_next_is_not_turned_where_another_can_be_had() {
    let mut shop = block_shop();
    let option = single(&mut shop, V16, 450);
    let next = single(&mut shop, V8, 450);
    let before = bed(vec![showing(&shop, V8, 0)]);
    let change = free(&shop, &before, &option, &[&next]);
    assert_eq!((change.turned.len(), change.inserted.len()), (0, 1));
    assert_eq!(change.removed.len(), 0, "V8 stays for the next run");
    // The other sections of the block are away: then it is.
    let away = Elsewhere {
        gone: vec![piece(&shop, 500, 1)],
        ..Elsewhere::default()
    };
    let change = change_for(&shop, &before, &option, &[&next], &away).expect("by turning");
    assert_eq!((change.turned.len(), change.inserted.len()), (1, 0));
}

#[test]
fn sections_stocked_under_one_die_are_not_turned() {
    let mut shop = block_shop();
    let option = single(&mut shop, V16, 450);
    let block = piece(&shop, 500, 0);
    shop.sections[block].profile = hand::id(&shop, V8);
    let mut old = showing(&shop, V8, 0);
    old.die_sections = vec![block];
    let change = free(&shop, &bed(vec![old]), &option, &[]);
    assert_eq!((change.turned.len(), change.inserted.len()), (0, 1));
}

/// A station is turned or slid, not both.
#[test]
fn a_block_too_far_off_the_centre_is_not_turned() {
    let mut shop = block_shop();
    let mut option = single(&mut shop, V16, 450);
    option.needs[0].off_centre_most = mm(1_300);
    let turned = |left: i64| {
        let change = free(&shop, &bed(vec![showing(&shop, V8, left)]), &option, &[]);
        change.turned.len()
    };
    // The middle of 500 at 0 is 1 300 from the centre of 3 100.
    assert_eq!(turned(0), 1);
    shop.brakes[0].bed = mm(3_102);
    let change = free(&shop, &bed(vec![showing(&shop, V8, 0)]), &option, &[]);
    assert_eq!(change.turned.len(), 0);
}

/// 3 mm over V25 go 6.6 mm below the shoulders, and the V8 of the same height is free to 4.3: as it
/// stands it would be crushed. Turned to V25 it makes the bend itself.
#[test]
fn a_block_that_would_be_crushed_as_it_stands_is_turned() {
    let mut shop = block_shop();
    hand::die_mut(&mut shop, V8).height = mm(80);
    let deep = single(&mut shop, V25, 450);
    let change = free(&shop, &bed(vec![showing(&shop, V8, 0)]), &deep, &[]);
    assert_eq!((change.removed.len(), change.turned.len()), (0, 1));
    // With 290 wanted and a block of 300 that shows V25, the V8 has to go.
    let short = single(&mut shop, V25, 290);
    let other = showing_on(&shop, V25, 2_000, 300);
    let change = free(&shop, &bed(vec![showing(&shop, V8, 0), other]), &short, &[]);
    assert_eq!((change.removed.len(), change.turned.len()), (1, 0));
}

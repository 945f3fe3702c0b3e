//! From one bed to the next: what stays, what goes, where the new stations stand.

#![allow(clippy::expect_used)] // helpers of tests fail by it

mod hand;

use hand::{Elsewhere, STRAIGHT, V8, V16, V25, bed, change_for, mm, section, shop, single, stand};
use model::Shop;
use std::sync::Arc;
use tooling::{Bed, BedChange, ToolingOption};

/// The shop with a V8 so low that no run crushes it: every station may stand beside every run.
fn calm_shop() -> Shop {
    let mut shop = shop();
    hand::die_mut(&mut shop, V8).height = mm(75);
    shop
}

/// A station of the first free sections of one length.
fn station(shop: &Shop, die: usize, left: i64, length: i64, skip: usize) -> tooling::Stand {
    let punch = section(shop, STRAIGHT, length, skip);
    stand(shop, left, &[punch], &[section(shop, die, length, 0)])
}

fn dies(stands: &[Arc<tooling::Stand>]) -> Vec<usize> {
    stands.iter().map(|stand| stand.die).collect()
}

fn free(shop: &Shop, bed: &Bed, option: &ToolingOption, later: &[&ToolingOption]) -> BedChange {
    let change = change_for(shop, bed, option, later, &Elsewhere::default());
    change.expect("sections lie free")
}

#[test]
fn a_station_that_serves_stays_untouched() {
    let mut shop = calm_shop();
    let option = single(&mut shop, V16, 450);
    let before = bed(vec![
        station(&shop, V8, 0, 300, 0),
        station(&shop, V16, 1_000, 500, 0),
    ]);
    let change = free(&shop, &before, &option, &[]);
    assert_eq!(
        (change.removed.len(), change.inserted.len(), change.wait),
        (0, 0, 0)
    );
    assert_eq!(change.stand_of_need, [1]);
    assert_eq!(change.bed, before);
}

#[test]
fn of_two_stations_that_serve_the_shorter_is_used() {
    let mut shop = calm_shop();
    let option = single(&mut shop, V16, 290);
    let before = bed(vec![
        station(&shop, V16, 0, 500, 0),
        station(&shop, V16, 1_400, 300, 0),
    ]);
    assert_eq!(free(&shop, &before, &option, &[]).stand_of_need, [1]);
}

#[test]
fn an_idle_station_stays_where_there_is_room() {
    let mut shop = calm_shop();
    let option = single(&mut shop, V16, 500);
    let before = bed(vec![station(&shop, V8, 0, 300, 0)]);
    let change = free(&shop, &before, &option, &[]);
    assert_eq!(change.removed.len(), 0);
    assert_eq!(dies(&change.bed.stands), [V8, V16]);
    // In the middle of 3 100.
    assert_eq!(change.bed.stands[1].left, mm(1_300));
}

/// With both idle stations on a bed of 1 500 there is no room for 1 000 mm; what is needed next stays.
#[test]
fn what_is_needed_latest_goes_first() {
    let mut shop = calm_shop();
    shop.brakes[0].bed = mm(1_500);
    shop.brakes[0].between_frames = mm(1_500);
    let option = single(&mut shop, V16, 1_000);
    let soon = single(&mut shop, V8, 300);
    let late = single(&mut shop, V25, 200);
    let before = bed(vec![
        station(&shop, V8, 0, 300, 0),
        station(&shop, V25, 1_300, 200, 0),
    ]);
    let change = free(&shop, &before, &option, &[&soon, &late]);
    assert_eq!(dies(&change.removed), [V25]);
    let change = free(&shop, &before, &option, &[&late, &soon]);
    assert_eq!(dies(&change.removed), [V8]);
    let change = free(&shop, &before, &option, &[&late]);
    assert_eq!(
        dies(&change.removed),
        [V8],
        "what is never needed goes before what is"
    );
}

#[test]
fn what_others_want_is_let_go_unless_it_is_needed_here() {
    let mut shop = calm_shop();
    let option = single(&mut shop, V16, 500);
    let later = single(&mut shop, V8, 300);
    let before = bed(vec![
        station(&shop, V8, 0, 300, 0),
        station(&shop, V25, 2_000, 200, 0),
    ]);
    let wanted = Elsewhere {
        wanted: vec![V8],
        ..Elsewhere::default()
    };
    let change = change_for(&shop, &before, &option, &[], &wanted).expect("free sections");
    assert_eq!(dies(&change.removed), [V8]);
    let change = change_for(&shop, &before, &option, &[&later], &wanted).expect("free sections");
    assert_eq!(change.removed.len(), 0);
}

/// The station of 1 000 that serves stands where 600 do not fit beside it on a bed of 1 900: 450
/// on its left, 450 on its right. Where sliding takes an hour the bed is laid anew, and both fit.
#[test]
fn a_bed_on_which_nothing_fits_is_laid_anew() {
    let mut shop = calm_shop();
    shop.brakes[0].times.station_slide = units::Seconds(3_600);
    let both = {
        let part = model::Part {
            bends: vec![
                hand::bend(1, 1_000),
                model::Bend {
                    inside: Some(mm(600)),
                    ..hand::bend(2, 600)
                },
            ],
            ..shop.parts[0].clone()
        };
        shop.parts.push(part);
        hand::option(&shop, 1, STRAIGHT, V16)
    };
    shop.brakes[0].bed = mm(1_900);
    let one = stand(
        &shop,
        450,
        &[section(&shop, STRAIGHT, 1_000, 0)],
        &[section(&shop, V16, 1_000, 0)],
    );
    let change = free(&shop, &bed(vec![one]), &both, &[]);
    assert_eq!((change.removed.len(), change.inserted.len()), (1, 2));
    assert_eq!(change.slid, []);
    let lengths: Vec<_> = change
        .bed
        .stands
        .iter()
        .map(|stand| stand.length())
        .collect();
    assert!(
        lengths.contains(&mm(1_000)) && lengths.contains(&mm(600)),
        "{lengths:?}"
    );
    // The same bed at the left end has room beside the station.
    let one = stand(
        &shop,
        0,
        &[section(&shop, STRAIGHT, 1_000, 0)],
        &[section(&shop, V16, 1_000, 0)],
    );
    let change = free(&shop, &bed(vec![one]), &both, &[]);
    assert_eq!((change.removed.len(), change.inserted.len()), (0, 1));
}

#[test]
fn sections_of_an_idle_station_here_are_taken_for_a_new_one() {
    let mut shop = calm_shop();
    let option = single(&mut shop, V16, 1_000);
    // The only 1 000 of the punch stands over V8; what else makes up 1 000 to 1 100 is away.
    let punch = section(&shop, STRAIGHT, 1_000, 0);
    let before = bed(vec![stand(
        &shop,
        0,
        &[punch],
        &[section(&shop, V8, 1_000, 0)],
    )]);
    let away = Elsewhere {
        gone: (0..2)
            .map(|skip| section(&shop, STRAIGHT, 500, skip))
            .collect(),
        ..Elsewhere::default()
    };
    let change = change_for(&shop, &before, &option, &[], &away).expect("its own sections");
    assert_eq!(dies(&change.removed), [V8]);
    assert_eq!(change.bed.stands[0].punch_sections, [punch]);
    // With the 500s at hand the idle station is left alone.
    let change = free(&shop, &before, &option, &[]);
    assert_eq!(change.removed.len(), 0);
}

#[test]
fn sections_that_cannot_be_had_are_said_so_and_waits_are_counted() {
    let mut shop = calm_shop();
    let option = single(&mut shop, V16, 1_000);
    let all = |length, count| (0..count).map(move |skip| (length, skip));
    let punches: Vec<usize> = all(1_000, 1)
        .chain(all(500, 2))
        .map(|(l, s)| section(&shop, STRAIGHT, l, s))
        .collect();
    let away = Elsewhere {
        gone: punches.clone(),
        ..Elsewhere::default()
    };
    assert!(change_for(&shop, &Bed::default(), &option, &[], &away).is_none());
    // One section of 1 000 in 900 s, or two of 500 at once: one more section on takes less.
    let later = Elsewhere {
        later: vec![(punches[0], 900)],
        ..Elsewhere::default()
    };
    let change = change_for(&shop, &Bed::default(), &option, &[], &later).expect("can be had");
    assert_eq!(
        (change.wait, change.bed.stands[0].punch_sections.len()),
        (0, 2)
    );
    let later = Elsewhere {
        later: vec![(punches[0], 5)],
        ..Elsewhere::default()
    };
    let change = change_for(&shop, &Bed::default(), &option, &[], &later).expect("can be had");
    assert_eq!(
        (change.wait, change.bed.stands[0].punch_sections.len()),
        (5, 1)
    );
}

#[test]
fn a_new_station_is_long_enough_for_the_runs_behind_it() {
    let mut shop = calm_shop();
    let now = single(&mut shop, V16, 300);
    let next = single(&mut shop, V16, 700);
    let other = single(&mut shop, V8, 900);
    let longest = single(&mut shop, V16, 1_000);
    let length =
        |later: &[&ToolingOption]| free(&shop, &Bed::default(), &now, later).bed.stands[0].length();
    assert_eq!(length(&[]), mm(300));
    assert_eq!(length(&[&next]), mm(700));
    assert_eq!(length(&[&next, &longest]), mm(1_000));
    // Only as far as runs with these tools follow one another.
    assert_eq!(length(&[&next, &other, &longest]), mm(700));
}

/// 3 mm over V25 goes 12.5 − (4 + 3)(√2 − 1) − 3 = 6.6 mm below the shoulders; the V8 is free to 4.3.
#[test]
fn an_idle_station_that_would_be_crushed_comes_off() {
    let mut shop = shop();
    let deep = single(&mut shop, V25, 500);
    let thin = single(&mut shop, V8, 300);
    let before = bed(vec![station(&shop, V8, 0, 300, 0)]);
    let change = free(&shop, &before, &deep, &[&thin]);
    assert_eq!(dies(&change.removed), [V8]);
    // The other way round nothing is crushed.
    let before = bed(vec![station(&shop, V25, 0, 500, 0)]);
    assert_eq!(free(&shop, &before, &thin, &[]).removed.len(), 0);
    // Five millimetres lower it is out of reach.
    hand::die_mut(&mut shop, V8).height = mm(75);
    let before = bed(vec![station(&shop, V8, 0, 300, 0)]);
    assert_eq!(free(&shop, &before, &deep, &[]).removed.len(), 0);
}

//! Invented shops are what their recipes say, sound, and written so that the reader gets them back.

#![allow(clippy::panic)] // helpers of tests fail by it

use documents::{FileSet, read_shop};
use model::{BedStation, Bend, BendKind, Profile, Shop};
use schedule::compile;
use std::collections::BTreeSet;
use std::time::Instant;
use testkit::{Recipe, Sections, invent, write_folder};
use units::{BrakeId, Severity};

fn sizes() -> [Recipe; 6] {
    [8, 30, 100, 300, 1_000, 5_000].map(|orders| Recipe::bed(orders, 0.5, Sections::Scarce, 3))
}

/// `Shop` has no equality of its own; its lists do.
fn assert_same(one: &Shop, two: &Shop, what: &str) {
    assert_eq!(
        (&one.name, one.zone, one.as_of),
        (&two.name, two.zone, two.as_of),
        "{what}"
    );
    assert_eq!(one.rules, two.rules, "{what}");
    assert_eq!(one.calendars, two.calendars, "{what}");
    assert_eq!(one.brakes, two.brakes, "{what}");
    assert_eq!(one.materials, two.materials, "{what}");
    assert_eq!(one.profiles, two.profiles, "{what}");
    assert_eq!(one.sections, two.sections, "{what}");
    assert_eq!(one.parts, two.parts, "{what}");
    assert_eq!(one.deductions, two.deductions, "{what}");
    assert_eq!(one.setups, two.setups, "{what}");
    assert_eq!(one.orders, two.orders, "{what}");
    assert_eq!(one.people, two.people, "{what}");
    assert_eq!(one.floor, two.floor, "{what}");
}

fn round_trip(shop: &Shop, what: &str) {
    let mut files = FileSet::new();
    for (name, text) in write_folder(shop) {
        files.insert(name, text.into_bytes());
    }
    let (read, findings) = read_shop(&files);
    let errors: Vec<String> = findings
        .iter()
        .filter(|finding| finding.severity == Severity::Error)
        .map(ToString::to_string)
        .collect();
    assert_eq!(errors, Vec::<String>::new(), "{what}");
    let read = read.unwrap_or_else(|| panic!("{what}: no shop"));
    assert_same(shop, &read, what);
}

#[test]
fn written_shops_are_read_back_equal() {
    for seed in 0..120 {
        round_trip(&invent(&Recipe::anything(seed)), &format!("seed {seed}"));
    }
    for recipe in &sizes()[..4] {
        round_trip(&invent(recipe), &format!("{} orders", recipe.orders));
    }
}

/// Of many invented shops: how many parts there are, and how many have bend lines, a hem, a stepped
/// radius; how many beds have a punch turned about, how many dies are faces, how many deductions.
#[test]
fn hems_radii_lines_blocks_and_turned_punches_all_occur() {
    let (mut parts, mut lined, mut hems, mut stepped) = (0, 0, 0, 0);
    let (mut turned, mut faces, mut deductions, mut in_progress) = (0, 0, 0, 0);
    for seed in 0..300 {
        let mut recipe = Recipe::anything(seed);
        recipe.features.lines = true;
        let shop = invent(&recipe);
        for part in &shop.parts {
            let any = |wanted: &dyn Fn(&Bend) -> bool| usize::from(part.bends.iter().any(wanted));
            parts += 1;
            lined += any(&|bend| bend.line.is_some());
            hems += any(&|bend| matches!(bend.kind, BendKind::Hem { .. }));
            stepped += any(&|bend| bend.kind == BendKind::Stepped);
        }
        let about = |station: &&BedStation| station.reversed;
        turned += shop.floor.stations.iter().filter(about).count();
        let running = shop.floor.running.iter().map(|running| &running.brake);
        let on_turned = |brake: &&BrakeId| {
            let mut stations = shop.floor.stations.iter();
            stations.any(|station| station.reversed && station.brake == **brake)
        };
        in_progress += running.filter(on_turned).count();
        let face = |profile: &&Profile| matches!(profile, Profile::Die(die) if die.block.is_some());
        faces += shop.profiles.iter().filter(face).count();
        deductions += shop.deductions.len();
    }
    let counts = [lined, hems, stepped, turned, faces, deductions, in_progress];
    println!("{parts} parts: {counts:?}");
    assert!(lined * 4 > parts && lined * 2 < parts, "{lined} of {parts}");
    assert!(hems * 40 > parts && hems * 5 < parts, "{hems} of {parts}");
    assert!(
        stepped * 40 > parts && stepped * 5 < parts,
        "{stepped} of {parts}"
    );
    assert!(counts.iter().all(|count| *count > 0), "{counts:?}");
}

#[test]
fn the_same_recipe_gives_the_same_shop() {
    for seed in 0..20 {
        let recipe = Recipe::anything(seed);
        assert_same(&invent(&recipe), &invent(&recipe), &format!("seed {seed}"));
        let other = Recipe {
            seed: seed + 1_000,
            ..recipe.clone()
        };
        assert_ne!(invent(&recipe).orders, invent(&other).orders, "seed {seed}");
    }
}

#[test]
fn sizes_are_kept_and_large_shops_are_made_fast() {
    let brakes = [2, 3, 5, 8, 12, 40];
    for (recipe, brakes) in sizes().into_iter().zip(brakes) {
        let begun = Instant::now();
        let shop = invent(&recipe);
        let took = begun.elapsed();
        assert_eq!(
            (shop.orders.len(), shop.brakes.len()),
            (recipe.orders, brakes)
        );
        assert_eq!(shop.parts.len(), recipe.parts);
        assert!(
            took.as_secs_f64() < 3.0,
            "{} orders: {took:?}",
            recipe.orders
        );
        println!("{} orders: {took:?}", recipe.orders);
    }
}

#[test]
fn no_section_is_twice_in_the_stock_or_on_two_beds() {
    for seed in 0..60 {
        let shop = invent(&Recipe::anything(seed));
        let stock: BTreeSet<_> = shop.sections.iter().map(|section| &section.id).collect();
        assert_eq!(stock.len(), shop.sections.len(), "seed {seed}");
        let laid: Vec<_> = shop
            .floor
            .stations
            .iter()
            .flat_map(|s| s.sections())
            .collect();
        let once: BTreeSet<_> = laid.iter().copied().collect();
        assert_eq!(laid.len(), once.len(), "seed {seed}");
        assert!(once.iter().all(|id| stock.contains(*id)), "seed {seed}");
    }
}

#[test]
fn every_part_fits_a_brake_unless_misfits_are_asked_for() {
    let mut misfits = 0;
    for seed in 0..150 {
        let mut recipe = Recipe::anything(seed);
        recipe.features.misfits = false;
        let shop = invent(&recipe);
        let from = shop.as_of.expect("said");
        let (problem, findings) = compile(&shop, from);
        assert!(
            problem.misfits.is_empty(),
            "seed {seed}: {:#?}",
            problem.misfits
        );
        assert_eq!(findings, Vec::new(), "seed {seed}");
        recipe.features.misfits = true;
        misfits += compile(&invent(&recipe), from).0.misfits.len();
    }
    assert!(misfits > 50, "{misfits}");
}

#[test]
fn an_ample_shop_has_more_sections_than_a_scarce_one() {
    let of = |sections| invent(&Recipe::bed(100, 0.5, sections, 1)).sections.len();
    assert!(of(Sections::Ample) > of(Sections::Scarce) * 3 / 2);
}

#[test]
fn punches_come_before_dies_as_the_files_have_them() {
    let shop = invent(&Recipe::bed(8, 0.0, Sections::Ample, 1));
    let first_die = shop
        .profiles
        .iter()
        .position(|p| matches!(p, Profile::Die(_)));
    let last_punch = shop
        .profiles
        .iter()
        .rposition(|p| matches!(p, Profile::Punch(_)));
    assert!(last_punch < first_die);
}

#[test]
fn tight_shops_are_due_sooner_than_loose_ones() {
    let last_due = |tight| {
        let shop = invent(&Recipe::bed(100, tight, Sections::Ample, 1));
        shop.orders.iter().map(|order| order.due).max()
    };
    assert!(last_due(1.0) < last_due(0.5) && last_due(0.5) < last_due(0.0));
}

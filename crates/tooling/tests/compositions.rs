//! Stations made up of sections: fewest pieces, exact windows, horns at the ends, sets not mixed.

mod hand;

use hand::{GOOSENECK, STRAIGHT, bare_shop, mm, own};
use model::{Horn, SectionStatus, Shop};
use rand::{RngExt, SeedableRng};
use rand_pcg::Pcg64;
use std::time::Instant;
use tooling::{Composer, Composition, Span, Stock};
use units::Length;

fn span(least: i64, most: i64) -> Span {
    Span {
        least: mm(least),
        most: mm(most),
        horns: false,
    }
}

fn of(shop: &Shop, profile: usize, span: Span) -> Vec<Composition> {
    let stock = Stock::new(shop);
    Composer::new().compositions(&stock, profile, span).to_vec()
}

/// Lengths of the sections of each composition, as they stand.
fn lengths(shop: &Shop, profile: usize, span: Span) -> Vec<Vec<i64>> {
    let stock = Stock::new(shop);
    let whole = |class: &usize| stock.class(*class).length.nanometres() / 1_000_000;
    let found = of(shop, profile, span);
    found
        .iter()
        .map(|composition| composition.classes.iter().map(whole).collect())
        .collect()
}

fn with(set: &[(&str, i64)]) -> Shop {
    let mut shop = bare_shop();
    for (name, length) in set {
        own(&mut shop, STRAIGHT, name, *length, Horn::None);
    }
    shop
}

#[test]
fn fewest_sections_come_first_then_the_shortest() {
    let shop = with(&[
        ("A", 500),
        ("A", 510),
        ("A", 300),
        ("A", 200),
        ("A", 100),
        ("A", 100),
    ]);
    let found = lengths(&shop, STRAIGHT, span(500, 600));
    assert_eq!(found[..2], [vec![500], vec![510]]);
    assert_eq!(found[2], [300, 200]);
    assert!(found.contains(&vec![300, 100, 100]));
}

#[test]
fn a_window_is_met_exactly_or_not_at_all() {
    let shop = with(&[("A", 500), ("A", 300), ("A", 200), ("A", 100)]);
    assert_eq!(
        lengths(&shop, STRAIGHT, span(600, 600)),
        [vec![500, 100], vec![300, 200, 100]]
    );
    assert_eq!(
        lengths(&shop, STRAIGHT, span(601, 699)),
        Vec::<Vec<i64>>::new()
    );
    assert_eq!(
        lengths(&shop, STRAIGHT, span(1_100, 1_100)),
        [vec![500, 300, 200, 100]]
    );
    assert_eq!(
        lengths(&shop, STRAIGHT, span(1_101, 5_000)),
        Vec::<Vec<i64>>::new()
    );
}

#[test]
fn sets_are_not_mixed_and_what_is_out_of_service_is_not_used() {
    let mut shop = with(&[("A", 300), ("B", 300), ("B", 200)]);
    assert_eq!(
        lengths(&shop, STRAIGHT, span(600, 600)),
        Vec::<Vec<i64>>::new()
    );
    assert_eq!(lengths(&shop, STRAIGHT, span(500, 500)), [vec![300, 200]]);
    shop.sections[2].status = SectionStatus::Out;
    assert_eq!(
        lengths(&shop, STRAIGHT, span(500, 500)),
        Vec::<Vec<i64>>::new()
    );
}

#[test]
fn horns_stand_at_the_ends_and_nowhere_else() {
    let mut shop = bare_shop();
    for (length, horn) in [
        (100, Horn::Left),
        (120, Horn::Right),
        (200, Horn::None),
        (50, Horn::None),
    ] {
        own(&mut shop, GOOSENECK, "A", length, horn);
    }
    let horned = |least, most| Span {
        horns: true,
        ..span(least, most)
    };
    assert_eq!(
        lengths(&shop, GOOSENECK, horned(400, 430)),
        [vec![100, 200, 120]]
    );
    assert_eq!(
        lengths(&shop, GOOSENECK, horned(200, 220)),
        [vec![100, 120]]
    );
    assert_eq!(
        lengths(&shop, GOOSENECK, horned(471, 999)),
        Vec::<Vec<i64>>::new()
    );
    // Without returns to clear, a station does not use up the only pair of horns.
    assert_eq!(
        lengths(&shop, GOOSENECK, span(300, 500)),
        Vec::<Vec<i64>>::new()
    );
    // A right horn of another set is no pair.
    "B".clone_into(&mut shop.sections[1].set);
    assert_eq!(
        lengths(&shop, GOOSENECK, horned(400, 430)),
        Vec::<Vec<i64>>::new()
    );
}

/// Least number of sections, and least length with so many, by trying every subset.
fn by_hand(owned: &[i64], least: i64, most: i64) -> Option<(usize, i64)> {
    let subsets = 0..1_u32 << owned.len();
    let sum = |subset: u32| -> (usize, i64) {
        let chosen = owned
            .iter()
            .enumerate()
            .filter(|(at, _)| subset >> at & 1 == 1);
        (
            subset.count_ones() as usize,
            chosen.map(|(_, length)| length).sum(),
        )
    };
    subsets
        .map(sum)
        .filter(|(count, sum)| *count > 0 && (least..=most).contains(sum))
        .min()
}

#[test]
fn the_first_composition_is_the_best_of_all_subsets() {
    let mut rng = Pcg64::seed_from_u64(5);
    for round in 0..300 {
        let owned: Vec<i64> = (0..9).map(|_| rng.random_range(1..=40) * 20).collect();
        let set: Vec<(&str, i64)> = owned.iter().map(|length| ("A", *length)).collect();
        let least = rng.random_range(20..2_500);
        let most = least + rng.random_range(0..120);
        let found = of(&with(&set), STRAIGHT, span(least, most));
        let first = found
            .first()
            .map(|first| (first.classes.len(), first.length));
        let expected = by_hand(&owned, least, most).map(|(count, sum)| (count, mm(sum)));
        assert_eq!(
            first, expected,
            "round {round}: {owned:?} for {least} to {most}"
        );
        let within = |composition: &Composition| {
            mm(least) <= composition.length && composition.length <= mm(most)
        };
        assert!(found.iter().all(within), "round {round}");
    }
}

#[test]
fn four_hundred_sections_are_composed_in_bounded_time() {
    let mut rng = Pcg64::seed_from_u64(9);
    let mut shop = bare_shop();
    for _ in 0..400 {
        own(
            &mut shop,
            STRAIGHT,
            "A",
            rng.random_range(20..900),
            Horn::None,
        );
    }
    let stock = Stock::new(&shop);
    let mut composer = Composer::new();
    let begun = Instant::now();
    for least in (50..3_000).step_by(50) {
        let found = composer.compositions(&stock, STRAIGHT, span(least, least + 2));
        assert!(!found.is_empty(), "{least}");
    }
    // Nothing of the kind is owned: the search gives up in bounded time as well.
    let odd = Span {
        least: Length::from_mm(2_000.25),
        most: Length::from_mm(2_000.75),
        horns: false,
    };
    assert!(composer.compositions(&stock, STRAIGHT, odd).is_empty());
    let took = begun.elapsed();
    assert!(took.as_secs_f64() < 3.0, "{took:?}");
}

#[test]
fn every_set_that_can_make_up_a_station_is_offered() {
    let mut shop = bare_shop();
    let names: Vec<String> = (0..20).map(|set| format!("S{set:02}")).collect();
    for set in &names {
        for length in [500, 300, 200] {
            own(&mut shop, STRAIGHT, set, length, Horn::None);
        }
    }
    let stock = Stock::new(&shop);
    let found = of(&shop, STRAIGHT, span(500, 550));
    for set in &names {
        let offered = found
            .iter()
            .any(|composition| stock.class(composition.classes[0]).set == *set);
        assert!(offered, "set {set}");
    }
}

//! Stations slid along the bed: to the centre, and out of the way.

#![allow(clippy::expect_used)] // helpers of tests fail by it

mod hand;

use hand::{Elsewhere, STRAIGHT, V8, V16, V25, bed, change_for, mm, section, shop, single, stand};
use model::{Shop, StepKind};
use tooling::{Bed, BedChange, Previous, Stock, ToolingOption, change_steps};
use units::{Length, Seconds};

/// Round times, sections of 700 and 800 for whole stations, and no station crushes another.
fn slide_shop() -> Shop {
    let mut shop = shop();
    hand::round_times(&mut shop);
    for profile in [STRAIGHT, V16] {
        for length in [700, 800] {
            hand::own(&mut shop, profile, "A", length, model::Horn::None);
        }
    }
    hand::die_mut(&mut shop, V8).height = mm(75);
    shop
}

/// A station of one punch and one die section of a length.
fn station(shop: &Shop, die: usize, left: i64, length: i64) -> tooling::Stand {
    let punch = section(shop, STRAIGHT, length, 0);
    stand(shop, left, &[punch], &[section(shop, die, length, 0)])
}

fn short_bed(shop: &mut Shop, length: i64) {
    shop.brakes[0].bed = mm(length);
    shop.brakes[0].between_frames = mm(length);
}

fn free(shop: &Shop, bed: &Bed, option: &ToolingOption, later: &[&ToolingOption]) -> BedChange {
    let change = change_for(shop, bed, option, later, &Elsewhere::default());
    change.expect("sections lie free")
}

/// Die and left end of each station.
fn stands(change: &BedChange) -> Vec<(usize, Length)> {
    let stands = change.bed.stands.iter();
    stands.map(|stand| (stand.die, stand.left)).collect()
}

/// Old and new left end of each station slid.
fn slid(change: &BedChange) -> Vec<(Length, Length)> {
    let slid = change.slid.iter();
    slid.map(|slid| (slid.from, change.bed.stands[slid.stand].left))
        .collect()
}

/// Two stations over V16, of 1 000 and of 600, for one part.
fn long_and_short(shop: &mut Shop) -> ToolingOption {
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
    hand::option(shop, shop.parts.len() - 1, STRAIGHT, V16)
}

/// 1 000 stand at 450 on a bed of 1 900, and 600 fit on neither side. With the gap of 20 they need
/// 620: the station goes 170 to the left, to 280, and the new one stands from 1 300 to the end.
#[test]
fn sliding_the_station_that_serves_opens_a_place() {
    let mut shop = slide_shop();
    let both = long_and_short(&mut shop);
    shop.brakes[0].bed = mm(1_900);
    let change = free(
        &shop,
        &bed(vec![station(&shop, V16, 450, 1_000)]),
        &both,
        &[],
    );
    assert_eq!((change.removed.len(), change.inserted.len()), (0, 1));
    assert_eq!(stands(&change), [(V16, mm(280)), (V16, mm(1_300))]);
    assert_eq!(slid(&change), [(mm(450), mm(280))]);
}

/// Laying anew takes the station off (100 s) and puts it on again (180 s). One slide of 280 s is as
/// good and is kept; one of 281 s is not.
#[test]
fn the_bed_is_laid_anew_where_that_takes_less_than_sliding() {
    let mut shop = slide_shop();
    let both = long_and_short(&mut shop);
    shop.brakes[0].bed = mm(1_900);
    for (seconds, slides, off) in [(280, 1, 0), (281, 0, 1)] {
        shop.brakes[0].times.station_slide = Seconds(seconds);
        let change = free(
            &shop,
            &bed(vec![station(&shop, V16, 450, 1_000)]),
            &both,
            &[],
        );
        let (slid, removed) = (change.slid.len(), change.removed.len());
        assert_eq!((slid, removed), (slides, off), "{seconds} s");
    }
}

/// The middle of 500 at 0 is 1 300 from the centre of 3 100. Where its force allows 200, the nearest
/// place that will do has its middle at 1 350.
#[test]
fn a_station_is_slid_as_near_the_centre_as_a_heavy_bend_asks() {
    let mut shop = slide_shop();
    let mut heavy = single(&mut shop, V16, 450);
    heavy.needs[0].off_centre_most = mm(200);
    let before = bed(vec![station(&shop, V16, 0, 500)]);
    let change = free(&shop, &before, &heavy, &[]);
    assert_eq!((change.removed.len(), change.inserted.len()), (0, 0));
    assert_eq!(slid(&change), [(mm(0), mm(1_100))]);
    assert_eq!(change.stand_of_need, [0]);
    let stock = Stock::new(&shop);
    let previous = Previous {
        part: heavy.part,
        tallest: heavy.tallest,
    };
    let steps = change_steps(
        &stock,
        &shop.brakes[0],
        &heavy,
        &change,
        Some(previous),
        true,
    );
    // Where the run after it wants it within 100, it goes there at once: to 1 200.
    let mut heavier = heavy.clone();
    heavier.needs[0].off_centre_most = mm(100);
    let at_once = free(&shop, &before, &heavy, &[&heavier]);
    assert_eq!(slid(&at_once), [(mm(0), mm(1_200))]);
    // The same part at the same height: no guard and no program, but a first piece.
    let kinds: Vec<_> = steps.iter().map(|step| step.kind).collect();
    let first = [StepKind::FirstPiece, StepKind::Approval];
    assert_eq!(
        kinds,
        [&[StepKind::Prepare, StepKind::Slide][..], &first].concat()
    );
    assert_eq!((steps[0].time, steps[1].time), (Seconds(240), Seconds(60)));
}

/// What stands in the way of the station slid to the centre makes room for it in turn: 500 at
/// 1 300 with its gap leaves nothing within 200 of the centre.
#[test]
fn what_stands_at_the_centre_makes_room() {
    let mut shop = slide_shop();
    let mut heavy = single(&mut shop, V16, 450);
    heavy.needs[0].off_centre_most = mm(200);
    let later = single(&mut shop, V25, 500);
    let before = bed(vec![
        station(&shop, V16, 0, 500),
        stand(
            &shop,
            1_300,
            &[section(&shop, STRAIGHT, 500, 1)],
            &[section(&shop, V25, 500, 0)],
        ),
    ]);
    let change = free(&shop, &before, &heavy, &[&later]);
    assert_eq!(stands(&change), [(V16, mm(1_100)), (V25, mm(1_620))]);
    // The one on the right goes first: the other would have to pass where it stands.
    let order: Vec<usize> = change.slid.iter().map(|slid| slid.stand).collect();
    assert_eq!(order, [1, 0]);
}

/// V8 from 100 to 400, V25 from 1 000 to 1 200 on a bed of 1 500: 700 need 740 between them. V25
/// goes 140 to the right; V8 cannot give way so far.
#[test]
fn as_few_stations_as_possible_are_slid_by_short_distances() {
    let mut shop = slide_shop();
    short_bed(&mut shop, 1_500);
    let option = single(&mut shop, V16, 700);
    let before = bed(vec![
        station(&shop, V8, 100, 300),
        station(&shop, V25, 1_000, 200),
    ]);
    let change = free(&shop, &before, &option, &[]);
    assert_eq!(change.removed.len(), 0);
    let expected = [(V8, mm(100)), (V16, mm(420)), (V25, mm(1_140))];
    assert_eq!(stands(&change), expected);
    assert_eq!(slid(&change), [(mm(1_000), mm(1_140))]);
}

/// V8 from 300 to 600, V25 from 900 to 1 100 on a bed of 1 500: 800 fit only when both are slid, in
/// 120 s. Taking one off takes 100 s, and 280 s when a later run wants it again.
#[test]
fn an_idle_station_comes_off_where_that_takes_less_than_sliding() {
    let mut shop = slide_shop();
    short_bed(&mut shop, 1_500);
    let option = single(&mut shop, V16, 800);
    let (thin, thick) = (single(&mut shop, V8, 300), single(&mut shop, V25, 200));
    let before = bed(vec![
        station(&shop, V8, 300, 300),
        station(&shop, V25, 900, 200),
    ]);
    let change = free(&shop, &before, &option, &[]);
    assert_eq!((change.removed.len(), change.slid.len()), (1, 0));
    let change = free(&shop, &before, &option, &[&thin, &thick]);
    assert_eq!(change.removed.len(), 0);
    // 300 + 20 + 800 + 20 + 200 = 1 340: V8 at 160 at most, V25 at 1 300 at most.
    assert_eq!(slid(&change), [(mm(300), mm(160)), (mm(900), mm(1_300))]);
    assert_eq!(stands(&change)[1], (V16, mm(480)));
}

/// A gap of 20 is kept to a station slid, also by one that was there before: 150 between two old
/// stations shrink to 20, not to nothing.
#[test]
fn a_station_slid_keeps_its_gaps_and_the_ends_of_the_bed() {
    let mut shop = slide_shop();
    short_bed(&mut shop, 1_540);
    let option = single(&mut shop, V16, 1_000);
    let (thin, thick) = (single(&mut shop, V8, 300), single(&mut shop, V25, 200));
    // 300 + 20 + 200 + 20 + 1 000 = 1 540: nothing is left over.
    let before = bed(vec![
        station(&shop, V8, 0, 300),
        station(&shop, V25, 450, 200),
    ]);
    let change = free(&shop, &before, &option, &[&thin, &thick]);
    assert_eq!(
        stands(&change),
        [(V8, mm(0)), (V25, mm(320)), (V16, mm(540))]
    );
    assert_eq!(slid(&change), [(mm(450), mm(320))]);
    short_bed(&mut shop, 1_539);
    let change = free(&shop, &before, &option, &[&thin, &thick]);
    assert_eq!(
        change.removed.len(),
        1,
        "one millimetre less, and one must go"
    );
}

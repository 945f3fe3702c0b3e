//! Every limit that tools and brakes can set, produced by one change to a shop that is all right,
//! with the numbers reckoned by hand. Formulas are those of docs/rules.md section 2 [computed].

mod hand;

use hand::{V16, V25, bend, id, mm, options_of, punch_mut, shop};
use model::{Axis, Limit, ProvenSetup, ProvenStation, Shop, ZDrive};
use units::{Degrees, Kilonewtons, KilonewtonsPerMetre, Length, Megapascals};

/// Only the straight punch and the V16 are owned, so that no other tools can help.
fn one_pair() -> Shop {
    let mut shop = shop();
    let kept = [id(&shop, hand::STRAIGHT), id(&shop, V16)];
    shop.sections
        .retain(|section| kept.contains(&section.profile));
    shop
}

/// The first refusal after one change.
fn refused(spoil: impl FnOnce(&mut Shop)) -> (Limit, f64, f64) {
    let mut shop = one_pair();
    spoil(&mut shop);
    let found = options_of(&shop, 0);
    assert!(found.options.is_empty(), "{:#?}", found.options);
    let refusal = &found.refusals[0];
    assert_eq!(refusal.brake, shop.brakes[0].id);
    assert!(!refusal.text.is_empty());
    (refusal.limit, refusal.needed, refusal.available)
}

fn check((limit, needed, available): (Limit, f64, f64), expected: (Limit, f64, f64)) {
    assert_eq!(limit, expected.0);
    assert!(
        (needed - expected.1).abs() < 5e-5,
        "{limit:?} needed {needed}, not {}",
        expected.1
    );
    assert!(
        (available - expected.2).abs() < 5e-5,
        "{limit:?} there {available}, not {}",
        expected.2
    );
}

/// C = 1 + 4·2/16 = 1.5; F = 1.5·430·1000·4/16 = 161 250 N; e = (1350/(2·161.25) − 1/2)·2700.
#[test]
fn the_unspoiled_shop_has_one_option() {
    let found = options_of(&one_pair(), 0);
    assert_eq!(found.options.len(), 1);
    let work = found.options[0].works[0];
    assert!((work.force.get() - 161.25).abs() < 1e-9);
    assert_eq!(work.radius, Length::from_mm(2.56));
    assert!((work.off_centre_most.mm() - 9_952.325_58).abs() < 1e-3);
    // s = 8·tan 45° − (2.56 + 2)(√2 − 1) = 6.111 19; H = 290 − (6.111 19 − 2).
    assert!((work.ram_to_bed.mm() - 285.888_814).abs() < 1e-4);
    // K = (0.65 + 0.5·log10 1.28)/2; BD = 2·4.56 − π/2·(2.56 + 2K) = 3.993 5.
    assert!(
        (work.deduction_mm - 3.993_54).abs() < 1e-4,
        "{}",
        work.deduction_mm
    );
}

#[test]
fn force_and_loads() {
    check(
        refused(|shop| shop.brakes[0].force = Kilonewtons::of(100.0)),
        (Limit::Force, 161.25, 100.0),
    );
    check(
        refused(|shop| shop.brakes[0].clamp_load = KilonewtonsPerMetre::of(150.0)),
        (Limit::LineLoad, 161.25, 150.0),
    );
    // Rated force over 60 % of 2 550 mm: 200/1.53 = 130.719 kN/m.
    check(
        refused(|shop| shop.brakes[0].force = Kilonewtons::of(200.0)),
        (Limit::LineLoad, 161.25, 130.718_954),
    );
    // Two stations: 900 for the sides, 1 000 beyond their least length. At 161.25 of 170 kN a
    // station's centre stays within 73 mm of the bed's, which only one of them can.
    let two = refused(|shop| {
        hand::own(shop, hand::STRAIGHT, "B", 1_000, model::Horn::None);
        hand::own(shop, V16, "B", 1_000, model::Horn::None);
        shop.brakes[0].bed_load = Some(KilonewtonsPerMetre::of(1_000.0));
        shop.brakes[0].force = Kilonewtons::of(170.0);
        let inside = model::Bend {
            inside: Some(mm(900)),
            ..bend(2, 900)
        };
        shop.parts[0].bends.push(inside);
    });
    // 1 000 in the middle of 3 100, 900 from 2 070 on: its centre is 970 off. It takes 145.125 kN, so
    // (170/(2·145.125) − 1/2)·2 700 is the most.
    check(two, (Limit::OffCentre, 970.0, 231.395_349));
}

#[test]
fn lengths() {
    check(
        refused(|shop| shop.parts[0].bends[0].length = mm(3_200)),
        (Limit::BedLength, 3_200.0, 3_100.0),
    );
    check(
        refused(|shop| {
            shop.brakes[0].bed = mm(1_900);
            shop.parts[0].bends.push(model::Bend {
                inside: Some(mm(900)),
                ..bend(2, 900)
            });
        }),
        (Limit::BedLength, 1_920.0, 1_900.0),
    );
    check(
        refused(|shop| {
            shop.parts[0].bends[0].length = mm(2_600);
            shop.parts[0].bends[0].leg = mm(420);
        }),
        (Limit::Throat, 420.0, 410.0),
    );
    // Sections of 2 600 mm are owned, 2 650 are not.
    check(
        refused(|shop| {
            shop.brakes[0].between_frames = mm(3_000);
            shop.parts[0].bends[0].length = mm(2_650);
        }),
        (Limit::Sections, 2_650.0, 2_600.0),
    );
}

/// Sides of 1 100 and a bottom between sides of 900 take two stations. Of 1 000, 500, 500, 300, 200
/// and 100, only 500 + 300 + 100 makes up the bottom and leaves 1 000 + 200 for the sides. Without
/// the 200 either station can be made up, by 1 000 + 100 or by 500 + 300 + 100, but not both.
#[test]
fn two_stations_share_the_sections_owned() {
    let spoil = |shop: &mut Shop| {
        shop.parts[0].bends[0].length = mm(1_100);
        shop.parts[0].bends.push(model::Bend {
            inside: Some(mm(900)),
            ..bend(2, 900)
        });
    };
    let mut both = one_pair();
    spoil(&mut both);
    assert_eq!(options_of(&both, 0).options.len(), 1);
    let short = |shop: &mut Shop| {
        spoil(shop);
        shop.sections.retain(|section| section.length != mm(200));
    };
    check(refused(short), (Limit::Sections, 2.0, 1.0));
}

#[test]
fn heights() {
    // Open 500 less the stack 60 + 120 + 80 + 30.
    check(
        refused(|shop| shop.parts[0].bends[0].flange_height = mm(200)),
        (Limit::Daylight, 215.0, 210.0),
    );
    check(
        refused(|shop| shop.brakes[0].stroke = mm(214)),
        (Limit::Stroke, 214.111_186, 214.0),
    );
    // A V8 beside a V25 of 3 mm sheet: no tool pair makes both, so there is no such part here; the
    // crash is a low die beside a high one. 20 mm lower leaves the high one crushed by 20 mm.
    let mut shop = shop();
    hand::die_mut(&mut shop, V25).height = mm(60);
    hand::punch_mut(&mut shop, hand::GOOSENECK).relief = mm(45);
    shop.parts[0].thickness = mm(2);
    shop.parts[0].bends = vec![bend(1, 500), bend(2, 500)];
    shop.parts[0].bends[0].leg = mm(12);
    shop.parts[0].bends[1].radius = Some(mm(4));
    shop.rules
        .v_rules
        .iter_mut()
        .for_each(|row| row.most = 13.0);
    let found = options_of(&shop, 0);
    assert!(found.options.is_empty());
    let refusal = &found.refusals[0];
    assert_eq!(refusal.limit, Limit::Sections);
    assert!(refusal.text.contains("crushed"), "{}", refusal.text);
}

#[test]
fn gauge() {
    // X = 800 − 3.993 54/2.
    check(
        refused(|shop| shop.parts[0].bends[0].leg = mm(800)),
        (Limit::GaugeX, 798.003_23, 700.0),
    );
    check(
        refused(|shop| {
            shop.brakes[0].gauge.r = None;
            shop.parts[0].bends[0].lift = mm(30);
        }),
        (Limit::GaugeR, 30.0, 0.0),
    );
    check(
        refused(|shop| shop.parts[0].bends[0].lift = mm(200)),
        (Limit::GaugeR, 200.0, 150.0),
    );
    // 1 000·tan 3° = 52.407 78.
    check(
        refused(|shop| shop.parts[0].bends[0].taper = Degrees::of(3.0)),
        (Limit::GaugeX1X2, 52.407_78, 0.0),
    );
    check(
        refused(|shop| {
            let axis = Axis {
                from: mm(0),
                to: mm(52),
                fitted: None,
            };
            shop.brakes[0].gauge.x_difference = Some(axis);
            shop.parts[0].bends[0].taper = Degrees::of(3.0);
        }),
        (Limit::GaugeX1X2, 52.407_78, 52.0),
    );
    check(
        refused(|shop| {
            shop.brakes[0].gauge.z = ZDrive::Hand;
            shop.brakes[0].gauge.fingers = 3;
            shop.parts[0].bends.push(model::Bend {
                inside: Some(mm(900)),
                ..bend(2, 900)
            });
        }),
        (Limit::Fingers, 4.0, 3.0),
    );
}

#[test]
fn an_axis_counts_from_the_day_it_is_fitted() {
    let mut shop = one_pair();
    shop.parts[0].bends[0].lift = mm(30);
    assert_eq!(options_of(&shop, 0).options.len(), 1);
    // The shop is described on 7 June 2027.
    let day = |day| chrono::NaiveDate::from_ymd_opt(2027, 6, day);
    shop.brakes[0].gauge.r = shop.brakes[0].gauge.r.map(|axis| Axis {
        fitted: day(8),
        ..axis
    });
    assert_eq!(options_of(&shop, 0).refusals[0].limit, Limit::GaugeR);
    shop.brakes[0].gauge.r = shop.brakes[0].gauge.r.map(|axis| Axis {
        fitted: day(7),
        ..axis
    });
    assert_eq!(options_of(&shop, 0).options.len(), 1);
}

#[test]
fn the_bend_at_its_tools() {
    // 6·3 mm and 10·1 mm.
    check(
        refused(|shop| shop.parts[0].thickness = mm(3)),
        (Limit::VOpening, 18.0, 16.0),
    );
    check(
        refused(|shop| shop.parts[0].thickness = mm(1)),
        (Limit::VOpening, 10.0, 16.0),
    );
    // 16/(2·sin 45°).
    check(
        refused(|shop| shop.parts[0].bends[0].leg = mm(11)),
        (Limit::Flange, 11.313_708, 11.0),
    );
    // 0.16·16 is more than a quarter off 4.
    check(
        refused(|shop| shop.parts[0].bends[0].radius = Some(mm(4))),
        (Limit::Radius, 4.0, 2.56),
    );
    check(
        refused(|shop| shop.parts[0].bends[0].return_depth = mm(20)),
        (Limit::Relief, 20.0, 0.0),
    );
    // Springback of 1°.
    check(
        refused(|shop| punch_mut(shop, hand::STRAIGHT).angle = Degrees::of(90.0)),
        (Limit::ToolAngle, 89.0, 90.0),
    );
    check(
        refused(|shop| "other".clone_into(&mut punch_mut(shop, hand::STRAIGHT).tang)),
        (Limit::Mount, 1.0, 0.0),
    );
    // BD at r₀ = 0.16·25 = 4: 2·6 − π/2·(4 + 2K), K = (0.65 + 0.5·log10 2)/2, 4.459 37; less 3.993 54.
    let developed = refused(|shop| {
        shop.parts[0].developed_for_v = Some(mm(25));
        shop.parts[0].length_tolerance = Length::from_mm(0.3);
    });
    check(developed, (Limit::Developed, 0.465_83, 0.3));
}

#[test]
fn the_part_as_a_whole() {
    // 2 m by 1 m by 4 mm at 7 850 kg/m³.
    let heavy = refused(|shop| {
        shop.parts[0].blank = (mm(2_000), mm(1_000));
        shop.parts[0].thickness = mm(4);
    });
    check(heavy, (Limit::Mass, 62.8, 50.0));
    check(
        refused(|shop| shop.parts[0].angle_tolerance = Degrees::of(0.3)),
        (Limit::AngleAccuracy, 0.3, 0.5),
    );
    check(
        refused(|shop| shop.parts[0].proven_only = true),
        (Limit::Proven, 1.0, 0.0),
    );
}

fn proven(shop: &Shop, length: i64, bends: Vec<u8>) -> ProvenSetup {
    ProvenSetup {
        part: shop.parts[0].id.clone(),
        brake: shop.brakes[0].id.clone(),
        program: "PRG".to_owned(),
        stations: vec![ProvenStation {
            punch: id(shop, hand::STRAIGHT),
            die: id(shop, V16),
            length: mm(length),
            bends,
        }],
        seconds_a_piece: Some(31.5),
        last_run: None,
    }
}

#[test]
fn a_proven_setup_comes_first_and_gives_length_and_cycle() {
    let mut shop = shop();
    let setup = proven(&shop, 1_200, vec![1]);
    shop.setups.push(setup);
    let found = options_of(&shop, 0);
    let first = &found.options[0];
    assert_eq!(first.program.as_deref(), Some("PRG"));
    assert_eq!(
        (first.cycle_ms, first.needs[0].punch_span.least),
        (31_500, mm(1_200))
    );
    let again = found
        .options
        .iter()
        .filter(|option| option.makes_each_bend_like(first))
        .count();
    assert_eq!(again, 1, "tools that are proven here are run as proven");
    // The same setup refused by a limit of its own.
    shop.parts[0].proven_only = true;
    shop.materials[0].strength_typical = Megapascals::of(3_000.0);
    shop.brakes[0].force = Kilonewtons::of(1_000.0);
    // 161.25·3000/430.
    let refusal = &options_of(&shop, 0).refusals[0];
    check(
        (refusal.limit, refusal.needed, refusal.available),
        (Limit::Force, 1_125.0, 1_000.0),
    );
}

#[test]
fn a_proven_setup_that_leaves_out_a_bend_is_none() {
    check(
        refused(|shop| {
            let setup = proven(shop, 1_000, vec![7]);
            shop.setups.push(setup);
            shop.parts[0].proven_only = true;
        }),
        (Limit::Proven, 1.0, 0.0),
    );
}

#[test]
fn without_tools_there_is_nothing_to_try() {
    let mut shop = one_pair();
    shop.sections.clear();
    assert_eq!(options_of(&shop, 0).refusals[0].limit, Limit::Sections);
}

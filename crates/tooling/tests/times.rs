//! Cycle, crew, run and change times reckoned by hand; docs/rules.md sections 4 to 6 [computed].

mod hand;

use hand::{STRAIGHT, V16, bed, mm, option, section, shop, single, stand};
use model::{Approval, Direction, Edge, Shop, StepKind, ZDrive};
use tooling::{BedChange, Previous, Stock, change_steps, crew_for, part_mass, run_time};
use units::{Kilograms, Seconds};

/// Brake: fast 120, slow 10, bend 9.5, back 110, gauge 300 mm/s, mute 6. Blank 1 000 × 100 × 2 steel:
/// 1.57 kg. Loading 10 + 3·1.1 + 0.6·1.57 = 14.242 s. Stroke with a = 50 + 15 and s = 6.111 186:
/// 59/120 + 0.6 + 0.643 283 + 0.3 + 71.111 186/110 = 2.681 415. A bend 5 + 3.3 + 0.942 more.
const ONE_BEND_MS: i64 = 26_166;

#[test]
fn one_bend() {
    assert_eq!(option(&shop(), 0, STRAIGHT, V16).cycle_ms, ONE_BEND_MS);
}

/// 14.242 + 2·11.923 415, 4 for the flip, 3 for the turn, and twice the gauge's 350 mm: 350/300 less
/// the return of 0.646 465, which is 0.520 202. In all 46.129 234.
#[test]
fn two_bends_with_flip_turn_and_a_gauge_that_is_waited_for() {
    let mut shop = shop();
    let far = model::Bend {
        leg: mm(400),
        flange_height: mm(50),
        direction: Direction::Down,
        edge: Edge::B,
        ..hand::bend(2, 1_000)
    };
    shop.parts[0].bends.push(far);
    assert_eq!(option(&shop, 0, STRAIGHT, V16).cycle_ms, 46_130);
}

/// Two people carry 0.785 kg each: 0.471 s less for loading and for the bend.
#[test]
fn two_people_carry_half_each() {
    let mut shop = shop();
    shop.parts[0].crew = Some(2);
    assert_eq!(option(&shop, 0, STRAIGHT, V16).cycle_ms, ONE_BEND_MS - 942);
}

#[test]
fn crew_by_mass_and_by_the_shops_word() {
    let shop = shop();
    let (part, rules) = (&shop.parts[0], &shop.rules);
    // 1 m × 0.1 m × 2 mm at 7 850 kg/m³.
    assert!((part_mass(part, &shop.materials[0]).get() - 1.57).abs() < 1e-12);
    assert_eq!(crew_for(part, Kilograms::of(20.0), rules), 1);
    assert_eq!(crew_for(part, Kilograms::of(20.001), rules), 2);
    let told = model::Part {
        crew: Some(1),
        ..part.clone()
    };
    assert_eq!(crew_for(&told, Kilograms::of(40.0), rules), 1);
}

/// A check of 60 s after every 25 pieces, none behind the last.
#[test]
fn runs() {
    let rules = &shop().rules;
    for (quantity, cycle, seconds) in [
        (1, 26_166, 27),
        (25, 26_166, 655),
        (26, 26_166, 681 + 60),
        (50, 1_000, 50 + 60),
        (51, 1_000, 51 + 120),
        (0, 1_000, 0),
    ] {
        assert_eq!(
            run_time(quantity, cycle, rules),
            Seconds(seconds),
            "{quantity} of {cycle} ms"
        );
    }
}

/// Round figures for the brake: one for each kind of work, so that sums tell what was counted.
fn priced() -> Shop {
    let mut shop = shop();
    shop.brakes[0].gauge.z = ZDrive::Hand;
    shop.brakes[0].times = model::ChangeTimes {
        base: Seconds(100_000),
        station_off: Seconds(10_000),
        section_off: Seconds(1_000),
        station_on: Seconds(20_000),
        section_on: Seconds(2_000),
        station_slide: Seconds(600_000),
        section_turn: Seconds(7_000),
        heavy_section: Seconds(300),
        fingers: Seconds(40),
        guard: Seconds(5),
        program: Seconds(7),
    };
    shop.rules.programming = Seconds(900);
    shop.rules.approve_own = Seconds(11);
    shop.rules.approve_inspector = Seconds(13);
    shop.rules.approve_customer = Seconds(17);
    shop
}

#[test]
fn every_step_has_its_time() {
    let mut shop = priced();
    let heavy = section(&shop, hand::V8, 300, 0);
    shop.sections[heavy].mass = Kilograms::of(18.1);
    let wanted = single(&mut shop, V16, 1_600);
    // A station of one punch and one heavy die section goes, one of 1 000 + 500 + 100 over the same goes on.
    let old = stand(&shop, 0, &[section(&shop, STRAIGHT, 300, 0)], &[heavy]);
    shop.brakes[0].bed = mm(1_700);
    let change = hand::change_for(
        &shop,
        &bed(vec![old]),
        &wanted,
        &[],
        &hand::Elsewhere::default(),
    );
    let change = change.unwrap();
    let stock = Stock::new(&shop);
    let steps = |previous, programmed| -> Vec<(StepKind, i64)> {
        change_steps(
            &stock,
            &shop.brakes[0],
            &wanted,
            &change,
            previous,
            programmed,
        )
        .iter()
        .map(|step| (step.kind, step.time.0))
        .collect()
    };
    let first_piece = (2 * wanted.cycle_ms + 999) / 1_000;
    let tools = [
        (StepKind::Prepare, 100_000),
        (StepKind::TakeOff, 10_000 + 2 * 1_000 + 300),
        (StepKind::PutOn, 20_000 + 6 * 2_000),
    ];
    let rest = [
        (StepKind::Fingers, 40),
        (StepKind::Guard, 5),
        (StepKind::Programming, 900),
        (StepKind::FirstPiece, first_piece),
        (StepKind::Approval, 11),
    ];
    assert_eq!(steps(None, false), [&tools[..], &rest[..]].concat());
    // The part has run here before: its program is called up.
    let known = steps(None, true);
    assert!(known.contains(&(StepKind::Program, 7)), "{known:?}");
    // The same part again, of another length of station: no fingers, no program; guard and first piece.
    let same = Previous {
        part: wanted.part,
        tallest: wanted.tallest,
    };
    let again = [&tools[..], &[rest[1], rest[3], rest[4]][..]].concat();
    assert_eq!(steps(Some(same), true), again);
}

#[test]
fn a_change_of_nothing_has_only_the_steps_of_a_new_part() {
    let mut shop = priced();
    let one = single(&mut shop, V16, 300);
    let stands = bed(vec![stand(
        &shop,
        1_400,
        &[section(&shop, STRAIGHT, 300, 0)],
        &[section(&shop, V16, 300, 0)],
    )]);
    let change = hand::change_for(&shop, &stands, &one, &[], &hand::Elsewhere::default()).unwrap();
    let stock = Stock::new(&shop);
    let sum = |option: &tooling::ToolingOption, previous, programmed| -> i64 {
        let steps = change_steps(
            &stock,
            &shop.brakes[0],
            option,
            &change,
            previous,
            programmed,
        );
        steps.iter().map(|step| step.time.0).sum()
    };
    let same = Previous {
        part: one.part,
        tallest: one.tallest,
    };
    assert_eq!(
        sum(&one, Some(same), true),
        0,
        "the next run of the same part just goes on"
    );
    // Another part at the same height: no guard.
    let first = (2 * one.cycle_ms + 999) / 1_000;
    let other = Previous {
        part: one.part + 1,
        ..same
    };
    assert_eq!(sum(&one, Some(other), true), 40 + 7 + first + 11);
    let lower = Previous {
        tallest: one.tallest - mm(1),
        ..other
    };
    assert_eq!(sum(&one, Some(lower), true), 40 + 5 + 7 + first + 11);
    for (approval, seconds) in [(Approval::Inspector, 13), (Approval::Customer, 17)] {
        let option = tooling::ToolingOption {
            approval,
            ..one.clone()
        };
        assert_eq!(sum(&option, Some(other), true), 40 + 7 + first + seconds);
    }
    let proven = tooling::ToolingOption {
        program: Some("P".to_owned()),
        ..one.clone()
    };
    assert_eq!(sum(&proven, Some(other), false), 40 + 7 + first + 11);
}

#[test]
fn a_takedown_prepares_and_takes_off() {
    let shop = priced();
    let one = stand(
        &shop,
        0,
        &[section(&shop, STRAIGHT, 300, 0)],
        &[section(&shop, V16, 300, 0)],
    );
    let stock = Stock::new(&shop);
    let steps = BedChange::takedown_steps(&stock, &shop.brakes[0], &[std::sync::Arc::new(one)]);
    let times: Vec<_> = steps.iter().map(|step| (step.kind, step.time.0)).collect();
    assert_eq!(
        times,
        [(StepKind::Prepare, 100_000), (StepKind::TakeOff, 12_000)]
    );
}

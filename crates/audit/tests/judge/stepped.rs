//! A radius of 80 mm in 2 mm sheet, 1000 long, stepped over V 16, worked out on paper.
//!
//! θ = 2·acos(1 − 0.5/82) = 12.660960°, 90/θ = 7.108: eight strokes of 11.25°.
//! s = 8·tan 5.625° − 4.4·(1/cos 5.625° − 1) = 0.766642; BD = 2·82 − (π/2)·80.8 = 37.079657;
//! X = 120 − BD/2 = 101.460172; F = 150 kN for each stroke.
//! Cycle: approach 120 + 20; carrying 2·1.2 + 0.5·3.14 = 3.97; 10 + 3.97 + 5 + 3.97, eight strokes
//! of 1.34 + 0.6 + 0.076664 + 0.3 + 1.407666: 52.734645 s.

use crate::lone::{V16, expect, lone_plan, lone_shop};
use crate::plan::bend_use;
use crate::shop::{bend, mm, part};
use model::*;
use units::*;

fn stepped() -> (Shop, Plan) {
    let round = Bend {
        kind: BendKind::Stepped,
        radius: Some(mm(80)),
        ..bend(1, 1_000, 120)
    };
    let shop = lone_shop(part("P7", 2, (1_000, 200), vec![round]), &[V16]);
    let hits = vec![bend_use(1, 0, 150.0, 101.460_172, 80.0)];
    let plan = lone_plan(&shop, hits, 52_735);
    (shop, plan)
}

#[test]
fn a_stepped_radius_is_many_strokes_in_one_place() {
    let (shop, plan) = stepped();
    expect("as worked out", &shop, &plan, &[]);
}

#[test]
fn its_strokes_are_counted() {
    let cases = [
        // 90/θ = 7.024 and 6.982: eight and seven.
        (0.512, true),
        (0.518, false),
        // 8.05: nine.
        (0.39, false),
    ];
    for (depth, same) in cases {
        let (mut shop, plan) = stepped();
        shop.rules.step_depth = Length::from_mm(depth);
        let rules: &[&str] = if same { &[] } else { &["wrong-cycle"] };
        expect(&format!("depth {depth}"), &shop, &plan, rules);
    }
}

#[test]
fn its_rules_are_those_of_one_stroke() {
    type Corrupt = fn(&mut Shop);
    let cases: [(&str, &[&str], Corrupt); 5] = [
        // 168.75° less 11.25°/90° of the springback leave 163.75°.
        ("springback of 40°", &[], |shop| {
            shop.materials[0].springback = Degrees::of(40.0);
            shape(shop, 163.75);
        }),
        (
            "a punch too blunt for one stroke",
            &["tool-angle"],
            |shop| {
                shop.materials[0].springback = Degrees::of(40.0);
                shape(shop, 163.8);
            },
        ),
        // 16/(2·sin 84.375°) = 8.0387.
        (
            "a leg of 8.0",
            &["flange-too-short", "gauge-x", "wrong-position"],
            |shop| {
                shop.parts[0].bends[0].leg = mm(8);
            },
        ),
        ("a measured deduction", &[], |shop| {
            shop.deductions.push(Deduction {
                material: shop.materials[0].id.clone(),
                thickness: mm(2),
                v: mm(16),
                angle: Degrees::of(90.0),
                deduction: mm(5),
            });
        }),
        ("developed for V 24", &[], |shop| {
            shop.parts[0].developed_for_v = Some(mm(24));
            shop.parts[0].length_tolerance = Length::from_mm(0.001);
        }),
    ];
    for (what, rules, corrupt) in cases {
        let (mut shop, plan) = stepped();
        corrupt(&mut shop);
        expect(what, &shop, &plan, rules);
    }
}

fn shape(shop: &mut Shop, angle: f64) {
    if let Profile::Punch(punch) = &mut shop.profiles[0] {
        punch.angle = Degrees::of(angle);
    }
}

#[test]
fn it_asks_a_radius_no_tighter_than_one_stroke_makes() {
    let (mut shop, plan) = stepped();
    shop.parts[0].bends[0].radius = None;
    let wrong = ["stepped-radius", "wrong-position", "wrong-cycle"];
    expect("no radius", &shop, &plan, &wrong);
    // The tip, when it is rounder than the V makes the sheet.
    let (mut shop, plan) = stepped();
    if let Profile::Punch(punch) = &mut shop.profiles[0] {
        punch.tip_radius = mm(81);
    }
    let verdict = audit::judge(&shop, &plan);
    let rules: Vec<_> = verdict.violations.iter().map(|v| v.rule).collect();
    assert!(rules.contains(&"stepped-radius"), "{rules:?}");
}

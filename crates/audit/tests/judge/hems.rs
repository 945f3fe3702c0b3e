//! A hem of 1 mm gap in 1 mm sheet, 500 long, worked out on paper.
//!
//! Hit 1 over V 8: r = max(0.15·8, 1) = 1.2; F = 1.5·400·500·1/8 = 37.5 kN; flange 8/(2·sin 15°) =
//! 15.455; BD at 30° = 2·tan 75°·2.2 − 2.617994·1.6 = 12.232233; X = 20 − BD/2 = 13.883884;
//! s = 4·tan 75° − 2.2·(1/cos 75° − 1) = 8.628056.
//! Hit 2: F = 4·1.5·400·500·1/8 = 150 kN, 300 kN/m; radius 0.5; s = 0.
//! Closed heights 200 and 190: at the bottom of hit 1, 300 − 7.628056 above the bed, the flattening
//! pair is open by 2.372; at that of hit 2, 293, the sharp tip stands 7 below its shoulders.
//! Cycle: carrying 2·0.6 + 0.5·0.3925 = 1.39625; 10 + 1.39625, twice 5 + 1.39625, strokes
//! 0.44 + 0.6 + 0.862806 + 0.3 + 0.586281 and 0.44 + 0.6 + 0 + 0.3 + 0.5: 28.817837 s.

use crate::lone::{Standing, expect, lone_plan, lone_shop};
use crate::plan::bend_use;
use crate::shop::{bend, brake_id, kn_m, mm, part, part_id, profile_id, section_id};
use model::*;
use units::*;

const STATIONS: [Standing; 2] = [
    Standing {
        punch: "PS",
        die: "DS",
        left: 1_000,
        punch_section: "PS-1",
        die_section: "DS-1",
    },
    Standing {
        punch: "FU",
        die: "FL",
        left: 1_800,
        punch_section: "FU-1",
        die_section: "FL-1",
    },
];

fn tools(shop: &mut Shop) {
    let (Profile::Punch(punch), Profile::Die(die)) = (&shop.profiles[0], &shop.profiles[1]) else {
        unreachable!("the shop lists its punch first");
    };
    let sharp_punch = Punch {
        id: profile_id("PS"),
        angle: Degrees::of(26.0),
        ..punch.clone()
    };
    let sharp_die = Die {
        id: profile_id("DS"),
        v: mm(8),
        angle: Degrees::of(26.0),
        ..die.clone()
    };
    let upper = Punch {
        id: profile_id("FU"),
        angle: Degrees::of(180.0),
        tip_radius: mm(0),
        height: mm(110),
        flattening: true,
        ..punch.clone()
    };
    let lower = Die {
        id: profile_id("FL"),
        v: mm(0),
        angle: Degrees::of(180.0),
        groove_depth: mm(0),
        flattening: true,
        ..die.clone()
    };
    shop.profiles.extend([
        Profile::Punch(sharp_punch),
        Profile::Die(sharp_die),
        Profile::Punch(upper),
        Profile::Die(lower),
    ]);
    for profile in ["PS", "DS", "FU", "FL"] {
        let section = Section {
            id: section_id(&format!("{profile}-1")),
            profile: profile_id(profile),
            length: mm(500),
            drawer: format!("drawer of {profile}"),
            ..shop.sections[0].clone()
        };
        shop.sections.push(section);
    }
}

fn hemmed() -> (Shop, Plan) {
    let hem = Bend {
        angle: Degrees::of(0.0),
        kind: BendKind::Hem { gap: mm(1) },
        ..bend(1, 500, 20)
    };
    let mut shop = lone_shop(part("P6", 1, (500, 100), vec![hem]), &[]);
    tools(&mut shop);
    let mut with_beds = lone_shop(shop.parts[0].clone(), &STATIONS);
    (with_beds.profiles, with_beds.sections) = (shop.profiles, shop.sections);
    let mut flatten = bend_use(1, 1, 150.0, 13.883_884, 0.5);
    flatten.hit = 2;
    let hits = vec![bend_use(1, 0, 37.5, 13.883_884, 1.2), flatten];
    let plan = lone_plan(&with_beds, hits, 28_818);
    (with_beds, plan)
}

fn run(plan: &mut Plan) -> &mut Run {
    &mut plan.brakes[1].runs[0]
}

#[test]
fn a_hem_is_a_sharp_bend_and_a_flattening() {
    let (shop, plan) = hemmed();
    expect("as worked out", &shop, &plan, &[]);
}

#[test]
fn each_number_of_the_hits_is_judged() {
    type Corrupt = fn(&mut Plan);
    let cases: [(&str, &[&str], Corrupt); 8] = [
        ("force of hit 1", &["wrong-force"], |plan| {
            run(plan).bends[0].force = Kilonewtons::of(37.6);
        }),
        ("force of hit 2", &["wrong-force"], |plan| {
            run(plan).bends[1].force = Kilonewtons::of(149.8);
        }),
        ("radius of hit 1", &["wrong-position"], |plan| {
            run(plan).bends[0].radius = Length::from_mm(0.5);
        }),
        ("radius of hit 2", &["wrong-position"], |plan| {
            run(plan).bends[1].radius = Length::from_mm(1.2);
        }),
        ("X of hit 1", &["wrong-position"], |plan| {
            run(plan).bends[0].x += Length::from_mm(0.02);
        }),
        ("X of hit 2", &["wrong-position"], |plan| {
            run(plan).bends[1].x += Length::from_mm(0.02);
        }),
        ("R of hit 2", &["wrong-position"], |plan| {
            run(plan).bends[1].r = mm(1);
        }),
        ("hits the other way round", &["hits-out-of-order"], |plan| {
            run(plan).bends.swap(0, 1);
        }),
    ];
    for (what, rules, corrupt) in cases {
        let (shop, mut plan) = hemmed();
        corrupt(&mut plan);
        expect(what, &shop, &plan, rules);
    }
    let (shop, mut plan) = hemmed();
    let cycle = &mut run(&mut plan).cycle_ms;
    // Ten cycles of 28.821 s still round up to 289 s, two to 58 s.
    *cycle += 3;
    expect("cycle", &shop, &plan, &["wrong-cycle"]);
    let (shop, mut plan) = hemmed();
    run(&mut plan).bends.pop();
    expect("never flattened", &shop, &plan, &["bends-not-each-once"]);
    let (shop, mut plan) = hemmed();
    run(&mut plan).bends[1].hit = 3;
    expect("a third hit", &shop, &plan, &["bends-not-each-once"]);
}

#[test]
fn each_hit_has_tools_of_its_own_kind() {
    let (shop, mut plan) = hemmed();
    run(&mut plan).bends[1].station = 0;
    expect(
        "flattened in the V",
        &shop,
        &plan,
        // Its bottom, 303 above the bed, closes no neighbour.
        &["flattening-tools"],
    );
    for half in [5, 6] {
        let (mut shop, plan) = hemmed();
        match &mut shop.profiles[half] {
            Profile::Punch(punch) => punch.flattening = false,
            Profile::Die(die) => die.flattening = false,
        }
        expect("half a pair", &shop, &plan, &["flattening-tools"]);
    }
    let (mut shop, plan) = hemmed();
    if let Profile::Die(die) = &mut shop.profiles[4] {
        die.flattening = true;
    }
    expect(
        "a sharp die that flattens",
        &shop,
        &plan,
        &["flattening-tools", "crash"],
    );
}

#[test]
fn the_sharp_hit_keeps_the_rules_of_air_bends_at_30_degrees() {
    type Corrupt = fn(&mut Shop);
    let cases: [(&str, &[&str], Corrupt); 5] = [
        ("springback and an asked radius are left out", &[], |shop| {
            shop.materials[0].springback = Degrees::of(5.0);
            shop.parts[0].bends[0].radius = Some(mm(6));
        }),
        (
            "a leg of 15.4",
            &["flange-too-short", "wrong-position"],
            |shop| {
                shop.parts[0].bends[0].leg = Length::from_mm(15.4);
            },
        ),
        ("a punch of 31°", &["tool-angle"], |shop| {
            if let Profile::Punch(punch) = &mut shop.profiles[3] {
                punch.angle = Degrees::of(31.0);
            }
        }),
        ("V 8 where 9t is least", &["v-opening"], |shop| {
            shop.rules.v_rules[0].least = 9.0;
        }),
        ("a returned flange", &["punch-relief"], |shop| {
            shop.parts[0].bends[0].return_depth = mm(1);
        }),
    ];
    for (what, rules, corrupt) in cases {
        let (mut shop, plan) = hemmed();
        corrupt(&mut shop);
        expect(what, &shop, &plan, rules);
    }
}

#[test]
fn flattening_loads_the_machine_and_closes_its_neighbours() {
    type Corrupt = fn(&mut Shop);
    let cases: [(&str, &[&str], Corrupt); 7] = [
        ("299 kN/m", &["line-load"], |shop| {
            if let Profile::Die(die) = &mut shop.profiles[6] {
                die.load = kn_m(299.0);
            }
        }),
        ("300 kN/m", &[], |shop| {
            if let Profile::Die(die) = &mut shop.profiles[6] {
                die.load = kn_m(300.0);
            }
        }),
        ("149 kN", &["force", "off-centre"], |shop| {
            shop.brakes[1].force = Kilonewtons::of(149.0);
            shop.brakes[1].bed_load = Some(kn_m(300.0));
        }),
        ("5 times", &["wrong-force"], |shop| {
            shop.rules.flatten_factor = 5.0;
        }),
        ("a sharp groove 7.9 deep", &["crash"], |shop| {
            if let Profile::Die(die) = &mut shop.profiles[4] {
                die.groove_depth = Length::from_mm(7.9);
            }
        }),
        ("a sharp groove 8 deep", &[], |shop| {
            if let Profile::Die(die) = &mut shop.profiles[4] {
                die.groove_depth = mm(8);
            }
        }),
        // Open by 2.372 mm at the bottom of hit 1.
        ("2.38 mm to stay open", &["crash"], |shop| {
            shop.rules.crash_clearance = Length::from_mm(2.38);
        }),
    ];
    for (what, rules, corrupt) in cases {
        let (mut shop, plan) = hemmed();
        corrupt(&mut shop);
        expect(what, &shop, &plan, rules);
    }
}

#[test]
fn measured_deductions_are_not_for_hems() {
    let (mut shop, plan) = hemmed();
    for angle in [0.0, 30.0] {
        shop.deductions.push(Deduction {
            material: shop.materials[0].id.clone(),
            thickness: mm(1),
            v: mm(8),
            angle: Degrees::of(angle),
            deduction: mm(5),
        });
    }
    expect("by the formula", &shop, &plan, &[]);
}

#[test]
fn a_hem_counts_once_in_the_developed_length() {
    // Over V 10, r 1.5: BD = 2·tan 75°·2.5 − 2.617994·1.9 = 13.686066, 1.453833 more than over V 8.
    let (mut shop, plan) = hemmed();
    shop.parts[0].developed_for_v = Some(mm(10));
    shop.parts[0].length_tolerance = Length::from_mm(1.454);
    expect("within", &shop, &plan, &[]);
    shop.parts[0].length_tolerance = Length::from_mm(1.453);
    expect("beyond", &shop, &plan, &["developed-for-another-v"]);
}

#[test]
fn a_proven_setup_names_a_hem_at_both_its_stations() {
    let (mut shop, plan) = hemmed();
    let station = |punch: &str, die: &str| ProvenStation {
        punch: profile_id(punch),
        die: profile_id(die),
        length: mm(500),
        bends: vec![1],
    };
    shop.setups = vec![ProvenSetup {
        part: part_id("P6"),
        brake: brake_id("B2"),
        program: "PRG-6".to_owned(),
        stations: vec![station("PS", "DS"), station("FU", "FL")],
        seconds_a_piece: None,
        last_run: None,
    }];
    expect("followed unnamed", &shop, &plan, &["program-missing"]);
    for left_out in [0, 1] {
        let mut shop = shop.clone();
        shop.setups[0].stations.remove(left_out);
        expect("named at one station only", &shop, &plan, &[]);
    }
    // Both hits in the V a setup names are no way to follow it.
    let (_, mut plan) = hemmed();
    run(&mut plan).bends[1].station = 0;
    shop.setups[0].stations.remove(1);
    expect("flattened in the V", &shop, &plan, &["flattening-tools"]);
}

//! Bends against tools, brake, loads and gauge.

use super::{Corruption, corruption};
use crate::shop::{kn_m, mm};
use model::{Axis, BendKind, Deduction, Edge, Profile};
use units::{Degrees, Kilograms, Kilonewtons, Length, Megapascals};

pub(super) const CORRUPTIONS: &[Corruption] = &[
    corruption("a bend made twice", &["bends-not-each-once"], |_, plan| {
        let again = plan.brakes[0].runs[1].bends[0].clone();
        plan.brakes[0].runs[1].bends.push(again);
    }),
    corruption(
        "bends in another order",
        &["hits-out-of-order"],
        |_, plan| {
            plan.brakes[1].runs[0].bends.swap(0, 1);
        },
    ),
    corruption(
        "a second hit of an air bend",
        // What that hit would do is not known, nor what depends on it.
        &[
            "bends-not-each-once",
            "wrong-steps",
            "wrong-change-work",
            "segments-do-not-add-up",
            "wrong-total",
            "wrong-objective",
        ],
        |_, plan| plan.brakes[0].runs[1].bends[0].hit = 2,
    ),
    corruption(
        "a flattening die that bends",
        &["flattening-tools"],
        |shop, _| {
            if let Some(Profile::Die(die)) = shop.profiles.last_mut() {
                die.flattening = true;
            }
        },
    ),
    corruption(
        "a stepped radius of 3.5 where V 24 makes 3.6",
        // 2·acos(1 − 0.5/6.5) is 45.2°: two strokes.
        &["stepped-radius", "wrong-position", "wrong-cycle"],
        |shop, _| {
            let bend = &mut shop.parts[1].bends[0];
            (bend.kind, bend.radius) = (BendKind::Stepped, Some(Length::from_mm(3.5)));
        },
    ),
    corruption(
        "bends 5 mm apart that take 5.03 mm each",
        // The fold of r 2.4 is (π/2)·3.2 long.
        &["bends-overlap-on-blank"],
        |shop, _| {
            shop.parts[2].bends[0].line = Some(mm(20));
            shop.parts[2].bends[1].line = Some(mm(25));
        },
    ),
    corruption(
        "a bend nearer its edge than half its fold",
        &["bends-overlap-on-blank"],
        |shop, _| {
            shop.parts[2].bends[0].line = Some(mm(20));
            shop.parts[2].bends[1].line = Some(Length::from_mm(47.5));
        },
    ),
    corruption(
        "a neck that stands in the way of the leg behind",
        &["collision"],
        |shop, _| {
            if let Some(Profile::Punch(punch)) = shop.profiles.first_mut() {
                (punch.relief, punch.body) = (mm(5), mm(60));
                punch.relief_height = mm(10);
            }
            shop.parts[1].bends[0].line = Some(mm(40));
        },
    ),
    corruption(
        "a V the shop's own deductions do not reach",
        &["outside-own-deductions"],
        |shop, _| {
            let row = |v: i64, deduction: f64| Deduction {
                material: shop.parts[1].material.clone(),
                thickness: mm(3),
                v: mm(v),
                angle: Degrees::of(90.0),
                deduction: Length::from_mm(deduction),
            };
            shop.deductions = vec![row(18, 5.2), row(20, 5.4)];
        },
    ),
    corruption(
        "a bend at a station that is not there",
        // Its station unknown, nothing of the bend can be judged, nor what depends on it.
        &[
            "no-such-station",
            "wrong-steps",
            "wrong-change-work",
            "segments-do-not-add-up",
            "wrong-total",
            "wrong-objective",
        ],
        |_, plan| plan.brakes[0].runs[1].bends[0].station = 2,
    ),
    corruption("V 8t where 7t is most", &["v-opening"], |shop, _| {
        shop.rules.v_rules[1].most = 7.9;
        shop.rules.v_rules[1].least = 5.0;
    }),
    corruption(
        "a material that wants a wider V",
        &["v-opening"],
        |shop, _| {
            shop.materials[0].v_over_t = Some((10.0, 14.0));
        },
    ),
    corruption(
        "a radius of 3.0 asked, 2.4 made",
        &["inside-radius"],
        |shop, _| {
            shop.parts[0].bends[0].radius = Some(mm(3));
        },
    ),
    corruption(
        "a leg of 11.3 on V 16",
        &["flange-too-short", "gauge-x", "wrong-position"],
        |shop, _| {
            shop.parts[0].bends[0].leg = Length::from_mm(11.3);
            shop.brakes[0].gauge.x.from = mm(10);
            shop.brakes[1].gauge.x.from = mm(10);
        },
    ),
    corruption("springback beyond the tools", &["tool-angle"], |shop, _| {
        shop.materials[0].springback = Degrees::of(5.01);
    }),
    corruption(
        "a returned flange in a straight punch",
        &["punch-relief"],
        |shop, _| {
            shop.parts[0].bends[0].return_depth = mm(1);
        },
    ),
    corruption("a ram that stops too high", &["stroke"], |shop, _| {
        shop.brakes[0].stroke = mm(206);
    }),
    corruption(
        "a flange deeper than the daylight",
        &["daylight"],
        |shop, _| {
            shop.brakes[0].open_height = mm(359);
        },
    ),
    corruption(
        "longer than the frames, deeper than the throat",
        &["throat"],
        |shop, _| {
            shop.brakes[0].between_frames = mm(999);
            shop.brakes[0].throat = mm(39);
        },
    ),
    corruption(
        "a blank for another V",
        &["developed-for-another-v"],
        |shop, _| {
            shop.parts[0].developed_for_v = Some(mm(24));
        },
    ),
    corruption(
        "a brake less accurate than the part",
        &["angle-accuracy"],
        |shop, _| {
            shop.brakes[0].angle_accuracy = Degrees::of(1.01);
        },
    ),
    corruption("another tang", &["mount"], |shop, _| {
        shop.brakes[0].tang = "wedge".to_owned();
    }),
    corruption("another rail", &["mount"], |shop, _| {
        shop.brakes[1].die_mount = "tee".to_owned();
    }),
    corruption("too heavy for two", &["too-heavy"], |shop, _| {
        shop.rules.two_person_mass = Kilograms::of(1.8);
    }),
    corruption("a form nobody knows", &["force-form"], |shop, _| {
        shop.rules.force_form = "guess".to_owned();
    }),
    corruption("another form", &["wrong-force"], |shop, _| {
        shop.rules.force_form = "manual".to_owned();
    }),
    corruption("a force 0.2 % off", &["wrong-force"], |_, plan| {
        plan.brakes[0].runs[0].bends[0].force = Kilonewtons::of(150.3);
    }),
    corruption(
        "a certificate stronger than typical",
        &["wrong-force"],
        |shop, _| {
            shop.orders[0].certificate = Some(Megapascals::of(410.0));
        },
    ),
    corruption(
        "a brake of 224 kN",
        &["force", "off-centre", "line-load"],
        |shop, _| {
            shop.brakes[0].force = Kilonewtons::of(224.0);
        },
    ),
    corruption("a die that bears 224 kN/m", &["line-load"], |shop, _| {
        if let Some(Profile::Die(die)) = shop.profiles.last_mut() {
            die.load = kn_m(224.0);
        }
    }),
    corruption("a clamp that bears 149 kN/m", &["line-load"], |shop, _| {
        shop.brakes[1].clamp_load = kn_m(149.0);
    }),
    corruption("drives close together", &["off-centre"], |shop, _| {
        shop.brakes[0].drive_span = mm(340);
    }),
    corruption("a gauge X 0.02 mm off", &["wrong-position"], |_, plan| {
        plan.brakes[0].runs[0].bends[0].x += Length::from_mm(0.02);
    }),
    corruption("a radius 0.02 mm off", &["wrong-position"], |_, plan| {
        plan.brakes[0].runs[0].bends[0].radius += Length::from_mm(0.02);
    }),
    corruption("an X axis of 28 mm", &["gauge-x"], |shop, _| {
        shop.brakes[0].gauge.x.to = mm(37);
    }),
    corruption("an X axis fitted tomorrow", &["gauge-x"], |shop, _| {
        shop.brakes[0].gauge.x.fitted = "2027-03-23".parse().ok();
    }),
    corruption(
        "a lift without an R axis",
        &["gauge-r", "wrong-position"],
        |shop, _| {
            shop.parts[1].bends[0].lift = mm(12);
        },
    ),
    corruption("an R axis fitted tomorrow", &["gauge-r"], |shop, plan| {
        shop.parts[1].bends[0].lift = mm(12);
        plan.brakes[0].runs[1].bends[0].r = mm(12);
        let day = "2027-03-23".parse().ok();
        shop.brakes[0].gauge.r = Some(Axis {
            from: mm(0),
            to: mm(100),
            fitted: day,
        });
    }),
    corruption(
        "a flat edge gauged a millimetre up",
        &["gauge-height"],
        |shop, plan| {
            shop.parts[1].bends[0].line = Some(mm(37));
            plan.brakes[0].runs[1].bends[0].r = mm(1);
        },
    ),
    corruption(
        "a fold by nothing along the edge at the gauge",
        &["nothing-to-gauge", "wrong-cycle"],
        |shop, plan| {
            let bend = &mut shop.parts[1].bends[0];
            (bend.angle, bend.line) = (Degrees::of(180.0), Some(mm(0)));
            plan.brakes[0].runs[1].bends[0].x = bend.leg;
        },
    ),
    corruption(
        "a Z gauged level on the leg that hangs",
        &["gauge-height", "gauge-r"],
        |shop, _| {
            let part = &mut shop.parts[2];
            part.blank.1 = mm(112);
            part.bends[0].line = Some(mm(38));
            (part.bends[1].line, part.bends[1].edge) = (Some(mm(74)), Edge::A);
        },
    ),
    corruption("a taper without X1 and X2", &["gauge-taper"], |shop, _| {
        shop.parts[1].bends[0].taper = Degrees::of(1.0);
    }),
    corruption("17.46 mm of taper on 17 mm", &["gauge-taper"], |shop, _| {
        shop.parts[1].bends[0].taper = Degrees::of(1.0);
        shop.brakes[0].gauge.x_difference = Some(Axis {
            from: mm(0),
            to: mm(17),
            fitted: None,
        });
    }),
    corruption("one finger by hand", &["fingers"], |shop, _| {
        shop.brakes[0].gauge.fingers = 1;
    }),
    corruption(
        "a bend of 1001 on 1000",
        &["station-too-short"],
        |shop, plan| {
            shop.parts[1].bends[0].length = mm(1_001);
            plan.brakes[0].runs[1].bends[0].force = Kilonewtons::of(225.225);
        },
    ),
    corruption(
        "a box of 999 over a punch of 1000",
        &["punch-too-long-for-box"],
        |shop, _| {
            shop.parts[1].bends[0].inside = Some(mm(999));
        },
    ),
    corruption(
        "returned sides without horns",
        &["horns-missing"],
        |shop, _| {
            shop.parts[1].bends[0].side_return = mm(5);
        },
    ),
    corruption(
        "a program that is not proven",
        &[
            "program-not-followed",
            "wrong-steps",
            "wrong-change-work",
            "segments-do-not-add-up",
            "wrong-total",
            "wrong-objective",
        ],
        |_, plan| plan.brakes[0].runs[1].program = Some("PRG-3".to_owned()),
    ),
    corruption(
        "a proven setup longer than the station",
        &["program-not-followed", "wrong-cycle"],
        |shop, _| shop.setups[0].stations[0].length = mm(1_001),
    ),
    corruption(
        "a proven setup whose program is not named",
        &[
            "program-missing",
            "wrong-cycle",
            "wrong-steps",
            "wrong-change-work",
            "segments-do-not-add-up",
            "wrong-total",
            "wrong-objective",
        ],
        |_, plan| plan.brakes[1].runs[0].program = None,
    ),
    corruption(
        "a part only proven elsewhere",
        &["proven-only"],
        |shop, _| {
            shop.parts[1].proven_only = true;
        },
    ),
    corruption(
        "a cycle 3 ms off",
        &[
            "wrong-cycle",
            "wrong-run-time",
            "segments-do-not-add-up",
            "wrong-total",
        ],
        |_, plan| plan.brakes[0].runs[0].cycle_ms -= 3,
    ),
    corruption("a slower gauge", &["wrong-cycle"], |shop, _| {
        shop.rules.place_seconds = 5.003;
    }),
    corruption("a run a second longer", &["wrong-run-time"], |_, plan| {
        plan.brakes[0].runs[0].run_time.0 += 1;
    }),
];

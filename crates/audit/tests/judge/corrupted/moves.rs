//! Die blocks turned and stations slid: the plan of `moves`, one thing made wrong at a time.

use super::{Corruption, corruption};
use crate::blocks::as_block;
use crate::moves::{moved_to, moves, showing, slid, turned};
use crate::shop::{mm, profile_id, section_id};
use model::{Plan, Profile, Run, Shop, Station, StepKind};
use units::Length;

/// The three runs of that plan instead of the usual one.
fn start<'p>(shop: &mut Shop, plan: &'p mut Plan) -> &'p mut [Run] {
    (*shop, *plan) = moves();
    &mut plan.brakes[1].runs
}

/// Slides the short station to another place in B2-01, and back from there in B2-02.
fn first_slide(runs: &mut [Run], left: i64) {
    runs[0].changeover.slide[0].station.left = mm(left);
    runs[0].bed[0].left = mm(left);
    runs[1].changeover.slide[0].from = mm(left);
}

/// Slides the short station to another place in B2-02, where B2-03 turns it.
fn second_slide(runs: &mut [Run], left: i64) {
    runs[1].changeover.slide[0].station.left = mm(left);
    runs[1].bed[0].left = mm(left);
    runs[2].changeover.turn[0].station.left = mm(left);
    runs[2].bed[0].left = mm(left);
}

/// Does the same to the station B2-03 turns and to it on the bed.
fn last_turned(runs: &mut [Run], alter: fn(&mut Station)) {
    alter(&mut runs[2].changeover.turn[0].station);
    alter(&mut runs[2].bed[0]);
}

pub(super) const CORRUPTIONS: &[Corruption] = &[
    corruption("slid twice", &["under-two-heads"], |shop, plan| {
        let slide = &mut start(shop, plan)[1].changeover.slide;
        slide.push(slide[0].clone());
    }),
    corruption("turned and slid", &["under-two-heads"], |shop, plan| {
        let run = &mut start(shop, plan)[0];
        let long = showing(&run.bed[1], 16);
        run.changeover.slide.push(slid(1_000, &long));
    }),
    corruption(
        "taken off and turned",
        &[
            "under-two-heads",
            "wrong-bed",
            "wrong-steps",
            "wrong-change-work",
            "segments-do-not-add-up",
            "wrong-total",
            "wrong-objective",
        ],
        |shop, plan| {
            let run = &mut start(shop, plan)[2];
            run.changeover.remove = vec![showing(&run.bed[0], 16)];
        },
    ),
    corruption("kept and turned", &["wrong-keep"], |shop, plan| {
        let run = &mut start(shop, plan)[2];
        run.changeover.keep.insert(0, showing(&run.bed[0], 16));
    }),
    corruption("kept and slid", &["wrong-keep"], |shop, plan| {
        let run = &mut start(shop, plan)[1];
        run.changeover.keep.insert(0, run.bed[0].clone());
    }),
    corruption("under no head", &["wrong-keep"], |shop, plan| {
        start(shop, plan)[1].changeover.keep.clear();
    }),
    corruption(
        "turned on the bed alone",
        &[
            "wrong-keep",
            "wrong-bed",
            "wrong-steps",
            "wrong-change-work",
            "empty-change-takes-time",
            "segments-do-not-add-up",
            "wrong-total",
            "wrong-objective",
            "batch-split",
        ],
        |shop, plan| start(shop, plan)[2].changeover.turn.clear(),
    ),
    corruption(
        "turned and not so on the bed",
        &["wrong-bed"],
        |shop, plan| {
            let run = &mut start(shop, plan)[2];
            run.bed[0] = showing(&run.bed[0], 16);
        },
    ),
    corruption(
        "slid and not so on the bed",
        &["wrong-bed"],
        |shop, plan| {
            start(shop, plan)[1].bed[0].left = mm(650);
        },
    ),
    corruption(
        "turned where nothing stands",
        &["not-on-the-bed"],
        |shop, plan| {
            let run = &mut start(shop, plan)[1];
            let mut other = moved_to(&run.bed[0], 3_000);
            other.punch_sections[0].section = section_id("PA-7");
            run.changeover.turn = vec![turned(24, &other)];
        },
    ),
    corruption(
        "slid from where nothing stands",
        &["not-on-the-bed"],
        |shop, plan| {
            let run = &mut start(shop, plan)[2];
            let mut other = run.bed[0].clone();
            other.punch_sections[0].section = section_id("PA-7");
            run.changeover.slide = vec![slid(3_000, &other)];
        },
    ),
    corruption(
        "turned from another V",
        &["turned-otherwise"],
        |shop, plan| {
            start(shop, plan)[0].changeover.turn[0].from = profile_id("D8");
        },
    ),
    corruption(
        "turned under another punch",
        &["turned-otherwise"],
        |shop, plan| {
            start(shop, plan)[0].changeover.turn[0].station.punch = profile_id("PB");
        },
    ),
    corruption(
        "turned a nanometre aside",
        &["turned-otherwise"],
        |shop, plan| {
            start(shop, plan)[0].changeover.turn[0].station.left += Length::from_nanometres(1);
        },
    ),
    corruption(
        "turned with another punch section",
        &["turned-otherwise"],
        |shop, plan| {
            let station = &mut start(shop, plan)[0].changeover.turn[0].station;
            station.punch_sections[0].section = section_id("PA-6");
        },
    ),
    corruption(
        "turned with another die section",
        &["turned-otherwise"],
        |shop, plan| {
            let station = &mut start(shop, plan)[0].changeover.turn[0].station;
            station.die_sections[0].section = section_id("D16-1");
        },
    ),
    corruption(
        "turned and its punch too",
        &["turned-where-it-stands"],
        |shop, plan| {
            start(shop, plan)[0].changeover.turn[0].station.reversed = true;
        },
    ),
    corruption(
        "turned to a die of another block",
        &["not-of-its-block"],
        |shop, plan| {
            start(shop, plan);
            blocks(shop, [Some("BL"), Some("BX")]);
        },
    ),
    corruption(
        "turned to a die of no block",
        &["not-of-its-block"],
        |shop, plan| {
            start(shop, plan);
            blocks(shop, [Some("BL"), None]);
        },
    ),
    corruption(
        "turned from a die of no block",
        &["not-of-its-block"],
        |shop, plan| {
            start(shop, plan);
            blocks(shop, [None, Some("BL")]);
        },
    ),
    corruption(
        "a section that is no block's turned",
        &["not-of-its-block"],
        |shop, plan| {
            start(shop, plan);
            let mut sections = shop.sections.iter_mut();
            let section = sections.find(|section| section.id.as_str() == "D16-3");
            section.unwrap().profile = profile_id("D16");
        },
    ),
    corruption(
        "turned to a die nobody has",
        &["not-of-its-block"],
        |shop, plan| {
            last_turned(start(shop, plan), |station| station.die = profile_id("D99"));
        },
    ),
    corruption(
        "turned to the V it shows",
        &["turned-to-the-same-die"],
        |shop, plan| {
            last_turned(start(shop, plan), |station| *station = showing(station, 16));
        },
    ),
    corruption("slid from elsewhere", &["slid-otherwise"], |shop, plan| {
        start(shop, plan)[1].changeover.slide[0].from = mm(649);
    }),
    corruption(
        "slid under another punch",
        &["slid-otherwise"],
        |shop, plan| {
            start(shop, plan)[1].changeover.slide[0].station.punch = profile_id("PB");
        },
    ),
    corruption("turned as it is slid", &["slid-otherwise"], |shop, plan| {
        let station = &mut start(shop, plan)[0].changeover.slide[0].station;
        *station = showing(station, 24);
    }),
    corruption(
        "slid with another punch section",
        &["slid-otherwise"],
        |shop, plan| {
            let station = &mut start(shop, plan)[0].changeover.slide[0].station;
            station.punch_sections[0].section = section_id("PA-7");
        },
    ),
    corruption(
        "slid with another die section",
        &["slid-otherwise"],
        |shop, plan| {
            let station = &mut start(shop, plan)[0].changeover.slide[0].station;
            station.die_sections[0].section = section_id("D16-9");
        },
    ),
    corruption(
        "slid and its punch turned",
        &["turned-where-it-stands"],
        |shop, plan| {
            start(shop, plan)[1].changeover.slide[0].station.reversed = true;
        },
    ),
    corruption("slid nowhere", &["slid-nowhere"], |shop, plan| {
        second_slide(start(shop, plan), 650);
    }),
    corruption(
        "slid past its neighbour",
        &["slid-past-another"],
        |shop, plan| {
            let runs = start(shop, plan);
            second_slide(runs, 2_100);
            for run in &mut runs[1..] {
                run.bed.swap(0, 1);
                run.bends[0].station = 0;
            }
        },
    ),
    corruption(
        "slid to 19 mm from a neighbour",
        &["station-gap"],
        |shop, plan| {
            first_slide(start(shop, plan), 681);
        },
    ),
    corruption(
        "slid onto a neighbour",
        &["stations-overlap"],
        |shop, plan| {
            first_slide(start(shop, plan), 701);
        },
    ),
    corruption(
        "slid to where a neighbour begins",
        &["stations-overlap", "wrong-bed"],
        |shop, plan| {
            first_slide(start(shop, plan), 1_000);
        },
    ),
    corruption("slid off the bed", &["off-the-bed"], |shop, plan| {
        second_slide(start(shop, plan), -1);
    }),
    corruption(
        "turned without the V it shows then",
        &["wrong-station-numbers"],
        |shop, plan| {
            start(shop, plan)[0].changeover.turn[0].station.v = mm(16);
        },
    ),
    corruption(
        "slid and longer than before",
        &["wrong-station-numbers"],
        |shop, plan| {
            start(shop, plan)[0].changeover.slide[0].station.length = mm(301);
        },
    ),
    corruption(
        "turned with nothing prepared",
        &["wrong-steps"],
        |shop, plan| {
            start(shop, plan)[2].changeover.steps.remove(0);
        },
    ),
    corruption(
        "slid with nothing prepared",
        &["wrong-steps"],
        |shop, plan| {
            start(shop, plan)[1].changeover.steps.remove(0);
        },
    ),
    corruption(
        "a heavy block turned like a light one",
        &["wrong-steps"],
        |shop, plan| {
            start(shop, plan)[2].changeover.steps[1].time.0 -= 120;
        },
    ),
    corruption(
        "a heavy punch counted where it stays",
        &["wrong-steps"],
        |shop, plan| {
            start(shop, plan)[2].changeover.steps[1].time.0 += 120;
        },
    ),
    corruption(
        "a heavy station slid as if lifted",
        &["wrong-steps"],
        |shop, plan| {
            start(shop, plan)[1].changeover.steps[1].time.0 += 240;
        },
    ),
    corruption(
        "slid before it is turned",
        &["wrong-steps"],
        |shop, plan| {
            start(shop, plan)[0].changeover.steps.swap(1, 2);
        },
    ),
    corruption(
        "a slide that is called a turn",
        &["wrong-steps"],
        |shop, plan| {
            start(shop, plan)[1].changeover.steps[1].kind = StepKind::Turn;
        },
    ),
    corruption(
        "the guard not set for what is turned",
        &["wrong-steps"],
        |shop, plan| {
            start(shop, plan)[2].changeover.steps.remove(2);
        },
    ),
    corruption(
        "the guard set for what is slid",
        &["wrong-steps"],
        |shop, plan| {
            let steps = &mut start(shop, plan)[1].changeover.steps;
            let mut guard = steps[0].clone();
            (guard.kind, guard.time.0) = (StepKind::Guard, 60);
            steps.insert(2, guard);
        },
    ),
    corruption(
        "no first piece after a slide",
        &["wrong-steps"],
        |shop, plan| {
            start(shop, plan)[1].changeover.steps.truncate(2);
        },
    ),
    corruption(
        "no first piece after a turn",
        &["wrong-steps"],
        |shop, plan| {
            start(shop, plan)[2].changeover.steps.truncate(3);
        },
    ),
    corruption(
        "one batch over a slide",
        &["batch-not-new"],
        |shop, plan| {
            start(shop, plan)[1].batch = "B2-a".to_owned();
        },
    ),
    corruption("one batch over a turn", &["batch-not-new"], |shop, plan| {
        start(shop, plan)[2].batch = "B2-b".to_owned();
    }),
    corruption("a slide not counted", &["wrong-total"], |shop, plan| {
        start(shop, plan);
        plan.totals.changeovers -= 1;
    }),
    corruption(
        "an order in progress with its neighbour slid",
        &["in-progress-disturbed", "wrong-total"],
        |_, plan| {
            let [first, second] = &mut plan.brakes[0].runs[..] else {
                unreachable!("B1 has two runs");
            };
            let aside = moved_to(&first.changeover.keep.remove(0), 300);
            first.changeover.slide = vec![slid(200, &aside)];
            first.bed[0] = aside.clone();
            second.changeover.remove = vec![aside];
        },
    ),
    corruption(
        "an order in progress with its neighbour turned",
        &["in-progress-disturbed", "wrong-total"],
        |shop, plan| {
            as_block(shop);
            let mut sections = shop.sections.iter_mut();
            let section = sections.find(|section| section.id.as_str() == "D16-2");
            section.unwrap().profile = profile_id("BL");
            let [first, second] = &mut plan.brakes[0].runs[..] else {
                unreachable!("B1 has two runs");
            };
            let other = showing(&first.changeover.keep.remove(0), 24);
            first.changeover.turn = vec![turned(16, &other)];
            first.bed[0] = other.clone();
            second.changeover.remove = vec![other];
        },
    ),
];

/// Makes the dies D16 and D24 faces of these blocks.
fn blocks(shop: &mut Shop, of: [Option<&str>; 2]) {
    let dies = shop
        .profiles
        .iter_mut()
        .filter_map(|profile| match profile {
            Profile::Die(die) => Some(die),
            Profile::Punch(_) => None,
        });
    for (die, block) in dies.zip(of) {
        die.block = block.map(profile_id);
    }
}

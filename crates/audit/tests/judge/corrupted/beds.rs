//! Stations, beds, sections and what a change costs.

use super::{Corruption, corruption};
use crate::plan::{delay_second_brake, station};
use crate::shop::{brake_id, mm, section_id};
use model::{Plan, SectionStatus, Station, StationPiece, StepKind};
use units::{Length, Seconds};

/// Does the same to the station B1-02 puts on and to it on the bed.
fn each_insert(plan: &mut Plan, alter: fn(&mut Station)) {
    let run = &mut plan.brakes[0].runs[1];
    alter(&mut run.changeover.insert[0]);
    alter(&mut run.bed[1]);
}

fn horn_between(station: &mut Station) {
    let piece = |id: &str, length: i64| StationPiece {
        section: section_id(id),
        length: mm(length),
        drawer: "drawer of PA".to_owned(),
    };
    station.punch_sections = vec![piece("PA-3", 300), piece("HL", 100), piece("PA-6", 1_000)];
    station.length = mm(1_400);
}

pub(super) const CORRUPTIONS: &[Corruption] = &[
    corruption(
        "a station without punch sections",
        &[
            "station-sections",
            "station-too-short",
            "line-load",
            "wrong-steps",
            "wrong-change-work",
            "segments-do-not-add-up",
            "wrong-total",
            "wrong-objective",
        ],
        |_, plan| each_insert(plan, |station| station.punch_sections.clear()),
    ),
    corruption(
        "a section of another profile",
        &["station-sections"],
        |shop, _| {
            shop.sections[3].profile = shop.sections[8].profile.clone();
        },
    ),
    corruption(
        "two sets in a station",
        &["station-sections", "off-centre"],
        |shop, plan| {
            // Two light sections where there was one of 1000: 30 s more would be due, so they are
            // free to move in this shop.
            shop.brakes[1].times.section_on = Seconds(0);
            shop.brakes[1].times.station_on = Seconds(240);
            let run = &mut plan.brakes[1].runs[0];
            let other = StationPiece {
                section: section_id("PA-7"),
                length: mm(300),
                drawer: "drawer of PA".to_owned(),
            };
            run.changeover.insert[0].punch_sections.push(other.clone());
            run.changeover.insert[0].length = mm(1_300);
            run.bed = run.changeover.insert.clone();
            let bed = run.bed.clone();
            let next = &mut plan.brakes[1].runs[1];
            next.bed.clone_from(&bed);
            next.changeover.keep = bed;
            // The station's centre moves 150 mm, which narrow drives do not bear.
            shop.brakes[1].drive_span = mm(40);
        },
    ),
    corruption(
        "a section out of service",
        &["section-out-of-service"],
        |shop, _| {
            shop.sections[3].status = SectionStatus::Out;
        },
    ),
    corruption(
        "a horn in the middle",
        &["horn-between-others"],
        |_, plan| {
            // Two sections more take 120 s, none being heavy saves 120 s. PA-3 goes from
            // one station to another within the change.
            each_insert(plan, horn_between);
        },
    ),
    corruption(
        "a V that the die does not have",
        &["wrong-station-numbers"],
        |_, plan| {
            plan.brakes[0].runs[1].bed[1].v = mm(16);
        },
    ),
    corruption(
        "a drawer where the section is not",
        &["wrong-station-numbers"],
        |_, plan| {
            plan.brakes[0].runs[1].changeover.insert[0].die_sections[0]
                .drawer
                .clear();
        },
    ),
    corruption(
        "a closed height not the tools'",
        &["wrong-station-numbers"],
        |_, plan| {
            plan.brakes[1].takedowns[0].remove[0].closed_height = mm(201);
        },
    ),
    corruption("a bed too short", &["off-the-bed"], |shop, _| {
        shop.brakes[0].bed = Length::from_mm(3_099.9);
    }),
    corruption(
        "a station over another",
        &["stations-overlap"],
        |_, plan| {
            each_insert(plan, |station| station.left = mm(1_999));
        },
    ),
    corruption(
        "stations 100 mm apart where 101 are needed",
        &["station-gap"],
        |shop, _| {
            shop.rules.station_gap = mm(101);
        },
    ),
    corruption(
        "an idle station at 6.27 of 6.25 mm",
        &["crash"],
        |shop, _| {
            shop.rules.crash_clearance = mm(2);
        },
    ),
    corruption(
        "an idle station with a shallow groove",
        &["crash"],
        |shop, _| {
            for profile in &mut shop.profiles {
                if let model::Profile::Die(die) = profile {
                    die.groove_depth = Length::from_mm(7.2);
                }
            }
        },
    ),
    corruption(
        "sections that never left the other brake",
        &[
            "section-on-two-brakes",
            "wrong-keep",
            "wrong-bed",
            "station-gap",
            "wrong-total",
            "wrong-objective",
        ],
        |_, plan| plan.brakes[1].takedowns.clear(),
    ),
    corruption(
        "a section that idles on the other bed",
        &["section-on-two-brakes"],
        |_, plan| {
            for run in &mut plan.brakes[1].runs {
                let changeover = &mut run.changeover;
                let stations = changeover.insert.iter_mut().chain(&mut changeover.keep);
                for station in stations.chain(&mut run.bed) {
                    station.punch_sections[0].section = section_id("PA-1");
                }
            }
        },
    ),
    corruption(
        "sections put on a second before the other brake lets go",
        &[
            "section-on-two-brakes",
            "takedown-for-nobody",
            "person-in-two-places",
        ],
        |_, plan| delay_second_brake(plan, 884),
    ),
    corruption(
        "one section in two stations",
        &[
            "section-twice-on-bed",
            "wrong-steps",
            "wrong-change-work",
            "segments-do-not-add-up",
            "wrong-total",
            "wrong-objective",
        ],
        |shop, plan| {
            shop.brakes[0].bed = mm(5_000);
            let again = station(3_200, 24, "PA-2", "D24-1");
            let run = &mut plan.brakes[0].runs[1];
            run.changeover.insert.push(again.clone());
            run.bed.push(again);
        },
    ),
    corruption(
        "taking off what is not there",
        &[
            "not-on-the-bed",
            "wrong-keep",
            "wrong-bed",
            "wrong-steps",
            "wrong-change-work",
            "segments-do-not-add-up",
            "wrong-total",
            "wrong-objective",
        ],
        |_, plan| plan.brakes[0].runs[1].changeover.remove[0].left += mm(1),
    ),
    corruption(
        "a straight punch put on reversed",
        &["punch-cannot-turn"],
        |_, plan| each_insert(plan, |station| station.reversed = true),
    ),
    corruption(
        "an idle station turned while it stands",
        &["turned-where-it-stands"],
        |_, plan| plan.brakes[0].runs[1].bed[0].reversed = true,
    ),
    corruption(
        "a station taken down the other way round",
        &["turned-where-it-stands"],
        |_, plan| plan.brakes[1].takedowns[0].remove[0].reversed = true,
    ),
    corruption("nothing kept", &["wrong-keep"], |_, plan| {
        plan.brakes[0].runs[1].changeover.keep.clear();
    }),
    corruption(
        "a bed without its idle station",
        &["wrong-bed"],
        |_, plan| {
            let run = &mut plan.brakes[0].runs[1];
            run.bed.remove(0);
            run.bends[0].station = 0;
        },
    ),
    corruption("a bed from right to left", &["wrong-bed"], |_, plan| {
        let run = &mut plan.brakes[0].runs[1];
        run.bed.reverse();
        run.bends[0].station = 0;
    }),
    corruption("a step a second short", &["wrong-steps"], |_, plan| {
        plan.brakes[0].runs[1].changeover.steps[1].time.0 -= 1;
    }),
    corruption(
        "a program called up, not made",
        &["wrong-steps"],
        |_, plan| {
            plan.brakes[0].runs[1].changeover.steps[5].kind = StepKind::Program;
        },
    ),
    corruption(
        "approval before the first piece",
        &["wrong-steps"],
        |_, plan| {
            plan.brakes[1].runs[1].changeover.steps.swap(1, 2);
        },
    ),
    corruption(
        "a guard not set for new tools",
        &["wrong-steps"],
        |_, plan| {
            plan.brakes[1].runs[0].changeover.steps.remove(2);
        },
    ),
    corruption("work not the steps'", &["wrong-change-work"], |_, plan| {
        plan.brakes[1].takedowns[0].work.0 += 1;
    }),
    corruption(
        "a change without steps that takes a minute",
        &["empty-change-takes-time", "before-the-plan"],
        |_, plan| plan.brakes[0].runs[0].changeover.start.0 -= 60,
    ),
    corruption(
        "a takedown for a brake that takes nothing",
        &["takedown-for-nobody"],
        |_, plan| {
            plan.brakes[1].takedowns[0].wanted_by = brake_id("B2");
        },
    ),
];

//! One order of ten pieces alone on brake B2, whose tools are on its bed from the floor.

use crate::plan::{segment, steps};
use crate::shop::{at, brake_id, mm, order, order_id, person_id, profile_id, section_id, shop};
use model::*;
use std::collections::BTreeSet;
use units::*;

/// A station of one punch and one die section.
pub(crate) struct Standing {
    pub(crate) punch: &'static str,
    pub(crate) die: &'static str,
    pub(crate) left: i64,
    pub(crate) punch_section: &'static str,
    pub(crate) die_section: &'static str,
}

/// The section PA-5 over D16-3: a metre of V 16 in the middle of the bed.
pub(crate) const V16: Standing = Standing {
    punch: "PA",
    die: "D16",
    left: 1_500,
    punch_section: "PA-5",
    die_section: "D16-3",
};

/// The shop with this part and these stations on B2.
pub(crate) fn lone_shop(part: Part, stations: &[Standing]) -> Shop {
    let mut shop = shop();
    shop.orders = vec![order("O1", part.id.as_str(), 10, "12:00:00", 1)];
    shop.parts = vec![part];
    shop.setups.clear();
    shop.floor.running.clear();
    shop.floor.stations = stations
        .iter()
        .map(|standing| BedStation {
            brake: brake_id("B2"),
            punch: profile_id(standing.punch),
            die: profile_id(standing.die),
            left: mm(standing.left),
            reversed: false,
            punch_sections: vec![section_id(standing.punch_section)],
            die_sections: vec![section_id(standing.die_section)],
        })
        .collect();
    shop
}

/// A plan that makes its ten pieces with the hits and the cycle given: 60 s for the guard, 600 for
/// the program, two cycles for the first piece and 60 to approve it.
pub(crate) fn lone_plan(shop: &Shop, bends: Vec<BendUse>, cycle_ms: i64) -> Plan {
    let up = |milliseconds: i64| Seconds((milliseconds + 999) / 1_000);
    let first = up(2 * cycle_ms);
    let work = Seconds(60 + 600 + 60) + first;
    let start = at("06:00:00") + work;
    let run_time = up(10 * cycle_ms);
    let bed: Vec<Station> = shop
        .floor
        .stations
        .iter()
        .map(|s| standing(shop, s))
        .collect();
    let mut setting = segment("06:00:00", "06:00:00", &["M1"]);
    setting.end = start;
    let mut running = setting.clone();
    (running.start, running.end) = (start, start + run_time);
    running.crew = vec![person_id("M4")];
    let totals = Totals {
        runs: 1,
        changeover: work,
        run: run_time,
        objective: 60 * work.0,
        ..Totals::default()
    };
    let run = Run {
        name: "B2-01".to_owned(),
        order: order_id("O1"),
        part: shop.orders[0].part.clone(),
        quantity: 10,
        batch: "B2-a".to_owned(),
        changeover: Changeover {
            start: at("06:00:00"),
            end: start,
            work,
            segments: vec![setting],
            remove: Vec::new(),
            keep: bed.clone(),
            turn: Vec::new(),
            slide: Vec::new(),
            insert: Vec::new(),
            steps: steps(&setting_up(first)),
        },
        start,
        end: start + run_time,
        segments: vec![running],
        run_time,
        cycle_ms,
        bends,
        bed,
        program: None,
        ready: at("05:00:00"),
        due: at("12:00:00"),
        late: Seconds(0),
        pinned: false,
        reasons: Vec::new(),
    };
    let line = |brake: &str, runs| BrakePlan {
        brake: brake_id(brake),
        runs,
        takedowns: Vec::new(),
    };
    Plan {
        brakes: vec![line("B1", Vec::new()), line("B2", vec![run])],
        unplaced: Vec::new(),
        totals,
        bound: Bound { objective: None },
        ..crate::plan::plan()
    }
}

fn setting_up(first: Seconds) -> [(StepKind, i64); 4] {
    [
        (StepKind::Guard, 60),
        (StepKind::Programming, 600),
        (StepKind::FirstPiece, first.0),
        (StepKind::Approval, 60),
    ]
}

fn standing(shop: &Shop, station: &BedStation) -> Station {
    let piece = |id: &SectionId| {
        let section = shop.section(id).unwrap();
        StationPiece {
            section: id.clone(),
            length: section.length,
            drawer: section.drawer.clone(),
        }
    };
    let pieces = |ids: &[SectionId]| ids.iter().map(piece).collect::<Vec<_>>();
    let length = |pieces: &[StationPiece]| pieces.iter().map(|piece| piece.length).sum::<Length>();
    let punch_sections = pieces(&station.punch_sections);
    let die_sections = pieces(&station.die_sections);
    let die = shop.die(&station.die).unwrap();
    Station {
        punch: station.punch.clone(),
        die: station.die.clone(),
        v: die.v,
        left: station.left,
        reversed: station.reversed,
        length: length(&punch_sections).max(length(&die_sections)),
        punch_sections,
        die_sections,
        closed_height: shop.punch(&station.punch).unwrap().height + die.height,
    }
}

/// Asserts that just these rules are broken.
pub(crate) fn expect(what: &str, shop: &Shop, plan: &Plan, rules: &[&str]) {
    let verdict = audit::judge(shop, plan);
    let found: BTreeSet<&str> = verdict.violations.iter().map(|v| v.rule).collect();
    let expected: BTreeSet<&str> = rules.iter().copied().collect();
    assert_eq!(found, expected, "{what}: {:#?}", verdict.violations);
}

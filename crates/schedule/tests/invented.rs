//! Invented shops of every kind, timed at random: the judge accepts every plan, and the cost is the
//! plan's objective. Counts make sure that what is meant to occur does.

use audit::judge;
use chrono::{Offset, TimeZone};
use model::{Approval, Horn, Plan, Run, Shop};
use rand::SeedableRng;
use rand_pcg::Pcg64;
use schedule::{compile, lift};
use search::Problem as _;
use std::collections::BTreeMap;
use testkit::{Recipe, invent, random_sequences};
use units::Moment;

const SHOPS: u64 = 400;
const SEQUENCES: u64 = 4;
/// How often each thing must have occurred in a plan.
const OFTEN: u32 = 25;

/// What occurs in one plan.
fn occurrences(shop: &Shop, plan: &Plan) -> Vec<(&'static str, bool)> {
    let runs: Vec<(&units::BrakeId, &Run)> = plan
        .brakes
        .iter()
        .flat_map(|brake| brake.runs.iter().map(|run| (&brake.brake, run)))
        .collect();
    let order = |run: &Run| shop.order(&run.order);
    let any = |what: &dyn Fn(&units::BrakeId, &Run) -> bool| {
        runs.iter().any(|(brake, run)| what(brake, run))
    };
    let inspected = |run: &Run| {
        let approval = shop.part(&run.part).map(|part| part.approval);
        approval.is_some_and(|approval| approval != Approval::Own)
            && shop.rules.inspector_calendar.is_some()
            && run.changeover.work.0 > 0
    };
    vec![
        (
            "kit",
            any(&|_, run| order(run).is_some_and(|order| order.kit.is_some())),
        ),
        (
            "lots",
            any(&|_, run| order(run).is_some_and(|order| order.blanks.len() > 1)),
        ),
        (
            "deliveries",
            any(&|_, run| order(run).is_some_and(|order| order.deliveries.len() > 1)),
        ),
        (
            "after",
            any(&|_, run| order(run).is_some_and(|order| order.after.is_some())),
        ),
        (
            "tied",
            any(&|_, run| order(run).is_some_and(|order| order.brake.is_some())),
        ),
        (
            "certificate",
            any(&|_, run| order(run).is_some_and(|order| order.certificate.is_some())),
        ),
        (
            "two people",
            any(&|_, run| run.segments.iter().any(|segment| segment.crew.len() == 2)),
        ),
        ("inspector", any(&|_, run| inspected(run))),
        ("in progress", any(&|_, run| run.pinned)),
        ("proven", any(&|_, run| run.program.is_some())),
        (
            "several stations",
            any(&|_, run| {
                run.bends
                    .iter()
                    .any(|bend| bend.station != run.bends[0].station)
            }),
        ),
        (
            "idle station",
            any(&|_, run| (0..run.bed.len()).any(|s| run.bends.iter().all(|b| b.station != s))),
        ),
        ("horns", any(&|_, run| used_horns(shop, run))),
        (
            "taper",
            any(&|_, run| {
                shop.part(&run.part)
                    .is_some_and(|part| part.bends.iter().any(|b| b.taper.get() > 0.0))
            }),
        ),
        ("cut by a pause", any(&|_, run| run.segments.len() > 1)),
        (
            "takedown",
            plan.brakes.iter().any(|brake| !brake.takedowns.is_empty()),
        ),
        ("late", plan.totals.late_orders > 0),
        ("overtime", plan.totals.overtime.0 > 0),
        ("unplaced", plan.totals.unplaced_orders > 0),
        (
            "waits for a brake that is down",
            any(&|brake, run| {
                shop.floor
                    .down
                    .iter()
                    .any(|d| d.brake == *brake && d.window.end <= run.start)
            }),
        ),
        (
            "over a clock change",
            any(&|_, run| offset(shop, run.start) != offset(shop, run.end)),
        ),
        (
            "behind a closed day",
            any(&|_, run| behind_closed_day(shop, run)),
        ),
    ]
}

/// Whether a station in use ends in horn sections.
fn used_horns(shop: &Shop, run: &Run) -> bool {
    let horn = |piece: &model::StationPiece| {
        shop.section(&piece.section)
            .is_some_and(|section| section.horn != Horn::None)
    };
    run.bends
        .iter()
        .any(|bend| run.bed[bend.station].punch_sections.iter().any(horn))
}

/// Seconds east of Greenwich.
fn offset(shop: &Shop, at: Moment) -> i32 {
    let utc = chrono::DateTime::from_timestamp(at.0, 0)
        .unwrap_or_default()
        .naive_utc();
    shop.zone
        .offset_from_utc_datetime(&utc)
        .fix()
        .local_minus_utc()
}

fn behind_closed_day(shop: &Shop, run: &Run) -> bool {
    let utc = chrono::DateTime::from_timestamp(run.end.0, 0).unwrap_or_default();
    let day = utc.with_timezone(&shop.zone).date_naive();
    shop.calendars
        .iter()
        .any(|calendar| calendar.closed.iter().any(|closed| closed.date < day))
}

#[test]
fn random_sequences_of_invented_shops_are_accepted() {
    let mut counted: BTreeMap<&str, u32> = BTreeMap::new();
    for seed in 0..SHOPS {
        let shop = invent(&Recipe::anything(seed));
        let (problem, _) = compile(&shop, shop.as_of.unwrap_or_default());
        let mut scratch = problem.scratch();
        for round in 0..SEQUENCES {
            let mut rng = Pcg64::seed_from_u64(seed * 1_000 + round);
            let leave_out = if round == 3 { 5 } else { 0 };
            let sequences = random_sequences(&problem, leave_out, &mut rng);
            let plan = lift(&problem, &mut scratch, &sequences);
            let verdict = judge(&shop, &plan);
            assert!(
                verdict.accepted(),
                "seed {seed}, round {round}: {:#?}",
                verdict.violations
            );
            let cost = problem.cost(&mut scratch, &sequences, i64::MAX);
            assert_eq!(plan.totals.objective, cost, "seed {seed}, round {round}");
            for (what, occurs) in occurrences(&shop, &plan) {
                *counted.entry(what).or_default() += u32::from(occurs);
            }
        }
    }
    println!("{counted:#?}");
    let rare: Vec<_> = counted
        .iter()
        .filter(|(_, count)| **count < OFTEN)
        .collect();
    assert!(rare.is_empty(), "{rare:?}");
}

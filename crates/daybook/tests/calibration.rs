//! Invented truths are found again among a fifth of gross errors, and seldom one that is not there.

#![allow(clippy::expect_used)] // helpers of tests fail by it

use daybook::calibration::{part_offer, step_offers};
use daybook::{ActualChange, ActualRun, Calibrated};
use model::StepKind;
use rand::{RngExt, SeedableRng};
use rand_pcg::Pcg64;
use units::{BrakeId, PartId};

/// A share of gross errors: an interruption of one to eight times the planned time, or a report of
/// an end at once.
const GROSS: f64 = 0.2;
/// Ordinary relative error, one standard deviation.
const NOISE: f64 = 0.12;

fn brake() -> BrakeId {
    BrakeId::new("B1").expect("an id")
}

/// About normal: the sum of twelve uniform ones less six.
fn normal(dice: &mut Pcg64) -> f64 {
    (0..12).map(|_| dice.random_range(0.0..1.0)).sum::<f64>() - 6.0
}

#[allow(clippy::cast_possible_truncation)]
fn whole(seconds: f64) -> i64 {
    seconds.round() as i64
}

fn measured(truth: f64, planned: f64, dice: &mut Pcg64) -> f64 {
    if dice.random_range(0.0..1.0) < GROSS {
        return if dice.random_range(0..5) == 0 {
            truth * 0.1
        } else {
            truth + planned * dice.random_range(1.0..8.0)
        };
    }
    truth * (1.0 + NOISE * normal(dice)).max(0.2)
}

/// Changeovers of a brake on which planned times are to be multiplied so.
fn changes(truth: &[(StepKind, f64)], count: u64, dice: &mut Pcg64) -> Vec<ActualChange> {
    let factor = |kind: StepKind| {
        let known = truth.iter().find(|(of, _)| *of == kind);
        known.map_or(1.0, |(_, factor)| *factor)
    };
    (1..=count)
        .map(|number| {
            let mut planned = vec![(StepKind::Prepare, 180), (StepKind::Guard, 90)];
            planned.push((StepKind::TakeOff, dice.random_range(0..8) * 45));
            planned.push((StepKind::PutOn, dice.random_range(1..10) * 60));
            planned.push((StepKind::FirstPiece, dice.random_range(60..400)));
            if dice.random_range(0..3) == 0 {
                planned.push((StepKind::Slide, dice.random_range(1..4) * 40));
            }
            #[allow(clippy::cast_precision_loss)]
            let sum = |by: &dyn Fn(StepKind) -> f64| -> f64 {
                let parts = planned.iter();
                parts
                    .map(|(kind, seconds)| by(*kind) * *seconds as f64)
                    .sum()
            };
            let seconds = whole(measured(sum(&factor), sum(&|_| 1.0), dice));
            ActualChange {
                number,
                made_from: 0,
                brake: brake(),
                planned,
                seconds,
            }
        })
        .collect()
}

fn offered(truth: &[(StepKind, f64)], count: u64, seed: u64) -> Vec<(StepKind, f64, (f64, f64))> {
    let mut dice = Pcg64::seed_from_u64(seed);
    let changes = changes(truth, count, &mut dice);
    let changes: Vec<&ActualChange> = changes.iter().collect();
    let made = step_offers(&brake(), &changes).into_iter();
    made.map(|made| {
        assert!(made.evidence.error_after < made.evidence.error_before);
        assert!(made.evidence.events.len() >= 20);
        match made.what {
            Calibrated::Step(kind) => (kind, made.factor, (made.evidence.low, made.evidence.high)),
            Calibrated::Part(part) => unreachable!("{part}"),
        }
    })
    .collect()
}

#[test]
fn factors_of_steps_are_found_again() {
    let truth = [(StepKind::PutOn, 1.5), (StepKind::TakeOff, 0.7)];
    let (mut found, mut within, mut others) = (0_u64, 0_u64, 0_u64);
    let cases = 200;
    for seed in 0..cases {
        for (kind, factor, (low, high)) in offered(&truth, 400, seed) {
            assert!(low <= factor && factor <= high);
            match truth.iter().find(|(of, _)| *of == kind) {
                Some((_, truth)) => {
                    found += 1;
                    within += u64::from((factor / truth - 1.0).abs() < 0.15);
                }
                None => others += 1,
            }
        }
    }
    println!(
        "found {found} of {}, {within} within 15 %, {others} others",
        2 * cases
    );
    assert!(found >= 9 * cases * 2 / 10, "{found}");
    assert!(within * 100 >= found * 95, "{within} of {found}");
    assert!(others * 20 < cases, "{others}");
}

#[test]
fn a_factor_of_one_is_seldom_offered() {
    let mut wrong = 0;
    let (cases, sizes) = (200, [20, 60, 300]);
    for count in sizes {
        let offers = (0..cases).filter(|seed| !offered(&[], count, 7_000 + seed).is_empty());
        let offers = offers.count();
        println!("{count} changeovers: {offers} of {cases} with an offer");
        wrong = wrong.max(offers);
    }
    assert!(wrong * 20 < 200, "{wrong}");
}

#[test]
fn few_changeovers_are_not_enough() {
    let truth = [(StepKind::PutOn, 3.0)];
    assert_eq!(offered(&truth, 19, 1), Vec::new());
}

fn runs(truth: f64, count: u64, dice: &mut Pcg64) -> Vec<ActualRun> {
    (1..=count)
        .map(|number| ActualRun {
            number,
            made_from: 0,
            brake: brake(),
            part: PartId::new("BRACKET").expect("an id"),
            pieces: 40,
            planned_ms: 30_000,
            actual_ms: whole(measured(truth * 30_000.0, 30_000.0, dice)),
        })
        .collect()
}

#[test]
fn seconds_a_piece_are_found_again_and_seldom_invented() {
    let part = PartId::new("BRACKET").expect("an id");
    let offer = |truth: f64, count: u64, seed: u64| {
        let runs = runs(truth, count, &mut Pcg64::seed_from_u64(seed));
        let runs: Vec<&ActualRun> = runs.iter().collect();
        part_offer(&brake(), &part, &runs)
    };
    let (mut found, mut within) = (0, 0);
    for seed in 0..200 {
        if let Some(made) = offer(1.4, 40, seed) {
            found += 1;
            within += i32::from((made.factor / 42.0 - 1.0).abs() < 0.12);
        }
    }
    println!("found {found} of 200, {within} within 12 %");
    assert!(
        found >= 190 && within * 100 >= found * 95,
        "{found}, {within}"
    );
    for count in [8, 40, 200] {
        let wrong = (0..200)
            .filter(|seed| offer(1.0, count, 9_000 + seed).is_some())
            .count();
        println!("{count} runs: {wrong} of 200 with an offer");
        assert!(wrong * 20 < 200, "{count}: {wrong}");
    }
    assert_eq!(offer(3.0, 7, 1), None);
}

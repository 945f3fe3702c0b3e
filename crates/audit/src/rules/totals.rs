//! The plan's totals, and the one number that is made least.

use super::promises::Promises;
use super::told::disturbance;
use super::{Rule, broken};
use crate::case::Case;
use crate::change::{steps_of_run, steps_of_takedown, work};
use crate::cycle::run_seconds;
use crate::numbers::seconds_between;
use model::{Brake, Segment, Totals, Violation};
use std::collections::BTreeSet;

pub(super) const TOTALS: Rule = (
    "A183",
    "wrong-total",
    "a total is not what the plan's runs and changes add up to",
);
pub(super) const OBJECTIVE: Rule = (
    "A184",
    "wrong-objective",
    "the objective is not the sum of its terms",
);
pub(super) const BOUND: Rule = (
    "A185",
    "bound-above-objective",
    "the bound is negative or above the objective",
);
pub(super) const BASELINES: Rule = (
    "A186",
    "negative-baseline",
    "a baseline has a negative total",
);

/// Totals in integers that no plan overflows.
#[derive(Default)]
struct Wide {
    runs: i128,
    changeovers: i128,
    changeover: i128,
    run: i128,
    late_orders: i128,
    weighted_late: i128,
    overtime: i128,
    unplaced_orders: i128,
    unplaced_price: i128,
    moved: i128,
    other_brakes: i128,
}

pub(super) fn check(case: &Case, out: &mut Vec<Violation>) {
    let wide = add_up(case);
    let totals = &case.plan.totals;
    let lines = [
        ("runs", i128::from(totals.runs), wide.runs),
        (
            "changeovers",
            i128::from(totals.changeovers),
            wide.changeovers,
        ),
        (
            "changeover seconds",
            i128::from(totals.changeover.0),
            wide.changeover,
        ),
        ("run seconds", i128::from(totals.run.0), wide.run),
        (
            "late orders",
            i128::from(totals.late_orders),
            wide.late_orders,
        ),
        (
            "weighted late seconds",
            i128::from(totals.weighted_late.0),
            wide.weighted_late,
        ),
        (
            "overtime seconds",
            i128::from(totals.overtime.0),
            wide.overtime,
        ),
        (
            "unplaced orders",
            i128::from(totals.unplaced_orders),
            wide.unplaced_orders,
        ),
        ("moved seconds", i128::from(totals.moved.0), wide.moved),
        (
            "other brakes",
            i128::from(totals.other_brakes),
            wide.other_brakes,
        ),
    ];
    for (name, stated, expected) in lines {
        if stated != expected {
            broken(
                out,
                &TOTALS,
                "plan",
                format!("{name}: {stated} stated, {expected} added up"),
            );
        }
    }
    let objective = objective(case, &wide);
    if i128::from(totals.objective) != objective {
        let text = format!("{} stated, {objective} added up", totals.objective);
        broken(out, &OBJECTIVE, "plan", text);
    }
    if let Some(bound) = case.plan.bound.objective
        && !(0..=objective).contains(&i128::from(bound))
    {
        broken(
            out,
            &BOUND,
            "plan",
            format!("bound {bound}, objective {objective}"),
        );
    }
    check_baselines(case, out);
}

fn add_up(case: &Case) -> Wide {
    let mut wide = Wide::default();
    let mut overtime = |brake: Option<&Brake>, segments: &[Segment]| {
        wide.overtime += brake.map_or(0, |brake| overtime_seconds(case, brake, segments));
    };
    for takedown in &case.takedowns {
        overtime(takedown.brake, &takedown.takedown.segments);
    }
    for run in &case.runs {
        overtime(run.brake, &run.run.changeover.segments);
        overtime(run.brake, &run.run.segments);
    }
    for takedown in &case.takedowns {
        wide.changeover += work(&steps_of_takedown(case, takedown));
        wide.changeovers += i128::from(takedown.bed.moves_tools());
    }
    for run in &case.runs {
        wide.runs += 1;
        wide.run += run_seconds(case, run);
        wide.changeover += work(&steps_of_run(case, run));
        wide.changeovers += i128::from(run.bed.moves_tools());
    }
    let mut late_orders = BTreeSet::new();
    for (order, late) in Promises::of(case).all().filter(|(_, late)| *late > 0) {
        let weight = case
            .lookup
            .orders
            .get(order)
            .map_or(0, |order| order.weight);
        wide.weighted_late += i128::from(weight) * late;
        late_orders.insert(order);
    }
    wide.late_orders = count(late_orders.len());
    for (order, pieces) in case.unplaced.iter().filter(|(_, pieces)| **pieces > 0) {
        if let Some(order) = case.lookup.orders.get(order) {
            let whole =
                i128::from(order.weight) * i128::from(case.shop.rules.unplaced_minutes) * 3_600;
            let left = i128::from(case.shop.pieces_left(order)).max(1);
            let share = whole * i128::from(*pieces);
            wide.unplaced_price += share / left + i128::from(share % left > 0);
        }
        wide.unplaced_orders += 1;
    }
    let disturbance = disturbance(case);
    (wide.moved, wide.other_brakes) = (disturbance.moved, disturbance.other_brakes);
    wide
}

/// In sixtieths of a changeover second.
fn objective(case: &Case, wide: &Wide) -> i128 {
    let rules = &case.shop.rules;
    60 * wide.changeover
        + wide.weighted_late * i128::from(rules.late_hour_minutes)
        + wide.overtime * 6 * i128::from(rules.overtime_tenths)
        + wide.other_brakes * i128::from(rules.other_brake_minutes) * 3_600
        + wide.moved * i128::from(rules.moved_hour_minutes)
        + wide.unplaced_price
}

/// Seconds of the segments within overtime shifts of the brake's calendar.
fn overtime_seconds(case: &Case, brake: &Brake, segments: &[Segment]) -> i128 {
    let mut seconds = 0;
    for segment in segments {
        let mut from = case.moments_to_ask(brake, &[], segment.start, segment.end);
        from.push(segment.end);
        for pair in from.windows(2) {
            if let [start, end] = pair
                && case.hours.overtime(&brake.calendar, *start)
            {
                seconds += seconds_between(*start, *end);
            }
        }
    }
    seconds
}

fn check_baselines(case: &Case, out: &mut Vec<Violation>) {
    let baselines = &case.plan.baselines;
    let both = [
        ("due-date order", &baselines.due_date_order),
        ("grouped by die", &baselines.grouped_by_die),
    ];
    for (name, totals) in both {
        if is_negative(totals) {
            broken(
                out,
                &BASELINES,
                "plan",
                format!("{name}: a total is below zero"),
            );
        }
    }
}

fn is_negative(totals: &Totals) -> bool {
    let seconds = [
        totals.changeover,
        totals.run,
        totals.weighted_late,
        totals.overtime,
    ];
    totals.objective < 0 || seconds.iter().any(|seconds| seconds.0 < 0)
}

fn count(number: usize) -> i128 {
    i128::try_from(number).unwrap_or(i128::MAX)
}

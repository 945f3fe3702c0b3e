//! What measured times say about planned ones.
//!
//! Two things are planned with figures of the shop's own: the work of a changeover, step by step,
//! and the seconds a piece takes. People report when a changeover or a run began and ended; here
//! those times are held against the planned ones, and where they disagree enough and surely enough,
//! another figure is offered. Nothing is changed by an offer; a person takes it or not.
//!
//! *Steps of a changeover.* Only the time of the whole changeover is measured, so the factors of all
//! kinds of steps on a brake are found together: measured time ≈ Σ factor × planned time of the kind,
//! each changeover divided by its planned time, as errors grow with the work. Some changeovers take
//! far longer for reasons that have nothing to do with the planned times (a crane was away, somebody
//! forgot to report). Therefore the fit is an M-estimate: first Huber's, which has one solution, then
//! Tukey's biweight from there, which leaves gross errors out altogether (Huber, Robust Statistics,
//! 1981, chapter 7 `[memory]`; Beaton and Tukey, Technometrics 16, 1974 `[memory]`). Factors are drawn
//! toward 1 as by a prior of standard deviation [`PRIOR`]: kinds of steps that always occur together
//! cannot be told apart, and then keep their planned times. The interval is the estimate ± 2.6 standard
//! errors by Huber's covariance (same chapter), wide because several kinds are looked at on every
//! brake.
//!
//! *Seconds a piece.* The median over runs of a part on a brake, with the interval of order statistics
//! (sign test) that holds the true median with at least 99 %, whatever the distribution.
//!
//! Both stand up to a fifth of gross errors. There is no offer from fewer than [`LEAST_CHANGES`]
//! changeovers or [`LEAST_RUNS`] runs, none that differs from the planned time by less than
//! [`WORTH`], none whose interval holds the planned time, and none that would not have made the
//! median absolute error smaller (of a step: with the other kinds of steps as fitted).

mod median;
mod robust;

use crate::happening::{Calibrated, Evidence};
use crate::shop::is_of_brake;
use crate::state::{ActualChange, ActualRun, Actuals, EventNumber, Factor};
use model::StepKind;
use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;
use units::{BrakeId, PartId};

/// Fewest changeovers with a kind of step from which its factor is offered.
pub const LEAST_CHANGES: usize = 20;
/// Fewest runs from which seconds a piece are offered.
pub const LEAST_RUNS: usize = 8;
/// Least difference from the planned time that is offered, as a share of it.
pub const WORTH: f64 = 0.05;
/// Standard deviation of a factor about 1 before anything is measured.
pub const PRIOR: f64 = 0.5;
/// Standard errors to either side of a step's factor.
const ERRORS: f64 = 2.6;
/// Latest observations looked at, for each brake or part.
const MOST: usize = 500;
/// A factor beyond these is a mistake in reporting rather than a time.
const SANE: (f64, f64) = (0.2, 5.0);

/// A calibration worth offering.
#[derive(Clone, Debug, PartialEq)]
pub struct Made {
    /// Brake.
    pub brake: BrakeId,
    /// What.
    pub what: Calibrated,
    /// Of a step: what planned times are multiplied by. Of a part: seconds a piece.
    pub factor: f64,
    /// What it rests on.
    pub evidence: Evidence,
}

/// Fewest observations an offer needs.
#[must_use]
pub fn least_observations(what: &Calibrated) -> usize {
    match what {
        Calibrated::Step(_) => LEAST_CHANGES,
        Calibrated::Part(_) => LEAST_RUNS,
    }
}

/// All that is worth offering. Of what is calibrated already, only times planned since count.
#[must_use]
pub fn offers(actuals: &Actuals, factors: &BTreeMap<(BrakeId, Calibrated), Factor>) -> Vec<Made> {
    let mut all = Vec::new();
    let brakes: BTreeSet<&BrakeId> = actuals.changes.iter().map(|one| &one.brake).collect();
    for brake in brakes {
        let in_force = factors
            .iter()
            .filter(|((of, what), _)| of == brake && matches!(what, Calibrated::Step(_)));
        let since = in_force.map(|(_, factor)| factor.since).max().unwrap_or(0);
        let of_brake = |one: &&Arc<ActualChange>| one.brake == *brake && one.made_from >= since;
        let changes = actuals.changes.iter().filter(of_brake);
        let changes = changes.map(Arc::as_ref).collect();
        all.extend(step_offers(brake, &latest(changes)));
    }
    let parts: BTreeSet<(&BrakeId, &PartId)> = actuals
        .runs
        .iter()
        .map(|run| (&run.brake, &run.part))
        .collect();
    for (brake, part) in parts {
        let what = Calibrated::Part(part.clone());
        let factor = factors.get(&(brake.clone(), what));
        let since = factor.map_or(0, |factor| factor.since);
        let alike = |run: &&Arc<ActualRun>| {
            run.brake == *brake && run.part == *part && run.made_from >= since
        };
        let runs = actuals.runs.iter().filter(alike).map(Arc::as_ref).collect();
        all.extend(part_offer(brake, part, &latest(runs)));
    }
    all
}

fn latest<T>(mut list: Vec<T>) -> Vec<T> {
    let more = list.len().saturating_sub(MOST);
    list.split_off(more)
}

/// Offers for the kinds of steps of one brake, from its changeovers.
#[must_use]
pub fn step_offers(brake: &BrakeId, changes: &[&ActualChange]) -> Vec<Made> {
    let kinds: BTreeSet<StepKind> = changes
        .iter()
        .flat_map(|change| change.planned.iter())
        .filter(|(_, seconds)| *seconds > 0)
        .map(|(kind, _)| *kind)
        .collect();
    let kinds: Vec<StepKind> = kinds.into_iter().collect();
    let rows: Vec<Row<'_>> = changes.iter().filter_map(|c| Row::of(c, &kinds)).collect();
    if rows.len() < LEAST_CHANGES.max(kinds.len() + 2) {
        return Vec::new();
    }
    let shares: Vec<&[f64]> = rows.iter().map(|row| row.shares.as_slice()).collect();
    let ratios: Vec<f64> = rows.iter().map(|row| row.ratio).collect();
    let Some(fit) = robust::fit(&shares, &ratios, PRIOR) else {
        return Vec::new();
    };
    let mut all = Vec::new();
    let found = kinds.iter().zip(fit.factors.iter().zip(&fit.errors));
    for (column, (kind, (&factor, &error))) in found.enumerate() {
        let with: Vec<&Row<'_>> = rows
            .iter()
            .filter(|row| row.shares.get(column).is_some_and(|share| *share > 0.0))
            .collect();
        let (low, high) = (factor - ERRORS * error, factor + ERRORS * error);
        let certain = low > 1.0 || high < 1.0;
        let sane = (SANE.0..=SANE.1).contains(&factor);
        let enough = with.len() >= LEAST_CHANGES;
        if !(is_of_brake(*kind) && certain && sane && enough && (factor - 1.0).abs() >= WORTH) {
            continue;
        }
        // With the other kinds as fitted: else two factors that offset each other would both seem to
        // make it worse.
        let error_of = |factor: f64| {
            let errors = with.iter().map(|row| {
                let mut factors = fit.factors.clone();
                if let Some(own) = factors.get_mut(column) {
                    *own = factor;
                }
                let shares = row.shares.iter().zip(&factors);
                let fitted: f64 = shares.map(|(share, factor)| share * factor).sum();
                row.planned * (row.ratio - fitted).abs()
            });
            median::median(&errors.collect::<Vec<f64>>())
        };
        let events = with.iter().map(|row| row.change.number).collect();
        let errors = (error_of(1.0), error_of(factor));
        let evidence = evidence(events, (low, high), errors);
        all.extend(made(brake, Calibrated::Step(*kind), factor, evidence));
    }
    all
}

/// One changeover, divided by its planned time.
struct Row<'a> {
    change: &'a ActualChange,
    /// Planned seconds.
    planned: f64,
    /// Share of each kind in the planned time.
    shares: Vec<f64>,
    /// Measured over planned time.
    ratio: f64,
}

impl Row<'_> {
    fn of<'a>(change: &'a ActualChange, kinds: &[StepKind]) -> Option<Row<'a>> {
        let total: i64 = change.planned.iter().map(|(_, seconds)| seconds).sum();
        if total <= 0 || change.seconds <= 0 {
            return None;
        }
        let planned = real(total);
        let share = |kind: &StepKind| {
            let of_kind = change.planned.iter().filter(|(known, _)| known == kind);
            real(of_kind.map(|(_, seconds)| seconds).sum()) / planned
        };
        Some(Row {
            change,
            planned,
            shares: kinds.iter().map(share).collect(),
            ratio: real(change.seconds) / planned,
        })
    }
}

/// The offer for one part on one brake, from its runs.
#[must_use]
pub fn part_offer(brake: &BrakeId, part: &PartId, runs: &[&ActualRun]) -> Option<Made> {
    if runs.len() < LEAST_RUNS {
        return None;
    }
    let seconds = |ms: i64| real(ms) / 1_000.0;
    let actual: Vec<f64> = runs.iter().map(|run| seconds(run.actual_ms)).collect();
    let planned: Vec<f64> = runs.iter().map(|run| seconds(run.planned_ms)).collect();
    let (low, high) = median::interval(&actual)?;
    let (found, before) = (median::median(&actual), median::median(&planned));
    let certain = low > before || high < before;
    let ratio = found / before;
    let sane = (SANE.0..=SANE.1).contains(&ratio);
    if !(before > 0.0 && certain && sane && (ratio - 1.0).abs() >= WORTH) {
        return None;
    }
    let pairs = actual.iter().zip(&planned);
    let old: Vec<f64> = pairs
        .map(|(actual, planned)| (actual - planned).abs())
        .collect();
    let new: Vec<f64> = actual.iter().map(|actual| (actual - found).abs()).collect();
    let events = runs.iter().map(|run| run.number).collect();
    let errors = (median::median(&old), median::median(&new));
    let evidence = evidence(events, (low, high), errors);
    made(brake, Calibrated::Part(part.clone()), found, evidence)
}

fn evidence(events: Vec<EventNumber>, interval: (f64, f64), errors: (f64, f64)) -> Evidence {
    Evidence {
        observations: u32::try_from(events.len()).unwrap_or(u32::MAX),
        low: interval.0,
        high: interval.1,
        error_before: errors.0,
        error_after: errors.1,
        known_until: events.iter().copied().max().unwrap_or(0),
        events,
    }
}

fn made(brake: &BrakeId, what: Calibrated, factor: f64, evidence: Evidence) -> Option<Made> {
    (evidence.error_after < evidence.error_before).then(|| Made {
        brake: brake.clone(),
        what,
        factor,
        evidence,
    })
}

/// Seconds and milliseconds as reported are far below 2^53.
#[allow(clippy::cast_precision_loss)]
fn real(whole: i64) -> f64 {
    whole as f64
}

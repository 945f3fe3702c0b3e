//! What another V opening would do to the size of the part.

use crate::part::Case;
use bending::radius;
use tooling::{Form, ToolingOption};
use units::{Length, ProfileId};

/// One V opening for all bends of a part.
#[derive(Clone, Debug, PartialEq)]
pub struct OpeningStudy {
    /// The opening; `None` for this setup's own openings as they are.
    pub v: Option<Length>,
    /// Dies of that opening that this brake takes.
    pub dies: Vec<ProfileId>,
    /// Over the thickness.
    pub over_t: f64,
    /// Whether the shop's rule allows it for this thickness.
    pub allowed: bool,
    /// Inside radius it gives, of the first bend made in a V.
    pub radius: Length,
    /// How much longer (or, negative, shorter) the legs of the part get in all, in mm; `None` where
    /// the shop's own deductions do not reach this V.
    pub error_mm: Option<f64>,
    /// Whether that is within the part's length tolerance.
    pub within: Option<bool>,
}

/// This setup's own openings first, then every other opening owned that this brake takes, rising.
///
/// The error is the sum of deductions less that of the V the blank was developed for; where the part
/// names none, less that of this setup.
pub(crate) fn openings(case: &Case<'_, '_>, option: &ToolingOption) -> Vec<OpeningStudy> {
    let Some(own) = own(case, option) else {
        return Vec::new();
    };
    let base = match blank_sum(option) {
        Some(blank) => blank,
        None => option.works.iter().map(|work| work.deduction_mm).sum(),
    };
    let mut out = vec![own];
    let used = |v: Length| {
        option.needs.iter().all(|need| {
            case.stock
                .die(need.die)
                .is_none_or(|die| die.flattening || die.v == v)
        })
    };
    for (v, dies) in owned(case) {
        if !used(v) {
            out.push(other(case, option, v, dies, base));
        }
    }
    out
}

/// The sum of deductions the blank was cut with, when the part says for which V.
fn blank_sum(option: &ToolingOption) -> Option<f64> {
    let known = option.works.iter().filter_map(|work| work.developed_mm);
    let mut known = known.peekable();
    known.peek().is_some().then(|| known.sum())
}

fn own(case: &Case<'_, '_>, option: &ToolingOption) -> Option<OpeningStudy> {
    let air = |hit: &&tooling::Hit| !matches!(hit.form, Form::Flatten { .. });
    let first = option.hits.iter().position(|hit| air(&hit))?;
    let die = case
        .stock
        .die(option.needs[option.need_of_hit[first]].die)?;
    let made: f64 = option.works.iter().map(|work| work.deduction_mm).sum();
    let error = blank_sum(option).map_or(0.0, |blank| made - blank);
    let mut dies: Vec<ProfileId> = option
        .needs
        .iter()
        .filter_map(|need| case.stock.die(need.die))
        .filter(|die| !die.flattening)
        .map(|die| die.id.clone())
        .collect();
    dies.sort();
    dies.dedup();
    Some(OpeningStudy {
        v: (dies.len() == 1).then_some(die.v),
        dies,
        over_t: die.v.mm() / case.job.part.thickness.mm(),
        allowed: true,
        radius: option.works[first].radius,
        error_mm: Some(error),
        within: Some(within(case, error)),
    })
}

/// Openings with sections in stock on mounts of this brake, rising, with their dies.
fn owned(case: &Case<'_, '_>) -> Vec<(Length, Vec<ProfileId>)> {
    let mut out: Vec<(Length, Vec<ProfileId>)> = Vec::new();
    for at in 0..case.stock.shop().profiles.len() {
        let Some(die) = case.stock.die(at) else {
            continue;
        };
        let fits = die.mount == case.job.brake.die_mount && !die.flattening;
        if !fits || case.stock.classes_of(at).is_empty() {
            continue;
        }
        match out.iter_mut().find(|(v, _)| *v == die.v) {
            Some((_, dies)) => dies.push(die.id.clone()),
            None => out.push((die.v, vec![die.id.clone()])),
        }
    }
    out.sort_by_key(|(v, _)| *v);
    out
}

fn other(
    case: &Case<'_, '_>,
    option: &ToolingOption,
    v: Length,
    dies: Vec<ProfileId>,
    base: f64,
) -> OpeningStudy {
    let job = case.job;
    let (least, _, most) = job.v_over_t();
    let over_t = v.mm() / job.part.thickness.mm();
    let mut radius = None;
    let mut sum = Some(0.0);
    for (at, hit) in option.hits.iter().enumerate() {
        if matches!(hit.form, Form::Flatten { .. }) {
            continue;
        }
        let tip = case
            .stock
            .punch(option.needs[option.need_of_hit[at]].punch)
            .map_or(Length::ZERO, |punch| punch.tip_radius);
        let natural = radius::inside(v, job.material.radius_share_of_v, tip);
        let inside = match hit.form {
            Form::Stepped { .. } => option.works[at].radius,
            _ => natural,
        };
        radius = radius.or(Some(inside));
        let deduction = job.deduction(hit, v, inside).ok();
        sum = sum.zip(deduction).map(|(sum, deduction)| sum + deduction);
    }
    let error = sum.map(|sum| sum - base);
    OpeningStudy {
        v: Some(v),
        dies,
        over_t,
        allowed: over_t >= least * (1.0 - 1e-9) && over_t <= most * (1.0 + 1e-9),
        radius: radius.unwrap_or(Length::ZERO),
        error_mm: error,
        within: error.map(|error| within(case, error)),
    }
}

fn within(case: &Case<'_, '_>, error_mm: f64) -> bool {
    error_mm.abs() <= case.job.part.length_tolerance.mm() * (1.0 + 1e-9)
}

//! One hit of a part at its station.

use crate::angle::{AngleStudy, angle_study};
use crate::force::{ForceStudy, Loading, force_study};
use crate::gauge::{GaugeStudy, gauge_study};
use crate::option::StationStudy;
use crate::part::Case;
use crate::radius::{RadiusStudy, radius_study};
use crate::section::{SectionStudy, section_study};
use bending::step::{Steps, steps};
use bending::{crowning, flange, radius, travel};
use model::{Bend, BendKind, Direction};
use tooling::{Form, Hit, ToolingOption};
use units::{Degrees, Length, ProfileId};

/// The numbers of one hit.
#[derive(Clone, Debug)]
pub struct HitStudy {
    /// Bend number.
    pub bend: u8,
    /// Hit within the bend, from 1.
    pub hit: u8,
    /// How it forms the sheet.
    pub form: Form,
    /// Included angle of the finished bend; zero for a hem.
    pub angle: Degrees,
    /// Bend length.
    pub length: Length,
    /// Which way.
    pub direction: Direction,
    /// Station, counted from 1.
    pub station: usize,
    /// Punch.
    pub punch: ProfileId,
    /// Die.
    pub die: ProfileId,
    /// V opening; `None` for flattening.
    pub v: Option<Length>,
    /// Loads and work.
    pub force: ForceStudy,
    /// Inside radius.
    pub radius: RadiusStudy,
    /// Springback and the tools' angles; `None` for flattening.
    pub opening: Option<AngleStudy>,
    /// The smallest leg this V holds; `None` for flattening.
    pub smallest_leg: Option<Length>,
    /// The leg.
    pub leg: Length,
    /// Deduction in millimetres; zero for flattening.
    pub deduction_mm: f64,
    /// Where the deduction comes from.
    pub deduction_from: DeductionFrom,
    /// Way of the punch from touching the sheet to the bottom, of one stroke.
    pub travel: Length,
    /// Ram seat to bed seat at the bottom of the stroke.
    pub ram_to_bed: Length,
    /// The range of the travel's formula that is left, if one is.
    pub travel_range_left: Option<&'static str>,
    /// What a bow of ram and bed would do; `None` for flattening and where the formula has no
    /// answer.
    pub crowning: Option<Crowning>,
    /// The strokes of a stepped radius.
    pub steps: Option<Steps>,
    /// The gauge.
    pub gauge: GaugeStudy,
    /// The section at this hit, when it is known and was asked for.
    pub section: Option<SectionStudy>,
}

/// Where a deduction comes from.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum DeductionFrom {
    /// The shop's own measurements.
    Measured,
    /// The shop's K-factor.
    KFactor(f64),
    /// K from DIN 6935, half of its k.
    Din6935(f64),
    /// Flattening takes none of its own.
    Nothing,
}

/// What a bow of ram and bed does to the angle in the middle of the bend.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Crowning {
    /// Degrees for each hundredth of a millimetre.
    pub degrees_per_hundredth: f64,
    /// The bow that uses up the part's angle tolerance, in mm.
    pub bow_within_tolerance_mm: f64,
}

/// Puts the numbers of one hit side by side; `None` when its station or tools are not known.
pub(crate) fn study_hit(
    case: &Case<'_, '_>,
    option: &ToolingOption,
    at: usize,
    stations: &[StationStudy],
    drawn: bool,
) -> Option<HitStudy> {
    let job = case.job;
    let (hit, work) = (option.hits.get(at)?, option.works.get(at)?);
    let station = *option.need_of_hit.get(at)?;
    let need = option.needs.get(station)?;
    let (punch, die) = (case.stock.punch(need.punch)?, case.stock.die(need.die)?);
    let bend = &job.part.bends[hit.bend];
    let flat = matches!(hit.form, Form::Flatten { .. });
    let v = (!flat).then_some(die.v);
    let natural = v.map(|v| radius::inside(v, job.material.radius_share_of_v, punch.tip_radius));
    let t = job.part.thickness;
    let (travel, range_left) = match (v, natural) {
        (Some(v), Some(natural)) => (
            travel::punch_travel(v, t, natural, hit.stroke_angle),
            travel::rests_on_straight_legs(v, t, natural, hit.stroke_angle).range_left(),
        ),
        _ => (Length::ZERO, None),
    };
    let loading = Loading {
        hit,
        work,
        punch,
        die,
        travel,
        punch_length: stations
            .get(station)
            .map_or(need.punch_span.least, |station| {
                let stand = station.stand.as_ref();
                stand.map_or(need.punch_span.least, |stand| stand.punch_length)
            }),
        punch_least: need.punch_span.least,
    };
    Some(HitStudy {
        bend: bend.number,
        hit: hit.number,
        form: hit.form,
        angle: bend.angle,
        length: bend.length,
        direction: bend.direction,
        station: station + 1,
        punch: punch.id.clone(),
        die: die.id.clone(),
        v,
        force: force_study(job, &loading),
        radius: radius_study(job, hit, work, punch, v),
        opening: v.map(|_| angle_study(job, hit, punch, die, natural.unwrap_or(work.radius))),
        smallest_leg: v.map(|v| flange::smallest(v, hit.stroke_angle)),
        leg: bend.leg,
        deduction_mm: work.deduction_mm,
        deduction_from: deduction_from(case, hit, bend, work.radius),
        travel,
        ram_to_bed: work.ram_to_bed,
        travel_range_left: range_left,
        crowning: v.and_then(|v| crowning_of(case, hit, v, natural?)),
        steps: stepped(case, hit, bend),
        gauge: gauge_study(case, option, at),
        section: drawn.then(|| section_study(case, option, at)).flatten(),
    })
}

fn deduction_from(case: &Case<'_, '_>, hit: &Hit, bend: &Bend, inside: Length) -> DeductionFrom {
    let job = case.job;
    if matches!(hit.form, Form::Flatten { .. }) {
        return DeductionFrom::Nothing;
    }
    let measured = bend.kind == BendKind::Air
        && job.shop.deductions.iter().any(|row| {
            row.material == job.material.id
                && row.thickness == job.part.thickness
                && (row.angle.get() - bend.angle.get()).abs() <= 0.01
        });
    match job.shop.rules.k_factor {
        _ if measured => DeductionFrom::Measured,
        Some(k) => DeductionFrom::KFactor(k),
        None => {
            let k = bending::developed::din_k(inside, job.part.thickness);
            DeductionFrom::Din6935(k / 2.0)
        }
    }
}

fn crowning_of(case: &Case<'_, '_>, hit: &Hit, v: Length, inside: Length) -> Option<Crowning> {
    let part = case.job.part;
    let each = crowning::degrees_per_mm(v, part.thickness, inside, hit.stroke_angle)?;
    Some(Crowning {
        degrees_per_hundredth: each / 100.0,
        bow_within_tolerance_mm: part.angle_tolerance.get() / each,
    })
}

fn stepped(case: &Case<'_, '_>, hit: &Hit, bend: &Bend) -> Option<Steps> {
    if !matches!(hit.form, Form::Stepped { .. }) {
        return None;
    }
    let whole = Degrees::of(180.0 - bend.angle.get());
    let depth = case.job.shop.rules.step_depth;
    steps(whole, bend.radius?, case.job.part.thickness, depth).ok()
}

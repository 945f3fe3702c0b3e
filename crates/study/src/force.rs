//! Forces, line loads, drives and work of one hit.

use bending::force::{self, ForceBand, ForceForm};
use bending::load;
use model::{Die, Punch};
use tooling::{BendWork, Form, Hit, Job};
use units::{Kilonewtons, KilonewtonsPerMetre, Length};

/// Mean force over a stroke as a share of its peak: the share of Oehler's own example.
pub const SHARE_OF_PEAK: f64 = 0.75;

/// Loads of one hit.
#[derive(Clone, Debug, PartialEq)]
pub struct ForceStudy {
    /// Force by the shop's form at the declared strength.
    pub force: Kilonewtons,
    /// Its factor C; of flattening, the shop's factor times Oehler's 1.5.
    pub factor: f64,
    /// The stated range of the form that is left, if one is.
    pub range_left: Option<&'static str>,
    /// Oehler's force at the upper end of the material's strength: a warning, never a limit.
    pub highest: Kilonewtons,
    /// What `highest` would pass.
    pub exceeded: Vec<Exceeded>,
    /// Work of bending, joules, all strokes of the hit.
    pub work_j: f64,
    /// Force over the shortest length that may carry it.
    pub line_load: KilonewtonsPerMetre,
    /// The link of the load path that bears least, and what it bears.
    pub weakest: (&'static str, KilonewtonsPerMetre),
    /// The limit the hit comes closest to, line load or rated force.
    pub closest: Overload,
    /// Farthest off centre that force and bed let the station stand.
    pub off_centre_most: Length,
    /// What the nearer and the farther drive then carry.
    pub drives: (Kilonewtons, Kilonewtons),
    /// What each drive is rated for.
    pub drive_most: Kilonewtons,
    /// Should it be bottomed: a band, a bound by common practice. `None` for flattening.
    pub bottoming: Option<ForceBand>,
    /// Should it be coined.
    pub coining: Option<ForceBand>,
}

/// A limit with the share of it that is used.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Overload {
    /// What gives way first.
    pub link: &'static str,
    /// Share of its limit, 1 at the limit.
    pub share: f64,
}

/// A limit that the upper bound would pass.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Exceeded {
    /// What would be overloaded.
    pub link: &'static str,
    /// The load.
    pub needed: f64,
    /// What it bears.
    pub most: f64,
    /// Unit of both.
    pub unit: &'static str,
}

/// A hit under its tools.
pub(crate) struct Loading<'a> {
    pub(crate) hit: &'a Hit,
    pub(crate) work: &'a BendWork,
    pub(crate) punch: &'a Punch,
    pub(crate) die: &'a Die,
    pub(crate) travel: Length,
    /// Punch length of the station as laid.
    pub(crate) punch_length: Length,
    /// Shortest punch that serves.
    pub(crate) punch_least: Length,
}

pub(crate) fn force_study(job: &Job<'_>, loading: &Loading<'_>) -> ForceStudy {
    let (work, hit) = (loading.work, loading.hit);
    let bend = &job.part.bends[hit.bend];
    let t = job.part.thickness;
    let form = ForceForm::from_name(&job.shop.rules.force_form).unwrap_or(ForceForm::Oehler);
    let air = |strength, form, v| force::air_bend(form, strength, bend.length, t, v);
    let strongest = job.material.strength_highest;
    let flat = matches!(hit.form, Form::Flatten { .. });
    let (highest, factor, range_left) = if flat {
        // A flattened hem is reckoned from its sheet in a V of 8 thicknesses.
        let v = Length::from_nanometres(t.nanometres() * 8);
        let times = job.shop.rules.flatten_factor;
        let most = air(strongest, ForceForm::Oehler, v).value.get() * times;
        (Kilonewtons::of(most), 1.5 * times, None)
    } else {
        let v = loading.die.v;
        let factor = force::factor(form, t, v);
        let most = air(strongest, ForceForm::Oehler, v).value;
        (most, factor.value, factor.validity.range_left())
    };
    let carried = bend.length.min(loading.punch_least);
    let path = job.load_path(loading.punch, loading.die);
    let line_load = force::line_load(work.force, carried);
    let weakest = job.weakest_link(loading.punch, loading.die);
    let room = (job.brake.bed - loading.punch_length)
        .half()
        .max(Length::ZERO);
    let off_centre_most = work.off_centre_most.min(room);
    ForceStudy {
        force: work.force,
        factor,
        range_left,
        highest,
        exceeded: exceeded(job, highest, carried, &path),
        work_j: force::bending_work(work.force, loading.travel, SHARE_OF_PEAK).value
            * f64::from(hit.strokes()),
        line_load,
        weakest,
        closest: closest(work.force, job.brake.force, line_load, weakest),
        off_centre_most,
        drives: load::off_centre_shares(work.force, job.brake.drive_span, off_centre_most),
        drive_most: Kilonewtons::of(job.brake.force.get() / 2.0),
        bottoming: (!flat).then(|| force::bottoming(work.force)),
        coining: (!flat).then(|| force::coining(work.force)),
    }
}

fn closest(
    force: Kilonewtons,
    rated: Kilonewtons,
    line: KilonewtonsPerMetre,
    weakest: (&'static str, KilonewtonsPerMetre),
) -> Overload {
    let of_line = line.get() / weakest.1.get();
    let of_force = force.get() / rated.get();
    if of_line > of_force {
        Overload {
            link: weakest.0,
            share: of_line,
        }
    } else {
        Overload {
            link: "force",
            share: of_force,
        }
    }
}

fn exceeded(
    job: &Job<'_>,
    highest: Kilonewtons,
    carried: Length,
    path: &[(&'static str, KilonewtonsPerMetre)],
) -> Vec<Exceeded> {
    let mut out = Vec::new();
    if highest > job.brake.force {
        out.push(Exceeded {
            link: "brake",
            needed: highest.get(),
            most: job.brake.force.get(),
            unit: "kN",
        });
    }
    let line = force::line_load(highest, carried);
    for &(link, most) in path {
        if line > most {
            out.push(Exceeded {
                link,
                needed: line.get(),
                most: most.get(),
                unit: "kN/m",
            });
        }
    }
    out
}

//! One bend at one punch and die on one brake: its numbers, or the limit it breaks.

use bending::force::{self, ForceForm};
use bending::{developed, flange, load, radius, stroke, travel};
use model::{Axis, Bend, Brake, Die, Limit, Material, Part, Punch, Refusal, Rules, Shop};
use units::{BrakeId, Degrees, Kilonewtons, KilonewtonsPerMetre, Length, Megapascals, Moment};

/// What is to be bent, and where.
#[derive(Clone, Copy, Debug)]
pub struct Job<'a> {
    /// The shop's rules.
    pub shop: &'a Shop,
    /// Brake.
    pub brake: &'a Brake,
    /// Part.
    pub part: &'a Part,
    /// Its material.
    pub material: &'a Material,
    /// Strength the limits are judged by.
    pub strength: Megapascals,
    /// The moment from which gauge axes must be fitted.
    pub at: Moment,
}

/// The numbers of one bend at one punch and die.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct BendWork {
    /// Air-bending force.
    pub force: Kilonewtons,
    /// Inside radius.
    pub radius: Length,
    /// Gauge X.
    pub x: Length,
    /// Deduction in millimetres.
    pub deduction_mm: f64,
    /// The same for the V the blank was developed for, when it was.
    pub developed_mm: Option<f64>,
    /// Distance between ram and bed seats at the bottom of the stroke.
    pub ram_to_bed: Length,
    /// Farthest the station's centre may be from the bed's.
    pub off_centre_most: Length,
    /// Stroke time.
    pub stroke_seconds: f64,
    /// The return part of it, in which the gauge may move.
    pub return_seconds: f64,
}

impl Job<'_> {
    fn rules(&self) -> &Rules {
        &self.shop.rules
    }

    /// A refusal on this brake.
    #[must_use]
    pub fn refuse(
        &self,
        limit: Limit,
        bend: Option<&Bend>,
        (needed, available, unit): (f64, f64, &'static str),
        text: String,
    ) -> Refusal {
        let brake: BrakeId = self.brake.id.clone();
        Refusal {
            brake,
            limit,
            bend: bend.map(|b| b.number),
            needed,
            available,
            unit,
            text,
        }
    }

    /// Smallest, preferred and largest V over thickness.
    #[must_use]
    pub fn v_over_t(&self) -> (f64, f64, f64) {
        let rules = &self.rules().v_rules;
        let row = rules
            .iter()
            .find(|row| self.part.thickness <= row.thickness_to)
            .or_else(|| rules.last());
        let (least, preferred, most) =
            row.map_or((6.0, 8.0, 12.0), |row| (row.least, row.preferred, row.most));
        match self.material.v_over_t {
            Some((least, most)) => (least, preferred.clamp(least, most), most),
            None => (least, preferred, most),
        }
    }

    /// Line load the brake itself bears: the weakest of clamp, holder, rail and bed.
    #[must_use]
    pub fn brake_line_load(&self) -> (&'static str, KilonewtonsPerMetre) {
        let brake = self.brake;
        let bed = brake
            .bed_load
            .unwrap_or_else(|| load::short_length_limit(brake.force, brake.between_frames));
        load::weakest_link(&[
            ("punch clamp", brake.clamp_load),
            ("punch holder", brake.holder_load),
            ("die rail", brake.rail_load),
            ("bed and ram", bed),
        ])
        .unwrap_or(("bed and ram", bed))
    }

    /// Deduction in millimetres for an inside radius, by the shop's K-factor or DIN 6935.
    #[must_use]
    pub fn deduction(&self, bend: &Bend, inside: Length) -> f64 {
        let thickness = self.part.thickness;
        match self.rules().k_factor {
            Some(k) => {
                let bend_angle = Degrees::of(180.0 - bend.angle.get());
                developed::deduction(bend_angle, inside, thickness, k)
            }
            None => developed::deduction_din(bend.angle, inside, thickness),
        }
    }

    /// Whether an axis is fitted by the moment the plan starts.
    #[must_use]
    pub fn fitted(&self, axis: &Axis) -> bool {
        axis.fitted
            .is_none_or(|day| local_day(self.shop, self.at) >= day)
    }
}

fn local_day(shop: &Shop, at: Moment) -> chrono::NaiveDate {
    chrono::DateTime::from_timestamp(at.0, 0)
        .map(|utc| utc.with_timezone(&shop.zone).date_naive())
        .unwrap_or_default()
}

/// Checks one bend at one punch and die against every limit that does not depend on its place on
/// the bed, in the order in which a setter would notice. The number of checks passed comes with a
/// refusal, so that the nearest miss can be told.
///
/// # Errors
/// The first limit broken, with the number needed and the number there is.
pub fn engineer(
    job: &Job<'_>,
    bend: &Bend,
    punch: &Punch,
    die: &Die,
) -> Result<BendWork, (u8, Box<Refusal>)> {
    let inside = radius::inside(die.v, job.material.radius_share_of_v, punch.tip_radius);
    let checks: [(u8, Option<Refusal>); 5] = [
        (0, mounts(job, bend, punch, die)),
        (1, v_opening(job, bend, die)),
        (2, tool_angle(job, bend, punch, die)),
        (3, shape(job, bend, punch, die, inside)),
        (4, heights(job, bend, punch, die, inside)),
    ];
    for (passed, refusal) in checks {
        if let Some(refusal) = refusal {
            return Err((passed, Box::new(refusal)));
        }
    }
    let force =
        loads(job, bend, punch, die).map_err(|(passed, refusal)| (passed, Box::new(refusal)))?;
    let deduction_mm = job.deduction(bend, inside);
    let x = Length::from_mm(bend.leg.mm() - deduction_mm / 2.0);
    if let Some(refusal) = gauge_x(job, bend, x) {
        return Err((8, Box::new(refusal)));
    }
    let travel = punch_travel(job, bend, die, inside);
    let (stroke_seconds, return_seconds) = stroke_times(job, bend, travel);
    let developed_mm = job
        .part
        .developed_for_v
        .map(|v| job.deduction(bend, radius::natural(v, job.material.radius_share_of_v)));
    Ok(BendWork {
        force,
        radius: inside,
        x,
        deduction_mm,
        developed_mm,
        ram_to_bed: travel::ram_to_bed(stack(job.brake, punch, die), travel, job.part.thickness),
        off_centre_most: load::max_offset(force, job.brake.force, job.brake.drive_span)
            .unwrap_or(Length::ZERO),
        stroke_seconds,
        return_seconds,
    })
}

fn mounts(job: &Job<'_>, bend: &Bend, punch: &Punch, die: &Die) -> Option<Refusal> {
    let brake = job.brake;
    if punch.tang == brake.tang && die.mount == brake.die_mount {
        return None;
    }
    let text = format!(
        "takes {} tangs on {} mounts; {} has {}, {} has {}",
        brake.tang, brake.die_mount, punch.id, punch.tang, die.id, die.mount
    );
    Some(job.refuse(Limit::Mount, Some(bend), (1.0, 0.0, "tool"), text))
}

fn v_opening(job: &Job<'_>, bend: &Bend, die: &Die) -> Option<Refusal> {
    let t = job.part.thickness.mm();
    let (least, _, most) = job.v_over_t();
    let ratio = die.v.mm() / t;
    let miss = if ratio < least * (1.0 - 1e-9) {
        (least * t, "at least")
    } else if ratio > most * (1.0 + 1e-9) {
        (most * t, "at most")
    } else {
        return None;
    };
    let text = format!(
        "thickness {t} mm asks for a V of {} {:.1} mm; {} has {}",
        miss.1, miss.0, die.id, die.v
    );
    Some(job.refuse(
        Limit::VOpening,
        Some(bend),
        (miss.0, die.v.mm(), "mm"),
        text,
    ))
}

fn tool_angle(job: &Job<'_>, bend: &Bend, punch: &Punch, die: &Die) -> Option<Refusal> {
    let over = job.material.springback.get() * (180.0 - bend.angle.get()) / 90.0;
    let needed = bend.angle.get() - over;
    let there = punch.angle.get().max(die.angle.get());
    if there <= needed * (1.0 + 1e-9) {
        return None;
    }
    let text = format!(
        "bend of {}° overbent for {over:.1}° springback needs tools of {needed:.1}° or sharper; {} over {} give {there}°",
        bend.angle.get(),
        punch.id,
        die.id
    );
    Some(job.refuse(Limit::ToolAngle, Some(bend), (needed, there, "°"), text))
}

fn shape(job: &Job<'_>, bend: &Bend, punch: &Punch, die: &Die, inside: Length) -> Option<Refusal> {
    let smallest = flange::smallest(die.v, bend.angle);
    if bend.leg < smallest {
        let text = format!(
            "leg of {} mm is shorter than V{} can hold, {:.1} mm",
            bend.leg,
            die.v,
            smallest.mm()
        );
        let numbers = (smallest.mm(), bend.leg.mm(), "mm");
        return Some(job.refuse(Limit::Flange, Some(bend), numbers, text));
    }
    if let Some(asked) = bend.radius {
        let off = (inside - asked).abs().mm();
        let allowed = job.rules().radius_tolerance * asked.mm();
        if off > allowed * (1.0 + 1e-9) + 1e-9 {
            let text = format!(
                "asks for inside radius {asked} mm; V{} and {} give {:.2} mm",
                die.v,
                punch.id,
                inside.mm()
            );
            let numbers = (asked.mm(), inside.mm(), "mm");
            return Some(job.refuse(Limit::Radius, Some(bend), numbers, text));
        }
    }
    if punch.relief < bend.return_depth {
        let text = format!(
            "a flange returned {} mm must clear the punch; {} clears {} mm",
            bend.return_depth, punch.id, punch.relief
        );
        let numbers = (bend.return_depth.mm(), punch.relief.mm(), "mm");
        return Some(job.refuse(Limit::Relief, Some(bend), numbers, text));
    }
    None
}

fn stack(brake: &Brake, punch: &Punch, die: &Die) -> Length {
    brake.upper_holder + punch.height + die.height + brake.lower_holder
}

fn punch_travel(job: &Job<'_>, bend: &Bend, die: &Die, inside: Length) -> Length {
    travel::punch_travel(die.v, job.part.thickness, inside, bend.angle)
}

fn heights(
    job: &Job<'_>,
    bend: &Bend,
    punch: &Punch,
    die: &Die,
    inside: Length,
) -> Option<Refusal> {
    let brake = job.brake;
    let stack = stack(brake, punch, die);
    let daylight = travel::daylight(brake.open_height, stack);
    let needed = bend.flange_height + job.rules().daylight_clearance;
    if daylight < needed {
        let text = format!(
            "a flange of {} mm needs {needed} mm of daylight with {} over {}; there is {daylight} mm",
            bend.flange_height, punch.id, die.id
        );
        let numbers = (needed.mm(), daylight.mm(), "mm");
        return Some(job.refuse(Limit::Daylight, Some(bend), numbers, text));
    }
    let travel = punch_travel(job, bend, die, inside);
    let bottom = travel::ram_to_bed(stack, travel, job.part.thickness);
    let closed = brake.open_height - brake.stroke;
    if bottom < closed {
        let text = format!(
            "the ram must come down to {:.1} mm above the bed with {} over {}; its stroke ends at {closed} mm",
            bottom.mm(),
            punch.id,
            die.id
        );
        let numbers = ((brake.open_height - bottom).mm(), brake.stroke.mm(), "mm");
        return Some(job.refuse(Limit::Stroke, Some(bend), numbers, text));
    }
    None
}

fn loads(
    job: &Job<'_>,
    bend: &Bend,
    punch: &Punch,
    die: &Die,
) -> Result<Kilonewtons, (u8, Refusal)> {
    let rules = job.rules();
    let form = ForceForm::from_name(&rules.force_form).unwrap_or(ForceForm::Oehler);
    let force = force::air_bend(form, job.strength, bend.length, job.part.thickness, die.v).value;
    if force > job.brake.force {
        let text = format!(
            "{:.0} mm of {} mm over V{} takes {:.0} kN; rated {:.0} kN",
            bend.length.mm(),
            job.part.thickness,
            die.v,
            force.get(),
            job.brake.force.get()
        );
        let numbers = (force.get(), job.brake.force.get(), "kN");
        return Err((6, job.refuse(Limit::Force, Some(bend), numbers, text)));
    }
    // A box station may be shorter than its bend by the rule's allowance, and then carries all of
    // the force on less length.
    let shortest = match bend.inside {
        Some(_) => (bend.length - rules.box_short).max(bend.length.half()),
        None => bend.length,
    };
    let there = force::line_load(force, shortest);
    let (brake_link, brake_load) = job.brake_line_load();
    let chain = [
        (brake_link, brake_load),
        ("punch", punch.load),
        ("die", die.load),
    ];
    let (link, most) = load::weakest_link(&chain).unwrap_or((brake_link, brake_load));
    if there > most {
        let text = format!(
            "{:.0} kN/m over V{} is more than the {link} bears, {:.0} kN/m",
            there.get(),
            die.v,
            most.get()
        );
        let numbers = (there.get(), most.get(), "kN/m");
        return Err((7, job.refuse(Limit::LineLoad, Some(bend), numbers, text)));
    }
    Ok(force)
}

fn gauge_x(job: &Job<'_>, bend: &Bend, x: Length) -> Option<Refusal> {
    let axis = &job.brake.gauge.x;
    if axis.from <= x && x <= axis.to {
        return None;
    }
    let limit = if x > axis.to { axis.to } else { axis.from };
    let text = format!(
        "gauge X must go to {:.1} mm; its range is {} to {} mm",
        x.mm(),
        axis.from,
        axis.to
    );
    Some(job.refuse(Limit::GaugeX, Some(bend), (x.mm(), limit.mm(), "mm"), text))
}

fn stroke_times(job: &Job<'_>, bend: &Bend, travel: Length) -> (f64, f64) {
    let rules = job.rules();
    let speeds = &job.brake.speeds;
    let approach = rules
        .approach
        .max(bend.flange_height + rules.daylight_clearance);
    let mute = job.brake.mute_height.min(approach);
    let bending_speeds = stroke::StrokeSpeeds {
        fast: speeds.fast,
        slow: speeds.slow,
        bend: speeds.bend,
        back: speeds.back,
    };
    let whole = stroke::stroke_seconds(bending_speeds, approach, mute, travel, rules.dwell_seconds);
    (whole, (approach + travel).mm() / speeds.back.get())
}

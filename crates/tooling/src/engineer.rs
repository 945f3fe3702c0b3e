//! One bend at one punch and die on one brake: its numbers, or the limit it breaks.

use crate::hits::{Form, Hit};
use bending::force::{self, ForceForm};
use bending::{developed, flange, load, radius, stroke, travel};
use model::{
    Axis, Bend, BendKind, Brake, Die, Edge, Limit, Material, Part, Punch, Refusal, Rules, Shop,
};
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
    /// Gauge R above the die's shoulders, as declared; a setup whose cross section is known has the
    /// height at which the stop meets the part instead.
    pub r: Length,
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

/// A limit broken, in numbers: what the search for tools compares thousands of.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Miss {
    /// Checks passed before it.
    pub passed: u8,
    /// Which limit.
    pub limit: Limit,
    /// The number needed.
    pub needed: f64,
    /// The number there is.
    pub available: f64,
    /// Unit of both.
    pub unit: &'static str,
}

impl Miss {
    fn unless(
        good: bool,
        passed: u8,
        limit: Limit,
        (needed, available, unit): (f64, f64, &'static str),
    ) -> Result<(), Miss> {
        if good {
            Ok(())
        } else {
            Err(Miss {
                passed,
                limit,
                needed,
                available,
                unit,
            })
        }
    }

    /// Whether it came nearer to success than another: more checks passed, or the same check
    /// missed by a smaller share.
    #[must_use]
    pub fn nearer_than(&self, other: &Miss) -> bool {
        let share =
            |miss: &Miss| (miss.needed - miss.available).abs() / miss.needed.abs().max(1e-9);
        self.passed > other.passed || (self.passed == other.passed && share(self) < share(other))
    }
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

    /// The load path and what each link of it bears.
    #[must_use]
    pub fn load_path(&self, punch: &Punch, die: &Die) -> [(&'static str, KilonewtonsPerMetre); 6] {
        let brake = self.brake;
        let bed = brake
            .bed_load
            .unwrap_or_else(|| load::short_length_limit(brake.force, brake.between_frames));
        [
            ("punch clamp", brake.clamp_load),
            ("punch holder", brake.holder_load),
            ("die rail", brake.rail_load),
            ("bed and ram", bed),
            ("punch", punch.load),
            ("die", die.load),
        ]
    }

    /// The weakest link of the load path.
    #[must_use]
    pub fn weakest_link(&self, punch: &Punch, die: &Die) -> (&'static str, KilonewtonsPerMetre) {
        let path = self.load_path(punch, die);
        load::weakest_link(&path).unwrap_or(path[0])
    }

    /// Deduction in millimetres of a hit in a V: measured by the shop, else by its K-factor or
    /// DIN 6935 at the inside radius.
    ///
    /// # Errors
    /// A miss when the shop has measured this material, thickness and angle, but not around this V.
    pub fn deduction(&self, hit: &Hit, v: Length, inside: Length) -> Result<f64, Miss> {
        let bend = &self.part.bends[hit.bend];
        if bend.kind == BendKind::Air
            && let Some(measured) = self.measured_deduction(bend, v)?
        {
            return Ok(measured);
        }
        let thickness = self.part.thickness;
        Ok(match self.rules().k_factor {
            Some(k) => {
                let bend_angle = Degrees::of(180.0 - hit.angle.get());
                developed::deduction(bend_angle, inside, thickness, k)
            }
            None => developed::deduction_din(hit.angle, inside, thickness),
        })
    }

    /// The shop's own deduction, interpolated between the V openings it was measured in.
    fn measured_deduction(&self, bend: &Bend, v: Length) -> Result<Option<f64>, Miss> {
        let rows = || {
            self.shop.deductions.iter().filter(|row| {
                row.material == self.material.id
                    && row.thickness == self.part.thickness
                    && (row.angle.get() - bend.angle.get()).abs() <= 0.01
            })
        };
        let below = rows().filter(|row| row.v <= v).max_by_key(|row| row.v);
        let above = rows().filter(|row| row.v >= v).min_by_key(|row| row.v);
        match (below, above) {
            (None, None) => Ok(None),
            (Some(row), None) | (None, Some(row)) => {
                let (passed, unit) = (8, "mm");
                let (needed, available) = (v.mm(), row.v.mm());
                Err(Miss {
                    passed,
                    limit: Limit::Developed,
                    needed,
                    available,
                    unit,
                })
            }
            (Some(low), Some(high)) => {
                let span = (high.v - low.v).mm();
                let share = if span > 0.0 {
                    (v - low.v).mm() / span
                } else {
                    0.0
                };
                Ok(Some(
                    low.deduction.mm() + share * (high.deduction - low.deduction).mm(),
                ))
            }
        }
    }

    /// Whether the cross section that a bend belongs to is known, so that clearances are computed
    /// and not declared; docs/rules.md section 2b.
    #[must_use]
    pub fn section_known(&self, bend: &Bend) -> bool {
        let across = |bend: &Bend| matches!(bend.edge, Edge::A | Edge::B);
        self.part
            .bends
            .iter()
            .filter(|other| across(other) == across(bend))
            .all(|other| other.line.is_some() && other.kind == BendKind::Air)
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

/// Checks one hit at one punch and die against every limit that does not depend on its place on
/// the bed, in the order in which a setter would notice. The number of checks passed comes with a
/// refusal, so that the nearest miss can be told.
///
/// # Errors
/// The first limit broken, with the number needed and the number there is; [`describe`] puts it
/// into words.
pub fn engineer(job: &Job<'_>, hit: &Hit, punch: &Punch, die: &Die) -> Result<BendWork, Miss> {
    let bend = &job.part.bends[hit.bend];
    mounts(job, punch, die)?;
    if let Form::Flatten { gap } = hit.form {
        return flatten(job, bend, gap, punch, die);
    }
    let no_v = punch.flattening || die.flattening;
    Miss::unless(!no_v, 0, Limit::Mount, (1.0, 0.0, "V"))?;
    let natural = radius::inside(die.v, job.material.radius_share_of_v, punch.tip_radius);
    v_opening(job, die)?;
    tool_angle(job, hit, punch, die)?;
    let inside = shape(job, hit, bend, punch, die, natural)?;
    let travel = travel::punch_travel(die.v, job.part.thickness, natural, hit.stroke_angle);
    let ram_to_bed = heights(job, bend, punch, die, travel - job.part.thickness)?;
    let form = ForceForm::from_name(&job.rules().force_form).unwrap_or(ForceForm::Oehler);
    let force = force::air_bend(form, job.strength, bend.length, job.part.thickness, die.v).value;
    loads(job, bend, punch, die, force)?;
    let deduction_mm = job.deduction(hit, die.v, inside)?;
    let x = gauge_x(job, bend, deduction_mm)?;
    let developed_mm = match job.part.developed_for_v {
        Some(v) => {
            let flat = match hit.form {
                Form::Stepped { .. } => inside,
                _ => radius::natural(v, job.material.radius_share_of_v),
            };
            Some(job.deduction(hit, v, flat)?)
        }
        None => None,
    };
    let (stroke_seconds, return_seconds) = stroke_times(job, bend, travel);
    Ok(BendWork {
        force,
        radius: inside,
        x,
        r: bend.lift,
        deduction_mm,
        developed_mm,
        ram_to_bed,
        off_centre_most: off_centre_most(job, force),
        stroke_seconds: stroke_seconds * f64::from(hit.strokes()),
        return_seconds,
    })
}

/// The second hit of a hem.
fn flatten(
    job: &Job<'_>,
    bend: &Bend,
    gap: Length,
    punch: &Punch,
    die: &Die,
) -> Result<BendWork, Miss> {
    let pair = punch.flattening && die.flattening;
    Miss::unless(
        pair,
        1,
        Limit::Flattening,
        (1.0, 0.0, "pair of flattening tools"),
    )?;
    let thickness = job.part.thickness;
    let above = -(thickness + thickness + gap);
    let ram_to_bed = heights(job, bend, punch, die, above)?;
    let v = Length::from_nanometres(thickness.nanometres() * 8);
    let air = force::air_bend(ForceForm::Oehler, job.strength, bend.length, thickness, v).value;
    let force = Kilonewtons::of(air.get() * job.rules().flatten_factor);
    loads(job, bend, punch, die, force)?;
    let (stroke_seconds, return_seconds) = stroke_times(job, bend, Length::ZERO);
    Ok(BendWork {
        force,
        radius: gap.half(),
        // The edge lies against the stop as for the sharp bend; whoever knows that one's V says where.
        x: bend.leg,
        r: bend.lift,
        deduction_mm: 0.0,
        developed_mm: None,
        ram_to_bed,
        off_centre_most: off_centre_most(job, force),
        stroke_seconds,
        return_seconds,
    })
}

fn off_centre_most(job: &Job<'_>, force: Kilonewtons) -> Length {
    load::max_offset(force, job.brake.force, job.brake.drive_span).unwrap_or(Length::ZERO)
}

fn mounts(job: &Job<'_>, punch: &Punch, die: &Die) -> Result<(), Miss> {
    let fits = punch.tang == job.brake.tang && die.mount == job.brake.die_mount;
    Miss::unless(fits, 0, Limit::Mount, (1.0, 0.0, "tool"))
}

fn v_opening(job: &Job<'_>, die: &Die) -> Result<(), Miss> {
    let t = job.part.thickness.mm();
    let (least, _, most) = job.v_over_t();
    let ratio = die.v.mm() / t;
    let wide_enough = ratio >= least * (1.0 - 1e-9);
    Miss::unless(
        wide_enough,
        1,
        Limit::VOpening,
        (least * t, die.v.mm(), "mm"),
    )?;
    let narrow_enough = ratio <= most * (1.0 + 1e-9);
    Miss::unless(
        narrow_enough,
        1,
        Limit::VOpening,
        (most * t, die.v.mm(), "mm"),
    )
}

fn tool_angle(job: &Job<'_>, hit: &Hit, punch: &Punch, die: &Die) -> Result<(), Miss> {
    let bend = &job.part.bends[hit.bend];
    // The sharp bend of a hem is not finished at its angle: springback does not matter.
    let over = match bend.kind {
        BendKind::Hem { .. } => 0.0,
        _ => job.material.springback.get() * (180.0 - hit.stroke_angle.get()) / 90.0,
    };
    let needed = hit.stroke_angle.get() - over;
    let there = punch.angle.get().max(die.angle.get());
    Miss::unless(
        there <= needed * (1.0 + 1e-9),
        2,
        Limit::ToolAngle,
        (needed, there, "°"),
    )
}

/// Flange, radius and relief; returns the inside radius the bend has in the end.
fn shape(
    job: &Job<'_>,
    hit: &Hit,
    bend: &Bend,
    punch: &Punch,
    die: &Die,
    natural: Length,
) -> Result<Length, Miss> {
    let smallest = flange::smallest(die.v, hit.stroke_angle);
    let numbers = (smallest.mm(), bend.leg.mm(), "mm");
    Miss::unless(bend.leg >= smallest, 3, Limit::Flange, numbers)?;
    let mut inside = natural;
    match (bend.kind, bend.radius) {
        (BendKind::Air, Some(asked)) => {
            let off = (natural - asked).abs().mm();
            let allowed = job.rules().radius_tolerance * asked.mm();
            let near = off <= allowed * (1.0 + 1e-9) + 1e-9;
            Miss::unless(near, 3, Limit::Radius, (asked.mm(), natural.mm(), "mm"))?;
        }
        (BendKind::Stepped, asked) => {
            inside = asked.unwrap_or(Length::ZERO);
            let numbers = (inside.mm(), natural.mm(), "mm");
            Miss::unless(inside >= natural, 3, Limit::Radius, numbers)?;
        }
        _ => {}
    }
    let numbers = (bend.return_depth.mm(), punch.relief.mm(), "mm");
    let cleared = punch.relief >= bend.return_depth || job.section_known(bend);
    Miss::unless(cleared, 3, Limit::Relief, numbers)?;
    Ok(inside)
}

fn stack(brake: &Brake, punch: &Punch, die: &Die) -> Length {
    brake.upper_holder + punch.height + die.height + brake.lower_holder
}

/// Daylight and stroke; returns the ram-to-bed distance at the bottom, where the tip is `below` the
/// shoulders.
fn heights(
    job: &Job<'_>,
    bend: &Bend,
    punch: &Punch,
    die: &Die,
    below: Length,
) -> Result<Length, Miss> {
    let brake = job.brake;
    let stack = stack(brake, punch, die);
    let daylight = travel::daylight(brake.open_height, stack);
    let needed = bend.flange_height + job.rules().daylight_clearance;
    let numbers = (needed.mm(), daylight.mm(), "mm");
    Miss::unless(daylight >= needed, 4, Limit::Daylight, numbers)?;
    let bottom = stack - below;
    let numbers = ((brake.open_height - bottom).mm(), brake.stroke.mm(), "mm");
    Miss::unless(
        bottom >= brake.open_height - brake.stroke,
        5,
        Limit::Stroke,
        numbers,
    )?;
    Ok(bottom)
}

fn loads(
    job: &Job<'_>,
    bend: &Bend,
    punch: &Punch,
    die: &Die,
    force: Kilonewtons,
) -> Result<(), Miss> {
    let numbers = (force.get(), job.brake.force.get(), "kN");
    Miss::unless(force <= job.brake.force, 6, Limit::Force, numbers)?;
    // A box station may be shorter than its bend by the rule's allowance, and then carries all of
    // the force on less length.
    let shortest = match bend.inside {
        Some(_) => (bend.length - job.rules().box_short).max(bend.length.half()),
        None => bend.length,
    };
    let there = force::line_load(force, shortest);
    let (_, most) = job.weakest_link(punch, die);
    Miss::unless(
        there <= most,
        7,
        Limit::LineLoad,
        (there.get(), most.get(), "kN/m"),
    )
}

fn gauge_x(job: &Job<'_>, bend: &Bend, deduction_mm: f64) -> Result<Length, Miss> {
    let x = Length::from_mm(bend.leg.mm() - deduction_mm / 2.0);
    let axis = &job.brake.gauge.x;
    let limit = if x > axis.to { axis.to } else { axis.from };
    let within = axis.from <= x && x <= axis.to;
    Miss::unless(within, 8, Limit::GaugeX, (x.mm(), limit.mm(), "mm"))?;
    Ok(x)
}

/// A miss in words, for a person.
#[must_use]
pub fn describe(job: &Job<'_>, bend: &Bend, punch: &Punch, die: &Die, miss: &Miss) -> Refusal {
    let (needed, there) = (miss.needed, miss.available);
    let (brake, part) = (job.brake, job.part);
    let tools = format!("{} over {}", punch.id, die.id);
    let text = match miss.limit {
        Limit::Mount => format!(
            "takes {} tangs on {} mounts; {} has {}, {} has {}",
            brake.tang, brake.die_mount, punch.id, punch.tang, die.id, die.mount
        ),
        Limit::VOpening => {
            let bound = if there < needed {
                "at least"
            } else {
                "at most"
            };
            let t = part.thickness;
            format!(
                "thickness {t} mm asks for a V of {bound} {needed:.1} mm; the nearest owned, {}, has {there}",
                die.id
            )
        }
        Limit::ToolAngle => format!(
            "a bend of {}° with its springback needs tools of {needed:.1}° or sharper; {tools} give {there}°",
            bend.angle.get()
        ),
        Limit::Flange => format!(
            "a leg of {} mm is shorter than V{} can hold, {needed:.1} mm",
            bend.leg, die.v
        ),
        Limit::Radius => {
            format!("asks for an inside radius of {needed} mm; {tools} give {there:.2} mm")
        }
        Limit::Relief => format!(
            "a flange returned {needed} mm must clear the punch; {} clears {there} mm",
            punch.id
        ),
        Limit::Daylight => format!(
            "a flange of {} mm needs {needed} mm of daylight with {tools}; there are {there} mm",
            bend.flange_height
        ),
        Limit::Stroke => {
            format!("the ram must come down {needed:.1} mm with {tools}; its stroke is {there} mm")
        }
        Limit::Force => format!(
            "{} mm of {} mm sheet over V{} takes {needed:.0} kN; rated {there:.0} kN",
            bend.length, part.thickness, die.v
        ),
        Limit::LineLoad => format!(
            "{needed:.0} kN/m over V{} is more than the {} bears, {there:.0} kN/m",
            die.v,
            job.weakest_link(punch, die).0
        ),
        Limit::Flattening => format!("{tools} do not flatten a hem"),
        Limit::Developed => format!(
            "the shop's own deductions for this sheet do not reach V{needed}; the nearest measured is V{there}"
        ),
        Limit::Collision => format!(
            "as bent so far, the part would reach {needed:.1} mm into the tools with {tools}"
        ),
        Limit::GaugeX => format!(
            "gauge X must go to {needed:.1} mm; its range is {} to {} mm",
            brake.gauge.x.from, brake.gauge.x.to
        ),
        _ => format!("{tools} do not make this bend"),
    };
    job.refuse(miss.limit, Some(bend), (needed, there, miss.unit), text)
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

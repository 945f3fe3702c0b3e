//! The settings files.

use super::tables::rfc3339;
use chrono::{NaiveTime, Weekday};
use model::{
    Axis, Brake, Calendar, ChangeTimes, Clamping, Die, Family, LocalSpan, Material, Profile, Punch,
    Rules, Shift, Shop, ZDrive,
};
use std::fmt::{Display, Write as _};
use units::{Length, Seconds};

/// Lines of `key = value`.
#[derive(Default)]
struct Lines(String);

impl Lines {
    fn put(&mut self, key: &str, value: impl Display) {
        let _ = writeln!(self.0, "{key} = {value}");
    }

    fn text(&mut self, key: &str, value: &str) {
        self.put(key, quoted(value));
    }

    fn length(&mut self, key: &str, value: Length) {
        self.text(key, &format!("{value} mm"));
    }

    fn minutes(&mut self, key: &str, value: Seconds) {
        self.put(key, value.minutes());
    }

    fn head(&mut self, line: &str) {
        let _ = writeln!(self.0, "\n{line}");
    }
}

fn quoted(text: &str) -> String {
    format!("\"{}\"", text.replace('\\', "\\\\").replace('"', "\\\""))
}

pub(super) fn shop(shop: &Shop) -> String {
    let mut lines = Lines::default();
    lines.text("name", &shop.name);
    lines.text("time_zone", shop.zone.name());
    lines.text("units", "mm");
    if let Some(as_of) = shop.as_of {
        lines.text("as_of", &rfc3339(as_of, shop.zone));
    }
    lines.put("invented", true);
    rules(&mut lines, &shop.rules);
    for calendar in &shop.calendars {
        self::calendar(&mut lines, calendar);
    }
    lines.0
}

fn rules(lines: &mut Lines, rules: &Rules) {
    lines.head("[rules]");
    lines.text("force_form", &rules.force_form);
    lines.put("radius_tolerance", rules.radius_tolerance);
    match rules.k_factor {
        Some(k) => lines.put("k_factor", k),
        None => lines.text("k_factor", "din-6935"),
    }
    lines.length("station_gap", rules.station_gap);
    lines.length("station_overhang", rules.station_overhang);
    lines.length("box_short", rules.box_short);
    lines.length("daylight_clearance", rules.daylight_clearance);
    lines.length("crash_clearance", rules.crash_clearance);
    lines.length("approach", rules.approach);
    lines.length("touch_allowance", rules.touch_allowance);
    lines.length("stop_height", rules.stop_height);
    lines.put("flatten_factor", rules.flatten_factor);
    lines.length("step_depth", rules.step_depth);
    handling(lines, rules);
    policy(lines, rules);
    for row in &rules.v_rules {
        lines.head("[[rules.v]]");
        lines.length("thickness_to", row.thickness_to);
        lines.put("least", row.least);
        lines.put("preferred", row.preferred);
        lines.put("most", row.most);
    }
}

fn handling(lines: &mut Lines, rules: &Rules) {
    lines.put("dwell_seconds", rules.dwell_seconds);
    lines.put("load_seconds", rules.load_seconds);
    lines.put("place_seconds", rules.place_seconds);
    lines.put("size_seconds_per_metre", rules.size_seconds_per_metre);
    lines.put("mass_seconds_per_kg", rules.mass_seconds_per_kg);
    lines.put("flip_seconds", rules.flip_seconds);
    lines.put("turn_seconds", rules.turn_seconds);
    lines.put("one_person_mass_kg", rules.one_person_mass.get());
    lines.put("two_person_mass_kg", rules.two_person_mass.get());
    lines.put("heavy_section_mass_kg", rules.heavy_section_mass.get());
    lines.put("check_every", rules.check_every);
    lines.put("check_seconds", rules.check_seconds);
    lines.minutes("programming_minutes", rules.programming);
    lines.put("first_off_pieces", rules.first_off_pieces);
    lines.minutes("approve_own_minutes", rules.approve_own);
    lines.minutes("approve_inspector_minutes", rules.approve_inspector);
    lines.minutes("approve_customer_minutes", rules.approve_customer);
    let inspection = rules.inspector_calendar.as_ref();
    lines.text(
        "inspector_calendar",
        inspection.map_or("any", |id| id.as_str()),
    );
}

fn policy(lines: &mut Lines, rules: &Rules) {
    lines.minutes(
        "quiet_before_shift_end_minutes",
        rules.quiet_before_shift_end,
    );
    lines.put(
        "changeover_may_span_shifts",
        rules.changeover_may_span_shifts,
    );
    lines.put("run_may_span_shifts", rules.run_may_span_shifts);
    lines.minutes("frozen_minutes", rules.frozen);
    lines.put("late_hour_minutes", rules.late_hour_minutes);
    lines.put("overtime_factor", f64::from(rules.overtime_tenths) / 10.0);
    lines.minutes("told_minutes", rules.told);
    lines.put("other_brake_minutes", rules.other_brake_minutes);
    lines.put("moved_hour_minutes", rules.moved_hour_minutes);
    lines.put("unplaced_minutes", rules.unplaced_minutes);
    lines.put("horizon_days", rules.horizon_days);
    lines.put("run_spread", rules.chance.run_spread);
    lines.put("changeover_spread", rules.chance.changeover_spread);
    lines.put("rush_orders_per_week", rules.chance.rush_per_week);
    lines.put("brake_stop_hours", rules.chance.hours_between_stops);
    lines.put("brake_repair_hours", rules.chance.repair_hours);
}

fn calendar(lines: &mut Lines, calendar: &Calendar) {
    lines.head(&format!("[calendars.{}]", quoted(calendar.id.as_str())));
    let shifts: Vec<String> = calendar
        .shifts
        .iter()
        .map(|shift| {
            let days: Vec<String> = shift.days.iter().map(|day| quoted(weekday(*day))).collect();
            format!("  {{ days = [{}], {} }},\n", days.join(", "), hours(shift))
        })
        .collect();
    lines.put("shifts", format!("[\n{}]", shifts.concat()));
    let closed: Vec<String> = calendar
        .closed
        .iter()
        .map(|day| {
            format!(
                "{{ date = \"{}\", reason = {} }}",
                day.date,
                quoted(&day.reason)
            )
        })
        .collect();
    lines.put("closed", format!("[{}]", closed.join(", ")));
    let extra: Vec<String> = calendar
        .extra
        .iter()
        .map(|(date, shift)| format!("{{ date = \"{date}\", {} }}", hours(shift)))
        .collect();
    lines.put("extra", format!("[{}]", extra.join(", ")));
}

fn hours(shift: &Shift) -> String {
    let pair = |span: &LocalSpan| format!("\"{}\", \"{}\"", clock(span.start), clock(span.end));
    let breaks: Vec<String> = shift
        .breaks
        .iter()
        .map(|pause| format!("[{}]", pair(pause)))
        .collect();
    format!(
        "name = {}, start = \"{}\", end = \"{}\", breaks = [{}], overtime = {}",
        quoted(&shift.name),
        clock(shift.span.start),
        clock(shift.span.end),
        breaks.join(", "),
        shift.overtime
    )
}

fn clock(time: NaiveTime) -> String {
    time.format("%H:%M").to_string()
}

fn weekday(day: Weekday) -> &'static str {
    ["mon", "tue", "wed", "thu", "fri", "sat", "sun"][day.num_days_from_monday() as usize]
}

pub(super) fn brakes(shop: &Shop) -> String {
    let mut lines = Lines::default();
    for brake in &shop.brakes {
        lines.head("[[brake]]");
        lines.text("id", brake.id.as_str());
        lines.text("name", &brake.name);
        frame(&mut lines, brake);
        motion(&mut lines, brake);
        lines.put("angle_accuracy_deg", brake.angle_accuracy.get());
        lines.text("calendar", brake.calendar.as_str());
        times(&mut lines, &brake.times);
    }
    lines.0
}

fn frame(lines: &mut Lines, brake: &Brake) {
    lines.put("force_kn", brake.force.get());
    lines.length("bed", brake.bed);
    lines.length("between_frames", brake.between_frames);
    lines.length("throat", brake.throat);
    lines.length("open_height", brake.open_height);
    lines.length("stroke", brake.stroke);
    lines.length("drive_span", brake.drive_span);
    lines.length("upper_holder", brake.upper_holder);
    lines.length("lower_holder", brake.lower_holder);
    lines.length("ram_thickness", brake.ram_thickness);
    lines.length("bed_thickness", brake.bed_thickness);
    if let Some(load) = brake.bed_load {
        lines.put("bed_load_kn_m", load.get());
    }
    lines.put("clamp_load_kn_m", brake.clamp_load.get());
    lines.put("holder_load_kn_m", brake.holder_load.get());
    lines.put("rail_load_kn_m", brake.rail_load.get());
    lines.text("tang", &brake.tang);
    lines.text("die_mount", &brake.die_mount);
    let clamping = match brake.clamping {
        Clamping::Bolted => "bolted",
        Clamping::Quick => "quick",
        Clamping::Powered => "powered",
    };
    lines.text("clamping", clamping);
}

fn motion(lines: &mut Lines, brake: &Brake) {
    let speeds = &brake.speeds;
    lines.put("fast_mm_s", speeds.fast.get());
    lines.put("slow_mm_s", speeds.slow.get());
    lines.put("bend_mm_s", speeds.bend.get());
    lines.put("back_mm_s", speeds.back.get());
    lines.put("gauge_mm_s", speeds.gauge.get());
    lines.length("mute_height", brake.mute_height);
    let gauge = &brake.gauge;
    lines.put("fingers", gauge.fingers);
    lines.text(
        "z",
        if gauge.z == ZDrive::Hand {
            "hand"
        } else {
            "powered"
        },
    );
    let mut fitted = Vec::new();
    let axes = [
        ("x", Some(gauge.x)),
        ("x_difference", gauge.x_difference),
        ("r", gauge.r),
    ];
    for (key, axis) in axes {
        let Some(Axis {
            from,
            to,
            fitted: day,
        }) = axis
        else {
            continue;
        };
        lines.put(key, format!("[\"{from} mm\", \"{to} mm\"]"));
        fitted.extend(day.map(|day| format!("{key} = \"{day}\"")));
    }
    if !fitted.is_empty() {
        lines.put("fitted", format!("{{ {} }}", fitted.join(", ")));
    }
}

fn times(lines: &mut Lines, times: &ChangeTimes) {
    lines.head("[brake.times]");
    lines.minutes("base_minutes", times.base);
    lines.minutes("station_off_minutes", times.station_off);
    lines.minutes("section_off_minutes", times.section_off);
    lines.minutes("station_on_minutes", times.station_on);
    lines.minutes("section_on_minutes", times.section_on);
    lines.minutes("station_slide_minutes", times.station_slide);
    lines.minutes("section_turn_minutes", times.section_turn);
    lines.minutes("heavy_section_minutes", times.heavy_section);
    lines.minutes("fingers_minutes", times.fingers);
    lines.minutes("guard_minutes", times.guard);
    lines.minutes("program_minutes", times.program);
}

pub(super) fn materials(shop: &Shop) -> String {
    let mut lines = Lines::default();
    for material in &shop.materials {
        self::material(&mut lines, material);
    }
    lines.0
}

fn material(lines: &mut Lines, material: &Material) {
    lines.head("[[material]]");
    lines.text("id", material.id.as_str());
    lines.text("name", &material.name);
    let family = match material.family {
        Family::Steel => "steel",
        Family::Stainless => "stainless",
        Family::Aluminium => "aluminium",
        Family::Copper => "copper",
    };
    lines.text("family", family);
    lines.put("strength_mpa", material.strength_typical.get());
    lines.put("strength_highest_mpa", material.strength_highest.get());
    lines.put("yield_mpa", material.yield_strength.get());
    lines.put("modulus_mpa", material.modulus.get());
    lines.put("density_kg_m3", material.density);
    lines.put("radius_share_of_v", material.radius_share_of_v);
    lines.put("springback_deg", material.springback.get());
    if let Some((least, most)) = material.v_over_t {
        lines.put("v_over_t", format!("[{least}, {most}]"));
    }
    lines.text("source", &material.source);
}

/// Punches, then dies, which is the order in which they are read.
pub(super) fn tooling(shop: &Shop) -> String {
    let mut lines = Lines::default();
    for profile in &shop.profiles {
        match profile {
            Profile::Punch(punch) => self::punch(&mut lines, punch),
            Profile::Die(die) => self::die(&mut lines, die),
        }
    }
    lines.0
}

fn punch(lines: &mut Lines, punch: &Punch) {
    lines.head("[[punch]]");
    lines.text("id", punch.id.as_str());
    if !punch.flattening {
        lines.put("angle_deg", punch.angle.get());
        lines.length("tip_radius", punch.tip_radius);
    }
    lines.length("height", punch.height);
    lines.put("load_kn_m", punch.load.get());
    lines.text("tang", &punch.tang);
    lines.length("relief", punch.relief);
    // A straight punch has no height of its relief; the key would be reported as without effect.
    if punch.relief > Length::ZERO {
        lines.length("relief_height", punch.relief_height);
    }
    lines.length("body", punch.body);
    lines.put("flattening", punch.flattening);
}

fn die(lines: &mut Lines, die: &Die) {
    lines.head("[[die]]");
    lines.text("id", die.id.as_str());
    lines.length("height", die.height);
    if !die.flattening {
        lines.length("v", die.v);
        lines.put("angle_deg", die.angle.get());
        lines.length("groove_depth", die.groove_depth);
    }
    lines.put("load_kn_m", die.load.get());
    lines.text("mount", &die.mount);
    lines.length("width", die.width);
    if let Some(block) = &die.block {
        lines.text("block", block.as_str());
    }
    lines.put("flattening", die.flattening);
}

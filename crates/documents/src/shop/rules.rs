//! `[rules]`: any of them may be given in shop.toml, all of them are in config/defaults.toml.

use super::general::{General, check_calendar};
use crate::codes::{NOT_A_NUMBER, NOT_RISING, OUT_OF_RANGE, REVERSED};
use crate::fields::{Fields, Kind, Parse, Raw};
use crate::findings::{Problem, shown};
use crate::settings::Settings;
use crate::value::{Choice, Id, LengthIn, Minutes, Number, Whole, YesNo, decimal};
use model::{Rules, VRule};
use units::{CalendarId, Kilograms};

const FORCE_FORMS: Choice<&str> = Choice(&[
    ("oehler", "oehler"),
    ("textbook", "textbook"),
    ("manual", "manual"),
    ("inch-shop", "inch-shop"),
]);
const CLEARANCE: LengthIn = LengthIn::from(0, 5_000);
const HANDLING: Number = Number::from(0.0, 3_600.0, "seconds");
const SHARE: Number = Number::from(0.0, 2.0, "as a share");
const MASS: Number = Number::above(0.0, 10_000.0, "kg");
const WEEK: Minutes = Minutes(10_080.0);
const V_OVER_T: Number = Number::above(0.0, 100.0, "times the thickness");

const fn whole(least: u32, most: u32, unit: &'static str) -> Whole {
    Whole { least, most, unit }
}

/// Where the rules not given come from.
#[derive(Clone, Copy)]
pub(super) enum Over<'a> {
    /// From these.
    Base(&'a Rules),
    /// From nowhere: every one must be given.
    Nothing,
}

/// Reads the rules; what is bad is reported and stays as in the base.
pub(super) fn read_rules(rules: &mut Settings<'_, '_>, over: Over<'_>, general: &General) -> Rules {
    let (mut read, all) = match over {
        Over::Base(base) => (base.clone(), false),
        Over::Nothing => (nothing(), true),
    };
    read_v_rules(rules, &mut read.v_rules, all);
    let mut keys = Keys { rules, all };
    engineering(&mut keys, &mut read);
    handling(&mut keys, &mut read);
    approval(&mut keys, &mut read);
    policy(&mut keys, &mut read);
    chance(&mut keys, &mut read);
    check(rules, &read, general);
    read
}

/// The keys of `[rules]`.
struct Keys<'a, 't, 'f> {
    rules: &'a mut Settings<'t, 'f>,
    /// Whether every key must be there.
    all: bool,
}

impl Keys<'_, '_, '_> {
    fn set<P: Parse>(&mut self, key: &'static str, parse: &P, rule: &mut P::Out) {
        let read = if self.all {
            self.rules.required(key, parse)
        } else {
            self.rules.optional(key, parse)
        };
        if let Some(value) = read {
            *rule = value;
        }
    }

    fn set_mass(&mut self, key: &'static str, rule: &mut Kilograms) {
        let mut mass = rule.get();
        self.set(key, &MASS, &mut mass);
        *rule = Kilograms::of(mass);
    }
}

fn engineering(keys: &mut Keys<'_, '_, '_>, rules: &mut Rules) {
    let mut form = "";
    keys.set("force_form", &FORCE_FORMS, &mut form);
    if !form.is_empty() {
        form.clone_into(&mut rules.force_form);
    }
    keys.set("radius_tolerance", &SHARE, &mut rules.radius_tolerance);
    keys.set("k_factor", &KFactor, &mut rules.k_factor);
    keys.set("station_gap", &CLEARANCE, &mut rules.station_gap);
    keys.set("station_overhang", &CLEARANCE, &mut rules.station_overhang);
    keys.set("box_short", &CLEARANCE, &mut rules.box_short);
    keys.set(
        "daylight_clearance",
        &CLEARANCE,
        &mut rules.daylight_clearance,
    );
    keys.set("crash_clearance", &CLEARANCE, &mut rules.crash_clearance);
    keys.set("approach", &CLEARANCE, &mut rules.approach);
    let touch = LengthIn::from(0, 100);
    keys.set("touch_allowance", &touch, &mut rules.touch_allowance);
    keys.set("stop_height", &CLEARANCE, &mut rules.stop_height);
    let factor = Number::from(1.0, 20.0, "times the air-bending force");
    keys.set("flatten_factor", &factor, &mut rules.flatten_factor);
    let depth = LengthIn::above_zero(10);
    keys.set("step_depth", &depth, &mut rules.step_depth);
}

fn handling(keys: &mut Keys<'_, '_, '_>, rules: &mut Rules) {
    keys.set("dwell_seconds", &HANDLING, &mut rules.dwell_seconds);
    keys.set("load_seconds", &HANDLING, &mut rules.load_seconds);
    keys.set("place_seconds", &HANDLING, &mut rules.place_seconds);
    keys.set(
        "size_seconds_per_metre",
        &HANDLING,
        &mut rules.size_seconds_per_metre,
    );
    keys.set(
        "mass_seconds_per_kg",
        &HANDLING,
        &mut rules.mass_seconds_per_kg,
    );
    keys.set("flip_seconds", &HANDLING, &mut rules.flip_seconds);
    keys.set("turn_seconds", &HANDLING, &mut rules.turn_seconds);
    keys.set_mass("one_person_mass_kg", &mut rules.one_person_mass);
    keys.set_mass("two_person_mass_kg", &mut rules.two_person_mass);
    keys.set_mass("heavy_section_mass_kg", &mut rules.heavy_section_mass);
}

fn approval(keys: &mut Keys<'_, '_, '_>, rules: &mut Rules) {
    keys.set(
        "check_every",
        &whole(1, 1_000_000, "pieces"),
        &mut rules.check_every,
    );
    keys.set(
        "check_seconds",
        &whole(0, 86_400, "seconds"),
        &mut rules.check_seconds,
    );
    keys.set("programming_minutes", &WEEK, &mut rules.programming);
    keys.set(
        "first_off_pieces",
        &whole(0, 100, "pieces"),
        &mut rules.first_off_pieces,
    );
    keys.set("approve_own_minutes", &WEEK, &mut rules.approve_own);
    keys.set(
        "approve_inspector_minutes",
        &WEEK,
        &mut rules.approve_inspector,
    );
    keys.set(
        "approve_customer_minutes",
        &WEEK,
        &mut rules.approve_customer,
    );
    keys.set(
        "inspector_calendar",
        &InspectorHours,
        &mut rules.inspector_calendar,
    );
}

fn policy(keys: &mut Keys<'_, '_, '_>, rules: &mut Rules) {
    keys.set(
        "quiet_before_shift_end_minutes",
        &WEEK,
        &mut rules.quiet_before_shift_end,
    );
    keys.set(
        "changeover_may_span_shifts",
        &YesNo,
        &mut rules.changeover_may_span_shifts,
    );
    keys.set(
        "run_may_span_shifts",
        &YesNo,
        &mut rules.run_may_span_shifts,
    );
    keys.set("frozen_minutes", &WEEK, &mut rules.frozen);
    keys.set("told_minutes", &WEEK, &mut rules.told);
    keys.set(
        "late_hour_minutes",
        &whole(0, 100_000, "minutes"),
        &mut rules.late_hour_minutes,
    );
    keys.set("overtime_factor", &Tenths, &mut rules.overtime_tenths);
    keys.set(
        "other_brake_minutes",
        &whole(0, 100_000, "minutes"),
        &mut rules.other_brake_minutes,
    );
    keys.set(
        "moved_hour_minutes",
        &whole(0, 100_000, "minutes"),
        &mut rules.moved_hour_minutes,
    );
    keys.set(
        "unplaced_minutes",
        &whole(0, 10_000_000, "minutes"),
        &mut rules.unplaced_minutes,
    );
    let mut days = u32::from(rules.horizon_days);
    keys.set("horizon_days", &whole(1, 366, "days"), &mut days);
    rules.horizon_days = u16::try_from(days).unwrap_or(rules.horizon_days);
}

fn chance(keys: &mut Keys<'_, '_, '_>, rules: &mut Rules) {
    let spread = Number::from(0.0, 5.0, "as a share of the mean");
    let a_week = Number::from(0.0, 200.0, "orders a week");
    let hours = Number::from(0.0, 100_000.0, "hours");
    let chance = &mut rules.chance;
    keys.set("run_spread", &spread, &mut chance.run_spread);
    keys.set("changeover_spread", &spread, &mut chance.changeover_spread);
    keys.set("rush_orders_per_week", &a_week, &mut chance.rush_per_week);
    keys.set("brake_stop_hours", &hours, &mut chance.hours_between_stops);
    keys.set("brake_repair_hours", &hours, &mut chance.repair_hours);
}

fn check(rules: &mut Settings<'_, '_>, read: &Rules, general: &General) {
    if read.two_person_mass < read.one_person_mass {
        let found = format!(
            "{} for two, {} for one",
            read.two_person_mass, read.one_person_mass
        );
        let expected = "two people to carry at least what one does";
        let problem = Problem::new(REVERSED, found, expected, "correct one of the two");
        rules.report("two_person_mass_kg", problem);
    }
    let between = read.chance.hours_between_stops;
    if between > 0.0 && between < 1.0 {
        let problem = Problem::new(
            OUT_OF_RANGE,
            format!("a stop every {between} hours"),
            "0 for never, or at least one hour",
            "give the hours of work between two stops",
        );
        rules.report("brake_stop_hours", problem);
    }
    if let Some(id) = &read.inspector_calendar {
        check_calendar(rules, "inspector_calendar", id, &general.calendar_ids);
    }
}

/// Reads `[[rules.v]]`; when there are any they replace all rows of the base.
fn read_v_rules(rules: &mut Settings<'_, '_>, v_rules: &mut Vec<VRule>, all: bool) {
    let mut read: Vec<VRule> = Vec::new();
    let any = rules.each("v", |row| {
        let thickness_to = row.required("thickness_to", &LengthIn::above_zero(1_000));
        let least = row.required("least", &V_OVER_T);
        let preferred = row.required("preferred", &V_OVER_T);
        let most = row.required("most", &V_OVER_T);
        let (Some(thickness_to), Some(least), Some(preferred), Some(most)) =
            (thickness_to, least, preferred, most)
        else {
            return;
        };
        if !(least <= preferred && preferred <= most) {
            let found = format!("least {least}, preferred {preferred}, most {most}");
            let expected = "least, preferred and most in rising order";
            row.report(
                "preferred",
                Problem::new(REVERSED, found, expected, "put them in order"),
            );
        }
        if let Some(last) = read.last().filter(|last| last.thickness_to >= thickness_to) {
            let found = format!("{thickness_to} mm after {} mm", last.thickness_to);
            let expected = "rows of rising thickness";
            row.report(
                "thickness_to",
                Problem::new(NOT_RISING, found, expected, "sort the rows"),
            );
        }
        read.push(VRule {
            thickness_to,
            least,
            preferred,
            most,
        });
    });
    if any && !read.is_empty() {
        *v_rules = read;
    } else if all || any {
        rules.absent("v", "rows of thickness_to, least, preferred and most");
    }
}

/// Rules before any is read; never seen by anybody, because then every key is required.
fn nothing() -> Rules {
    Rules {
        force_form: String::new(),
        v_rules: Vec::new(),
        radius_tolerance: 0.0,
        k_factor: None,
        station_gap: units::Length::ZERO,
        station_overhang: units::Length::ZERO,
        box_short: units::Length::ZERO,
        daylight_clearance: units::Length::ZERO,
        crash_clearance: units::Length::ZERO,
        approach: units::Length::ZERO,
        touch_allowance: units::Length::ZERO,
        stop_height: units::Length::ZERO,
        flatten_factor: 0.0,
        step_depth: units::Length::ZERO,
        dwell_seconds: 0.0,
        load_seconds: 0.0,
        place_seconds: 0.0,
        size_seconds_per_metre: 0.0,
        mass_seconds_per_kg: 0.0,
        flip_seconds: 0.0,
        turn_seconds: 0.0,
        one_person_mass: Kilograms::of(0.0),
        two_person_mass: Kilograms::of(0.0),
        heavy_section_mass: Kilograms::of(0.0),
        check_every: 1,
        check_seconds: 0,
        programming: units::Seconds::ZERO,
        first_off_pieces: 0,
        approve_own: units::Seconds::ZERO,
        approve_inspector: units::Seconds::ZERO,
        approve_customer: units::Seconds::ZERO,
        inspector_calendar: None,
        quiet_before_shift_end: units::Seconds::ZERO,
        changeover_may_span_shifts: false,
        run_may_span_shifts: false,
        frozen: units::Seconds::ZERO,
        late_hour_minutes: 0,
        overtime_tenths: 0,
        told: units::Seconds::ZERO,
        other_brake_minutes: 0,
        moved_hour_minutes: 0,
        unplaced_minutes: 0,
        horizon_days: 1,
        chance: model::Chance::NONE,
    }
}

/// A K-factor, or `"din-6935"` for the standard's own curve.
struct KFactor;

impl Parse for KFactor {
    type Out = Option<f64>;
    const KIND: Kind = Kind::NumberOrText;

    fn parse(&self, raw: &Raw) -> Result<Option<f64>, Problem> {
        if raw.text == "din-6935" {
            return Ok(None);
        }
        Number::from(0.0, 1.0, "or \"din-6935\"")
            .parse(raw)
            .map(Some)
    }
}

/// A calendar, or `"any"` for an inspector who is always there.
struct InspectorHours;

impl Parse for InspectorHours {
    type Out = Option<CalendarId>;
    const KIND: Kind = Kind::Text;

    fn parse(&self, raw: &Raw) -> Result<Option<CalendarId>, Problem> {
        if raw.text == "any" {
            return Ok(None);
        }
        Id(CalendarId::new).parse(raw).map(Some)
    }
}

/// A factor with at most one decimal, kept as tenths.
struct Tenths;

impl Parse for Tenths {
    type Out = u32;
    const KIND: Kind = Kind::Number;

    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // 0 to 1000 by then
    fn parse(&self, raw: &Raw) -> Result<u32, Problem> {
        let expected = "a number from 0 to 100 with at most one decimal";
        let tenths = decimal(&raw.text, expected)? * 10.0;
        let code = if (0.0..=1_000.0).contains(&tenths) {
            NOT_A_NUMBER
        } else {
            OUT_OF_RANGE
        };
        if code == OUT_OF_RANGE || (tenths - tenths.round()).abs() > 1e-9 {
            return Err(Problem::new(
                code,
                shown(&raw.text),
                expected,
                "round it to a tenth",
            ));
        }
        Ok(tenths.round() as u32)
    }
}

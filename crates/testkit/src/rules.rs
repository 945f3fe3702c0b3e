//! House rules of an invented shop.

use crate::dice::Dice;
use crate::recipe::Recipe;
use model::{Chance, Rules, VRule};
use units::{CalendarId, Kilograms, Length, Seconds};

pub(crate) fn rules(recipe: &Recipe, dice: &mut Dice) -> Rules {
    let mm = Length::from_whole_mm;
    let minutes = Seconds::from_minutes;
    let inspection = CalendarId::new("inspection").expect("an id");
    Rules {
        force_form: dice
            .pick(&["oehler", "textbook", "manual", "inch-shop"])
            .to_owned(),
        v_rules: v_rules(),
        radius_tolerance: 0.25,
        k_factor: dice.pick(&[None, None, Some(0.42)]),
        station_gap: mm(20),
        station_overhang: mm(100),
        box_short: mm(10),
        daylight_clearance: mm(15),
        crash_clearance: Length::from_mm(0.5),
        approach: mm(40),
        touch_allowance: Length::from_mm(0.1),
        stop_height: mm(10),
        flatten_factor: 4.0,
        step_depth: Length::from_mm(0.5),
        dwell_seconds: 0.3,
        load_seconds: 10.0,
        place_seconds: 5.0,
        size_seconds_per_metre: 3.0,
        mass_seconds_per_kg: 0.6,
        flip_seconds: 4.0,
        turn_seconds: 3.0,
        one_person_mass: Kilograms::of(20.0),
        two_person_mass: Kilograms::of(50.0),
        heavy_section_mass: Kilograms::of(18.0),
        check_every: 25,
        check_seconds: 60,
        programming: Seconds(dice.whole(600, 1_500)),
        first_off_pieces: 2,
        approve_own: minutes(3),
        approve_inspector: minutes(12),
        approve_customer: minutes(45),
        inspector_calendar: recipe.features.inspectors.then_some(inspection),
        quiet_before_shift_end: minutes(dice.pick(&[0, 15])),
        changeover_may_span_shifts: dice.one_in(3),
        run_may_span_shifts: !recipe.features.within_shifts,
        frozen: minutes(120),
        late_hour_minutes: 30,
        overtime_tenths: 5,
        told: minutes(24 * 60),
        other_brake_minutes: 15,
        moved_hour_minutes: 1,
        unplaced_minutes: 10_000,
        horizon_days: if recipe.orders > 60 { 60 } else { 21 },
        chance: Chance {
            run_spread: 0.2,
            changeover_spread: 0.4,
            rush_per_week: 2.0,
            hours_between_stops: 60.0,
            repair_hours: 2.5,
        },
    }
}

/// V over thickness [trade].
fn v_rules() -> Vec<VRule> {
    let row = |to: f64, least: f64, preferred: f64, most: f64| VRule {
        thickness_to: Length::from_mm(to),
        least,
        preferred,
        most,
    };
    vec![
        row(2.49, 5.0, 8.0, 10.0),
        row(8.99, 6.0, 8.0, 12.0),
        row(100.0, 8.0, 10.0, 14.0),
    ]
}

//! The rules, one file each, in the order of docs/rules.md.

mod batches;
mod bed_after;
mod bed_room;
mod bend_list;
mod brake_overlap;
mod change_steps;
mod collision;
mod coverage;
mod crash;
mod crew;
mod developed;
mod engineering;
mod gauge;
mod gauge_height;
mod hit_tools;
mod in_progress;
mod inspector;
mod load_path;
mod people;
mod place;
mod plan_frame;
mod predecessor;
mod promises;
mod proven_setup;
mod ready;
mod run_time;
mod section_custody;
mod segments;
mod setter;
mod slide;
mod staffing;
mod station;
mod station_fit;
mod told;
mod totals;
mod turn;
mod unplaced;
mod way_round;

use crate::case::Case;
use model::Violation;

/// A rule's code, its name, and in one line what a plan that breaks it does.
pub type Rule = (&'static str, &'static str, &'static str);

/// Looks for one kind of wrong and adds what it finds.
type Check = fn(&Case, &mut Vec<Violation>);

/// Every check, in the order of docs/rules.md.
pub(crate) const CHECKS: &[Check] = &[
    plan_frame::check,
    coverage::check,
    ready::check,
    predecessor::check,
    promises::check,
    place::check,
    bend_list::check,
    engineering::check,
    developed::check,
    hit_tools::check,
    collision::check,
    load_path::check,
    gauge::check,
    gauge_height::check,
    station_fit::check,
    proven_setup::check,
    station::check,
    way_round::check,
    bed_room::check,
    crash::check,
    section_custody::check,
    bed_after::check,
    turn::check,
    slide::check,
    change_steps::check,
    run_time::check,
    segments::check,
    staffing::check,
    setter::check,
    crew::check,
    people::check,
    brake_overlap::check,
    inspector::check,
    in_progress::check,
    told::check,
    totals::check,
    batches::check,
    unplaced::check,
];

/// The catalogue of all rules, by code; docs/reference/codes.md lists the same.
pub const RULES: &[Rule] = &[
    plan_frame::SHOP,
    plan_frame::BRAKE_LIST,
    plan_frame::HORIZON,
    plan_frame::BEFORE,
    plan_frame::AFTER,
    plan_frame::RUN_NAME,
    coverage::ORDER,
    coverage::PART,
    coverage::SHARE,
    coverage::PIECES,
    coverage::TIED,
    ready::STATED,
    ready::EARLY,
    predecessor::EARLY,
    predecessor::UNPLACED,
    promises::DUE,
    promises::LATE,
    bend_list::BENDS,
    bend_list::STATION,
    engineering::V,
    engineering::RADIUS,
    engineering::FLANGE,
    engineering::ANGLE,
    engineering::RELIEF,
    engineering::STROKE,
    engineering::DAYLIGHT,
    engineering::THROAT,
    developed::DEVELOPED,
    engineering::ACCURACY,
    engineering::MOUNT,
    engineering::MASS,
    load_path::FORM,
    load_path::STATED,
    load_path::FORCE,
    load_path::LINE,
    load_path::OFF_CENTRE,
    gauge::STATED,
    gauge::X,
    gauge::R,
    gauge::TAPER,
    gauge::FINGERS,
    station_fit::SHORT,
    station_fit::BOX,
    station_fit::HORNS,
    proven_setup::UNPROVEN,
    proven_setup::UNNAMED,
    proven_setup::ONLY,
    station::SECTIONS,
    station::OUT,
    station::HORN,
    station::STATED,
    bed_room::OFF_BED,
    bed_room::OVERLAP,
    bed_room::GAP,
    crash::CRASH,
    section_custody::TWO_BRAKES,
    section_custody::TWICE,
    bed_after::NOT_THERE,
    bed_after::KEEP,
    bed_after::BED,
    change_steps::STEPS,
    change_steps::WORK,
    change_steps::EMPTY,
    change_steps::TAKEDOWN,
    run_time::CYCLE,
    run_time::RUN_TIME,
    segments::SHAPE,
    segments::SUM,
    staffing::BRAKE,
    staffing::PERSON,
    setter::SETTER,
    setter::QUIET,
    setter::SPANS,
    setter::PAUSE,
    crew::CREW,
    crew::PAUSE,
    crew::SPANS,
    people::TWO_PLACES,
    brake_overlap::OVERLAP,
    brake_overlap::ORDER,
    inspector::HOURS,
    in_progress::FIRST,
    in_progress::CHANGED,
    totals::TOTALS,
    totals::OBJECTIVE,
    totals::BOUND,
    totals::BASELINES,
    batches::SPLIT,
    batches::NOT_NEW,
    unplaced::ENTRY,
    unplaced::BRAKES,
    unplaced::NUMBERS,
    unplaced::BLANKS,
    bend_list::ORDER,
    hit_tools::FLATTENING,
    hit_tools::STEPPED,
    collision::OVERLAP,
    collision::COLLISION,
    developed::OUTSIDE,
    way_round::CANNOT,
    way_round::TURNED,
    gauge_height::STATED,
    gauge_height::NOTHING,
    bed_after::TWO_HEADS,
    turn::OTHERWISE,
    turn::BLOCK,
    turn::SAME_DIE,
    slide::OTHERWISE,
    slide::NOWHERE,
    slide::PAST,
    place::PINNED,
    place::PLACE,
    place::SHARES,
    told::ENTRY,
    told::EARLIER,
    told::FROZEN,
];

/// Adds one violation.
fn broken(out: &mut Vec<Violation>, rule: &Rule, at: &str, text: String) {
    out.push(Violation {
        code: rule.0,
        rule: rule.1,
        at: at.to_owned(),
        text,
    });
}

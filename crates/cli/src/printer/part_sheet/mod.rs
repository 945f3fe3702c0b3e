//! A part, bend by bend, on every brake.

mod depth;
mod drawing;
mod explained;
mod json;
mod pictures;
mod setups;

use super::table::{Side, table, wrapped};
use super::{CAUTION, INVENTED, counted, unplaced};
pub(super) use documents::words::decimals;
use model::{Brake, Limit, Part, Shop};
use std::fmt::Write as _;
use study::{BrakeStudy, HitStudy, LiftStudy, OptionStudy, PartStudy};
use units::Length;

pub(crate) use json::as_json;
pub(crate) use pictures::{INDEX, INDEX_BEGINS, files};

/// From this mass on a sheet warns about lifting. Common practice, no source; local rules differ
/// and come first.
const LIFTING_KG: f64 = 25.0;

/// How much of each brake is shown.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum Depth {
    /// One table of the best setup, and warnings.
    Short,
    /// Everything of the best setup, and an overview of the others.
    Best,
    /// Everything of every setup.
    Every,
}

/// What is asked of the text.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Page<'a> {
    pub(crate) shop: &'a Shop,
    pub(crate) part: &'a Part,
    pub(crate) study: &'a PartStudy,
    pub(crate) depth: Depth,
    /// Whether sections are drawn.
    pub(crate) draw: bool,
    /// Whether formulas follow the tables.
    pub(crate) explain: bool,
    pub(crate) invented: bool,
    pub(crate) width: usize,
}

/// The sheet as text.
pub(crate) fn as_text(page: &Page<'_>) -> String {
    let (shop, study) = (page.shop, page.study);
    let mut out = heading(page.part, study);
    if page.invented {
        out.push_str(INVENTED);
    }
    for on_brake in &study.brakes {
        if let Some(brake) = shop.brake(&on_brake.brake) {
            out.push_str(&brake_text(page, brake, on_brake));
        }
    }
    if page.explain {
        out.push_str(&explained::as_text(study, page.width));
    }
    out.push('\n');
    out.push_str(&lifting(study, page.depth, page.width));
    out.push_str(CAUTION);
    out
}

fn heading(part: &Part, study: &PartStudy) -> String {
    format!(
        "{}  {}: {} {} mm, blank {} x {} mm, {} kg, {}\n",
        part.id,
        part.name,
        part.material,
        part.thickness,
        part.blank.0,
        part.blank.1,
        kilograms(study.mass.get()),
        counted(part.bends.len(), "bend", "bends"),
    )
}

fn brake_text(page: &Page<'_>, brake: &Brake, study: &BrakeStudy) -> String {
    let mut out = String::new();
    let _ = writeln!(
        out,
        "\n{}  {}, {} kN, bed {} mm",
        brake.id,
        brake.name,
        brake.force.get(),
        brake.bed
    );
    let Some(best) = study.options.first() else {
        out.push_str("cannot bend it:\n");
        out.push_str(&unplaced::reasons(&study.refusals, page.width));
        out.push_str(&advice(study, page.width));
        out.push_str(&stopped(page, study));
        return out;
    };
    out.push_str(&bends_table(best, page.width));
    out.push_str(&wrapped(&setup_line(study, best), 2, page.width));
    out.push_str(&cautions(best, page.width));
    if page.depth >= Depth::Best {
        out.push_str(&depth::as_text(page, best));
        out.push_str(&setups::as_text(page, study));
    }
    if page.depth == Depth::Every {
        for (at, option) in study.options.iter().enumerate().skip(1) {
            let _ = writeln!(out, "\n{}, setup {}", brake.id, at + 1);
            out.push_str(&bends_table(option, page.width));
            out.push_str(&cautions(option, page.width));
            out.push_str(&depth::as_text(page, option));
        }
    }
    if page.draw {
        out.push_str(&drawing::as_text(best, page.width));
    }
    out
}

fn bends_table(option: &OptionStudy, width: usize) -> String {
    let row = |hit: &HitStudy| {
        vec![
            name(hit),
            angle(hit),
            hit.length.to_string(),
            hit.station.to_string(),
            hit.punch.to_string(),
            hit.die.to_string(),
            hit.v.map_or_else(|| "-".to_owned(), |v| v.to_string()),
            format!("{:.0}", hit.force.force.get()),
            closest(hit),
            format!("{:.0}", hit.force.highest.get()),
            mm(hit.radius.inside),
            decimals(hit.deduction_mm, 2),
            mm(hit.gauge.x),
            mm(hit.gauge.r),
        ]
    };
    let rows: Vec<Vec<String>> = option.hits.iter().map(row).collect();
    let columns = [
        ("bend", Side::Right),
        ("angle °", Side::Right),
        ("length", Side::Right),
        ("station", Side::Right),
        ("punch", Side::Left),
        ("die", Side::Left),
        ("V", Side::Right),
        ("kN", Side::Right),
        ("of limit", Side::Right),
        ("at most", Side::Right),
        ("radius", Side::Right),
        ("deduct", Side::Right),
        ("X", Side::Right),
        ("R", Side::Right),
    ];
    table(&columns, &rows, width)
}

/// `3`, or `3.2` for the second hit of a hem.
fn name(hit: &HitStudy) -> String {
    if hit.hit == 1 {
        hit.bend.to_string()
    } else {
        format!("{}.{}", hit.bend, hit.hit)
    }
}

/// The finished angle; what a hem's hit does in words.
fn angle(hit: &HitStudy) -> String {
    match (hit.form, hit.angle.get() > 0.0) {
        (tooling::Form::Flatten { .. }, _) => "flatten".to_owned(),
        (_, true) => decimals(hit.angle.get(), 2),
        // The sharp bend of a hem.
        (_, false) => decimals(bending::hem::FIRST_BEND_DEGREES, 2),
    }
}

fn closest(hit: &HitStudy) -> String {
    let closest = hit.force.closest;
    // A narrow column: the longer names stand in the table of loads.
    let link = match closest.link {
        "punch clamp" => "clamp",
        "punch holder" => "holder",
        "die rail" => "rail",
        "bed and ram" => "bed",
        link => link,
    };
    format!("{:.0} % {link}", closest.share * 100.0)
}

fn setup_line(study: &BrakeStudy, best: &OptionStudy) -> String {
    let program = match &best.program {
        Some(program) => format!("proven, program {program}"),
        None => "not proven here: the program has to be made".to_owned(),
    };
    let others = match study.options.len().saturating_sub(1) {
        0 => "no other setup would do".to_owned(),
        many => format!("{} would do", counted(many, "other setup", "other setups")),
    };
    format!(
        "{}, {others}; {program}; {} s a piece; {}\n",
        counted(best.stations.len(), "station", "stations"),
        seconds_of(best.cycle_ms),
        counted(usize::from(best.crew), "person", "people"),
    )
}

fn cautions(option: &OptionStudy, width: usize) -> String {
    let mut out = String::new();
    for warning in &option.warnings {
        let line = format!("Careful, {}.\n", warning.sentence());
        out.push_str(&wrapped(&line, 2, width));
    }
    if option.crew > 1 {
        let _ = writeln!(
            out,
            "{} people handle the piece: agree who works the pedal, and both stay in sight.",
            option.crew
        );
    }
    out
}

/// What stops the other punches: the refusals name the nearest miss alone.
fn stopped(page: &Page<'_>, study: &BrakeStudy) -> String {
    if study.passed_over.is_empty() {
        return String::new();
    }
    if page.depth == Depth::Short {
        return format!(
            "Other punches are stopped by something else: --brake {} says by what.\n",
            study.brake
        );
    }
    format!(
        "\nWhat stops the other punches, with the die each gets furthest with\n{}",
        setups::passed_over(study, page.width)
    )
}

/// Where it collides, and whether another order would do.
fn advice(study: &BrakeStudy, width: usize) -> String {
    let mut out = String::new();
    for collision in &study.collisions {
        let line = format!("Where: {}.\n", collision.text());
        out.push_str(&wrapped(&line, 2, width));
    }
    let geometric = |limit| matches!(limit, Limit::Collision | Limit::GaugeR);
    let only_geometric = study.refusals.iter().all(|r| geometric(r.limit));
    match &study.order {
        Some(order) => {
            let line = format!("Instead: {}.\n", order.text());
            out.push_str(&wrapped(&line, 2, width));
        }
        None if only_geometric && !study.refusals.is_empty() => {
            out.push_str("No other order of these bends was found that does better.\n");
        }
        None => {}
    }
    out
}

fn lifting(study: &PartStudy, depth: Depth, width: usize) -> String {
    let mass = study.mass.get();
    let mut out = String::new();
    let screened = study
        .lift
        .filter(|lift| lift.index > 1.0 || depth > Depth::Short);
    if mass >= LIFTING_KG || screened.is_some_and(|lift| lift.index > 1.0) {
        let line = format!(
            "Lifting: the blank weighs {} kg. Use a lifting aid or more people; your local rules on \
             lifting decide.\n",
            kilograms(mass)
        );
        out.push_str(&wrapped(&line, 2, width));
    }
    if let Some(lift) = screened {
        out.push_str(&wrapped(&screening(&lift, depth), 2, width));
    }
    out
}

fn screening(lift: &LiftStudy, depth: Depth) -> String {
    let beyond = if lift.beyond {
        ", and less: the blank is wider than the equation knows"
    } else {
        ""
    };
    let mut line = format!(
        "Screened, not approved: {} kg a person, recommended {} kg{beyond}; index {:.1}.",
        kilograms(lift.each.get()),
        kilograms(lift.limit.get()),
        lift.index
    );
    if depth > Depth::Short {
        let _ = write!(
            line,
            " Assumed, common practice, no source: hands at the middle of the shorter sides, {} mm \
             from the ankles; from a stack {} mm high to a bed {} mm high, {:.0}° to the side, {:.1} \
             times a minute for eight hours, poor grip. Shared evenly; team lifts are outside the \
             equation.",
            lift.lift.horizontal,
            lift.lift.vertical,
            lift.lift.vertical + lift.lift.travel,
            lift.lift.asymmetry.get(),
            lift.lift.lifts_per_minute,
        );
    }
    line.push('\n');
    line
}

/// Kilograms as a person says them: grams count below one.
fn kilograms(mass: f64) -> String {
    decimals(mass, if mass < 1.0 { 3 } else { 1 })
}

/// Millimetres to a hundredth, for people.
fn mm(length: Length) -> String {
    decimals(length.mm(), 2)
}

#[allow(clippy::cast_precision_loss)] // seconds a piece, for people
fn seconds_of(milliseconds: i64) -> String {
    decimals(milliseconds as f64 / 1_000.0, 1)
}

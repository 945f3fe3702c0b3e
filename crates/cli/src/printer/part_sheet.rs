//! A part, bend by bend, on every brake.

use super::load::{Load, Loaded, closest_limit};
use super::table::{Side, table};
use super::{CAUTION, INVENTED, counted, unplaced};
use model::{Brake, Part, Refusal, Shop};
use serde_json::{Value, json};
use std::fmt::Write as _;
use units::Length;
use workshop::{BendRow, BrakeSheet, PartSheet};

/// From this mass on a sheet warns about lifting. Common practice, no source; local rules differ
/// and come first.
const LIFTING_KG: f64 = 25.0;

/// The sheet as text.
pub(crate) fn as_text(
    shop: &Shop,
    part: &Part,
    sheet: &PartSheet,
    invented: bool,
    width: usize,
) -> String {
    let mut out = heading(part, sheet);
    if invented {
        out.push_str(INVENTED);
    }
    for brake_sheet in &sheet.brakes {
        let Some(brake) = shop.brake(&brake_sheet.brake) else {
            continue;
        };
        let _ = writeln!(
            out,
            "\n{}  {}, {} kN, bed {} mm",
            brake.id,
            brake.name,
            brake.force.get(),
            brake.bed
        );
        if brake_sheet.bends.is_empty() {
            out.push_str("cannot bend it:\n");
            out.push_str(&unplaced::reasons(&brake_sheet.refusals, width));
        } else {
            out.push_str(&bends_table(shop, brake, brake_sheet, width));
            out.push_str(&setup_lines(brake_sheet));
            out.push_str(&caution_lines(shop, brake, brake_sheet));
        }
    }
    out.push('\n');
    if sheet.mass.get() >= LIFTING_KG {
        let _ = writeln!(
            out,
            "Lifting: the blank weighs {:.1} kg. Use a lifting aid or more people; your local rules \
             on lifting decide.",
            sheet.mass.get()
        );
    }
    out.push_str(CAUTION);
    out
}

fn heading(part: &Part, sheet: &PartSheet) -> String {
    format!(
        "{}  {}: {} {} mm, blank {} x {} mm, {:.1} kg, {}\n",
        part.id,
        part.name,
        part.material,
        part.thickness,
        part.blank.0,
        part.blank.1,
        sheet.mass.get(),
        counted(part.bends.len(), "bend", "bends"),
    )
}

fn bends_table(shop: &Shop, brake: &Brake, sheet: &BrakeSheet, width: usize) -> String {
    let row = |bend: &BendRow| {
        vec![
            bend.bend.to_string(),
            decimals(bend.angle.get(), 2),
            bend.length.to_string(),
            bend.station.to_string(),
            bend.punch.to_string(),
            bend.die.to_string(),
            bend.v.to_string(),
            format!("{:.0}", bend.force.get()),
            load_of(shop, brake, bend).text(),
            format!("{:.0}", bend.force_highest.get()),
            mm(bend.radius),
            decimals(bend.deduction_mm, 2),
            mm(bend.x),
            mm(bend.r),
        ]
    };
    let rows: Vec<Vec<String>> = sheet.bends.iter().map(row).collect();
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
        ("kN at most", Side::Right),
        ("radius", Side::Right),
        ("deduct", Side::Right),
        ("X", Side::Right),
        ("R", Side::Right),
    ];
    table(&columns, &rows, width)
}

/// The bend's length carries the force: a punch is at least as long, but for the clearance between
/// box sides.
fn load_of(shop: &Shop, brake: &Brake, bend: &BendRow) -> Load {
    let loaded = Loaded {
        force: bend.force,
        length: bend.length,
        punch: &bend.punch,
        die: &bend.die,
    };
    closest_limit(shop, brake, loaded)
}

fn setup_lines(sheet: &BrakeSheet) -> String {
    let program = match &sheet.program {
        Some(program) => format!("proven, program {program}"),
        None => "not proven here: the program has to be made".to_owned(),
    };
    let others = match sheet.others {
        0 => "no other setup would do".to_owned(),
        many => format!("{} would do", counted(many, "other setup", "other setups")),
    };
    format!(
        "{}, {others}; {program}; {} s a piece; {}\n",
        counted(sheet.stations, "station", "stations"),
        seconds_of(sheet.cycle_ms),
        counted(usize::from(sheet.crew), "person", "people"),
    )
}

fn caution_lines(shop: &Shop, brake: &Brake, sheet: &BrakeSheet) -> String {
    let mut out = String::new();
    for bend in &sheet.bends {
        let load = load_of(shop, brake, bend);
        if load.is_near() {
            let _ = writeln!(
                out,
                "Careful, bend {}: {} of what it bears.",
                bend.bend,
                load.text()
            );
        }
        if bend.force_highest > brake.force {
            let _ = writeln!(
                out,
                "Careful, bend {}: sheet at the upper end of its strength would take {:.0} kN, this \
                 brake is rated {}.",
                bend.bend,
                bend.force_highest.get(),
                brake.force.get()
            );
        }
    }
    if sheet.crew > 1 {
        let _ = writeln!(
            out,
            "{} people handle the piece: agree who works the pedal, and both stay in sight.",
            sheet.crew
        );
    }
    out
}

/// Millimetres to a hundredth, for people.
fn mm(length: Length) -> String {
    decimals(length.mm(), 2)
}

/// At most so many decimals, none of them a trailing zero.
pub(super) fn decimals(value: f64, most: usize) -> String {
    let text = format!("{value:.most$}");
    if text.contains('.') {
        let short = text.trim_end_matches('0').trim_end_matches('.');
        return if short == "-0" {
            "0".to_owned()
        } else {
            short.to_owned()
        };
    }
    text
}

#[allow(clippy::cast_precision_loss)] // seconds a piece, for people
fn seconds_of(milliseconds: i64) -> String {
    decimals(milliseconds as f64 / 1_000.0, 1)
}

/// The sheet for machines; lengths in millimetres, forces in kilonewtons.
pub(crate) fn as_json(shop: &Shop, part: &Part, sheet: &PartSheet) -> Value {
    let brakes: Vec<Value> = sheet
        .brakes
        .iter()
        .map(|brake_sheet| brake_json(shop, brake_sheet))
        .collect();
    json!({
        "format": "brakewright.bends/1",
        "part": part.id.as_str(),
        "name": part.name,
        "material": part.material.as_str(),
        "thickness_mm": part.thickness.mm(),
        "mass_kg": sheet.mass.get(),
        "brakes": brakes,
    })
}

fn brake_json(shop: &Shop, sheet: &BrakeSheet) -> Value {
    let bends: Vec<Value> = shop.brake(&sheet.brake).map_or_else(Vec::new, |brake| {
        let json = |bend: &BendRow| bend_json(bend, load_of(shop, brake, bend));
        sheet.bends.iter().map(json).collect()
    });
    let reasons: Vec<Value> = sheet.refusals.iter().map(reason_json).collect();
    json!({
        "brake": sheet.brake.as_str(),
        "fits": !sheet.bends.is_empty(),
        "bends": bends,
        "stations": sheet.stations,
        "other_setups": sheet.others,
        "program": sheet.program,
        "cycle_ms": sheet.cycle_ms,
        "crew": sheet.crew,
        "reasons": reasons,
    })
}

fn bend_json(bend: &BendRow, load: Load) -> Value {
    json!({
        "bend": bend.bend,
        "angle_deg": bend.angle.get(),
        "length_mm": bend.length.mm(),
        "station": bend.station,
        "punch": bend.punch.as_str(),
        "die": bend.die.as_str(),
        "v_mm": bend.v.mm(),
        "force_kn": bend.force.get(),
        "force_at_highest_strength_kn": bend.force_highest.get(),
        "closest_limit": load.link,
        "share_of_limit": load.share,
        "radius_mm": bend.radius.mm(),
        "deduction_mm": bend.deduction_mm,
        "x_mm": bend.x.mm(),
        "r_mm": bend.r.mm(),
        "ram_to_bed_mm": bend.ram_to_bed.mm(),
    })
}

fn reason_json(refusal: &Refusal) -> Value {
    json!({
        "bend": refusal.bend,
        "needed": refusal.needed,
        "limit": refusal.available,
        "unit": refusal.unit,
        "text": refusal.text,
    })
}

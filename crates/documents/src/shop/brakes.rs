//! brakes.toml: the press brakes.

use super::defaults::{Defaults, read_times};
use super::general::{General, check_calendar};
use crate::codes::{EMPTY_LIST, NOT_FOR_THIS, REVERSED, TOO_MANY, WRONG_TYPE};
use crate::fields::Fields;
use crate::findings::{Findings, Problem};
use crate::known::Known;
use crate::settings::{Settings, read_settings};
use crate::time_value::Day;
use crate::value::{Choice, Id, LengthIn, Number, Text, Whole};
use chrono::NaiveDate;
use model::{Axis, Brake, ChangeTimes, Clamping, Gauge, Speeds, ZDrive};
use units::{
    BrakeId, CalendarId, Degrees, Kilonewtons, KilonewtonsPerMetre, Length, MillimetresPerSecond,
    Place,
};

pub(super) const FILE: &str = "brakes.toml";

/// Most brakes of a shop.
const MOST_BRAKES: usize = 1_000;
const SIZE: LengthIn = LengthIn::above_zero(30_000);
const HOLDER: LengthIn = LengthIn::from(0, 5_000);
/// Ram and bed of a brake that says nothing of them, front to back [trade].
const RAM_THICKNESS: Length = Length::from_whole_mm(100);
const BED_THICKNESS: Length = Length::from_whole_mm(120);
const POSITION: LengthIn = LengthIn::from(-5_000, 30_000);
const LOAD: Number = Number::above(0.0, 100_000.0, "kN/m");
const SPEED: Number = Number::above(0.0, 10_000.0, "mm/s");
const CLAMPING: Choice<Clamping> = Choice(&[
    ("bolted", Clamping::Bolted),
    ("quick", Clamping::Quick),
    ("powered", Clamping::Powered),
]);
const Z_DRIVE: Choice<ZDrive> = Choice(&[("hand", ZDrive::Hand), ("powered", ZDrive::Powered)]);

/// The brakes and their ids.
pub(super) struct Brakes {
    pub(super) list: Vec<Brake>,
    pub(super) ids: Known<BrakeId>,
}

impl Brakes {
    pub(super) fn get(&self, id: &BrakeId) -> Option<&Brake> {
        self.list.iter().find(|brake| brake.id == *id)
    }
}

/// Reads brakes.toml.
pub(super) fn read_brakes(
    bytes: Option<&[u8]>,
    general: &General,
    defaults: &Defaults,
    out: &mut Findings,
) -> Brakes {
    let mut brakes = Brakes {
        list: Vec::new(),
        ids: Known::new(),
    };
    let Some(bytes) = bytes else {
        brakes.ids.mark_incomplete();
        return brakes;
    };
    let mut any = false;
    let whole = read_settings(FILE, bytes, out, |file| {
        file.unit = general.unit;
        file.each("brake", |brake| {
            any = true;
            if brakes.list.len() < MOST_BRAKES {
                read_brake(brake, general, defaults, &mut brakes);
            } else {
                let expected = format!("at most {MOST_BRAKES} brakes");
                let problem = Problem::new(TOO_MANY, "one more", expected, "take it out");
                brake.report("id", problem);
            }
        });
    });
    if !whole {
        brakes.ids.mark_incomplete();
    } else if !any {
        let place = Place {
            file: FILE.to_owned(),
            line: None,
            field: Some("brake".to_owned()),
        };
        let action = "describe each press brake under [[brake]]";
        out.add(
            place,
            Problem::new(EMPTY_LIST, "no brake", "at least one brake", action),
        );
    }
    brakes
}

fn read_brake(
    brake: &mut Settings<'_, '_>,
    general: &General,
    defaults: &Defaults,
    brakes: &mut Brakes,
) {
    let id = brake.required("id", &Id(BrakeId::new));
    let fresh = match &id {
        Some(id) => brakes.ids.add(id, brake.place("id"), brake.out),
        None => {
            brakes.ids.mark_incomplete();
            false
        }
    };
    let read = read_keys(brake, id, general, defaults);
    if let Some(read) = read {
        check_heights(brake, &read);
        if fresh {
            brakes.list.push(read);
        }
    }
}

fn read_keys(
    brake: &mut Settings<'_, '_>,
    id: Option<BrakeId>,
    general: &General,
    defaults: &Defaults,
) -> Option<Brake> {
    let name = brake.required("name", &Text);
    let force = brake.required("force_kn", &Number::above(0.0, 100_000.0, "kN"));
    let heights = read_heights(brake);
    let bed = brake.required("bed", &SIZE);
    let between_frames = brake.required("between_frames", &SIZE);
    let throat = brake.required("throat", &LengthIn::from(0, 30_000));
    let drive_span = brake.required("drive_span", &SIZE);
    let ram_thickness = brake.or("ram_thickness", &SIZE, RAM_THICKNESS);
    let bed_thickness = brake.or("bed_thickness", &SIZE, BED_THICKNESS);
    let bed_load = brake.optional("bed_load_kn_m", &LOAD);
    let clamp_load = brake.required("clamp_load_kn_m", &LOAD);
    let holder_load = brake.required("holder_load_kn_m", &LOAD);
    let rail_load = brake.required("rail_load_kn_m", &LOAD);
    let tang = brake.required("tang", &Text);
    let die_mount = brake.required("die_mount", &Text);
    let clamping = brake.required("clamping", &CLAMPING);
    let speeds = read_speeds(brake);
    let gauge = read_gauge(brake);
    let accuracy = brake.required("angle_accuracy_deg", &Number::above(0.0, 30.0, "degrees"));
    let calendar = brake.required("calendar", &Id(CalendarId::new));
    if let Some(calendar) = &calendar {
        check_calendar(brake, "calendar", calendar, &general.calendar_ids);
    }
    let times = brake_times(brake, clamping, defaults);
    let [open_height, stroke, upper_holder, lower_holder, mute_height] = heights?;
    Some(Brake {
        id: id?,
        name: name?,
        force: Kilonewtons::of(force?),
        bed: bed?,
        between_frames: between_frames?,
        throat: throat?,
        open_height,
        stroke,
        drive_span: drive_span?,
        upper_holder,
        lower_holder,
        bed_load: bed_load.map(KilonewtonsPerMetre::of),
        clamp_load: KilonewtonsPerMetre::of(clamp_load?),
        holder_load: KilonewtonsPerMetre::of(holder_load?),
        rail_load: KilonewtonsPerMetre::of(rail_load?),
        tang: tang?,
        die_mount: die_mount?,
        clamping: clamping?,
        speeds: speeds?,
        ram_thickness,
        bed_thickness,
        mute_height,
        gauge: gauge?,
        angle_accuracy: Degrees::of(accuracy?),
        calendar: calendar?,
        times,
    })
}

/// Open height, stroke, upper and lower holder, mute height.
fn read_heights(brake: &mut Settings<'_, '_>) -> Option<[Length; 5]> {
    let open_height = brake.required("open_height", &SIZE);
    let stroke = brake.required("stroke", &SIZE);
    let upper_holder = brake.required("upper_holder", &HOLDER);
    let lower_holder = brake.required("lower_holder", &HOLDER);
    let mute_height = brake.required("mute_height", &HOLDER);
    Some([
        open_height?,
        stroke?,
        upper_holder?,
        lower_holder?,
        mute_height?,
    ])
}

fn brake_times(
    brake: &mut Settings<'_, '_>,
    clamping: Option<Clamping>,
    defaults: &Defaults,
) -> ChangeTimes {
    // An unknown clamping is reported already; its times are read for their own findings.
    let base = defaults.times(clamping.unwrap_or(Clamping::Bolted));
    brake
        .inside("times", |times| read_times(times, Some(base)))
        .unwrap_or(base)
}

fn read_speeds(brake: &mut Settings<'_, '_>) -> Option<Speeds> {
    let mut speed = |key| brake.required(key, &SPEED).map(MillimetresPerSecond::of);
    let fast = speed("fast_mm_s");
    let slow = speed("slow_mm_s");
    let bend = speed("bend_mm_s");
    let back = speed("back_mm_s");
    let gauge = speed("gauge_mm_s");
    Some(Speeds {
        fast: fast?,
        slow: slow?,
        bend: bend?,
        back: back?,
        gauge: gauge?,
    })
}

fn read_gauge(brake: &mut Settings<'_, '_>) -> Option<Gauge> {
    let fitted = brake.inside("fitted", |fitted| {
        ["x", "x_difference", "r"].map(|axis| fitted.optional(axis, &Day))
    });
    let [x_day, difference_day, r_day] = fitted.unwrap_or([None; 3]);
    if !brake.has("x") {
        brake.absent("x", "the range of the gauge's X axis, as [from, to]");
    }
    let x = read_axis(brake, "x", x_day);
    let x_difference = read_axis(brake, "x_difference", difference_day);
    let r = read_axis(brake, "r", r_day);
    let z = brake.required("z", &Z_DRIVE);
    let fingers = brake.required(
        "fingers",
        &Whole {
            least: 1,
            most: 40,
            unit: "fingers",
        },
    );
    let fingers = fingers.and_then(|fingers| u8::try_from(fingers).ok());
    Some(Gauge {
        x: x?,
        x_difference,
        r,
        z: z?,
        fingers: fingers?,
    })
}

fn read_axis(
    brake: &mut Settings<'_, '_>,
    key: &'static str,
    fitted: Option<NaiveDate>,
) -> Option<Axis> {
    let ends = brake.list(key, &POSITION);
    if let (None, false, Some(_)) = (&ends, brake.has(key), fitted) {
        let found = format!("a day on which {key} is fitted");
        let action = "give the axis its range, or take the day out";
        brake.report(
            "fitted",
            Problem::new(NOT_FOR_THIS, found, "an axis to fit", action),
        );
    }
    let ends = ends?;
    let [from, to] = ends.as_slice() else {
        let found = format!("a list of {}", ends.len());
        let problem = Problem::new(WRONG_TYPE, found, "two lengths", "write [from, to]");
        brake.report(key, problem);
        return None;
    };
    if from > to {
        let found = format!("from {from} to {to} mm");
        let problem = Problem::new(REVERSED, found, "a range that rises", "swap the two");
        brake.report(key, problem);
        return None;
    }
    Some(Axis {
        from: *from,
        to: *to,
        fitted,
    })
}

fn check_heights(brake: &mut Settings<'_, '_>, read: &Brake) {
    let open = read.open_height;
    let mut within = |key, value: Length, what: &str| {
        if value > open {
            let found = format!("{what} {value} mm, open height {open} mm");
            let expected = "no more than the open height";
            let problem = Problem::new(REVERSED, found, expected, "correct one of the two");
            brake.report(key, problem);
        }
    };
    within("stroke", read.stroke, "stroke");
    within("mute_height", read.mute_height, "mute height");
    within(
        "upper_holder",
        read.upper_holder + read.lower_holder,
        "both holders",
    );
}

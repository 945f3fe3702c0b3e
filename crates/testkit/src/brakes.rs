//! Press brakes.

use crate::dice::Dice;
use crate::recipe::Recipe;
use model::{Axis, Brake, ChangeTimes, Clamping, Gauge, Speeds, ZDrive};
use units::{
    BrakeId, CalendarId, Degrees, Kilonewtons, KilonewtonsPerMetre, Length, MillimetresPerSecond,
    Seconds,
};

/// What tells brakes apart. Rates are plausible and stand for no real brake [trade].
struct Kind {
    name: &'static str,
    force: f64,
    /// Bed, between frames, throat, open height, stroke, between drives.
    sizes: [i64; 6],
    r: bool,
    x_difference: bool,
    z: ZDrive,
    fingers: u8,
    clamping: Clamping,
    accuracy: f64,
}

/// The first one makes every part of the generator; others make some.
const KINDS: [Kind; 5] = [
    Kind {
        name: "all-rounder",
        force: 1_350.0,
        sizes: [3_100, 2_550, 410, 500, 250, 2_700],
        r: true,
        x_difference: false,
        z: ZDrive::Powered,
        fingers: 4,
        clamping: Clamping::Powered,
        accuracy: 0.5,
    },
    Kind {
        name: "two-metre",
        force: 800.0,
        sizes: [2_100, 1_700, 300, 420, 180, 1_800],
        r: false,
        x_difference: false,
        z: ZDrive::Hand,
        fingers: 4,
        clamping: Clamping::Quick,
        accuracy: 0.75,
    },
    Kind {
        name: "long one",
        force: 1_700.0,
        sizes: [4_100, 3_600, 420, 520, 250, 3_700],
        r: true,
        x_difference: true,
        z: ZDrive::Powered,
        fingers: 4,
        clamping: Clamping::Powered,
        accuracy: 0.3,
    },
    Kind {
        name: "bracket brake",
        force: 400.0,
        sizes: [1_250, 1_050, 200, 370, 150, 1_000],
        r: false,
        x_difference: false,
        z: ZDrive::Hand,
        fingers: 2,
        clamping: Clamping::Quick,
        accuracy: 0.5,
    },
    Kind {
        name: "old one, bolted",
        force: 1_600.0,
        sizes: [3_100, 2_550, 400, 450, 200, 2_700],
        r: true,
        x_difference: false,
        z: ZDrive::Hand,
        fingers: 4,
        clamping: Clamping::Bolted,
        accuracy: 1.0,
    },
];

pub(crate) fn brakes(recipe: &Recipe, dice: &mut Dice) -> Vec<Brake> {
    (0..recipe.brakes.max(1))
        .map(|number| brake(recipe, dice, number))
        .collect()
}

fn brake(recipe: &Recipe, dice: &mut Dice, number: usize) -> Brake {
    let kind = &KINDS[number % KINDS.len()];
    let mm = Length::from_whole_mm;
    let [bed, between_frames, throat, open_height, stroke, drive_span] = kind.sizes.map(mm);
    let speed = MillimetresPerSecond::of;
    let load = KilonewtonsPerMetre::of(1_200.0);
    let axis = |from, to| Axis {
        from: mm(from),
        to: mm(to),
        fitted: None,
    };
    let first_takes_tapers = number == 0 && recipe.features.tapers;
    // The first brake stands for all parts, so it is staffed whenever anybody is.
    let calendar = if number > 0 && dice.one_in(5) {
        "early"
    } else {
        "two-shift"
    };
    Brake {
        id: BrakeId::new(&format!("B{}", number + 1)).expect("an id"),
        name: kind.name.to_owned(),
        force: Kilonewtons::of(kind.force),
        bed,
        between_frames,
        throat,
        open_height,
        stroke,
        drive_span,
        upper_holder: mm(60),
        lower_holder: mm(30),
        bed_load: (number % 2 == 1).then_some(load),
        clamp_load: load,
        holder_load: load,
        rail_load: load,
        tang: "groove-20".to_owned(),
        die_mount: "rail-60".to_owned(),
        clamping: kind.clamping,
        speeds: Speeds {
            fast: speed(120.0),
            slow: speed(10.0),
            bend: speed(9.5),
            back: speed(110.0),
            gauge: speed(300.0),
        },
        ram_thickness: mm(100),
        bed_thickness: mm(if number % 3 == 1 { 90 } else { 120 }),
        mute_height: mm(6),
        gauge: Gauge {
            x: axis(3, 700),
            x_difference: (kind.x_difference || first_takes_tapers).then(|| axis(0, 150)),
            r: kind.r.then(|| axis(-20, 150)),
            z: kind.z,
            fingers: kind.fingers,
        },
        angle_accuracy: Degrees::of(kind.accuracy),
        calendar: CalendarId::new(calendar).expect("an id"),
        times: times(kind.clamping, dice),
    }
}

/// By clamping, with a few odd seconds.
fn times(clamping: Clamping, dice: &mut Dice) -> ChangeTimes {
    let tenths = match clamping {
        Clamping::Bolted => 15,
        Clamping::Quick => 10,
        Clamping::Powered => 6,
    };
    let mut about = |seconds: i64| Seconds(seconds * tenths / 10 + dice.whole(0, 7));
    let (base, station_off) = (about(240), about(45));
    ChangeTimes {
        base,
        station_off,
        section_off: about(18),
        station_on: about(90),
        section_on: about(30),
        // From what is thrown already: another throw would make every shop another one.
        station_slide: Seconds(base.0 / 5),
        section_turn: Seconds(station_off.0 * 3 / 4),
        heavy_section: about(150),
        fingers: about(60),
        guard: about(100),
        program: about(50),
    }
}

//! An invented shop: two brakes, two dies, four people, five orders.
//!
//! Figures are chosen so that they can be worked out on paper: Rm 400 MPa, radius 15 % of V,
//! K 0.4, all speeds 10 or 100 mm/s.

use chrono::{DateTime, NaiveTime, Utc, Weekday};
use model::*;
use units::*;

pub(crate) fn kn_m(load: f64) -> KilonewtonsPerMetre {
    KilonewtonsPerMetre::of(load)
}

pub(crate) fn mm(millimetres: i64) -> Length {
    Length::from_whole_mm(millimetres)
}

pub(crate) fn brake_id(id: &str) -> BrakeId {
    BrakeId::new(id).unwrap()
}

pub(crate) fn order_id(id: &str) -> OrderId {
    OrderId::new(id).unwrap()
}

pub(crate) fn part_id(id: &str) -> PartId {
    PartId::new(id).unwrap()
}

pub(crate) fn person_id(id: &str) -> PersonId {
    PersonId::new(id).unwrap()
}

pub(crate) fn profile_id(id: &str) -> ProfileId {
    ProfileId::new(id).unwrap()
}

pub(crate) fn section_id(id: &str) -> SectionId {
    SectionId::new(id).unwrap()
}

pub(crate) fn calendar_id(id: &str) -> CalendarId {
    CalendarId::new(id).unwrap()
}

/// A clock time of Monday 2027-03-22 in Berlin, which is an hour ahead of UTC.
pub(crate) fn at(clock: &str) -> Moment {
    let utc: DateTime<Utc> = format!("2027-03-22T{clock}+01:00").parse().unwrap();
    Moment(utc.timestamp())
}

pub(crate) fn local(clock: &str) -> NaiveTime {
    NaiveTime::parse_from_str(clock, "%H:%M").unwrap()
}

pub(crate) fn span(start: &str, end: &str) -> LocalSpan {
    LocalSpan {
        start: local(start),
        end: local(end),
    }
}

pub(crate) fn calendar(id: &str, start: &str, end: &str) -> Calendar {
    let shift = Shift {
        name: id.to_owned(),
        days: vec![
            Weekday::Mon,
            Weekday::Tue,
            Weekday::Wed,
            Weekday::Thu,
            Weekday::Fri,
        ],
        span: span(start, end),
        breaks: vec![span("09:00", "09:30")],
        overtime: false,
    };
    Calendar {
        id: calendar_id(id),
        shifts: vec![shift],
        closed: Vec::new(),
        extra: Vec::new(),
    }
}

pub(crate) fn shop() -> Shop {
    Shop {
        name: "Twin Oak Sheetwork (invented)".to_owned(),
        zone: chrono_tz::Europe::Berlin,
        as_of: None,
        rules: rules(),
        calendars: vec![
            calendar("day", "06:00", "14:00"),
            calendar("short", "06:00", "06:40"),
        ],
        brakes: vec![brake("B1", ZDrive::Hand), brake("B2", ZDrive::Powered)],
        materials: vec![steel()],
        profiles: profiles(),
        sections: sections(),
        parts: parts(),
        deductions: Vec::new(),
        setups: vec![proven()],
        orders: orders(),
        people: vec![
            person("M1", Role::Both),
            person("M2", Role::Setter),
            person("M3", Role::Operator),
            person("M4", Role::Operator),
        ],
        floor: floor(),
    }
}

fn rules() -> Rules {
    Rules {
        force_form: "oehler".to_owned(),
        v_rules: vec![
            VRule {
                thickness_to: mm(2),
                least: 6.0,
                preferred: 8.0,
                most: 10.0,
            },
            VRule {
                thickness_to: mm(20),
                least: 6.0,
                preferred: 8.0,
                most: 12.0,
            },
        ],
        radius_tolerance: 0.1,
        k_factor: Some(0.4),
        station_gap: mm(20),
        station_overhang: mm(100),
        box_short: mm(10),
        daylight_clearance: mm(20),
        crash_clearance: mm(1),
        approach: mm(50),
        touch_allowance: Length::from_mm(0.1),
        stop_height: mm(12),
        flatten_factor: 4.0,
        step_depth: Length::from_mm(0.5),
        dwell_seconds: 0.3,
        load_seconds: 10.0,
        place_seconds: 5.0,
        size_seconds_per_metre: 2.0,
        mass_seconds_per_kg: 0.5,
        flip_seconds: 4.0,
        turn_seconds: 3.0,
        one_person_mass: Kilograms::of(20.0),
        two_person_mass: Kilograms::of(50.0),
        heavy_section_mass: Kilograms::of(25.0),
        check_every: 20,
        check_seconds: 30,
        programming: Seconds(600),
        first_off_pieces: 2,
        approve_own: Seconds(60),
        approve_inspector: Seconds(300),
        approve_customer: Seconds(900),
        inspector_calendar: Some(calendar_id("day")),
        quiet_before_shift_end: Seconds(1_800),
        changeover_may_span_shifts: false,
        run_may_span_shifts: false,
        frozen: Seconds(0),
        late_hour_minutes: 30,
        overtime_tenths: 15,
        told: Seconds(86_400),
        other_brake_minutes: 15,
        moved_hour_minutes: 2,
        unplaced_minutes: 1_000,
        horizon_days: 14,
        chance: model::Chance::NONE,
    }
}

fn brake(id: &str, z: ZDrive) -> Brake {
    let speed = MillimetresPerSecond::of;
    Brake {
        id: brake_id(id),
        name: id.to_owned(),
        force: Kilonewtons::of(1_000.0),
        bed: mm(4_000),
        between_frames: mm(3_500),
        throat: mm(400),
        open_height: mm(500),
        stroke: mm(250),
        drive_span: mm(3_600),
        upper_holder: mm(100),
        lower_holder: mm(0),
        bed_load: None,
        clamp_load: kn_m(800.0),
        holder_load: kn_m(800.0),
        rail_load: kn_m(800.0),
        tang: "slot".to_owned(),
        die_mount: "rail".to_owned(),
        clamping: Clamping::Quick,
        speeds: Speeds {
            fast: speed(100.0),
            slow: speed(10.0),
            bend: speed(10.0),
            back: speed(100.0),
            gauge: speed(50.0),
        },
        ram_thickness: mm(100),
        bed_thickness: mm(120),
        mute_height: mm(6),
        gauge: Gauge {
            x: Axis {
                from: mm(5),
                to: mm(500),
                fitted: None,
            },
            x_difference: None,
            r: None,
            z,
            fingers: 2,
        },
        angle_accuracy: Degrees::of(0.5),
        calendar: calendar_id("day"),
        times: ChangeTimes {
            base: Seconds(300),
            station_off: Seconds(60),
            section_off: Seconds(30),
            station_on: Seconds(120),
            section_on: Seconds(60),
            station_slide: Seconds(45),
            section_turn: Seconds(40),
            heavy_section: Seconds(120),
            fingers: Seconds(30),
            guard: Seconds(60),
            program: Seconds(120),
        },
    }
}

fn steel() -> Material {
    Material {
        id: MaterialId::new("steel").unwrap(),
        name: "mild steel".to_owned(),
        family: Family::Steel,
        strength_typical: Megapascals::of(400.0),
        strength_highest: Megapascals::of(510.0),
        yield_strength: Megapascals::of(235.0),
        modulus: Megapascals::of(210_000.0),
        density: 7_850.0,
        radius_share_of_v: 0.15,
        springback: Degrees::of(1.0),
        v_over_t: None,
        source: "invented for this test".to_owned(),
    }
}

fn profiles() -> Vec<Profile> {
    let die = |id: &str, v: i64| {
        Profile::Die(Die {
            id: profile_id(id),
            v: mm(v),
            angle: Degrees::of(85.0),
            height: mm(80),
            groove_depth: mm(15),
            load: kn_m(800.0),
            mount: "rail".to_owned(),
            width: mm(60),
            block: None,
            flattening: false,
        })
    };
    let punch = Profile::Punch(Punch {
        id: profile_id("PA"),
        angle: Degrees::of(85.0),
        tip_radius: mm(1),
        height: mm(120),
        load: kn_m(800.0),
        tang: "slot".to_owned(),
        relief: mm(0),
        relief_height: mm(0),
        body: mm(25),
        flattening: false,
    });
    vec![punch, die("D16", 16), die("D24", 24)]
}

fn sections() -> Vec<Section> {
    let section = |id: &str, profile: &str, length: i64, mass: f64, horn: Horn| Section {
        id: section_id(id),
        profile: profile_id(profile),
        set: "A".to_owned(),
        length: mm(length),
        horn,
        drawer: format!("drawer of {profile}"),
        mass: Kilograms::of(mass),
        status: SectionStatus::Good,
    };
    let mut sections = vec![
        section("PA-1", "PA", 1_000, 20.0, Horn::None),
        section("PA-2", "PA", 1_000, 30.0, Horn::None),
        section("PA-3", "PA", 300, 6.0, Horn::None),
        section("PA-5", "PA", 1_000, 20.0, Horn::None),
        section("PA-6", "PA", 1_000, 20.0, Horn::None),
        section("PA-7", "PA", 300, 6.0, Horn::None),
        section("HL", "PA", 100, 2.0, Horn::Left),
        section("HR", "PA", 100, 2.0, Horn::Right),
        section("D16-1", "D16", 1_000, 18.0, Horn::None),
        section("D16-2", "D16", 300, 5.0, Horn::None),
        section("D16-3", "D16", 1_000, 18.0, Horn::None),
        section("D24-1", "D24", 1_000, 22.0, Horn::None),
    ];
    for other_set in sections
        .iter_mut()
        .filter(|section| section.id.as_str() == "PA-7")
    {
        other_set.set = "B".to_owned();
    }
    sections
}

pub(crate) fn bend(number: u8, length: i64, leg: i64) -> Bend {
    Bend {
        number,
        angle: Degrees::of(90.0),
        kind: BendKind::Air,
        line: None,
        length: mm(length),
        leg: mm(leg),
        direction: Direction::Up,
        edge: Edge::A,
        radius: None,
        inside: None,
        side_return: mm(0),
        return_depth: mm(0),
        lift: mm(0),
        taper: Degrees::of(0.0),
        flange_height: mm(leg),
    }
}

pub(crate) fn part(id: &str, thickness: i64, blank: (i64, i64), bends: Vec<Bend>) -> Part {
    Part {
        id: part_id(id),
        name: id.to_owned(),
        material: MaterialId::new("steel").unwrap(),
        thickness: mm(thickness),
        blank: (mm(blank.0), mm(blank.1)),
        developed_for_v: None,
        length_tolerance: Length::from_mm(0.5),
        angle_tolerance: Degrees::of(1.0),
        crew: None,
        approval: Approval::Own,
        proven_only: false,
        grain: None,
        bends,
    }
}

fn parts() -> Vec<Part> {
    let mut angle_strip = part("P2", 3, (1_000, 80), vec![bend(1, 1_000, 40)]);
    angle_strip.approval = Approval::Inspector;
    let second = Bend {
        direction: Direction::Down,
        edge: Edge::B,
        flange_height: mm(40),
        ..bend(2, 800, 80)
    };
    let mut channel = part("P3", 2, (800, 50), vec![bend(1, 800, 30), second]);
    channel.crew = Some(2);
    vec![
        part("P1", 2, (1_000, 60), vec![bend(1, 1_000, 30)]),
        angle_strip,
        channel,
        part("P4", 2, (3_000, 1_500), vec![bend(1, 1_000, 30)]),
    ]
}

fn proven() -> ProvenSetup {
    ProvenSetup {
        part: part_id("P3"),
        brake: brake_id("B2"),
        program: "PRG-3".to_owned(),
        stations: vec![ProvenStation {
            punch: profile_id("PA"),
            die: profile_id("D16"),
            length: mm(900),
            bends: vec![1, 2],
        }],
        seconds_a_piece: Some(12.5),
        last_run: None,
    }
}

pub(crate) fn order(id: &str, part: &str, quantity: u32, due: &str, weight: u32) -> WorkOrder {
    WorkOrder {
        id: order_id(id),
        part: part_id(part),
        quantity,
        ready: at("05:00:00"),
        due: at(due),
        weight,
        kit: None,
        after: None,
        brake: None,
        place: None,
        run_pieces: None,
        certificate: None,
        heat: String::new(),
        reference: String::new(),
        deliveries: Vec::new(),
        blanks: Vec::new(),
    }
}

fn orders() -> Vec<WorkOrder> {
    let kit = Some(KitId::new("K1").unwrap());
    let mut second = order("O2", "P2", 600, "11:00:00", 2);
    second.kit.clone_from(&kit);
    let mut fourth = order("O4", "P1", 30, "11:30:00", 1);
    fourth.kit = kit;
    fourth.after = Some(order_id("O3"));
    vec![
        order("O1", "P1", 100, "12:00:00", 1),
        second,
        order("O3", "P3", 50, "12:00:00", 1),
        fourth,
        order("O5", "P4", 10, "12:00:00", 3),
    ]
}

fn person(id: &str, role: Role) -> Person {
    Person {
        id: person_id(id),
        role,
        calendar: calendar_id("day"),
        brakes: vec![brake_id("B1"), brake_id("B2")],
    }
}

fn floor() -> Floor {
    let station =
        |brake: &str, left: i64, die: &str, punch_section: &str, die_section: &str| BedStation {
            brake: brake_id(brake),
            punch: profile_id("PA"),
            die: profile_id(die),
            left: mm(left),
            reversed: false,
            punch_sections: vec![section_id(punch_section)],
            die_sections: vec![section_id(die_section)],
        };
    Floor {
        stations: vec![
            station("B1", 200, "D16", "PA-3", "D16-2"),
            station("B1", 1_000, "D16", "PA-1", "D16-1"),
            station("B2", 500, "D24", "PA-2", "D24-1"),
        ],
        running: vec![RunningOrder {
            brake: brake_id("B1"),
            order: order_id("O1"),
            pieces_done: 40,
        }],
        down: Vec::new(),
    }
}

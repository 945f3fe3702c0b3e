//! A plan comes back from its JSON exactly as it went in; anything else is refused with its line.

#![allow(clippy::expect_used)] // helpers of tests are not tests to the lint

mod small_shop;

use documents::{REFUSAL_UNITS, read_plan, read_shop, write_plan};
use model::{
    Baselines, BendUse, Bound, BrakePlan, Changeover, Limit, Plan, Refusal, Run, Segment, Shop,
    Slid, Station, StationPiece, Step, StepKind, Takedown, Told, Totals, Turned, Unplaced,
};
use proptest::collection::vec;
use proptest::option;
use proptest::prelude::*;
use units::{
    BrakeId, Kilonewtons, Length, Moment, OrderId, PartId, PersonId, ProfileId, Seconds, SectionId,
};

fn shop() -> Shop {
    read_shop(&small_shop::files())
        .0
        .expect("the small shop is good")
}

const STEPS: [StepKind; 11] = [
    StepKind::Prepare,
    StepKind::TakeOff,
    StepKind::Turn,
    StepKind::Slide,
    StepKind::PutOn,
    StepKind::Fingers,
    StepKind::Guard,
    StepKind::Program,
    StepKind::Programming,
    StepKind::FirstPiece,
    StepKind::Approval,
];

const LIMITS: [Limit; 29] = [
    Limit::Pinned,
    Limit::Proven,
    Limit::Force,
    Limit::LineLoad,
    Limit::OffCentre,
    Limit::BedLength,
    Limit::Throat,
    Limit::Stroke,
    Limit::Daylight,
    Limit::GaugeX,
    Limit::GaugeX1X2,
    Limit::GaugeR,
    Limit::Fingers,
    Limit::VOpening,
    Limit::Flange,
    Limit::Radius,
    Limit::ToolAngle,
    Limit::Relief,
    Limit::Collision,
    Limit::Flattening,
    Limit::Developed,
    Limit::Sections,
    Limit::Mount,
    Limit::AngleAccuracy,
    Limit::Mass,
    Limit::Crew,
    Limit::Blanks,
    Limit::Predecessor,
    Limit::Horizon,
];

fn id() -> impl Strategy<Value = String> {
    "[A-Za-z0-9+#./-]{1,12}"
}

fn moment() -> impl Strategy<Value = Moment> {
    prop_oneof![
        // 1990 to 2100, clock changes included, and anything at all.
        8 => (631_152_000_i64..4_102_444_800).prop_map(Moment),
        1 => any::<i64>().prop_map(Moment),
    ]
}

fn seconds() -> impl Strategy<Value = Seconds> {
    any::<i64>().prop_map(Seconds)
}

fn length() -> impl Strategy<Value = Length> {
    // Whole nanometres up to a hundred metres either way.
    (-100_000_000_000_i64..100_000_000_000).prop_map(Length::from_nanometres)
}

fn finite() -> impl Strategy<Value = f64> {
    prop_oneof![
        any::<f64>().prop_filter("finite", |x| x.is_finite()),
        0.0..10_000.0
    ]
}

fn segments() -> impl Strategy<Value = Vec<Segment>> {
    let person = id().prop_map(|text| PersonId::new(&text).expect("an id"));
    let segment = (moment(), moment(), vec(person, 0..3));
    vec(
        segment.prop_map(|(start, end, crew)| Segment { start, end, crew }),
        0..3,
    )
}

fn pieces() -> impl Strategy<Value = Vec<StationPiece>> {
    let piece = (id(), length(), ".{0,5}").prop_map(|(section, length, drawer)| StationPiece {
        section: SectionId::new(&section).expect("an id"),
        length,
        drawer,
    });
    vec(piece, 0..3)
}

fn stations() -> impl Strategy<Value = Vec<Station>> {
    let profiles = (id(), id());
    let lengths = (length(), length(), length(), length());
    let sections = (pieces(), pieces());
    let station = (profiles, lengths, any::<bool>(), sections).prop_map(
        |((punch, die), (v, left, length, closed_height), reversed, sections)| Station {
            punch: ProfileId::new(&punch).expect("an id"),
            die: ProfileId::new(&die).expect("an id"),
            v,
            left,
            length,
            reversed,
            punch_sections: sections.0,
            die_sections: sections.1,
            closed_height,
        },
    );
    vec(station, 0..3)
}

fn steps() -> impl Strategy<Value = Vec<Step>> {
    let kind = proptest::sample::select(&STEPS[..]);
    let step = (kind, seconds(), ".{0,10}");
    vec(
        step.prop_map(|(kind, time, text)| Step { kind, time, text }),
        0..4,
    )
}

fn changeover() -> impl Strategy<Value = Changeover> {
    let beds = (stations(), stations(), stations(), stations(), stations());
    let before = (id(), length());
    let times = (moment(), moment(), seconds());
    (times, segments(), beds, before, steps()).prop_map(
        |((start, end, work), segments, beds, (die, left), steps)| {
            let (remove, keep, turn, slide, insert) = beds;
            let turned = |station| Turned {
                from: ProfileId::new(&die).expect("an id"),
                station,
            };
            let slid = |station| Slid {
                from: left,
                station,
            };
            Changeover {
                start,
                end,
                work,
                segments,
                remove,
                keep,
                turn: turn.into_iter().map(turned).collect(),
                slide: slide.into_iter().map(slid).collect(),
                insert,
                steps,
            }
        },
    )
}

fn bends() -> impl Strategy<Value = Vec<BendUse>> {
    let bend = (
        any::<u8>(),
        1..=u8::MAX,
        any::<usize>(),
        finite(),
        length(),
        length(),
        length(),
    );
    let bend = bend.prop_map(|(bend, hit, station, force, x, r, radius)| BendUse {
        bend,
        hit,
        station,
        force: Kilonewtons::of(force),
        x,
        r,
        radius,
    });
    vec(bend, 0..3)
}

fn run() -> impl Strategy<Value = Run> {
    let names = (
        ".{0,8}",
        id(),
        id(),
        ".{0,8}",
        option::of(".{0,8}"),
        vec(".{0,8}", 0..3),
    );
    let times = (moment(), moment(), moment(), moment(), seconds(), seconds());
    let counts = (any::<u32>(), 0_i64..9_000_000_000_000, any::<bool>());
    let beds = (changeover(), segments(), bends(), stations());
    (names, times, counts, beds).prop_map(
        |(
            (name, order, part, batch, program, reasons),
            (start, end, ready, due, run_time, late),
            (quantity, cycle_ms, pinned),
            (changeover, segments, bends, bed),
        )| Run {
            name,
            order: OrderId::new(&order).expect("an id"),
            part: PartId::new(&part).expect("an id"),
            quantity,
            batch,
            changeover,
            start,
            end,
            segments,
            run_time,
            cycle_ms,
            bends,
            bed,
            program,
            ready,
            due,
            late,
            pinned,
            reasons,
        },
    )
}

fn takedown() -> impl Strategy<Value = Takedown> {
    (
        moment(),
        moment(),
        seconds(),
        segments(),
        stations(),
        id(),
        steps(),
    )
        .prop_map(
            |(start, end, work, segments, remove, wanted_by, steps)| Takedown {
                start,
                end,
                work,
                segments,
                remove,
                wanted_by: BrakeId::new(&wanted_by).expect("an id"),
                steps,
            },
        )
}

fn brake() -> impl Strategy<Value = BrakePlan> {
    (id(), vec(run(), 0..3), vec(takedown(), 0..2)).prop_map(|(brake, runs, takedowns)| BrakePlan {
        brake: BrakeId::new(&brake).expect("an id"),
        runs,
        takedowns,
    })
}

fn unplaced() -> impl Strategy<Value = Unplaced> {
    let limit = proptest::sample::select(&LIMITS[..]);
    let unit = proptest::sample::select(REFUSAL_UNITS);
    let number = || prop_oneof![finite(), Just(f64::INFINITY)];
    let refusal = (
        id(),
        limit,
        option::of(any::<u8>()),
        number(),
        number(),
        unit,
        ".{0,10}",
    )
        .prop_map(
            |(brake, limit, bend, needed, available, unit, text)| Refusal {
                brake: BrakeId::new(&brake).expect("an id"),
                limit,
                bend,
                needed,
                available,
                unit,
                text,
            },
        );
    (id(), any::<u32>(), vec(refusal, 0..4)).prop_map(|(order, quantity, refusals)| Unplaced {
        order: OrderId::new(&order).expect("an id"),
        quantity,
        refusals,
    })
}

fn totals() -> impl Strategy<Value = Totals> {
    let counts = (any::<u32>(), any::<u32>(), any::<u32>(), any::<u32>());
    let times = (seconds(), seconds(), seconds(), seconds());
    let disturbance = (seconds(), any::<u32>());
    (counts, times, disturbance, any::<i64>()).prop_map(
        |(
            (runs, changeovers, late_orders, unplaced_orders),
            (changeover, run, weighted_late, overtime),
            (moved, other_brakes),
            objective,
        )| Totals {
            runs,
            changeovers,
            changeover,
            run,
            late_orders,
            weighted_late,
            overtime,
            unplaced_orders,
            moved,
            other_brakes,
            objective,
        },
    )
}

fn told() -> impl Strategy<Value = Told> {
    let brake = id().prop_map(|id| BrakeId::new(&id).expect("an id"));
    (id(), moment(), vec(brake, 0..3)).prop_map(|(order, start, brakes)| Told {
        order: OrderId::new(&order).expect("an id"),
        start,
        brakes,
    })
}

fn plan() -> impl Strategy<Value = Plan> {
    let numbers = (
        any::<u64>(),
        any::<u64>(),
        option::of(any::<u64>()),
        any::<bool>(),
    );
    let lists = (vec(brake(), 0..3), vec(unplaced(), 0..3), vec(told(), 0..3));
    (
        moment(),
        moment(),
        numbers,
        lists,
        (totals(), totals(), totals()),
        option::of(any::<i64>()).prop_map(|objective| Bound { objective }),
    )
        .prop_map(
            |(
                from,
                until,
                (seed, iterations, seconds, verified),
                (brakes, unplaced, told),
                (totals, due_date_order, grouped_by_die),
                bound,
            )| Plan {
                shop: "Invented bending shop".to_owned(),
                from,
                until,
                seed,
                iterations,
                seconds,
                brakes,
                unplaced,
                told,
                totals,
                baselines: Baselines {
                    due_date_order,
                    grouped_by_die,
                },
                bound,
                verified,
            },
        )
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 200, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn a_plan_comes_back_as_it_went_in(plan in plan()) {
        let shop = shop();
        let text = write_plan(&plan, &shop);
        prop_assert_eq!(&write_plan(&plan, &shop), &text);
        prop_assert_eq!(read_plan("plan.json", text.as_bytes(), &shop), Ok(plan));
    }

    #[test]
    fn damaged_plans_are_refused_or_read_never_worse(
        plan in plan(),
        flips in vec((any::<prop::sample::Index>(), any::<u8>()), 1..6),
    ) {
        let shop = shop();
        let mut text = write_plan(&plan, &shop).into_bytes();
        for (at, byte) in flips {
            let at = at.index(text.len());
            text[at] = byte;
        }
        if let Err(findings) = read_plan("plan.json", &text, &shop) {
            prop_assert!(!findings.is_empty());
            prop_assert!(findings.iter().all(units::Finding::is_error));
        }
    }

    #[test]
    fn noise_is_no_plan(bytes in vec(any::<u8>(), 0..400)) {
        prop_assert!(read_plan("plan.json", &bytes, &shop()).is_err());
    }
}

/// Limits and steps are listed above one by one; a new one must be named before it can be written.
#[test]
fn every_limit_and_step_has_its_own_name() {
    let shop = shop();
    let brake = BrakeId::new("B1").expect("an id");
    let refusals = LIMITS.map(|limit| Refusal {
        brake: brake.clone(),
        limit,
        bend: None,
        needed: 1.0,
        available: 0.5,
        unit: "",
        text: String::new(),
    });
    let order = OrderId::new("W-1").expect("an id");
    let mut plan = empty_plan();
    plan.unplaced = vec![Unplaced {
        order,
        quantity: 1,
        refusals: refusals.to_vec(),
    }];
    let text = write_plan(&plan, &shop);
    assert!(!text.contains("\"code\": \"\""), "a limit has no name");
    let mut codes: Vec<&str> = text
        .lines()
        .filter(|line| line.contains("\"code\""))
        .collect();
    codes.sort_unstable();
    codes.dedup();
    assert_eq!(codes.len(), LIMITS.len());
    let page = include_str!("../../../docs/reference/plan-json.md");
    for line in codes {
        let name = line.split('"').nth(3).expect("a code");
        assert!(page.contains(&format!("`{name}`")), "{name}");
    }
    assert_eq!(read_plan("plan.json", text.as_bytes(), &shop), Ok(plan));
}

fn empty_plan() -> Plan {
    Plan {
        shop: "Invented bending shop".to_owned(),
        from: Moment(1_805_691_600),
        until: Moment(1_805_691_600 + 86_400),
        seed: 1,
        iterations: 10,
        seconds: None,
        brakes: vec![BrakePlan {
            brake: BrakeId::new("B1").expect("an id"),
            runs: Vec::new(),
            takedowns: Vec::new(),
        }],
        unplaced: Vec::new(),
        told: Vec::new(),
        totals: Totals {
            objective: 400,
            ..Totals::default()
        },
        baselines: Baselines::default(),
        bound: Bound {
            objective: Some(300),
        },
        verified: true,
    }
}

#[test]
fn the_text_of_a_plan_is_as_documented() {
    let text = write_plan(&empty_plan(), &shop());
    let start = "{\n  \"format\": \"brakewright.plan/1\",\n  \"shop\": \"Invented bending shop\",\n  \
                 \"from\": \"2027-03-22T06:00:00+01:00\",\n  \"until\": \"2027-03-23T06:00:00+01:00\",\n";
    assert!(text.starts_with(start), "{text}");
    assert!(
        text.contains("\"bound\": {\n    \"objective\": 300,\n    \"gap\": 0.25\n  }"),
        "{text}"
    );
    assert!(text.ends_with("\"verified\": true\n}\n"));
}

/// What is replaced in the empty plan, its replacement, the code and the place.
const REFUSED: &[(&str, &str, &str, &str)] = &[
    ("{\n", "{{\n", "D401", "p.json:1"),
    ("true\n}\n", "true\n", "D401", "p.json:79"),
    ("true\n}\n", "true\n}\nmore", "D401", "p.json:80"),
    (
        "\"seed\": 1",
        "\"seed\": 1,\n  \"mood\": 2",
        "D402",
        "p.json:7:mood",
    ),
    ("  \"seed\": 1,\n", "", "D402", "p.json:78:seed"),
    (
        "\"seed\": 1",
        "\"seed\": 1,\n  \"seed\": 2",
        "D402",
        "p.json:7:seed",
    ),
    ("\"seed\": 1", "\"seed\": -1", "D403", "p.json:6:seed"),
    ("\"seed\": 1", "\"seed\": \"one\"", "D403", "p.json:6:seed"),
    (
        "\"gap\": 0.25",
        "\"gap\": \"small\"",
        "D403",
        "p.json:76:gap",
    ),
    (
        "\"verified\": true",
        "\"verified\": 1",
        "D403",
        "p.json:78:verified",
    ),
    (
        "\"brakes\": [",
        "\"brakes\": [ 3,",
        "D403",
        "p.json:9:brakes",
    ),
    (
        "\"brake\": \"B1\"",
        "\"brake\": \"B 1\"",
        "D403",
        "p.json:brakes[0].brake",
    ),
    (
        "2027-03-22T06:00:00+01:00",
        "2027-03-22T06:00",
        "D403",
        "p.json:from",
    ),
    (
        "brakewright.plan/1",
        "brakewright.plan/2",
        "D404",
        "p.json:format",
    ),
    (
        "  \"format\": \"brakewright.plan/1\",\n",
        "",
        "D404",
        "p.json:format",
    ),
    (
        "Invented bending shop",
        "Another shop",
        "D405",
        "p.json:shop",
    ),
];

#[test]
fn anything_but_a_plan_is_refused_with_its_place() {
    let shop = shop();
    let good = write_plan(&empty_plan(), &shop);
    for (from, to, code, place) in REFUSED {
        assert!(good.contains(from), "{from}");
        let text = good.replacen(from, to, 1);
        let findings = read_plan("p.json", text.as_bytes(), &shop).expect_err(to);
        let said: Vec<String> = findings
            .iter()
            .map(|f| format!("{} {}", f.place, f.code))
            .collect();
        assert_eq!(said, [format!("{place} {code}")], "{to}: {}", findings[0]);
    }
}

#[test]
fn derived_fields_count_by_their_exact_twins() {
    let (shop, plan) = (shop(), empty_plan());
    let good = write_plan(&plan, &shop);
    let text = good
        .replace("\"gap\": 0.25", "\"gap\": 7")
        .replace("_minutes\": 0.0", "_minutes\": 9");
    assert_ne!(text, good);
    assert_eq!(read_plan("p.json", text.as_bytes(), &shop), Ok(plan));
}

#[test]
fn bytes_that_are_no_text_are_refused() {
    let shop = shop();
    let code = |bytes: &[u8]| read_plan("p.json", bytes, &shop).map_err(|f| f[0].code);
    assert_eq!(code(b"\xff{}"), Err("D102"));
    assert_eq!(code(&vec![b' '; (64 << 20) + 1]), Err("D103"));
    assert_eq!(code(b""), Err("D401"));
    assert_eq!(code("[".repeat(100_000).as_bytes()), Err("D401"));
}

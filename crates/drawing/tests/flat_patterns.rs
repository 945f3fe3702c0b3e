//! Small drawings written here, read back; and files that must be refused.

use drawing::{Asked, Flat, Layers, Unit, part_from, read_flat};
use model::{Direction, Edge};
use proptest::prelude::*;
use units::{Degrees, Length, MaterialId, PartId};

/// A drawing in millimetres with these things in it.
fn file(entities: &str) -> String {
    let body = format!(
        "0 SECTION 2 HEADER 9 $INSUNITS 70 4 0 ENDSEC 0 SECTION 2 ENTITIES {entities} 0 ENDSEC 0 EOF"
    );
    body.split_whitespace()
        .map(|word| format!("{word}\n"))
        .collect()
}

fn line(layer: &str, from: (f64, f64), to: (f64, f64)) -> String {
    format!(
        "0 LINE 8 {layer} 10 {} 20 {} 11 {} 21 {} ",
        from.0, from.1, to.0, to.1
    )
}

fn polygon(layer: &str, corners: &[(f64, f64)]) -> String {
    let corners: String = corners
        .iter()
        .map(|(x, y)| format!("10 {x} 20 {y} "))
        .collect();
    format!("0 LWPOLYLINE 8 {layer} 70 1 {corners}")
}

fn read(entities: &str) -> Result<Flat, Vec<String>> {
    let layers = Layers::usual().unwrap();
    read_flat("x.dxf", file(entities).as_bytes(), &layers, None)
        .map_err(|found| found.iter().map(ToString::to_string).collect())
}

fn code(entities: &str) -> String {
    let layers = Layers::usual().unwrap();
    let found = read_flat("x.dxf", file(entities).as_bytes(), &layers, None).unwrap_err();
    found[0].code.to_owned()
}

fn mm(value: f64) -> Length {
    Length::from_mm(value)
}

fn asked() -> Asked {
    Asked {
        id: PartId::new("P-1").unwrap(),
        name: "tray".to_owned(),
        material: MaterialId::new("DC01").unwrap(),
        thickness: mm(1.0),
        angle: Some(Degrees::of(90.0)),
        radius: Some(mm(1.0)),
        k_factor: Some(0.5),
    }
}

const TRAY: &[(f64, f64)] = &[
    (39.0, 0.0),
    (337.0, 0.0),
    (337.0, 39.0),
    (376.0, 39.0),
    (376.0, 237.0),
    (337.0, 237.0),
    (337.0, 276.0),
    (39.0, 276.0),
    (39.0, 237.0),
    (0.0, 237.0),
    (0.0, 39.0),
    (39.0, 39.0),
];

/// Four sides up, corners cut out to the bend lines.
fn tray(turn: impl Fn((f64, f64)) -> (f64, f64)) -> String {
    let corners: Vec<(f64, f64)> = TRAY.iter().map(|corner| turn(*corner)).collect();
    let mut all = polygon("OUTLINE", &corners);
    for (from, to) in [
        ((39.0, 39.0), (337.0, 39.0)),
        ((39.0, 237.0), (337.0, 237.0)),
        ((39.0, 39.0), (39.0, 237.0)),
        ((337.0, 39.0), (337.0, 237.0)),
    ] {
        all += &line("BEND-UP", turn(from), turn(to));
    }
    all
}

#[test]
fn a_tray_has_its_ends_first_and_its_sides_between_them() {
    let flat = read(&tray(|at| at)).unwrap();
    assert_eq!(flat.blank, (mm(376.0), mm(276.0)));
    assert_eq!(flat.bends.len(), 4);
    let part = part_from("x.dxf", &flat, &asked()).unwrap().part;
    let edges: Vec<Edge> = part.bends.iter().map(|bend| bend.edge).collect();
    assert_eq!(edges, [Edge::C, Edge::D, Edge::A, Edge::B]);
    // By hand: outside setback 2, allowance π/2·1.5 = 2.3562, deduction 4 − 2.3562 = 1.6438; the leg
    // is 39 + 0.8219. Between the sides 298 + 1.6438 − 2.
    let leg = 39.822;
    assert!(
        part.bends.iter().all(|bend| bend.leg == mm(leg)),
        "{:?}",
        part.bends
    );
    assert_eq!(part.bends[0].length, mm(198.0));
    assert_eq!(part.bends[0].inside, None);
    assert_eq!(part.bends[2].inside, Some(mm(297.64)));
    assert_eq!(part.bends[2].length, mm(298.0));
    assert_eq!(part.bends[3].line, Some(mm(237.0)));
}

#[test]
fn turned_and_moved_it_is_the_same_part() {
    let plain = read(&tray(|at| at)).unwrap();
    for degrees in [30.0f64, 90.0, 180.0, 217.5] {
        let (sin, cos) = degrees.to_radians().sin_cos();
        let turned = read(&tray(|(x, y)| {
            (1_000.0 + x * cos - y * sin, -400.0 + x * sin + y * cos)
        }))
        .unwrap();
        let near = |a: Length, b: Length| (a - b).abs() <= Length::from_nanometres(2_000);
        assert!(near(turned.blank.0, plain.blank.0) && near(turned.blank.1, plain.blank.1));
        for (a, b) in turned.bends.iter().zip(&plain.bends) {
            assert!(near(a.position, b.position), "{degrees}: {a:?} {b:?}");
            assert!(near(a.metal, b.metal), "{degrees}: {a:?} {b:?}");
        }
    }
}

#[test]
fn lips_are_made_before_their_flanges_and_count_between_vertices() {
    let mut all = polygon(
        "OUTLINE",
        &[(0.0, 0.0), (1150.0, 0.0), (1150.0, 176.0), (0.0, 176.0)],
    );
    for y in [11.0, 57.0, 119.0, 165.0] {
        all += &line("BEND-UP", (0.0, y), (1150.0, y));
    }
    let part = part_from("x.dxf", &read(&all).unwrap(), &asked())
        .unwrap()
        .part;
    let of = |edge: Edge| {
        let bends = part.bends.iter().filter(move |bend| bend.edge == edge);
        bends
            .map(|bend| (bend.line.unwrap(), bend.leg))
            .collect::<Vec<_>>()
    };
    assert_eq!(
        of(Edge::A),
        [(mm(11.0), mm(11.822)), (mm(57.0), mm(47.644))]
    );
    assert_eq!(
        of(Edge::B),
        [(mm(165.0), mm(11.822)), (mm(119.0), mm(47.644))]
    );
}

#[test]
fn pieces_between_cut_outs_are_one_bend_with_the_metal_it_has() {
    // A slot on the line, a notch at its end; the line is drawn in pieces, or through.
    let outline = polygon(
        "OUTLINE",
        &[
            (0.0, 0.0),
            (400.0, 0.0),
            (400.0, 20.0),
            (380.0, 20.0),
            (380.0, 40.0),
            (400.0, 40.0),
            (400.0, 150.0),
            (0.0, 150.0),
        ],
    ) + &polygon(
        "OUTLINE",
        &[(100.0, 25.0), (150.0, 25.0), (150.0, 35.0), (100.0, 35.0)],
    );
    let pieces = line("BEND-DOWN", (0.0, 30.0), (100.0, 30.0))
        + &line("BEND-DOWN", (380.0, 30.0), (150.0, 30.0));
    let through = line("BEND-DOWN", (0.0, 30.0), (380.0, 30.0));
    for lines in [pieces, through] {
        let flat = read(&(outline.clone() + &lines)).unwrap();
        assert_eq!(flat.bends.len(), 1);
        let bend = &flat.bends[0];
        assert_eq!((bend.span, bend.metal), ((mm(0.0), mm(380.0)), mm(330.0)));
        assert_eq!((bend.pieces, bend.direction), (2, Direction::Down));
        assert_eq!(flat.holes, 1);
    }
}

#[test]
fn rounded_corners_and_holes_by_arcs_keep_the_size() {
    let lines = line("OUTLINE", (10.0, 0.0), (300.0, 0.0))
        + &line("OUTLINE", (300.0, 0.0), (300.0, 100.0))
        + &line("OUTLINE", (300.0, 100.0), (0.0, 100.0))
        + &line("OUTLINE", (0.0, 100.0), (0.0, 10.0))
        + "0 ARC 8 OUTLINE 10 10 20 10 40 10 50 180 51 270 0 CIRCLE 8 OUTLINE 10 150 20 50 40 8 "
        + &line("BEND-UP", (0.0, 70.0), (300.0, 70.0));
    let flat = read(&lines).unwrap();
    assert_eq!(flat.blank, (mm(300.0), mm(100.0)));
    let area = 300.0 * 100.0 - (100.0 - 25.0 * std::f64::consts::PI) - 64.0 * std::f64::consts::PI;
    assert!(
        (flat.area_mm2 - area).abs() < 0.5,
        "{} {area}",
        flat.area_mm2
    );
}

#[test]
fn a_block_turned_and_put_in_its_place_is_read() {
    let inside = polygon("0", &[(0.0, 0.0), (200.0, 0.0), (200.0, 80.0), (0.0, 80.0)]);
    let body = format!(
        "0 SECTION 2 HEADER 9 $INSUNITS 70 1 0 ENDSEC 0 SECTION 2 BLOCKS 0 BLOCK 2 b 10 0 20 0 \
         {inside} 0 ENDBLK 0 ENDSEC 0 SECTION 2 ENTITIES 0 INSERT 8 OUTLINE 2 B 10 10 20 10 41 0.1 \
         42 0.1 50 90 {} 0 ENDSEC 0 EOF",
        line("BEND-UP", (7.0, 10.0), (7.0, 30.0))
    );
    let text: String = body
        .split_whitespace()
        .map(|word| format!("{word}\n"))
        .collect();
    let layers = Layers::usual().unwrap();
    let flat = read_flat("x", text.as_bytes(), &layers, None).unwrap();
    // 20 by 8 inches.
    assert_eq!(flat.blank, (mm(508.0), mm(203.2)));
    assert_eq!(flat.bends.len(), 1);
    let told = read_flat("x", text.as_bytes(), &layers, Some(Unit::Millimetre)).unwrap();
    assert_eq!(told.blank, (mm(20.0), mm(8.0)));
    assert!(
        told.notes
            .iter()
            .any(|note| note.contains("the file itself says in"))
    );
}

#[test]
fn what_cannot_be_used_is_refused_with_its_code() {
    let sheet = polygon(
        "OUTLINE",
        &[(0.0, 0.0), (100.0, 0.0), (100.0, 60.0), (0.0, 60.0)],
    );
    let with = |more: &str| code(&(sheet.clone() + more));
    let bend = line("BEND-UP", (0.0, 20.0), (100.0, 20.0));
    assert_eq!(with(""), "G301");
    assert_eq!(code(&bend), "G208");
    assert_eq!(with(&line("BEND-UP", (0.0, 20.0), (90.0, 20.0))), "G303");
    assert_eq!(with(&line("BEND-UP", (-9.0, 20.0), (100.0, 20.0))), "G303");
    assert_eq!(with(&line("BEND-UP", (0.0, 70.0), (100.0, 70.0))), "G304");
    assert_eq!(
        with(&(bend.clone() + &line("BEND-UP", (0.0, 20.0), (100.0, 40.0)))),
        "G302"
    );
    assert_eq!(
        with(&(bend.clone() + &line("BEND-DOWN", (0.0, 20.0), (100.0, 20.0)))),
        "G305"
    );
    assert_eq!(
        with(&(bend.clone() + &line("BEND-UP", (50.0, 0.0), (50.0, 60.0)))),
        "G306"
    );
    assert_eq!(
        with(&(bend.clone() + &line("FRAME", (0.0, 0.0), (5.0, 5.0)))),
        "G203"
    );
    assert_eq!(with("0 ARC 8 BEND-UP 10 1 20 1 40 5 50 0 51 90"), "G204");
    assert_eq!(with("0 SPLINE 8 OUTLINE 70 8"), "G204");
    assert_eq!(
        with("0 LINE 8 BEND-UP 10 0 20 20 30 5 11 100 21 20 31 5"),
        "G205"
    );
    assert_eq!(with("0 INSERT 8 OUTLINE 2 nothing 10 0 20 0"), "G108");
    let small = polygon("OUTLINE", &[(0.0, 0.0), (4.0, 0.0), (4.0, 2.0), (0.0, 2.0)]);
    assert_eq!(
        code(&(small + &line("BEND-UP", (0.0, 1.0), (4.0, 1.0)))),
        "G202"
    );
}

#[test]
fn what_the_drawing_does_not_say_must_be_told() {
    let flat = read(&tray(|at| at)).unwrap();
    let without = |change: fn(&mut Asked)| {
        let mut asked = asked();
        change(&mut asked);
        part_from("x.dxf", &flat, &asked).unwrap_err()[0].code
    };
    assert_eq!(without(|asked| asked.angle = None), "G307");
    assert_eq!(without(|asked| asked.radius = None), "G307");
    assert_eq!(without(|asked| asked.thickness = Length::ZERO), "G307");
    assert_eq!(
        without(|asked| asked.radius = Some(Length::from_whole_mm(60))),
        "G308"
    );
    let layers = Layers::usual().unwrap();
    let unitless = file(&tray(|at| at)).replace("$INSUNITS", "$OTHER");
    let refused = read_flat("x", unitless.as_bytes(), &layers, None).unwrap_err();
    assert_eq!(refused[0].code, "G201");
}

#[test]
fn hostile_files_are_refused_and_cost_little() {
    let layers = Layers::usual().unwrap();
    let code = |bytes: &[u8]| read_flat("x", bytes, &layers, None).unwrap_err()[0].code;
    assert_eq!(code(b"PK\x03\x04rest"), "G101");
    assert_eq!(code(b"0\nSECTION\0\n"), "G101");
    assert_eq!(code(b"0\nSECTION\n2\nENTITIES\n8\nK\xfchl\n"), "G103");
    assert_eq!(code(&vec![b'0'; drawing::LARGEST_FILE + 1]), "G102");
    let whole = file(&tray(|at| at));
    for cut in [whole.len() / 4, whole.len() / 2, whole.len() - 8] {
        let cut = read_flat("x", &whole.as_bytes()[..cut], &layers, None).unwrap_err();
        assert!(["G104", "G105", "G107"].contains(&cut[0].code), "{cut:?}");
    }
    // Blocks that hold each other, and a tower of blocks of which each holds the next a hundred times.
    let block = |name: &str, inside: &str| format!("0 BLOCK 2 {name} 10 0 20 0 {inside} 0 ENDBLK ");
    let insert = |name: &str| format!("0 INSERT 8 OUTLINE 2 {name} 10 0 20 0 ");
    let around = block("a", &insert("b")) + &block("b", &insert("a"));
    let tower: String = (0..4)
        .map(|at| {
            block(
                &format!("t{at}"),
                &insert(&format!("t{}", at + 1)).repeat(100),
            )
        })
        .collect::<String>()
        + &block("t4", &line("OUTLINE", (0.0, 0.0), (1.0, 1.0)));
    for (blocks, first, expected) in [(around, "a", "G108"), (tower, "t0", "G108")] {
        let body = format!(
            "0 SECTION 2 HEADER 9 $INSUNITS 70 4 0 ENDSEC 0 SECTION 2 BLOCKS {blocks} 0 ENDSEC \
             0 SECTION 2 ENTITIES {} 0 ENDSEC 0 EOF",
            insert(first)
        );
        let text: String = body
            .split_whitespace()
            .map(|word| format!("{word}\n"))
            .collect();
        assert_eq!(code(text.as_bytes()), expected);
    }
    // Two million chords asked for by a few lines.
    let circles = "0 CIRCLE 8 OUTLINE 10 0 20 0 40 9000000 ".repeat(2_000);
    assert_eq!(code(file(&circles).as_bytes()), "G106");
}

/// Words of which drawings are made, and numbers of all kinds.
fn word() -> impl Strategy<Value = String> {
    let words = [
        "0",
        "2",
        "8",
        "10",
        "20",
        "11",
        "21",
        "40",
        "41",
        "42",
        "50",
        "51",
        "70",
        "230",
        "SECTION",
        "ENDSEC",
        "EOF",
        "ENTITIES",
        "BLOCKS",
        "HEADER",
        "BLOCK",
        "ENDBLK",
        "INSERT",
        "LINE",
        "ARC",
        "CIRCLE",
        "LWPOLYLINE",
        "POLYLINE",
        "VERTEX",
        "SEQEND",
        "ELLIPSE",
        "OUTLINE",
        "BEND-UP",
        "$INSUNITS",
        "9",
        "4",
        "-1",
        "NaN",
        "1e308",
        "-0",
        "1e-320",
        "999",
    ];
    prop_oneof![
        proptest::sample::select(words.to_vec()).prop_map(str::to_owned),
        (-500.0..500.0f64).prop_map(|number| number.to_string()),
    ]
}

/// Things in pairs that are mostly well-formed, so that they reach the geometry.
fn thing() -> impl Strategy<Value = String> {
    let at = || prop_oneof![(-60i32..60).prop_map(f64::from), -60.0..60.0f64];
    let layer = || prop_oneof![Just("OUTLINE"), Just("BEND-UP"), Just("BEND-DOWN")];
    prop_oneof![
        (layer(), at(), at(), at(), at()).prop_map(|(l, a, b, c, d)| line(l, (a, b), (c, d))),
        (layer(), proptest::collection::vec((at(), at(), at()), 0..8)).prop_map(|(l, corners)| {
            let corners: String = corners
                .iter()
                .map(|(x, y, bulge)| format!("10 {x} 20 {y} 42 {} ", bulge / 30.0))
                .collect();
            format!("0 LWPOLYLINE 8 {l} 70 1 {corners}")
        }),
        (at(), at(), at(), at(), at()).prop_map(|(x, y, r, from, to)| format!(
            "0 ARC 8 OUTLINE 10 {x} 20 {y} 40 {} 50 {from} 51 {to} ",
            r.abs() + 0.1
        )),
        (at(), at(), at(), at(), at()).prop_map(|(x, y, a, b, to)| format!(
            "0 ELLIPSE 8 OUTLINE 10 {x} 20 {y} 11 {a} 21 {b} 40 0.5 41 0 42 {to} "
        )),
    ]
}

fn survives(bytes: &[u8]) {
    let layers = Layers::usual().unwrap();
    match read_flat("x", bytes, &layers, Some(Unit::Millimetre)) {
        Ok(flat) => {
            let _ = part_from("x", &flat, &asked());
        }
        Err(findings) => assert!(!findings.is_empty()),
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(512))]

    #[test]
    fn no_bytes_make_it_panic(bytes in proptest::collection::vec(any::<u8>(), 0..400)) {
        survives(&bytes);
    }

    #[test]
    fn no_words_make_it_panic(words in proptest::collection::vec(word(), 0..200)) {
        survives((words.join("\n") + "\n").as_bytes());
        survives(file(&words.join(" ")).as_bytes());
    }

    #[test]
    fn no_geometry_makes_it_panic(things in proptest::collection::vec(thing(), 0..12)) {
        survives(file(&things.concat()).as_bytes());
        let sheet = polygon("OUTLINE", &[(-60.0, -60.0), (60.0, -60.0), (60.0, 60.0), (-60.0, 60.0)]);
        survives(file(&(sheet + &things.concat())).as_bytes());
    }

    #[test]
    fn no_mapping_makes_it_panic(text in "[a-z\\[\\]=\"0-9\n. ]{0,120}") {
        let _ = Layers::read("layers.toml", text.as_bytes());
    }
}

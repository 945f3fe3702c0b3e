//! The catalogue of sheet grades: every figure with its mark, written out again, and materials that
//! name a grade.

#![allow(clippy::expect_used, clippy::panic)] // helpers of tests are not tests to the lint

mod small_shop;

use documents::{FileSet, read_shop};
use model::{Family, Material, Shop};
use small_shop::MATERIALS;
use small_shop::faults::check;

const CATALOGUE: &str = include_str!("../../../config/materials.toml");

const SOURCE: &str = "[source]";
const MEMORY: &str = "[memory]";
const TRADE: &str = "[trade]";

type Figure = (f64, &'static str);

/// A grade as its standard gives it, and as the shop reckons with it.
struct Row {
    grade: &'static str,
    standard: &'static str,
    family: Family,
    /// Whether the standard bounds it from below or above, where it does.
    yield_bound: &'static str,
    yield_strength: Figure,
    lowest: Figure,
    typical: Figure,
    highest: Figure,
    modulus: Figure,
    density: Figure,
    share: Figure,
    springback: Figure,
    v_over_t: Option<(f64, f64)>,
}

#[rustfmt::skip] // a line of the standard, a line of the shop
const ROWS: &[Row] = &[
    Row { grade: "S235JR", standard: "EN 10025-2", family: Family::Steel,
        yield_bound: "at least", yield_strength: (235.0, SOURCE), lowest: (360.0, SOURCE), highest: (510.0, SOURCE), modulus: (210_000.0, SOURCE), density: (7_850.0, SOURCE),
        typical: (430.0, TRADE), share: (0.16, SOURCE), springback: (1.0, TRADE), v_over_t: None },
    Row { grade: "S355", standard: "EN 10025-2", family: Family::Steel,
        yield_bound: "at least", yield_strength: (355.0, MEMORY), lowest: (470.0, MEMORY), highest: (630.0, MEMORY), modulus: (210_000.0, MEMORY), density: (7_850.0, MEMORY),
        typical: (530.0, TRADE), share: (0.17, TRADE), springback: (1.5, TRADE), v_over_t: None },
    Row { grade: "DC01", standard: "EN 10130", family: Family::Steel,
        yield_bound: "at most", yield_strength: (280.0, MEMORY), lowest: (270.0, MEMORY), highest: (410.0, MEMORY), modulus: (210_000.0, MEMORY), density: (7_850.0, MEMORY),
        typical: (340.0, TRADE), share: (0.16, SOURCE), springback: (1.0, TRADE), v_over_t: None },
    Row { grade: "DX51D", standard: "EN 10346", family: Family::Steel,
        yield_bound: "gives no bound", yield_strength: (260.0, TRADE), lowest: (270.0, MEMORY), highest: (500.0, MEMORY), modulus: (210_000.0, MEMORY), density: (7_850.0, MEMORY),
        typical: (360.0, TRADE), share: (0.16, TRADE), springback: (1.0, TRADE), v_over_t: None },
    Row { grade: "A36", standard: "ASTM A36", family: Family::Steel,
        yield_bound: "at least", yield_strength: (250.0, SOURCE), lowest: (400.0, SOURCE), highest: (550.0, SOURCE), modulus: (200_000.0, SOURCE), density: (7_850.0, SOURCE),
        typical: (450.0, TRADE), share: (0.16, SOURCE), springback: (1.0, TRADE), v_over_t: None },
    Row { grade: "S700MC", standard: "EN 10149-2", family: Family::Steel,
        yield_bound: "at least", yield_strength: (700.0, MEMORY), lowest: (750.0, MEMORY), highest: (950.0, MEMORY), modulus: (210_000.0, MEMORY), density: (7_850.0, MEMORY),
        typical: (820.0, TRADE), share: (0.18, TRADE), springback: (6.0, TRADE), v_over_t: Some((10.0, 14.0)) },
    Row { grade: "1.4301", standard: "EN 10088-2", family: Family::Stainless,
        yield_bound: "at least", yield_strength: (230.0, MEMORY), lowest: (540.0, MEMORY), highest: (750.0, MEMORY), modulus: (200_000.0, MEMORY), density: (7_900.0, MEMORY),
        typical: (620.0, TRADE), share: (0.21, TRADE), springback: (2.5, TRADE), v_over_t: None },
    Row { grade: "EN AW-5754 H111", standard: "EN 485-2", family: Family::Aluminium,
        yield_bound: "at least", yield_strength: (80.0, MEMORY), lowest: (190.0, MEMORY), highest: (240.0, MEMORY), modulus: (70_000.0, MEMORY), density: (2_670.0, MEMORY),
        typical: (220.0, TRADE), share: (0.14, TRADE), springback: (1.5, TRADE), v_over_t: None },
    Row { grade: "EN AW-5754 H22", standard: "EN 485-2", family: Family::Aluminium,
        yield_bound: "at least", yield_strength: (130.0, MEMORY), lowest: (220.0, MEMORY), highest: (270.0, MEMORY), modulus: (70_000.0, MEMORY), density: (2_670.0, MEMORY),
        typical: (245.0, TRADE), share: (0.14, TRADE), springback: (2.0, TRADE), v_over_t: None },
    Row { grade: "EN AW-6082 T6", standard: "EN 485-2", family: Family::Aluminium,
        yield_bound: "at least", yield_strength: (260.0, MEMORY), lowest: (310.0, MEMORY), highest: (360.0, TRADE), modulus: (70_000.0, MEMORY), density: (2_700.0, MEMORY),
        typical: (330.0, TRADE), share: (0.16, TRADE), springback: (3.0, TRADE), v_over_t: None },
    Row { grade: "5052-H32", standard: "ASTM B209M", family: Family::Aluminium,
        yield_bound: "at least", yield_strength: (160.0, MEMORY), lowest: (215.0, MEMORY), highest: (265.0, MEMORY), modulus: (70_000.0, MEMORY), density: (2_680.0, MEMORY),
        typical: (230.0, TRADE), share: (0.14, TRADE), springback: (2.0, TRADE), v_over_t: None },
    Row { grade: "Cu-ETP R220", standard: "EN 1652", family: Family::Copper,
        yield_bound: "at most", yield_strength: (140.0, MEMORY), lowest: (220.0, MEMORY), highest: (260.0, MEMORY), modulus: (115_000.0, MEMORY), density: (8_940.0, MEMORY),
        typical: (240.0, TRADE), share: (0.14, TRADE), springback: (0.5, TRADE), v_over_t: None },
];

/// The small shop with more materials, and what is said of it.
fn with_materials(more: &str) -> (Option<Shop>, Vec<String>) {
    let (shop, findings) = read_shop(&set_with(more));
    (shop, findings.iter().map(ToString::to_string).collect())
}

fn set_with(more: &str) -> FileSet {
    let mut set = small_shop::files();
    set.insert("materials.toml", format!("{MATERIALS}{more}").into_bytes());
    set
}

/// The one material beside the small shop's own, read without a finding.
fn material(more: &str) -> Material {
    let (shop, said) = with_materials(more);
    assert_eq!(said, Vec::<String>::new(), "{more}");
    let mut materials = shop.expect("no finding, hence a shop").materials;
    assert_eq!(materials.len(), 2);
    materials.remove(1)
}

fn near(found: f64, expected: f64) -> bool {
    (found - expected).abs() < 1e-9
}

#[test]
fn a_material_with_a_grade_alone_has_every_figure_of_the_standard() {
    for row in ROWS {
        let grade = row.grade;
        let read = material(&format!("[[material]]\nid = \"X\"\ngrade = \"{grade}\"\n"));
        assert_eq!(read.id.as_str(), "X");
        assert!(read.name.contains(grade), "{grade}: {}", read.name);
        assert_eq!(read.family, row.family, "{grade}");
        for (what, found, (expected, _)) in [
            ("yield", read.yield_strength.get(), row.yield_strength),
            ("typical", read.strength_typical.get(), row.typical),
            ("highest", read.strength_highest.get(), row.highest),
            ("modulus", read.modulus.get(), row.modulus),
            ("density", read.density, row.density),
            ("share", read.radius_share_of_v, row.share),
            ("springback", read.springback.get(), row.springback),
        ] {
            assert!(near(found, expected), "{grade} {what}: {found}");
        }
        assert_eq!(read.v_over_t, row.v_over_t, "{grade}");
        let standard = format!("{}: ", row.standard);
        assert!(read.source.starts_with(&standard), "{}", read.source);
    }
}

/// The lines of a grade in the catalogue.
fn lines_of(grade: &str) -> Vec<&'static str> {
    let head = format!("designation = \"{grade}\"");
    let mut blocks = CATALOGUE.split("[[grade]]\n").skip(1);
    let block = blocks.find(|block| block.lines().next() == Some(head.as_str()));
    block
        .unwrap_or_else(|| panic!("no {grade}"))
        .lines()
        .collect()
}

#[test]
fn every_figure_of_the_catalogue_carries_its_mark() {
    assert_eq!(CATALOGUE.matches("[[grade]]\n").count(), ROWS.len());
    for row in ROWS {
        let lines = lines_of(row.grade);
        for (key, (value, mark)) in [
            ("yield_mpa", row.yield_strength),
            ("strength_lowest_mpa", row.lowest),
            ("strength_mpa", row.typical),
            ("strength_highest_mpa", row.highest),
            ("modulus_mpa", row.modulus),
            ("density_kg_m3", row.density),
            ("radius_share_of_v", row.share),
            ("springback_deg", row.springback),
        ] {
            let line = line_with(&lines, key);
            let (figure, remark) = line.split_once('#').expect("a remark");
            let figure = figure
                .trim()
                .trim_start_matches(key)
                .trim_start_matches(" = ");
            assert!(near(figure.parse().expect("a number"), value), "{line}");
            assert!(remark.ends_with(mark), "{}: {line}", row.grade);
        }
        let bound = line_with(&lines, "yield_mpa");
        assert!(bound.contains(row.yield_bound), "{}: {bound}", row.grade);
        let standard = line_with(&lines, "family");
        assert!(standard.contains(row.standard), "{standard}");
        if row.v_over_t.is_some() {
            assert!(line_with(&lines, "v_over_t").ends_with(TRADE));
        }
    }
}

fn line_with(lines: &[&'static str], key: &str) -> &'static str {
    let start = format!("{key} = ");
    lines
        .iter()
        .find(|line| line.starts_with(&start))
        .unwrap_or_else(|| panic!("no {key}"))
}

#[test]
fn the_catalogue_says_what_it_is_not() {
    for caution in [
        "Bending can maim.",
        "licensed practice rule",
        "the certificate that came with the sheet",
        "Tight radii crack: ask for the supplier's data",
    ] {
        assert!(CATALOGUE.contains(caution), "{caution}");
    }
}

#[test]
fn what_a_material_says_goes_before_its_grade_and_is_named_in_its_source() {
    let read = material(
        "[[material]]\nid = \"X\"\nname = \"ours\"\ngrade = \"S700MC\"\nspringback_deg = 7.5\nv_over_t = [12, 16]\n",
    );
    assert_eq!(read.name, "ours");
    assert!(near(read.springback.get(), 7.5));
    assert_eq!(read.v_over_t, Some((12.0, 16.0)));
    assert!(near(read.strength_typical.get(), 820.0));
    let end = "; the shop's own: springback_deg, v_over_t";
    assert!(read.source.starts_with("EN 10149-2: Re from 700"));
    assert!(read.source.ends_with(end), "{}", read.source);

    let read = material(
        "[[material]]\nid = \"X\"\ngrade = \"1.4301\"\nspringback_deg = 3\nsource = \"measured\"\n",
    );
    assert_eq!(read.source, "measured");
}

#[test]
#[rustfmt::skip] // one fault a line
fn grades_that_cannot_be() {
    for (name, lines, code, field) in [
        ("unknown", "grade = \"S236JR\"", "D335", "16:grade"),
        ("another case", "grade = \"s235jr\"", "D335", "16:grade"),
        ("a number", "grade = 1.4301", "D211", "16:grade"),
        ("a list", "grade = [\"DC01\"]", "D211", "16:grade"),
        ("empty", "grade = \"\"", "D201", "14:strength_mpa"),
        ("misspelt key", "grad = \"DC01\"", "D212", "16:grad"),
        ("a control character", "grade = \"DC01\\u0007\"", "D220", "16:grade"),
        ("figure out of range", "grade = \"DC01\"\nradius_share_of_v = 16", "D205", "17:radius_share_of_v"),
        ("figure of the wrong kind", "grade = \"DC01\"\nyield_mpa = \"280\"", "D211", "17:yield_mpa"),
        ("figure wrong beside an unknown grade", "grade = \"DC1\"\nyield_mpa = -1", "D204", "17:yield_mpa"),
        ("V limits reversed", "grade = \"DC01\"\nv_over_t = [12, 6]", "D216", "17:v_over_t"),
        ("above its range", "grade = \"DC01\"\nstrength_mpa = 420", "D216", "17:strength_mpa"),
        ("range below the typical", "grade = \"DC01\"\nstrength_highest_mpa = 330", "D216", "17:strength_highest_mpa"),
        ("yield above the typical", "grade = \"DC01\"\nyield_mpa = 350", "D216", "17:yield_mpa"),
        ("below its range", "grade = \"S235JR\"\nstrength_mpa = 359", "D349", "17:strength_mpa"),
        ("the lower end is the catalogue's", "grade = \"S235JR\"\nstrength_lowest_mpa = 300", "D212", "17:strength_lowest_mpa"),
    ] {
        let set = set_with(&format!("[[material]]\nid = \"X\"\n{lines}\n"));
        check(name, &set, code, &format!("materials.toml:{field}"));
    }
}

#[test]
fn an_unknown_grade_is_the_only_thing_said_of_its_material() {
    let (shop, said) = with_materials("[[material]]\nid = \"X\"\ngrade = \"5754\"\n");
    assert!(shop.is_none());
    assert_eq!(said.len(), 1, "{said:?}");
    assert!(
        said[0].contains("did you mean \"EN AW-5754 H111\" or \"EN AW-5754 H22\"?"),
        "{}",
        said[0]
    );
}

#[test]
fn at_the_very_end_of_the_range_nothing_is_said() {
    let read = material("[[material]]\nid = \"X\"\ngrade = \"S235JR\"\nstrength_mpa = 360\n");
    assert!(near(read.strength_typical.get(), 360.0));
}

#[test]
fn every_designation_is_on_the_page_of_files() {
    let page = include_str!("../../../docs/reference/shop-files.md");
    for row in ROWS {
        assert!(page.contains(&format!("`{}`", row.grade)), "{}", row.grade);
    }
}

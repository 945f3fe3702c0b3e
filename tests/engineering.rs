//! `bends` in depth: tables, warnings, pictures, another order, formulas.

use crate::program::{Scratch, brakewright, names_in};
use std::fs;

/// A number of the first hit of a brake's first setup.
fn number(brake: &serde_json::Value, name: &str) -> f64 {
    let found = brake["bends"][0][name].as_f64();
    found.unwrap_or_else(|| panic!("{name}: {}", brake["bends"][0]))
}

/// Tiny shop, B-1: 480 mm of 2 mm S235 over V16, (1 + 4·2/16)·Rm·480·2²/16 N, so Rm·180 N [computed].
#[test]
fn one_bend_in_numbers() {
    let json = brakewright(&["bends", "tests/tiny-shop", "B-1", "--json"]).json();
    let brake = &json["brakes"][0];
    let force = number(brake, "force_kn");
    let per_strength = number(brake, "force_factor") * 480.0 * 4.0 / 16.0 / 1_000.0;
    assert!((per_strength - 0.18).abs() < 1e-12);
    let strength = force / per_strength;
    assert!((strength - strength.round()).abs() < 1e-9 && (300.0..600.0).contains(&strength));
    // W = F·h·0.75, h 6.111 186 mm.
    let work = number(brake, "work_j");
    assert!((work - force * 6.111_186 * 0.75).abs() < 1e-3, "{work}");
    let line = number(brake, "line_load_kn_m");
    assert!((line - force / 0.48).abs() < 1e-9, "{line}");
    let share = number(brake, "share_of_limit");
    assert!(share > 0.0 && share < 1.0);
    let least = &brake["bends"][0]["bottoming_kn"]["least"];
    assert!((least.as_f64().unwrap() - 3.0 * force).abs() < 1e-9);
}

#[test]
fn the_short_view_stays_short_and_depth_is_asked_for() {
    let short = brakewright(&["bends", "demo-shop", "CH-203"]).out;
    for title in [
        "\nLoads\n",
        "\nBack gauge\n",
        "\nV openings\n",
        "\nStations\n",
    ] {
        assert!(!short.contains(title), "{title}");
    }
    let best = brakewright(&["bends", "demo-shop", "CH-203", "--brake", "B3"]).out;
    let titles = [
        "\nLoads\n",
        "\nSheet\n",
        "\nSpringback and depth\n",
        "\nBack gauge\n",
        "\nFlat blank\n",
        "\nV openings\n",
        "\nTime of a piece\n",
        "\nSetups\n",
        "\nStations\n",
        "\nPassed over\n",
    ];
    for title in titles {
        assert_eq!(best.matches(title).count(), 1, "{title}");
    }
    assert!(!best.contains("\nB4  "), "B3 alone was asked for");
    let words: Vec<&str> = best.split_whitespace().collect();
    assert!(
        words.join(" ").contains("of the blank's width 212 mm"),
        "{best}"
    );
    assert!(best.contains("the blank is developed for V12"), "{best}");
    assert!(best.contains("Screened, not approved"), "{best}");
    let all = brakewright(&["bends", "demo-shop", "CH-203", "--all"]).out;
    assert!(all.matches("\nLoads\n").count() > 1);
    let every = brakewright(&["bends", "demo-shop", "CH-203", "--all", "--brake", "B3"]).out;
    assert!(every.contains("\nB3, setup 2\n"), "{every}");
    for text in [short, best, all, every] {
        assert!(text.contains("Caution: bending can maim."));
        for line in text.lines() {
            assert!(
                line.chars().count() <= 120 && !line.ends_with(' '),
                "{line:?}"
            );
        }
    }
}

/// 90° round 80 mm in 1.5 mm sheet: 8 strokes of 11.25°, 11.25·π/180·80.75 = 15.855 mm apart.
#[test]
fn hems_and_stepped_radii_say_what_they_are() {
    let stepped = brakewright(&["bends", "demo-shop", "CV-216", "--brake", "B4"]).out;
    assert!(
        stepped.contains("Bend 2: 8 strokes of 11.25°, 15.86 mm apart"),
        "{stepped}"
    );
    let hem = brakewright(&["bends", "demo-shop", "PN-114", "--brake", "B3", "--explain"]).out;
    assert!(hem.contains(" 1.2  flatten "), "{hem}");
    assert!(hem.contains("Force to flatten a hem [trade]"), "{hem}");
    let json = brakewright(&["bends", "demo-shop", "PN-114", "--brake", "B3", "--json"]).json();
    let hits = json["brakes"][0]["bends"].as_array().unwrap();
    assert_eq!(hits[1]["form"], "flatten");
    assert!(hits[1]["v_mm"].is_null() && hits[1]["bottoming_kn"].is_null());
}

/// Formulas are documented: what the program explains, the page of formulas explains too.
#[test]
fn formulas_are_explained_on_request_and_on_the_page() {
    let call = ["bends", "demo-shop", "CV-216", "--brake", "B4"];
    assert!(!brakewright(&call).out.contains("\nFormulas\n"));
    let explained = brakewright(&[&call[..], &["--explain"]].concat()).out;
    assert!(explained.contains("If it were bottomed or coined: bounds by common practice"));
    let page = fs::read_to_string(crate::program::top().join("docs/engineering.md")).unwrap();
    let squeeze = |text: &str| text.replace([' ', '*', '\u{a0}'], "");
    let page = squeeze(&page);
    for formula in [
        "F = C·Rm·L·t²/V",
        "F·h·m",
        "(s/2)·(Fr/F − 1)",
        "4x³ − 3x + 1",
        "V/(2·sin(β/2))",
        "(V/2)·tan(A/2)",
        "2·acos(1 − depth/(R + t))",
        "23 kg·HM·VM·DM·AM·FM·CM",
    ] {
        assert!(explained.contains(formula), "{formula}");
        assert!(
            page.contains(&squeeze(formula)),
            "{formula} is not on the page"
        );
    }
}

#[test]
fn a_refused_order_says_where_and_which_order_works() {
    let scratch = Scratch::new();
    let shop = scratch.copy_of("demo-shop");
    let path = shop.join("bends.csv");
    let table = fs::read_to_string(&path).unwrap();
    // The lips of the channel last: the punch no longer comes past its webs.
    let mut other = table.clone();
    for (old, new) in [
        (
            "CH-203,1,90,1500,15,up,a,,,,,,,,,,13.5",
            "CH-203,1,90,1500,70,up,b,,,,15,,,,,,143.5",
        ),
        (
            "CH-203,2,90,1500,15,up,b,,,,,,,,,,198.5",
            "CH-203,2,90,1500,70,up,a,,,,15,,,,,,68.5",
        ),
        (
            "CH-203,3,90,1500,58,up,b,,,,15,,,,,,143.5",
            "CH-203,3,90,1500,15,up,a,,,,,,,,,,13.5",
        ),
        (
            "CH-203,4,90,1500,58,up,a,,,,15,,,,,,68.5",
            "CH-203,4,90,1500,15,up,b,,,,,,,,,,198.5",
        ),
    ] {
        assert!(table.contains(old), "{old}");
        other = other.replace(old, new);
    }
    fs::write(&path, other).unwrap();
    let folder = shop.to_str().unwrap();
    let answer = brakewright(&["bends", folder, "CH-203", "--brake", "B3"]);
    assert_eq!(answer.code, Some(1), "{}", answer.err);
    assert!(answer.out.contains("Where: bend 3 with "), "{}", answer.out);
    assert!(
        answer.out.contains(" runs into the punch "),
        "{}",
        answer.out
    );
    let json = brakewright(&["bends", folder, "CH-203", "--brake", "B3", "--json"]).json();
    let advice = &json["brakes"][0]["other_order"];
    let order: Vec<u64> = advice["order"]
        .as_array()
        .unwrap_or_else(|| panic!("{json:#}"))
        .iter()
        .map(|bend| bend.as_u64().unwrap())
        .collect();
    // Each lip before the web beside it.
    let place = |bend| order.iter().position(|&other| other == bend).unwrap();
    assert!(place(3) < place(2) && place(4) < place(1), "{order:?}");
    // The webs are then gauged from the lips' outside, as the demo shop has them: 58 mm.
    for bend in advice["changed"].as_array().unwrap() {
        let leg = bend["leg_mm"].as_f64().unwrap();
        assert!((leg - 58.0).abs() < 0.1, "{advice}");
    }
    // As it was, the demo shop's own order is kept and nothing is said.
    let kept = brakewright(&["bends", "demo-shop", "CH-203", "--brake", "B3"]).out;
    assert!(
        !kept.contains("Where:") && !kept.contains("Instead:"),
        "{kept}"
    );
}

#[test]
fn sections_are_drawn_and_written_all_or_none() {
    let drawn = brakewright(&["bends", "demo-shop", "CH-203", "--brake", "B3", "--draw"]).out;
    assert!(drawn.contains("Sections after each bend"), "{drawn}");
    assert_eq!(drawn.matches("clear of the tools").count(), 4, "{drawn}");
    assert!(drawn.contains('█'));
    let unknown = brakewright(&["bends", "demo-shop", "BR-111", "--draw"]).out;
    assert!(unknown.contains("No cross section is known"), "{unknown}");

    let scratch = Scratch::new();
    let into = scratch.text("sections");
    let call = [
        "bends",
        "demo-shop",
        "CH-203",
        "--brake",
        "B3",
        "--out",
        &into,
    ];
    for _ in 0..2 {
        let answer = brakewright(&call);
        assert_eq!(answer.code, Some(0), "{}", answer.err);
        assert!(answer.err.contains("4 pictures"), "{}", answer.err);
    }
    let names = names_in(&scratch.path("sections"));
    assert_eq!(
        names,
        [
            "B3-bend-1.svg",
            "B3-bend-2.svg",
            "B3-bend-3.svg",
            "B3-bend-4.svg",
            "sections.txt"
        ]
    );
    let read = |name: &str| fs::read_to_string(scratch.path("sections").join(name)).unwrap();
    let picture = read("B3-bend-4.svg");
    assert!(picture.starts_with("<svg") && picture.contains("section-tool"));
    assert!(picture.contains("CH-203, bend 4 on B3"), "{picture}");
    assert!(read("sections.txt").contains("Caution: bending can maim."));
    // Somebody else's folder is left alone.
    fs::write(scratch.path("sections").join("notes.txt"), "mine").unwrap();
    let answer = brakewright(&call);
    assert_eq!(answer.code, Some(2), "{}", answer.out);
    assert!(answer.err.contains("notes.txt"), "{}", answer.err);
    assert_eq!(names_in(&scratch.path("sections")).len(), 6);
}

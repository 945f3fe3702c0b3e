//! Shop folders with one thing wrong: the place is named, nothing is printed or written.

use crate::program::{Answer, Scratch, brakewright};
use std::fs::{self, File, OpenOptions};
use std::io::Write;
use std::path::Path;

/// A file, a text in it, what stands there instead, and the place that must be named.
type Case = (&'static str, &'static str, &'static str, &'static str);

/// Plans a broken folder and checks everything but the place.
fn refused(name: &str, shop: &Path, scratch: &Scratch) -> Answer {
    let out = scratch.text("out");
    let shop = shop.to_str().unwrap();
    let answer = brakewright(&["plan", shop, "--iterations", "1", "--out", &out]);
    assert_eq!(answer.code, Some(2), "{name}: {}", answer.err);
    assert_eq!(answer.out, "", "{name}");
    assert!(!answer.err.contains("panicked"), "{name}: {}", answer.err);
    assert_eq!(
        scratch.names(),
        ["shop"],
        "{name}: something was left behind"
    );
    let checked = brakewright(&["check", shop]);
    assert_eq!(checked.code, Some(2), "{name}: {}", checked.err);
    for line in answer.err.lines().filter(|line| line.contains(": error D")) {
        assert!(
            checked.err.contains(line),
            "{name}: check does not say {line}"
        );
    }
    answer
}

fn refuse_all(cases: &[Case]) {
    let mut wrong = Vec::new();
    let scratch = Scratch::new();
    for (file, from, to, place) in cases {
        let shop = scratch.copy_of("tests/tiny-shop");
        let name = format!("{file}: {from:?} to {to:?}");
        let text = fs::read_to_string(shop.join(file)).unwrap();
        assert!(text.contains(from), "{name}: not there");
        fs::write(shop.join(file), text.replacen(from, to, 1)).unwrap();
        let answer = refused(&name, &shop, &scratch);
        let named = answer
            .err
            .lines()
            .any(|line| line.starts_with(&format!("{place}: error D")));
        if !named {
            wrong.push(format!("{name}: {place} is not named in\n{}", answer.err));
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
#[rustfmt::skip] // one fault a line
fn settings() {
    refuse_all(&[
        ("shop.toml", "\"Europe/Berlin\"", "\"Europe/Berln\"", "shop.toml:4:time_zone"),
        ("shop.toml", "\"mm\"", "\"cm\"", "shop.toml:5:units"),
        ("shop.toml", "2027-06-04T15:30", "yesterday", "shop.toml:6:as_of"),
        ("shop.toml", "name = \"Tiny shop\"", "name = \"\"", "shop.toml:3:name"),
        ("shop.toml", "name = \"Tiny shop\"", "name = \"Tiny shop", "shop.toml:3"),
        ("shop.toml", "station_gap = 20", "station_gap = -20", "shop.toml:13:rules.station_gap"),
        ("shop.toml", "station_gap = 20", "station_gap = \"wide\"", "shop.toml:13:rules.station_gap"),
        ("shop.toml", "station_gap", "stationgap", "shop.toml:13:rules.stationgap"),
        ("shop.toml", "\"oehler\"", "\"guess\"", "shop.toml:12:rules.force_form"),
        ("shop.toml", "end = \"14:00\"", "end = \"25:00\"", "shop.toml:45:calendars.day.shifts.end"),
        ("shop.toml", "\"fri\"", "\"friday?\"", "shop.toml:45:calendars.day.shifts.days"),
        ("brakes.toml", "[[brake]]", "[brake]", "brakes.toml:1:brake"),
        ("brakes.toml", "bed = 600 ", "bed = nan ", "brakes.toml:5:bed"),
        ("brakes.toml", "bed = 600 ", "bed = 1e400 ", "brakes.toml:5:bed"),
        ("brakes.toml", "x = [5, 400]", "x = [400, 5]", "brakes.toml:26:x"),
        ("brakes.toml", "\"quick\"", "\"glued\"", "brakes.toml:18:clamping"),
        ("brakes.toml", "calendar = \"day\"", "calendar = \"night\"", "brakes.toml:29:calendar"),
        ("brakes.toml", "throat = 200\n", "", "brakes.toml:1:throat"),
        ("materials.toml", "= 7850", "= 0", "materials.toml:9:density_kg_m3"),
        ("materials.toml", "= 430", "= inf", "materials.toml:5:strength_mpa"),
        ("tooling.toml", "angle_deg = 88", "angle_deg = 188", "tooling.toml:5:angle_deg"),
        ("tooling.toml", "id = \"V8-88\"", "id = \"ST88-R1-120\"", "tooling.toml:12:id"),
    ]);
}

#[test]
#[rustfmt::skip] // one fault a line
fn tables() {
    refuse_all(&[
        ("sections.csv", "V8-88,500", "V9-88,500", "sections.csv:3:profile"),
        ("sections.csv", "500,P1,8.6", "500,P1", "sections.csv:2"),
        ("sections.csv", "profile,length", "profile,length,length", "sections.csv:1:length"),
        ("sections.csv", "profile,length,drawer,mass_kg\n", "", "sections.csv:1"),
        ("parts.csv", "A-1,thin", "A-2,thin", "parts.csv:3:part"),
        ("parts.csv", "S235,1,480", "S236,1,480", "parts.csv:2:material"),
        ("parts.csv", "S235,1,480", "S235,0,480", "parts.csv:2:thickness"),
        ("parts.csv", "thin angle with short legs", "\"thin angle", "parts.csv:2"),
        ("bends.csv", "A-1,1,90,480,25", "A-1,1,90,480,-25", "bends.csv:2:leg"),
        ("bends.csv", "A-1,1,90,480,25", "A-1,2,90,480,25", "bends.csv:2:bend"),
        ("bends.csv", "A-1,1,90", "A-1,1,181", "bends.csv:2:angle_deg"),
        ("bends.csv", "A-1,1,90,480,25\n", "", "parts.csv:2:part"),
        ("setups.csv", "A-1,B1,A-1,1", "A-1,B2,A-1,1", "setups.csv:2:brake"),
        ("setups.csv", "A-1,B1,A-1,1", "A-1,B1,A-1,2", "setups.csv:2:station"),
        ("setups.csv", "2027-05-10", "10.05.2027", "setups.csv:2:last_run"),
        ("work-orders.csv", "T-1,A-1,20", "T-1,A-1,2000000", "work-orders.csv:2:quantity"),
        ("work-orders.csv", "T-1,A-1,20", "T-1,A-1,twenty", "work-orders.csv:2:quantity"),
        ("work-orders.csv", "T-1,A-1,20", "T-1,X-1,20", "work-orders.csv:2:part"),
        ("work-orders.csv", "T-2,", "T-1,", "work-orders.csv:3:order"),
        ("work-orders.csv", "2027-06-07T06:50", "2027-06-31T06:50", "work-orders.csv:2:due"),
        ("work-orders.csv", "2027-06-07T06:50", "", "work-orders.csv:2:due"),
        ("work-orders.csv", "quantity", "quantty", "work-orders.csv:1:quantty"),
        ("crew.csv", "op-1,both", "op-1,boss", "crew.csv:2:role"),
        ("crew.csv", "both,day", "both,night", "crew.csv:2:calendar"),
        ("crew.csv", "all", "B1 B7", "crew.csv:2:brakes"),
    ]);
}

/// Replaces a whole file.
fn whole_file(file: &str, bytes: &[u8], place: &str) {
    let scratch = Scratch::new();
    let shop = scratch.copy_of("tests/tiny-shop");
    fs::write(shop.join(file), bytes).unwrap();
    let answer = refused(file, &shop, &scratch);
    assert!(answer.err.contains(place), "{file}: {}", answer.err);
}

#[test]
fn files_that_hold_no_text() {
    whole_file("parts.csv", b"", "parts.csv: error D106");
    whole_file("crew.csv", &[0xff, 0xfe, b'p', 0], "crew.csv:1: error D102");
    whole_file("bends.csv", &[0x80; 100], "bends.csv:1: error D102");
    whole_file("shop.toml", &[0; 4_096], "shop.toml");
    whole_file(
        "work-orders.csv",
        "\u{1f600}".repeat(9_000).as_bytes(),
        "work-orders.csv:1",
    );
    whole_file(
        "brakes.toml",
        "[".repeat(100_000).as_bytes(),
        "brakes.toml:1",
    );
    whole_file(
        "tooling.toml",
        format!("a = {}", "[".repeat(50_000)).as_bytes(),
        "tooling.toml:1",
    );
    whole_file("setups.csv", &[b','; 2_000_000], "setups.csv:1");
}

#[test]
fn files_that_are_not_there_or_are_folders() {
    let scratch = Scratch::new();
    for (file, place) in [
        ("shop.toml", "shop.toml: error D101"),
        ("bends.csv", "bends.csv: error D101"),
        ("crew.csv", "crew.csv: error D101"),
    ] {
        let shop = scratch.copy_of("tests/tiny-shop");
        fs::remove_file(shop.join(file)).unwrap();
        let answer = refused(file, &shop, &scratch);
        assert!(answer.err.contains(place), "{file}: {}", answer.err);
    }
    let shop = scratch.copy_of("tests/tiny-shop");
    fs::remove_file(shop.join("parts.csv")).unwrap();
    fs::create_dir(shop.join("parts.csv")).unwrap();
    let answer = refused("a folder", &shop, &scratch);
    assert!(answer.err.contains("parts.csv"), "{}", answer.err);
}

/// Orders in progress, blanks and deliveries that do not fit the orders.
#[test]
fn references_between_files() {
    let scratch = Scratch::new();
    for (file, text, place) in [
        (
            "blanks.csv",
            "order,quantity,available\nT-9,5,2027-06-07\n",
            "blanks.csv:2:order",
        ),
        (
            "deliveries.csv",
            "order,quantity,due\nT-1,500,2027-06-07\n",
            "deliveries.csv",
        ),
        (
            "floor.csv",
            "what,brake,punch,die,left,punch_sections,die_sections,order,pieces_done,from,until,reason\n\
             station,B1,ST88-R1-120,V8-88,400,ST88-R1-120-500mm,V8-88-500mm,,,,,\n",
            "floor.csv:2",
        ),
    ] {
        let shop = scratch.copy_of("tests/tiny-shop");
        let _ = fs::remove_file(shop.join("blanks.csv"));
        let _ = fs::remove_file(shop.join("deliveries.csv"));
        fs::write(shop.join(file), text).unwrap();
        let answer = refused(file, &shop, &scratch);
        assert!(answer.err.contains(place), "{file}: {}", answer.err);
    }
}

/// Files of a gigabyte cost no gigabyte: one of nothing, one of one endless line.
#[test]
fn files_far_too_large() {
    const GIGABYTE: u64 = 1 << 30;
    let scratch = Scratch::new();
    let shop = scratch.copy_of("tests/tiny-shop");
    File::create(shop.join("parts.csv"))
        .unwrap()
        .set_len(GIGABYTE)
        .unwrap();
    let answer = refused("a gigabyte of nothing", &shop, &scratch);
    assert!(
        answer.err.contains("parts.csv: error D103"),
        "{}",
        answer.err
    );

    let shop = scratch.copy_of("tests/tiny-shop");
    let path = shop.join("work-orders.csv");
    let mut file = OpenOptions::new().append(true).open(path).unwrap();
    file.write_all(b"T-7,A-1,20,").unwrap();
    file.set_len(GIGABYTE).unwrap();
    let answer = refused("a gigabyte in one line", &shop, &scratch);
    assert!(
        answer.err.contains("work-orders.csv: error D103"),
        "{}",
        answer.err
    );

    let shop = scratch.copy_of("tests/tiny-shop");
    let path = shop.join("work-orders.csv");
    let mut file = OpenOptions::new().append(true).open(path).unwrap();
    file.write_all(&vec![b'7'; 8 << 20]).unwrap();
    let answer = refused("a line of eight megabytes", &shop, &scratch);
    assert!(
        answer.err.contains("work-orders.csv:8: error D104"),
        "{}",
        answer.err
    );
}

/// No fault of the folder's: the order has not begun as far as a plan can tell, but for its pieces.
#[test]
fn an_order_in_progress_on_a_bed_that_cannot_make_it_is_told_and_planned() {
    let scratch = Scratch::new();
    let shop = scratch.copy_of("tests/tiny-shop");
    let floor = "what,brake,punch,die,left,punch_sections,die_sections,order,pieces_done,from,until,\
                 reason\nrunning,B1,,,,,,T-5,5,,,\n";
    fs::write(shop.join("floor.csv"), floor).unwrap();
    let folder = shop.to_str().unwrap();
    let answer = brakewright(&["plan", folder, "--iterations", "20", "--json"]);
    assert_eq!(answer.code, Some(0), "{}", answer.err);
    assert!(answer.err.contains("warning D390"), "{}", answer.err);
    let plan: serde_json::Value = serde_json::from_str(&answer.out).unwrap();
    let runs = plan["brakes"][0]["runs"].as_array().unwrap();
    let pieces: u64 = runs
        .iter()
        .filter(|run| run["order"] == "T-5")
        .map(|run| run["quantity"].as_u64().unwrap())
        .sum();
    let orders = fs::read_to_string(shop.join("work-orders.csv")).unwrap();
    let row = orders
        .lines()
        .find(|line| line.starts_with("T-5,"))
        .unwrap();
    let ordered: u64 = row.split(',').nth(2).unwrap().parse().unwrap();
    assert_eq!(pieces, ordered - 5);
    fs::write(scratch.path("plan.json"), &answer.out).unwrap();
    let judged = brakewright(&["verify", folder, &scratch.text("plan.json")]);
    assert_eq!(judged.code, Some(0), "{}{}", judged.out, judged.err);
}

//! What sheets say that the plan alone does not.

#![allow(clippy::unwrap_used)] // helpers of tests are not tests to the lint
#![allow(clippy::disallowed_methods)] // tests read files

use documents::words::way_round;
use model::Station;
use units::{Length, ProfileId};

fn station(punch: &str, reversed: bool) -> Station {
    Station {
        punch: ProfileId::new(punch).unwrap(),
        die: ProfileId::new("V12-88").unwrap(),
        v: Length::from_whole_mm(12),
        left: Length::ZERO,
        length: Length::from_whole_mm(415),
        reversed,
        punch_sections: Vec::new(),
        die_sections: Vec::new(),
        closed_height: Length::from_whole_mm(200),
    }
}

/// The demo shop's ST88-R1-120 is straight, its GN88-R1-120 relieved.
#[test]
fn a_relieved_punch_says_which_way_round_it_stands_and_a_straight_one_nothing() {
    let demo = concat!(env!("CARGO_MANIFEST_DIR"), "/../../demo-shop");
    let mut files = documents::FileSet::new();
    for entry in std::fs::read_dir(demo).unwrap() {
        let path = entry.unwrap().path();
        let name = path.file_name().unwrap().to_str().unwrap();
        if path
            .extension()
            .is_some_and(|end| end == "csv" || end == "toml")
        {
            files.insert(name, std::fs::read(&path).unwrap());
        }
    }
    let shop = documents::read_shop(&files).0.unwrap();
    let said = |punch, reversed| way_round(&shop, &station(punch, reversed));
    assert_eq!(said("ST88-R1-120", false), None);
    assert_eq!(said("GN88-R1-120", false), Some("relief to the operator"));
    let about = "turned about: relief to the gauge";
    assert_eq!(said("GN88-R1-120", true), Some(about));
}

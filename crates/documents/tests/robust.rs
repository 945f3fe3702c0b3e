//! No bytes make the reader panic, and what it hands back is always one of two things: a shop, or
//! at least one error.

mod small_shop;

use documents::{FileSet, local, parse_moment, read_shop};
use proptest::collection::vec;
use proptest::prelude::*;
use small_shop::FILES;
use units::{Finding, Moment};

fn check(set: &FileSet) -> Result<(), TestCaseError> {
    let (shop, findings) = read_shop(set);
    let errors = findings.iter().any(Finding::is_error);
    prop_assert_eq!(shop.is_none(), errors);
    prop_assert!(findings.len() <= 1_000);
    prop_assert!(findings.iter().all(|finding| !finding.found.is_empty()));
    Ok(())
}

/// Pieces that mean something to one reader or another.
fn fragment() -> impl Strategy<Value = Vec<u8>> {
    let known: Vec<&str> = FILES
        .iter()
        .flat_map(|(_, text)| text.split_inclusive(['\n', ',', '=', ' ']))
        .chain([
            "\"",
            "\n",
            ",",
            "#",
            "[",
            "]",
            "{",
            "}",
            "-1",
            "nan",
            "9999-12-31",
            "1e309",
        ])
        .collect();
    prop_oneof![
        4 => proptest::sample::select(known).prop_map(|text| text.as_bytes().to_vec()),
        1 => vec(any::<u8>(), 0..8),
    ]
}

fn folder() -> impl Strategy<Value = FileSet> {
    let file = vec(fragment(), 0..60).prop_map(|parts| parts.concat());
    vec(proptest::option::weighted(0.3, file), FILES.len()).prop_map(|changed| {
        let mut set = small_shop::files();
        for ((name, _), bytes) in FILES.iter().zip(changed) {
            if let Some(bytes) = bytes {
                set.insert(name, bytes);
            }
        }
        set
    })
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 400, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn random_bytes_are_survived(contents in vec(vec(any::<u8>(), 0..300), FILES.len())) {
        let mut set = FileSet::new();
        for ((name, _), bytes) in FILES.iter().zip(contents) {
            set.insert(name, bytes);
        }
        check(&set)?;
    }

    #[test]
    fn shuffled_fragments_are_survived(set in folder()) {
        check(&set)?;
    }

    #[test]
    fn byte_flips_are_survived(
        flips in vec((any::<prop::sample::Index>(), any::<prop::sample::Index>(), any::<u8>()), 1..6),
    ) {
        let mut set = small_shop::files();
        for (file, at, byte) in flips {
            let (name, _) = FILES[file.index(FILES.len())];
            let mut bytes = set.get(name).unwrap_or_default().to_vec();
            let at = at.index(bytes.len());
            bytes[at] = byte;
            set.insert(name, bytes);
        }
        check(&set)?;
    }

    #[test]
    fn lines_left_out_or_doubled_are_survived(
        file in any::<prop::sample::Index>(),
        line in any::<prop::sample::Index>(),
        doubled in any::<bool>(),
    ) {
        let (name, text) = FILES[file.index(FILES.len())];
        let lines: Vec<&str> = text.split_inclusive('\n').collect();
        let at = line.index(lines.len());
        let mut changed = String::new();
        for (number, line) in lines.iter().enumerate() {
            let times = match (number == at, doubled) {
                (true, true) => 2,
                (true, false) => 0,
                (false, _) => 1,
            };
            changed.push_str(&line.repeat(times));
        }
        let mut set = small_shop::files();
        set.insert(name, changed.into_bytes());
        check(&set)?;
    }

    #[test]
    fn any_text_is_a_moment_or_a_reason(text in "\\PC{0,30}", seconds in any::<i64>()) {
        let zone = chrono_tz::Europe::Berlin;
        if let Err(reason) = parse_moment(&text, zone) {
            prop_assert!(!reason.is_empty());
        }
        prop_assert!(!local(Moment(seconds), zone).is_empty());
    }

    /// Local times are shown as they are read, but for the hour that occurs twice a year.
    #[test]
    fn shown_moments_are_read_back(minutes in 10_519_200_i64..68_000_000) {
        let zone = chrono_tz::America::New_York;
        let moment = Moment(minutes * 60);
        let read = parse_moment(&local(moment, zone), zone);
        let hour_before = Moment(moment.0 - 3_600);
        prop_assert!(read == Ok(moment) || read == Ok(hour_before), "{:?} {:?}", moment, read);
    }
}

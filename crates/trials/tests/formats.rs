//! Tiny instances in each format, with numbers of our own, and texts that are wrong.

use trials::instance::Goal;
use trials::read::{ReadError, Trouble, atsp, ipmtc, ssp, ssp_npm, upms_sdst, wtsds};

const WTSDS: &str = "\nProblem Instance: 0\nProblem Size: 2\nBegin Generator Parameters\nTau: 0.3\n\
    End Generator Parameters\nBegin Problem Specification\nProcess Times:\n5\n7\nWeights:\n2\n3\n\
    Duedates:\n6\n-1\nSetup Times:\n-1\t0\t1\n-1\t1\t2\n0\t1\t4\n1\t0\t3\nEnd Problem Specification\n";
const SSP: &str = "3\n2\n1\n1 0 1\n0 1 0";
const NPM: &str = "2;3;2\n1;2;NA\n4;5;NA\n7;8;9\n6;5;4\n1;0;1\n1;1;0\n";
const IPMTC: &str = "2 3 2 2\n9\n5 6 7 \n1 0 1 \n1 1 0 \n";
const UPMS: &str = "2  2  1\n2\n\t0\t5\t1\t6\n\t0\t7\t1\t8\nSSD\nM0\n0\t3\n4\t0\nM1\n0\t1\n2\t0\n";
const ATSP: &str = "NAME: x\nTYPE: ATSP\nDIMENSION: 3\nEDGE_WEIGHT_TYPE: EXPLICIT\n\
    EDGE_WEIGHT_FORMAT: FULL_MATRIX\nEDGE_WEIGHT_SECTION\n9 1 2\n3 9 4\n5 6 9\nEOF\n";

#[test]
fn weighted_tardiness() {
    let shop = wtsds("f", WTSDS).unwrap();
    assert_eq!(shop.process, [[5, 7]]);
    assert_eq!((shop.weight, shop.due), (vec![2, 3], vec![6, -1]));
    assert_eq!(
        (&shop.first, &shop.setup),
        (&vec![vec![1, 2]], &vec![vec![0, 4, 3, 0]])
    );
}

#[test]
fn tool_switching() {
    let shop = ssp("f", SSP).unwrap();
    assert_eq!((shop.tools, shop.capacity), (vec![1, 2, 1], vec![1]));
}

#[test]
fn different_machines_with_magazines() {
    let shop = ssp_npm("f", NPM, Goal::FlowTime).unwrap();
    assert_eq!((shop.capacity, shop.switch_time), (vec![1, 2], vec![4, 5]));
    assert_eq!(
        (shop.process, shop.tools),
        (vec![vec![7, 8, 9], vec![6, 5, 4]], vec![3, 2, 1])
    );
}

#[test]
fn identical_machines_with_magazines() {
    let shop = ipmtc("f", IPMTC).unwrap();
    assert_eq!((shop.capacity, shop.switch_time), (vec![2, 2], vec![9, 9]));
    assert_eq!(
        (&shop.process[1], shop.tools),
        (&vec![5, 6, 7], vec![3, 2, 1])
    );
}

#[test]
fn unrelated_machines() {
    let shop = upms_sdst("f", UPMS).unwrap();
    assert_eq!(shop.process, [[5, 7], [6, 8]]);
    assert_eq!(shop.setup, [[0, 3, 4, 0], [0, 1, 2, 0]]);
}

#[test]
fn a_tour_is_cut_at_its_first_place() {
    let shop = atsp("f", ATSP).unwrap();
    assert_eq!(
        (shop.jobs, &shop.first[0], &shop.last),
        (2, &vec![1, 2], &vec![3, 5])
    );
    assert_eq!(shop.setup[0], [9, 4, 6, 9]);
}

type Reader = fn(&str) -> Result<(), ReadError>;

fn all() -> [(&'static str, Reader); 6] {
    [
        (WTSDS, |text| wtsds("f", text).map(|_| ())),
        (SSP, |text| ssp("f", text).map(|_| ())),
        (NPM, |text| ssp_npm("f", text, Goal::Makespan).map(|_| ())),
        (IPMTC, |text| ipmtc("f", text).map(|_| ())),
        (UPMS, |text| upms_sdst("f", text).map(|_| ())),
        (ATSP, |text| atsp("f", text).map(|_| ())),
    ]
}

/// Every shortened text and every text with one word changed is read or refused, never more.
#[test]
fn no_text_makes_a_reader_panic() {
    for (text, read) in all() {
        assert!(read(text).is_ok());
        for end in 0..text.len() {
            let _ = read(&text[..end]);
        }
        for (at, word) in text
            .split_whitespace()
            .map(|word| (offset(text, word), word))
        {
            for other in [
                "",
                "x",
                "-1",
                "0",
                "3",
                "99999999999999999999",
                "9223372036854775807",
            ] {
                let changed = [&text[..at], other, &text[at + word.len()..]].concat();
                let _ = read(&changed);
            }
        }
    }
}

fn offset(text: &str, word: &str) -> usize {
    word.as_ptr() as usize - text.as_ptr() as usize
}

#[test]
fn errors_name_file_line_and_cause() {
    let error = ssp("lot.txt", "3 2 1\n1 0 1\n0 2 0\n").unwrap_err();
    assert_eq!((error.file.as_str(), error.line), ("lot.txt", 3));
    assert!(matches!(
        error.trouble,
        Trouble::OutOfRange { found: 2, .. }
    ));
    let error = ssp("lot.txt", "3 2 1\n1 0 1\n0 ").unwrap_err();
    assert!(matches!((error.line, error.trouble), (3, Trouble::Ends(_))));
    let error = ipmtc("lot.txt", "1 1 2 1\n9\n5\n1\n1\n").unwrap_err();
    assert_eq!(error.trouble, Trouble::NoMachine(0));
    let error = atsp("lot.txt", &ATSP.replace("FULL_MATRIX", "UPPER_ROW")).unwrap_err();
    assert!(matches!(
        (error.line, error.trouble),
        (5, Trouble::Kind { .. })
    ));
    let error = wtsds("lot.txt", "Problem Size: 2\n").unwrap_err();
    assert_eq!(error.trouble, Trouble::NoSection("Process"));
    let error = upms_sdst("lot.txt", "6000 2 1\n").unwrap_err();
    assert!(matches!(
        error.trouble,
        Trouble::OutOfRange { found: 6000, .. }
    ));
}

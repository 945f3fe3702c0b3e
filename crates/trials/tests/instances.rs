//! Instances written by hand: what answers are worth by hand, and that the search finds the best of
//! all answers.

#![allow(missing_docs, clippy::unwrap_used)]

use exact::enumerate;
use search::{Effort, Problem, Sequences, Slot, solve};
use trials::instance::{SetupShop, ToolShop};
use trials::models::{SetupModel, ToolModel};
use trials::{judge, read};

/// Four places; the best tour 0-2-1-3-0 is 3 + 1 + 2 + 4 = 10 long.
const TOUR: &str = "NAME: t\nTYPE: ATSP\nDIMENSION: 4\nEDGE_WEIGHT_TYPE: EXPLICIT\n\
EDGE_WEIGHT_FORMAT: FULL_MATRIX\nEDGE_WEIGHT_SECTION\n9999 9 3 9\n9 9999 9 2\n9 1 9999 9\n4 9 9 9999\nEOF\n";

/// Two machines, three jobs; times 4 6, 5 3, 2 2 and setups of 1 on machine 0, 2 on machine 1.
const UNRELATED: &str = "3 2 1\n2\n\t0\t4\t1\t6\n\t0\t5\t1\t3\n\t0\t2\t1\t2\nSSD\nM0\n0 1 1\n1 0 1\n1 1 0\n\
M1\n0 2 2\n2 0 2\n2 2 0\n";

/// Four jobs, four tools, a magazine of two: tools 0 1, 1 2, 2 3 and 0 1 again.
const SWITCHES: &str = "4 4\n2\n1 0 0 1\n1 1 0 1\n0 1 1 0\n0 0 1 0\n";

/// Two jobs: times 3 and 2, weights 1 and 5, due at 3 and 4, setups first 1 1, then 2 and 1.
const LATE: &str = "Problem Instance: 1\nProblem Size: 2\nBegin Generator Parameters\nTau: 0.3\nR: 0.25\n\
Eta: 0.25\nEnd Generator Parameters\nBegin Problem Specification\nProcess Times:\n3\n2\nWeights:\n1\n5\n\
Duedates:\n3\n4\nSetup Times:\n-1\t0\t1\n-1\t1\t1\n0\t1\t2\n1\t0\t1\nEnd Problem Specification\n";

fn lines(answer: &Sequences) -> Vec<Vec<usize>> {
    let jobs = |line: &Vec<Slot>| line.iter().map(|slot| slot.job).collect();
    answer.machines.iter().map(jobs).collect()
}

/// The judge's value of what the search finds, from a start in which every job is on its first
/// place, beside the least of all answers.
fn found_and_best<P: Problem>(model: &P, value: &dyn Fn(&[Vec<usize>]) -> i64) -> (i64, i64) {
    let mut start = Sequences::new(model.machines());
    for job in 0..model.jobs() {
        let place = model.places(job)[0];
        start.machines[place.machine].push(Slot {
            job,
            way: place.way,
        });
    }
    let mut stop = |steps: u64| steps >= 3_000;
    let found = solve(model, start, Effort::single(1), &mut stop, &mut ());
    let best = enumerate(model, 10_000).unwrap();
    (value(&lines(&found.best)), value(&lines(&best.sequences)))
}

fn setups(shop: &SetupShop) -> (i64, i64) {
    let model = SetupModel::new(shop.clone());
    found_and_best(&model, &|lines| judge::setups(shop, lines).unwrap())
}

fn tools(shop: &ToolShop) -> (i64, i64) {
    let model = ToolModel::new(shop.clone());
    found_and_best(&model, &|lines| judge::tools(shop, lines).unwrap())
}

#[test]
fn a_tour() {
    let shop = read::atsp("t.atsp", TOUR).unwrap();
    // 0-1-2-3-0: 9 + 9 + 9 + 4.
    assert_eq!(judge::setups(&shop, &[vec![0, 1, 2]]), Ok(31));
    assert_eq!(setups(&shop), (10, 10));
}

#[test]
fn unrelated_machines() {
    let shop = read::upms_sdst("u.txt", UNRELATED).unwrap();
    // Machine 0: 4 + 1 + 2 = 7; machine 1: 3.
    assert_eq!(judge::setups(&shop, &[vec![0, 2], vec![1]]), Ok(7));
    // 4 alone, and 3 + 2 + 2 = 7; or 4 + 1 + 2; or 5 and 6 + 2 + 2: no answer is below 7. (What the
    // model makes small beside the makespan is not the makespan, so all answers are not compared.)
    assert_eq!(setups(&shop).0, 7);
}

#[test]
fn tool_switches() {
    let shop = read::ssp("s", SWITCHES).unwrap();
    // 0 1 | 1 2 | 2 3 | 0 1: one switch, one, two.
    assert_eq!(judge::tools(&shop, &[vec![0, 1, 2, 3]]), Ok(4));
    // The two jobs of like tools together: two switches.
    assert_eq!(tools(&shop), (2, 2));
}

#[test]
fn weighted_tardiness() {
    let shop = read::wtsds("l.instance", LATE).unwrap();
    // Job 0 ends at 4, one late; job 1 at 4 + 2 + 2 = 8, four late at weight 5.
    assert_eq!(judge::setups(&shop, &[vec![0, 1]]), Ok(21));
    // Job 1 ends at 3; job 0 at 3 + 1 + 3 = 7, four late.
    assert_eq!(judge::setups(&shop, &[vec![1, 0]]), Ok(4));
    assert_eq!(setups(&shop), (4, 4));
}

#[test]
fn answers_that_are_none() {
    let shop = read::upms_sdst("u.txt", UNRELATED).unwrap();
    for wrong in [
        vec![vec![0, 2]],
        vec![vec![0, 2], vec![]],
        vec![vec![0, 2], vec![1, 1]],
        vec![vec![0, 2], vec![7]],
    ] {
        assert!(judge::setups(&shop, &wrong).is_err(), "{wrong:?}");
    }
}

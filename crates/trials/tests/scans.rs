//! What a scan says of a row of exchanges is what fresh evaluations say of each of them.

use rand::{RngExt, SeedableRng};
use rand_pcg::Pcg64;
use search::{Exchange, Problem, Row, Sequences, Slot, Touched};
use std::ops::Range;
use trials::instance::{Goal, SetupShop};
use trials::models::SetupModel;

fn shop(jobs: usize, goal: Goal, slack: i64, rng: &mut Pcg64) -> SetupShop {
    let mut numbers = |count: usize, most: i64| -> Vec<i64> {
        (0..count).map(|_| rng.random_range(0..=most)).collect()
    };
    SetupShop {
        jobs,
        process: vec![numbers(jobs, 40)],
        first: vec![numbers(jobs, 9)],
        setup: vec![numbers(jobs * jobs, 30)],
        last: numbers(jobs, 20),
        weight: numbers(jobs, 9),
        due: numbers(jobs, 400).iter().map(|due| due + slack).collect(),
        goal,
    }
}

fn shuffled(jobs: usize, rng: &mut Pcg64) -> Sequences {
    let mut left: Vec<usize> = (0..jobs).collect();
    let mut answer = Sequences::new(1);
    while !left.is_empty() {
        let job = left.swap_remove(rng.random_range(0..left.len()));
        answer.machines[0].push(Slot { job, way: 0 });
    }
    answer
}

/// Written apart from the search's own: the slots in their new order.
fn exchanged(answer: &Sequences, first: &Range<usize>, second: &Range<usize>) -> Sequences {
    let line = &answer.machines[0];
    let order = (0..first.start)
        .chain(second.clone())
        .chain(first.end..second.start)
        .chain(first.clone())
        .chain(second.end..line.len());
    Sequences {
        machines: vec![order.map(|position| line[position]).collect()],
    }
}

/// Every exchange of a row.
fn all_of(row: Row, length: usize) -> Vec<(Range<usize>, Range<usize>)> {
    match row {
        Row::Stretch { from, to, .. } => (to + 1..=length).map(|e| (from..to, to..e)).collect(),
        Row::Slot { at, .. } => (at + 2..length)
            .map(|other| (at..at + 1, other..other + 1))
            .collect(),
    }
}

fn some_row(length: usize, rng: &mut Pcg64) -> Row {
    let (machine, from) = (0, rng.random_range(0..length - 1));
    if rng.random_range(0..4) == 0 {
        return Row::Slot { machine, at: from };
    }
    let to = rng.random_range(from + 1..length);
    Row::Stretch { machine, from, to }
}

/// Goes down by what the scans find, so that good answers are met as well as bad ones.
fn descend(model: &SetupModel, jobs: usize, rng: &mut Pcg64) -> (usize, usize) {
    let (mut base, mut fresh) = (model.scratch(), model.scratch());
    let mut answer = shuffled(jobs, rng);
    let mut cost = model.cost(&mut base, &answer, i64::MAX);
    let (mut better, mut none) = (0, 0);
    for _ in 0..600 {
        let row = some_row(jobs, rng);
        let mut costs = |exchange: &(Range<usize>, Range<usize>)| {
            let new = exchanged(&answer, &exchange.0, &exchange.1);
            model.cost(&mut fresh, &new, i64::MAX)
        };
        let Some(Exchange { first, second, .. }) = model.scan(&mut base, &answer, row) else {
            let found = all_of(row, jobs).iter().map(&mut costs).min();
            assert!(
                found.is_none_or(|found| found >= cost),
                "{row:?} {answer:?}"
            );
            none += 1;
            continue;
        };
        let exchange = (first, second);
        assert!(all_of(row, jobs).contains(&exchange));
        let found = costs(&exchange);
        assert!(found < cost, "{row:?} {exchange:?} {answer:?}");
        answer = exchanged(&answer, &exchange.0, &exchange.1);
        let (from, tail) = (exchange.0.start, jobs - exchange.1.end);
        let touched = Touched::nothing().and_before(0, from, tail);
        cost = model.trial(&mut base, &answer, &touched, cost - 1);
        assert_eq!(cost, found);
        model.keep(&mut base, &answer, &touched);
        better += 1;
    }
    (better, none)
}

#[test]
fn a_scan_finds_an_exchange_that_helps_whenever_there_is_one() {
    let mut rng = Pcg64::seed_from_u64(11);
    for goal in [Goal::WeightedTardiness, Goal::FlowTime, Goal::Total] {
        let (mut better, mut none) = (0, 0);
        for slack in [-200, -50, 0, 100, 300] {
            for jobs in [2, 3, 7, 16, 24] {
                let model = SetupModel::new(shop(jobs, goal, slack, &mut rng));
                assert!(model.scans());
                let (more, no) = descend(&model, jobs, &mut rng);
                (better, none) = (better + more, none + no);
            }
        }
        assert!(better > 200 && none > 2_000, "{goal:?}: {better}, {none}");
    }
}

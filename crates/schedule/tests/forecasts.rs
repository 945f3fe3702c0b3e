//! Guesses of what a change costs: not true, but they put more promising changes before others.

#![allow(missing_docs, clippy::unwrap_used)]

use rand::{RngExt, SeedableRng};
use rand_pcg::Pcg64;
use schedule::{Means, Problem, begin, compile_with};
use search::{Problem as _, Sequences, Slot, Touched};
use testkit::{Recipe, Sections, invent};

/// One run to another position of its line, or two of a line in each other's place.
fn change(problem: &Problem<'_>, lines: &mut Sequences, rng: &mut Pcg64) -> Option<Touched> {
    let brake = rng.random_range(0..lines.machines.len());
    let first = problem.pinned(brake).len();
    let line: &mut Vec<Slot> = &mut lines.machines[brake];
    if line.len() < first + 2 {
        return None;
    }
    let (one, two) = (
        rng.random_range(first..line.len()),
        rng.random_range(first..line.len()),
    );
    let (low, high) = (one.min(two), one.max(two));
    if low == high {
        return None;
    }
    match rng.random_range(0..3) {
        0 => line[low..=high].rotate_left(1),
        1 => line[low..=high].rotate_right(1),
        _ => line.swap(low, high),
    }
    let tail = line.len() - high - 1;
    Some(Touched::nothing().and_before(brake, low, tail))
}

/// What changes of a start were guessed to cost, and what they cost.
fn guesses(seed: u64, dates: f64) -> Vec<(i64, i64)> {
    let shop = invent(&Recipe::bed(60, dates, Sections::Ample, seed));
    let (problem, _) = compile_with(&shop, shop.as_of.unwrap(), Means::default());
    let start = begin(&problem, None, 1).start;
    let mut scratch = problem.scratch();
    let base = problem.cost(&mut scratch, &start, i64::MAX);
    let mut rng = Pcg64::seed_from_u64(seed);
    let mut pairs = Vec::new();
    while pairs.len() < 300 {
        let mut lines = start.clone();
        let Some(touched) = change(&problem, &mut lines, &mut rng) else {
            continue;
        };
        let guess = problem.forecast(&scratch, &start, &lines, &touched);
        let cost = problem.trial(&mut scratch, &lines, &touched, i64::MAX);
        pairs.push((guess, cost - base));
    }
    pairs
}

#[test]
fn what_is_guessed_to_cost_little_costs_less() {
    for dates in [0.5, -1.0] {
        let mut right = 0;
        for seed in 1..=6 {
            let mut pairs = guesses(seed, dates);
            pairs.sort_unstable();
            let dearer = |part: &[(i64, i64)]| {
                let mut costs: Vec<i64> = part.iter().map(|pair| pair.1).collect();
                costs.sort_unstable();
                costs[costs.len() / 2]
            };
            right += u32::from(dearer(&pairs[..150]) < dearer(&pairs[150..]));
        }
        assert!(right >= 5, "{right} of 6 at {dates}");
    }
}

/// The guess for a change that is none is nothing, and trying leaves the base what it was.
#[test]
fn no_change_is_guessed_to_cost_nothing() {
    let shop = invent(&Recipe::bed(40, 0.5, Sections::Scarce, 2));
    let (problem, _) = compile_with(&shop, shop.as_of.unwrap(), Means::default());
    let start = begin(&problem, None, 1).start;
    let mut scratch = problem.scratch();
    problem.cost(&mut scratch, &start, i64::MAX);
    let mut rng = Pcg64::seed_from_u64(7);
    for _ in 0..200 {
        let mut lines = start.clone();
        let touched = change(&problem, &mut lines, &mut rng).unwrap_or_default();
        let before = problem.forecast(&scratch, &start, &lines, &touched);
        problem.trial(&mut scratch, &lines, &touched, i64::MAX);
        let after = problem.forecast(&scratch, &start, &lines, &touched);
        assert_eq!(before, after);
        let same = Touched::nothing().and_before(0, 0, start.machines[0].len());
        assert_eq!(problem.forecast(&scratch, &start, &start, &same), 0);
    }
}

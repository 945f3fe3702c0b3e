//! An answer timed from a milestone of another costs what it costs timed whole.

#![allow(missing_docs, clippy::unwrap_used)]

use rand::{RngExt, SeedableRng};
use rand_pcg::Pcg64;
use schedule::{Means, Problem, begin, compile_with};
use search::{Effort, Problem as _, Sequences, Slot, Touched, solve};
use testkit::{Recipe, Sections, invent};
use tooling::Keep;

/// One run elsewhere: on its own line, on another brake, or done another way where it is.
fn change(problem: &Problem<'_>, lines: &mut Sequences, rng: &mut Pcg64) -> Option<Touched> {
    let brakes: Vec<usize> = (0..lines.machines.len())
        .filter(|&brake| lines.machines[brake].len() > problem.pinned(brake).len())
        .collect();
    let brake = brakes[rng.random_range(0..brakes.len())];
    let from = rng.random_range(problem.pinned(brake).len()..lines.machines[brake].len());
    let slot = lines.machines[brake][from];
    let places = problem.places(slot.job);
    let place = places[rng.random_range(0..places.len())];
    let tail = lines.machines[brake].len() - from - 1;
    lines.machines[brake].remove(from);
    let line = &mut lines.machines[place.machine];
    let to = rng.random_range(problem.pinned(place.machine).len()..=line.len());
    let way = place.way;
    line.insert(to, Slot { way, ..slot });
    let touched = Touched::nothing();
    let behind = line.len() - to - 1;
    if place.machine == brake {
        if from == to && slot.way == way {
            return None;
        }
        return Some(touched.and_before(brake, from.min(to), tail.min(behind)));
    }
    let touched = touched.and_before(brake, from, tail);
    Some(touched.and_before(place.machine, to, behind))
}

/// Walks through answers as the search does, holding each to a fresh evaluation of the whole.
fn walk(recipe: &Recipe, keep: Keep, seed: u64) -> (u32, u32) {
    let shop = invent(recipe);
    let means = Means {
        keep,
        ..Means::default()
    };
    let (problem, _) = compile_with(&shop, shop.as_of.unwrap(), means);
    let mut lines = begin(&problem, None, 1).start;
    let (mut scratch, mut fresh) = (problem.scratch(), problem.scratch());
    let mut base = problem.cost(&mut scratch, &lines, i64::MAX);
    let mut rng = Pcg64::seed_from_u64(seed);
    let (mut tried, mut kept) = (0, 0);
    for _ in 0..120 {
        let mut other = lines.clone();
        let Some(touched) = change(&problem, &mut other, &mut rng) else {
            continue;
        };
        let true_cost = problem.cost(&mut fresh, &other, i64::MAX);
        // Given up, for better or worse, or true.
        let limit = base + rng.random_range(0..=base / 100);
        let cost = problem.attempt(&mut scratch, &other, &touched, limit);
        assert!(cost > limit || cost == true_cost, "shop {seed}");
        let cost = problem.trial(&mut scratch, &other, &touched, i64::MAX);
        assert_eq!(cost, true_cost, "shop {seed}");
        tried += 1;
        if rng.random_range(0..3) == 0 {
            base = cost;
            problem.keep(&mut scratch, &other, &touched);
            lines = other;
            kept += 1;
            let (mut own, mut others) = (Vec::new(), Vec::new());
            problem.pains(&scratch, &mut own);
            problem.pains(&fresh, &mut others);
            assert_eq!(own, others);
            // Guesses go by the record, which must be the same too.
            let mut next = lines.clone();
            if let Some(touched) = change(&problem, &mut next, &mut rng) {
                let guess = problem.forecast(&scratch, &lines, &next, &touched);
                assert_eq!(guess, problem.forecast(&fresh, &lines, &next, &touched));
                let own = problem.attempt(&mut scratch, &next, &touched, base);
                let other = problem.attempt(&mut fresh, &next, &touched, base);
                assert_eq!(own, other, "shop {seed}");
            }
        }
    }
    (tried, kept)
}

#[test]
fn going_on_from_a_milestone_changes_no_cost() {
    let (mut tried, mut kept) = (0, 0);
    for seed in 1..=40 {
        let keep = [
            Keep::Serving,
            Keep::Serving,
            Keep::Blind,
            Keep::NeededSoonest,
        ][usize::try_from(seed).unwrap() % 4];
        let recipe = match seed % 3 {
            0 => Recipe::anything(seed),
            1 => Recipe::bed(60, 0.5, Sections::Scarce, seed),
            _ => Recipe::bed(90, 0.5, Sections::Ample, seed),
        };
        let (more_tried, more_kept) = walk(&recipe, keep, seed);
        (tried, kept) = (tried + more_tried, kept + more_kept);
    }
    assert!(tried > 3_000 && kept > 800, "{tried} tried, {kept} kept");
}

/// Of what is not given up, far more is better than of all.
#[test]
fn what_is_given_up_is_mostly_worse() {
    let (mut tried, mut better, mut found, mut seen) = (0, 0, 0, 0);
    for seed in 1..=4 {
        let shop = invent(&Recipe::bed(90, 0.5, Sections::Ample, seed));
        let (problem, _) = compile_with(&shop, shop.as_of.unwrap(), Means::default());
        let start = begin(&problem, None, 1).start;
        // In a start much that is far away gets better by chance, whatever is changed.
        let mut stop = |steps: u64| steps >= 2_000;
        let lines = solve(&problem, start, Effort::single(seed), &mut stop, &mut ()).best;
        let mut scratch = problem.scratch();
        let base = problem.cost(&mut scratch, &lines, i64::MAX);
        let mut rng = Pcg64::seed_from_u64(seed);
        for _ in 0..800 {
            let mut other = lines.clone();
            let Some(touched) = change(&problem, &mut other, &mut rng) else {
                continue;
            };
            let truly = problem.trial(&mut scratch, &other, &touched, i64::MAX);
            let seems = problem.attempt(&mut scratch, &other, &touched, base);
            tried += 1;
            better += u32::from(truly < base);
            seen += u32::from(seems != i64::MAX);
            found += u32::from(seems < base);
        }
    }
    let say = format!("{tried} tried, {better} better; {seen} seen to the end, {found} better");
    assert!(seen * 10 < tried && found * 8 > better, "{say}");
    assert!(found * tried > 5 * better * seen, "{say}");
}

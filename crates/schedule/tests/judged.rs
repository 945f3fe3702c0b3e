//! Whatever sequence is timed, the independent judge must accept the plan lifted from it: good
//! sequences, hopeless ones, and ones that leave jobs out.

#![allow(clippy::expect_used, clippy::panic)] // what a test needs and has not got fails the test

use documents::{FileSet, KNOWN_FILES, read_shop};
use model::Shop;
use rand::SeedableRng;
use rand_pcg::Pcg64;
use schedule::timing::Scratch;
use schedule::{compile, lift};
use search::{Problem as _, Sequences};
use std::path::Path;
use testkit::random_sequences;
use units::Moment;

fn shop(folder: &str) -> Shop {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("../..")
        .join(folder);
    let mut files = FileSet::new();
    for (name, _) in KNOWN_FILES {
        if let Ok(bytes) = std::fs::read(root.join(name)) {
            files.insert(name, bytes);
        }
    }
    let (shop, findings) = read_shop(&files);
    shop.unwrap_or_else(|| panic!("{findings:#?}"))
}

fn described(shop: &Shop) -> Moment {
    shop.as_of
        .expect("the invented shops say when they were described")
}

fn judge_many(folder: &str, rounds: u64, leave_out: u32) {
    let shop = shop(folder);
    let (problem, _) = compile(&shop, described(&shop));
    let mut scratch = Scratch::default();
    for seed in 0..rounds {
        let mut rng = Pcg64::seed_from_u64(seed);
        let sequences = random_sequences(&problem, leave_out, &mut rng);
        let plan = lift(&problem, &mut scratch, &sequences);
        let verdict = audit::judge(&shop, &plan);
        assert!(
            verdict.accepted(),
            "{folder}, seed {seed}: {:#?}",
            verdict.violations
        );
        let cost = problem.cost(&mut scratch, &sequences, i64::MAX);
        assert_eq!(plan.totals.objective, cost, "{folder}, seed {seed}");
    }
}

#[test]
fn random_sequences_of_the_demo_shop_are_accepted() {
    judge_many("demo-shop", 40, 0);
}

#[test]
fn random_sequences_that_leave_jobs_out_are_accepted() {
    judge_many("demo-shop", 10, 7);
}

#[test]
fn random_sequences_of_the_tiny_shop_are_accepted() {
    judge_many("tests/tiny-shop", 200, 0);
}

#[test]
fn an_evaluation_stops_early_exactly_when_the_cost_is_above_the_limit() {
    let shop = shop("demo-shop");
    let (problem, _) = compile(&shop, described(&shop));
    let mut scratch = Scratch::default();
    let mut rng = Pcg64::seed_from_u64(7);
    for _ in 0..20 {
        let sequences = random_sequences(&problem, 0, &mut rng);
        let cost = problem.cost(&mut scratch, &sequences, i64::MAX);
        assert_eq!(problem.cost(&mut scratch, &sequences, cost), cost);
        assert!(problem.cost(&mut scratch, &sequences, cost - 1) > cost - 1);
        let half = problem.cost(&mut scratch, &sequences, cost / 2);
        assert!(half > cost / 2 && half <= cost);
    }
}

#[test]
fn an_evaluation_does_not_depend_on_the_ones_before() {
    let shop = shop("demo-shop");
    let (problem, _) = compile(&shop, described(&shop));
    let mut rng = Pcg64::seed_from_u64(11);
    let answers: Vec<Sequences> = (0..6)
        .map(|_| random_sequences(&problem, 0, &mut rng))
        .collect();
    let fresh: Vec<i64> = answers
        .iter()
        .map(|answer| problem.cost(&mut problem.scratch(), answer, i64::MAX))
        .collect();
    let mut used = problem.scratch();
    for (answer, cost) in answers.iter().zip(fresh).rev() {
        assert_eq!(problem.cost(&mut used, answer, i64::MAX), cost);
    }
}

#[test]
fn working_memory_serves_another_problem_as_if_fresh() {
    let demo = shop("demo-shop");
    // The same profiles, fewer sections: what was remembered of the first would be wrong here.
    let mut poorer = demo.clone();
    for section in poorer.sections.iter_mut().step_by(5) {
        section.status = model::SectionStatus::Out;
    }
    let (first, _) = compile(&demo, described(&demo));
    let (second, _) = compile(&poorer, described(&poorer));
    let mut rng = Pcg64::seed_from_u64(5);
    let (a, b) = (
        random_sequences(&first, 0, &mut rng),
        random_sequences(&second, 0, &mut rng),
    );
    let fresh = second.cost(&mut second.scratch(), &b, i64::MAX);
    let mut used = first.scratch();
    let before = first.cost(&mut used, &a, i64::MAX);
    assert_eq!(second.cost(&mut used, &b, i64::MAX), fresh);
    assert_eq!(first.cost(&mut used, &a, i64::MAX), before);
}

//! Planners on invented shops: every plan is judged, and the switches switch something.

use clap::ValueEnum;
use schedule::{Means, compile_with, due_date_order};
use search::Problem as _;
use std::time::Duration;
use testkit::Sections;
use tooling::Keep;
use trials::beds::contest::{Planner, plan};
use trials::beds::shops::{Class, Dates, PROVED_MOST};

fn class(orders: usize) -> Class {
    Class {
        orders,
        dates: Dates::Loose,
        sections: Sections::Scarce,
    }
}

#[test]
fn every_planner_makes_plans_that_the_audit_accepts() {
    let shop = class(12).shop(1);
    let cost = |planner| plan(&shop, planner, 1, Duration::from_millis(60)).map(|p| p.cost);
    let start = cost(Planner::Start).unwrap();
    for &planner in Planner::value_variants() {
        let found = cost(planner).unwrap();
        assert!(found > 0, "{planner:?}");
        if matches!(planner, Planner::Ours | Planner::AnnealingStart) {
            assert!(found <= start, "{planner:?}");
        }
    }
}

#[test]
fn no_planner_by_the_same_rule_beats_the_proof() {
    let shop = class(5).shop(2);
    assert!(shop.orders.len() <= PROVED_MOST);
    let (problem, _) = schedule::compile(&shop, shop.as_of.unwrap());
    let best = exact::enumerate(&problem, 200_000).unwrap();
    for planner in [Planner::Ours, Planner::AnnealingDue, Planner::IteratedDue] {
        let found = plan(&shop, planner, 1, Duration::from_millis(40)).unwrap();
        assert!(found.cost >= best.cost, "{planner:?}");
    }
}

#[test]
fn the_switches_change_what_they_name() {
    let cost = |seed, keep| {
        let shop = class(30).shop(seed);
        let means = Means {
            keep,
            ..Means::default()
        };
        let (problem, _) = compile_with(&shop, shop.as_of.unwrap(), means);
        let answer = due_date_order(&problem, &mut problem.scratch());
        problem.cost(&mut problem.scratch(), &answer, i64::MAX)
    };
    for keep in [Keep::NeededSoonest, Keep::Blind] {
        let differs = |seed: &u64| cost(*seed, keep) != cost(*seed, Keep::Serving);
        assert!((1..=4).any(|seed| differs(&seed)), "{keep:?}");
    }
    let shop = class(30).shop(1);
    let alike = |graph| {
        let means = Means {
            graph,
            ..Means::default()
        };
        let (problem, _) = compile_with(&shop, shop.as_of.unwrap(), means);
        (0..problem.jobs())
            .map(|job| problem.alike(job).len())
            .sum::<usize>()
    };
    assert!(alike(true) > 0);
    assert_eq!(alike(false), 0);
}

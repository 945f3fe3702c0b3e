//! The planner against proofs: small invented shops whose every sequence is tried.

use audit::judge;
use exact::enumerate;
use schedule::{Ask, compile, plan_day};
use testkit::{Recipe, invent};

/// Shops to prove.
const SHOPS: usize = 60;
/// Most sequences tried of one shop.
const TRIED_MOST: u64 = 12_000;
/// Steps of the search.
const STEPS: u64 = 8_000;

/// What became of one shop.
struct Case {
    seed: u64,
    orders: usize,
    sequences: u64,
    bound: i64,
    optimum: i64,
    found: i64,
    /// Cheaper one of the baselines.
    baseline: i64,
}

fn prove(seed: u64) -> Option<Case> {
    let orders = 4 + usize::try_from(seed % 3).unwrap_or(0);
    let brakes = 1 + usize::from(seed.is_multiple_of(2));
    let shop = invent(&Recipe::provable(orders, brakes, seed));
    let from = shop.as_of?;
    let (problem, _) = compile(&shop, from);
    let best = enumerate(&problem, TRIED_MOST).filter(|best| best.evaluated > 20)?;
    let ask = Ask {
        from,
        seed,
        threads: 1,
        seconds: None,
    };
    let planned = plan_day(&shop, ask, None, &mut |steps| steps >= STEPS, &mut ());
    for plan in [
        &planned.plan,
        &planned.due_date_order,
        &planned.grouped_by_die,
    ] {
        assert_eq!(judge(&shop, plan).violations, [], "seed {seed}");
    }
    let baselines = planned.plan.baselines;
    Some(Case {
        seed,
        orders,
        sequences: best.evaluated,
        bound: planned.plan.bound.objective.unwrap_or(0),
        optimum: best.cost,
        found: planned.plan.totals.objective,
        baseline: baselines
            .due_date_order
            .objective
            .min(baselines.grouped_by_die.objective),
    })
}

#[test]
fn the_planner_finds_the_proved_optimum_of_small_shops() {
    let cases: Vec<Case> = (0..).filter_map(prove).take(SHOPS).collect();
    let mut missed = Vec::new();
    for case in &cases {
        let Case {
            seed,
            bound,
            optimum,
            found,
            baseline,
            ..
        } = case;
        assert!(
            bound <= optimum,
            "seed {seed}: bound {bound}, optimum {optimum}"
        );
        assert!(
            optimum <= found,
            "seed {seed}: optimum {optimum}, found {found}"
        );
        assert!(
            optimum <= baseline,
            "seed {seed}: optimum {optimum}, baseline {baseline}"
        );
        if found > optimum {
            let gap = format!(
                "seed {seed}: optimum {optimum}, found {found}, {} orders",
                case.orders
            );
            missed.push(gap);
        }
    }
    let tried: u64 = cases.iter().map(|case| case.sequences).sum();
    let better = cases
        .iter()
        .filter(|case| case.optimum < case.baseline)
        .count();
    println!("{tried} sequences tried; {better} of {SHOPS} optima are below both baselines");
    assert_eq!(missed, Vec::<String>::new());
    assert!(better > SHOPS / 2);
}

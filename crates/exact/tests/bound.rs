//! Bounds and plans against proofs: thousands of tiny shops in which anything may occur.

use audit::judge;
use exact::enumerate;
use schedule::{Ask, compile, plan_day};
use testkit::{Recipe, invent};

/// Shops to prove.
const SHOPS: usize = 2_000;
/// Most sequences tried of one shop.
const TRIED_MOST: u64 = 600;
/// Steps of the search: a plan is above the optimum whether or not it was searched for long.
const STEPS: u64 = 60;
/// Of so many plans one is judged; other tests judge more of them.
const JUDGED_EVERY: u64 = 4;

/// What a shop proved of its bound.
struct Case {
    bound: i64,
    optimum: i64,
}

/// `None` when the shop has too many sequences, or none.
fn prove(seed: u64) -> Option<Case> {
    let shop = invent(&Recipe::tiny(seed));
    let from = shop.as_of?;
    let (problem, _) = compile(&shop, from);
    let best = enumerate(&problem, TRIED_MOST)?;
    let ask = Ask {
        from,
        seed,
        threads: 1,
        seconds: None,
    };
    let planned = plan_day(&shop, ask, None, &mut |steps| steps >= STEPS, &mut ());
    let bound = planned.plan.bound.objective.unwrap_or(0);
    let optimum = best.cost;
    assert!(
        bound <= optimum,
        "seed {seed}: bound {bound}, optimum {optimum}"
    );
    for plan in [
        &planned.plan,
        &planned.due_date_order,
        &planned.grouped_by_die,
    ] {
        let cost = plan.totals.objective;
        assert!(
            optimum <= cost,
            "seed {seed}: optimum {optimum}, plan {cost}"
        );
        if seed.is_multiple_of(JUDGED_EVERY) {
            assert_eq!(judge(&shop, plan).violations, [], "seed {seed}");
        }
    }
    Some(Case { bound, optimum })
}

#[test]
fn bounds_are_below_proved_optima_and_plans_above() {
    let cases: Vec<Case> = (0..).filter_map(prove).take(SHOPS).collect();
    let costly = cases.iter().filter(|case| case.optimum > 0);
    let silent = costly.clone().filter(|case| case.bound == 0).count();
    let tight = costly.clone().filter(|case| case.bound == case.optimum);
    println!(
        "{} shops; {} optima above zero, of which {silent} without a bound and {} equal to it",
        cases.len(),
        costly.clone().count(),
        tight.clone().count()
    );
    // Were the bound always zero, or no shop of any cost, the test would say little.
    assert!(costly.clone().count() > SHOPS / 2);
    assert!(silent < SHOPS / 10);
    assert!(tight.count() > 0);
}

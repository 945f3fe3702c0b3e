//! However many threads do the work, the plan is the same: for a small shop, searched whole, and
//! for a large one.

#![allow(missing_docs, clippy::unwrap_used)]

use model::Plan;
use schedule::{Ask, plan_day};
use testkit::{Recipe, Sections, invent};

/// Steps in all.
struct Steps(u64);

impl search::Stop for Steps {
    fn now(&mut self, steps: u64) -> bool {
        steps >= self.0
    }
    fn at_most(&self, steps: u64) -> u64 {
        self.0 - steps.min(self.0)
    }
}

fn plan(orders: usize, steps: u64, threads: usize, seed: u64) -> Plan {
    let shop = invent(&Recipe::bed(orders, 0.5, Sections::Ample, 3));
    let ask = Ask {
        from: shop.as_of.unwrap(),
        seed,
        threads,
        seconds: None,
    };
    plan_day(&shop, ask, None, &mut Steps(steps), &mut ()).plan
}

#[test]
fn threads_do_not_decide() {
    for (orders, steps) in [(12, 6_000), (30, 3_000)] {
        let one = plan(orders, steps, 1, 5);
        assert_eq!(one, plan(orders, steps, 2, 5));
        assert_eq!(one, plan(orders, steps, 3, 5));
        assert_ne!(one, plan(orders, steps, 1, 6), "the seed decides");
    }
}

#[test]
fn nor_do_they_in_a_large_shop() {
    let one = plan(320, 1_200, 1, 5);
    assert!(
        one.brakes
            .iter()
            .map(|brake| brake.runs.len())
            .sum::<usize>()
            > 400
    );
    assert_eq!(one, plan(320, 1_200, 2, 5));
}

/// Asked at other moments, the search goes the same way.
#[test]
fn nor_when_it_is_asked_to_stop() {
    let shop = invent(&Recipe::bed(12, 0.5, Sections::Ample, 3));
    let ask = Ask {
        from: shop.as_of.unwrap(),
        seed: 5,
        threads: 2,
        seconds: None,
    };
    let asked_often = plan_day(&shop, ask, None, &mut |steps| steps >= 3_000, &mut ()).plan;
    assert_eq!(plan(12, 3_000, 1, 5), asked_often);
}

//! Promised dates are kept as often as the odds say, and the count would show it if not.

#![allow(clippy::unwrap_used)]

use trials::odds::{Ask, PROMISED, TRUTHS, measure};

/// 640 jobs: three standard errors are 4.7 points at 80 %, 5.9 at 50 %. `trials odds` has the finer table.
#[test]
fn promises_are_kept_as_often_as_was_said() {
    let ask = Ask {
        shops: 16,
        jobs: 40,
        orders: 8,
        samples: 400,
        seed: 1,
        threads: 2,
    };
    let all = measure(&ask).unwrap();
    let assumed = all[0];
    assert!(assumed.jobs > 500, "{assumed:?}");
    for (share, odds) in assumed.shares().into_iter().zip(PROMISED) {
        assert!((share - odds).abs() < 0.05, "{share:.3} kept of {odds}");
    }
    // The same count tells a wrong assumption.
    let twice = TRUTHS
        .iter()
        .position(|truth| truth.name == "spread twice as large");
    let [_, four, most] = all[twice.unwrap()].shares();
    assert!(four < 0.75 && most < 0.90, "{four:.3}, {most:.3}");
}

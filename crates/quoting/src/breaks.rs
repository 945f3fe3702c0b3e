//! The changeover spread over the pieces.

use model::Rules;
use tooling::run_time;
use units::Seconds;

/// Where the curve counts as flat: this share over what a piece takes in an endless run.
const FLAT: f64 = 0.1;
/// Pieces beyond which nobody looks for the flat.
const PIECES_MOST: u32 = 1_000_000;
/// Quantities shown, apart from the one asked for.
const QUANTITIES: [u32; 10] = [1, 2, 5, 10, 25, 50, 100, 250, 500, 1_000];

/// Minutes a piece at one quantity.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct PriceBreak {
    /// Pieces.
    pub quantity: u32,
    /// The changeover, once.
    pub changeover: Seconds,
    /// Bending and checks, all pieces.
    pub run: Seconds,
}

impl PriceBreak {
    /// Both, a piece, in minutes.
    #[must_use]
    pub fn minutes_each(&self) -> f64 {
        (self.changeover + self.run).minutes() / f64::from(self.quantity.max(1))
    }

    /// The changeover alone, a piece, in minutes.
    #[must_use]
    pub fn changeover_each(&self) -> f64 {
        self.changeover.minutes() / f64::from(self.quantity.max(1))
    }
}

/// The curve of minutes a piece over quantity.
#[derive(Clone, Debug, PartialEq)]
pub struct Breaks {
    /// Points, by quantity.
    pub points: Vec<PriceBreak>,
    /// Minutes a piece in an endless run: the cycle and its share of the checks.
    pub endless_minutes: f64,
    /// The smallest quantity at which a piece takes at most a tenth more than that; `None` beyond a
    /// million pieces.
    pub flat_from: Option<u32>,
}

/// Price breaks of a run with this changeover and cycle (milliseconds a piece). The quantity asked for
/// is among the points.
#[must_use]
pub fn price_breaks(changeover: Seconds, cycle_ms: i64, rules: &Rules, asked: u32) -> Breaks {
    let at = |quantity: u32| PriceBreak {
        quantity,
        changeover,
        run: run_time(quantity, cycle_ms, rules),
    };
    let mut quantities = QUANTITIES.to_vec();
    quantities.push(asked.max(1));
    quantities.sort_unstable();
    quantities.dedup();
    let check = f64::from(rules.check_seconds) / f64::from(rules.check_every.max(1));
    #[allow(clippy::cast_precision_loss)] // milliseconds of one piece
    let endless_minutes = (cycle_ms as f64 / 1_000.0 + check) / 60.0;
    let flat = |quantity: &u32| at(*quantity).minutes_each() <= (1.0 + FLAT) * endless_minutes;
    Breaks {
        points: quantities.into_iter().map(at).collect(),
        endless_minutes,
        flat_from: first(flat),
    }
}

/// The first quantity for which it holds, found by doubling and halving; it goes on holding but for
/// the seconds of a check.
fn first(holds: impl Fn(&u32) -> bool) -> Option<u32> {
    let mut above = 1;
    while !holds(&above) {
        if above >= PIECES_MOST {
            return None;
        }
        above *= 2;
    }
    let mut below = above / 2;
    while above - below > 1 {
        let middle = below + (above - below) / 2;
        if holds(&middle) {
            above = middle;
        } else {
            below = middle;
        }
    }
    Some(above)
}

#[cfg(test)]
mod tests {
    use super::*;
    use testkit::{Recipe, Sections, invent};

    fn rules() -> Rules {
        let mut rules = invent(&Recipe::bed(8, 0.0, Sections::Ample, 1)).rules;
        rules.check_every = 25;
        rules.check_seconds = 0;
        rules
    }

    /// 30 min and 1 min a piece: 31, 4, 1.3 minutes at 1, 10, 100; within a tenth of 1 from 300 on
    /// `[computed]`.
    #[test]
    fn the_changeover_is_shared_by_the_pieces() {
        let breaks = price_breaks(Seconds(1_800), 60_000, &rules(), 80);
        let minutes = |quantity: u32| {
            let mut points = breaks.points.iter();
            let point = points.find(|point| point.quantity == quantity).unwrap();
            point.minutes_each()
        };
        for (quantity, expected) in [(1, 31.0), (10, 4.0), (80, 1.375), (100, 1.3)] {
            assert!((minutes(quantity) - expected).abs() < 1e-9, "{quantity}");
        }
        assert_eq!(breaks.flat_from, Some(300));
        assert!((breaks.endless_minutes - 1.0).abs() < 1e-12);
    }

    #[test]
    fn no_changeover_is_flat_at_once() {
        assert_eq!(
            price_breaks(Seconds::ZERO, 1_000, &rules(), 1).flat_from,
            Some(1)
        );
    }
}

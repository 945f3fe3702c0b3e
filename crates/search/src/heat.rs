//! Temperatures, in the problem's own scale.
//!
//! Costs are minutes here, tools there, and the powers of loads elsewhere. What counts is how often
//! a move that worsens is taken, so a cycle's first and last temperature are those at which certain
//! shares of them would be, judged by moves tried from the answer the cycle starts from.

use crate::solve::{Kind, Part};
use rand::{Rng, RngExt};

/// Worsenings of moves that were only tried.
#[derive(Clone, Debug, Default)]
pub(crate) struct Samples {
    worsenings: Vec<f64>,
}

/// Temperatures of a cycle.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Heat {
    first: f64,
    /// Natural logarithm of the last as a share of the first.
    fall: f64,
}

impl Samples {
    /// Moves tried to see whether there is anything to move.
    pub(crate) const FIRST: u64 = 120;

    /// Steps at the start of a cycle that only look.
    pub(crate) fn of_cycle(cycle: u64) -> u64 {
        (cycle / 32).clamp(60, 2_000)
    }

    #[allow(clippy::cast_precision_loss)] // costs far below 2^52
    pub(crate) fn add(&mut self, worsening: i64) {
        if worsening > 0 {
            self.worsenings.push(worsening as f64);
        }
    }

    /// The temperatures of a cycle; forgets the samples.
    pub(crate) fn heat(&mut self, shares: Shares) -> Heat {
        let (first, last) = (self.taking(shares.first), self.taking(shares.last));
        self.worsenings.clear();
        Heat::from_to(first, last)
    }

    /// The temperature at which a share of the worsening moves is taken.
    #[allow(clippy::cast_precision_loss)]
    fn taking(&self, share: f64) -> f64 {
        let count = self.worsenings.len() as f64;
        let taken = |temperature: f64| {
            let chances = self.worsenings.iter().map(|w| (-w / temperature).exp());
            chances.sum::<f64>() / count
        };
        let least = self.worsenings.iter().copied().fold(f64::MAX, f64::min);
        if self.worsenings.is_empty() {
            return 1.0;
        }
        // At a hundredth of the least worsening none is taken, at a million times nearly all.
        let (mut low, mut high) = (least * 0.01, least * 1e6);
        for _ in 0..60 {
            let middle = (low * high).sqrt();
            if taken(middle) < share {
                low = middle;
            } else {
                high = middle;
            }
        }
        low
    }
}

/// Shares of the worsening moves that are taken at the start and at the end of a cycle.
///
/// A line of twice as many jobs has four times as many neighbours, and about twice as many of them
/// are worth taking: the shares fall with the number of jobs.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Shares {
    first: f64,
    last: f64,
}

/// Share at the start of a cycle that moves every job about [`MOVES_EACH`] times. Hotter than that, a
/// short cycle forgets a good start and does not find back.
const START: f64 = 0.005;
const MOVES_EACH: f64 = 20.0;
/// Longer ones start hotter, by this power of how much longer.
const POWER: f64 = 0.35;
/// From so many moves of each job on a cycle is long.
const LONG: f64 = 300.0;
/// Coldest and hottest start of long cycles: worsening moves taken per job. Some problems want the
/// one and some the other, so every cycle draws its own.
const COLDEST: f64 = 0.2;
const HOTTEST: f64 = 2.5;
/// A start takes no more than this share, however few the jobs.
const MOST: f64 = 0.5;
/// Long cycles that do not start from a child take this power of the drawn share: they begin nearly
/// anew, for problems whose good answers lie far apart.
const ANEW: f64 = 0.5;
/// A long cycle from a child ends with this part of the share it starts with: what it was drawn for is
/// a narrow range of heat.
const FALL: f64 = 40.0;
/// Other cycles end with so many worsening moves taken per job.
const END: f64 = 0.03;
/// An end takes no more than this share.
const END_MOST: f64 = 0.001;

impl Shares {
    /// Of a cycle of so many steps.
    #[allow(clippy::cast_precision_loss)] // steps and jobs far below 2^52
    pub(crate) fn of<R: Rng>(part: &Part, jobs: usize, rng: &mut R) -> Shares {
        let jobs = jobs.max(1) as f64;
        let each = part.cycle as f64 / jobs;
        let drawn: f64 = rng.random_range(0.0..1.0);
        let short = (START * (each / MOVES_EACH).powf(POWER)).max(1.0 / jobs);
        let long = (COLDEST * (HOTTEST / COLDEST).powf(drawn) / jobs).min(MOST);
        let end = END / jobs;
        let (first, last) = if each < LONG {
            (short, end)
        } else if part.kind == Kind::FromChild {
            (long, long / FALL)
        } else {
            (long.powf(ANEW), end)
        };
        Shares {
            first: first.min(MOST),
            last: last.min(END_MOST),
        }
    }
}

/// First and last temperature when they are not scaled by samples, as shares of the cost.
const OF_COST: (f64, f64) = (0.01, 0.000_01);

impl Heat {
    fn from_to(first: f64, last: f64) -> Heat {
        Heat {
            first,
            fall: (last / first).ln(),
        }
    }

    /// Temperatures that only the cost of the answer tells.
    #[allow(clippy::cast_precision_loss)]
    pub(crate) fn of_cost(cost: i64) -> Heat {
        let cost = cost.max(1) as f64;
        Heat::from_to(cost * OF_COST.0, cost * OF_COST.1)
    }

    /// The temperature after so many of a cycle's steps: geometric from the first to the last.
    #[allow(clippy::cast_precision_loss)]
    pub(crate) fn at(self, step: u64, cycle: u64) -> f64 {
        self.first * (self.fall * step as f64 / cycle as f64).exp()
    }

    /// How much worse an answer may be and still be taken: exponentially distributed with the
    /// temperature as its mean, which is the Metropolis rule with the draw made first.
    #[allow(clippy::cast_possible_truncation)] // `as` saturates
    pub(crate) fn allowance<R: Rng>(temperature: f64, rng: &mut R) -> i64 {
        let draw: f64 = rng.random_range(f64::MIN_POSITIVE..1.0);
        (-draw.ln() * temperature) as i64
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use rand::SeedableRng;
    use rand_pcg::Pcg64;

    fn part(cycle: u64) -> Part {
        Part {
            cycle,
            kind: Kind::FromChild,
            from: 0,
            steps: 1,
        }
    }

    /// Of worsenings 1 to 1000, at the temperature for a tenth a tenth is taken; in other units the
    /// temperature is in those.
    #[test]
    fn temperatures_take_the_share_that_was_asked_in_any_unit() {
        let of = |unit: i64| {
            let mut samples = Samples::default();
            (1..=1000).for_each(|worsening| samples.add(worsening * unit));
            samples.taking(0.1)
        };
        let taken: f64 = (1..=1000).map(|w| (f64::from(-w) / of(1)).exp()).sum();
        assert!((taken / 1000.0 - 0.1).abs() < 1e-6, "{taken}");
        assert!((of(60) / of(1) - 60.0).abs() < 1e-6);
    }

    #[test]
    fn a_cycle_cools_from_its_first_share_to_its_last() {
        let mut samples = Samples::default();
        (1..=1000).for_each(|worsening| samples.add(worsening));
        let shares = Shares::of(&part(4_000), 200, &mut Pcg64::seed_from_u64(1));
        let last = samples.taking(shares.last);
        let heat = samples.heat(shares);
        assert!((heat.at(100, 100) / last - 1.0).abs() < 1e-9);
        assert!(heat.at(0, 100) > heat.at(50, 100) && heat.at(50, 100) > heat.at(100, 100));
        assert!(samples.worsenings.is_empty());
    }

    #[test]
    fn long_cycles_start_at_different_heat_and_short_ones_do_not() {
        let mut rng = Pcg64::seed_from_u64(2);
        let mut of = |cycle: u64| Shares::of(&part(cycle), 100, &mut rng).first;
        assert!((of(2_000) - of(2_000)).abs() < 1e-12);
        let drawn: Vec<f64> = (0..100).map(|_| of(100_000)).collect();
        assert!(drawn.iter().all(|share| (0.001..=0.03).contains(share)));
        assert!(drawn.iter().any(|&share| share < 0.004));
        assert!(drawn.iter().any(|&share| share > 0.015));
    }
}

//! Chance by seed.

use rand::{RngExt, SeedableRng};
use rand_pcg::Pcg64;
use units::Length;

/// A generator with the few questions this crate asks.
pub(crate) struct Dice(Pcg64);

impl Dice {
    pub(crate) fn new(seed: u64) -> Dice {
        Dice(Pcg64::seed_from_u64(seed))
    }

    /// A whole number, both ends included.
    pub(crate) fn count(&mut self, least: usize, most: usize) -> usize {
        self.0.random_range(least..=most.max(least))
    }

    /// Whole millimetres, both ends included.
    pub(crate) fn mm(&mut self, least: i64, most: i64) -> Length {
        Length::from_whole_mm(self.0.random_range(least..=most.max(least)))
    }

    /// A whole number of seconds or pieces, both ends included.
    pub(crate) fn whole(&mut self, least: i64, most: i64) -> i64 {
        self.0.random_range(least..=most.max(least))
    }

    /// From 0 up to 1.
    pub(crate) fn share(&mut self) -> f64 {
        self.0.random_range(0.0..1.0)
    }

    pub(crate) fn one_in(&mut self, count: usize) -> bool {
        self.count(1, count) == 1
    }

    pub(crate) fn below(&mut self, share: f64) -> bool {
        self.share() < share
    }

    /// One of a list that is not empty.
    pub(crate) fn pick<T: Clone>(&mut self, items: &[T]) -> T {
        let at = self.count(0, items.len() - 1);
        items[at].clone()
    }
}

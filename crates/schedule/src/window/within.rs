//! A part of the steps that another stop allows.

use search::Stop;

/// A part of the steps that another stop allows.
pub(super) struct Within<'a> {
    pub(super) outer: &'a mut dyn Stop,
    pub(super) done: u64,
    pub(super) most: u64,
}

impl Stop for Within<'_> {
    fn now(&mut self, steps: u64) -> bool {
        steps >= self.most || self.outer.now(self.done + steps)
    }
    fn at_most(&self, steps: u64) -> u64 {
        let left = self.most.saturating_sub(steps);
        left.min(self.outer.at_most(self.done + steps))
    }
}

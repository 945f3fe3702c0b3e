//! Where sections are, as one brake sees it while the others go on.

use super::scratch::State;
use tooling::{Custody, Stand};
use units::Moment;

/// Added to the wait for a section on another bed: a takedown disturbs that brake.
const ELSEWHERE: i64 = 1_800;

/// Where sections are, as one brake sees it at one moment.
pub(super) struct View<'a> {
    pub(super) state: &'a State,
    pub(super) brake: usize,
    pub(super) now: Moment,
}

impl Custody for View<'_> {
    fn on_this_bed(&self, section: usize) -> bool {
        self.state.holder[section] == Some(self.brake)
    }

    fn wait(&self, section: usize) -> Option<i64> {
        match self.state.holder[section] {
            None => Some((self.state.free_at[section] - self.now).0.max(0)),
            Some(other) if other == self.brake => None,
            Some(other) => Some((self.state.brakes[other].clock - self.now).0.max(0) + ELSEWHERE),
        }
    }

    fn wanted_elsewhere(&self, stand: &Stand) -> bool {
        [stand.punch, stand.die].iter().any(|&profile| {
            self.state.demand[profile] > self.state.demand_of_brake[self.brake][profile]
        })
    }
}

//! Which brake goes on next.

use super::Timing;
use search::{Sequences, Slot};
use units::{Moment, Seconds};

/// A change of ordinary length, for estimating which run begins first.
pub(crate) const TYPICAL_CHANGE: Seconds = Seconds(20 * 60);

impl Timing<'_, '_> {
    /// The brake whose next run would begin soonest, by a quick estimate: people are booked in the
    /// order in which runs are timed, so timing them in the order of their starts leaves the fewest
    /// holes. One whose next run waits for an order that has not been run is passed over while any
    /// other can go on.
    pub(super) fn soonest(&mut self, sequences: &Sequences) -> Option<usize> {
        let lines = &sequences.machines;
        let expected = self.state.expected.iter().enumerate();
        let (_, first) = expected.map(|(brake, &start)| (start, brake)).min()?;
        let mut best: Option<(bool, Moment, usize)> = None;
        for brake in std::iter::once(first).chain(0..lines.len()) {
            // Starts only move back while others go on: most need not be worked out again.
            let least = (false, self.state.expected[brake], brake);
            if best.is_some_and(|best| best <= least) {
                continue;
            }
            let Some(&slot) = lines[brake].get(self.state.brakes[brake].next) else {
                self.state.expected[brake] = Moment(i64::MAX);
                continue;
            };
            let start = self.expected_start(brake, slot);
            self.state.expected[brake] = start;
            let key = (self.waits(slot), start, brake);
            if best.is_none_or(|best| key < best) {
                best = Some(key);
            }
        }
        best.map(|(_, _, brake)| brake)
    }

    /// Whether a run of the order that a run waits for is still to come.
    fn waits(&self, slot: Slot) -> bool {
        let after = self.problem.jobs[slot.job].after;
        after.is_some_and(|order| self.state.left_of_order[order] > 0)
    }

    /// About when the next run of a brake would begin: never sooner than it would have a run ago.
    fn expected_start(&self, brake: usize, slot: Slot) -> Moment {
        let job = &self.problem.jobs[slot.job];
        let state = &self.state.brakes[brake];
        let same_part = state
            .previous
            .is_some_and(|previous| previous.part == job.part);
        let until = self.problem.until;
        let first_free = |people: &[usize]| {
            let free = people.iter().map(|&person| self.state.people[person]);
            free.min().unwrap_or(until)
        };
        let roster = &self.problem.roster;
        let mut could = state.clock;
        if !same_part {
            could = could.max(first_free(&roster.setters[brake])) + TYPICAL_CHANGE;
        }
        could = could
            .max(job.ready)
            .max(first_free(&roster.operators[brake]));
        roster.next_staffed(brake, could).unwrap_or(until)
    }
}

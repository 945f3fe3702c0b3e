//! States on the way through an answer, from which others that are the same so far go on.

use super::demand::Demand;
use super::scratch::State;
use crate::forecast::{Mark, Record};
use search::{Sequences, Touched};

/// How many there are in an answer, about: more of them take longer to write down than they save.
const MOST: usize = 40;

/// States after every so many runs of one answer, the first before any. The memory outlives the
/// answer.
#[derive(Clone, Debug, Default)]
pub(super) struct Milestones {
    all: Vec<Milestone>,
    count: usize,
    /// Runs between two of them.
    distance: usize,
    /// Runs since the last of them.
    since: usize,
}

/// A state, and how much was written down by then.
#[derive(Clone, Debug, Default)]
pub(super) struct Milestone {
    pub(super) state: State,
    pub(super) mark: Mark,
}

impl Milestones {
    /// None yet, of an answer with so many runs.
    pub(super) fn begin(&mut self, lines: &Sequences) {
        self.count = 0;
        self.distance = (lines.len() / MOST).max(1);
        self.since = self.distance;
    }

    #[cfg(test)]
    pub(super) fn len(&self) -> usize {
        self.count
    }

    pub(super) fn is_empty(&self) -> bool {
        self.count == 0
    }

    pub(super) fn forget(&mut self) {
        self.count = 0;
    }

    /// Goes on behind a milestone of another answer, which is not stored again.
    pub(super) fn go_on(&mut self) {
        self.since = 0;
    }

    /// One more run is about to be timed; `record` has what was timed before.
    pub(super) fn pass(&mut self, state: &State, record: &Record) {
        if self.since == self.distance {
            if self.count == self.all.len() {
                self.all.push(Milestone::default());
            }
            if let Some(room) = self.all.get_mut(self.count) {
                room.state.clone_from(state);
                record.mark(&mut room.mark);
            }
            self.count += 1;
            self.since = 0;
        }
        self.since += 1;
    }

    /// The last one before anything that is touched, or that looks ahead so far.
    pub(super) fn before(&self, touched: &Touched, ahead: usize) -> Option<usize> {
        let reaches = |milestone: &Milestone| {
            let brakes = &milestone.state.brakes;
            let mut spots = touched.spots().iter();
            spots.all(|&(brake, from)| brakes[brake].next.saturating_add(ahead) <= from)
        };
        self.all[..self.count].iter().rposition(reaches)
    }

    pub(super) fn get(&self, index: usize) -> &Milestone {
        &self.all[index]
    }

    /// Those of an answer that is the same as this one until `kept` of them, but for the demand that
    /// is still to come.
    pub(super) fn replace(&mut self, kept: usize, demand: &Demand, fresh: &mut Milestones) {
        let kept = kept.min(self.count);
        for milestone in &mut self.all[..kept] {
            demand.add_to(&mut milestone.state);
        }
        let room = self.all.split_off(kept);
        self.all.append(&mut fresh.all);
        fresh.all = room;
        self.count = kept + fresh.count;
        fresh.count = 0;
        // What was stored for answers longer ago is room for the next.
        fresh.all.extend(self.all.drain(self.count..));
        self.distance = fresh.distance;
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// An answer of some runs, stored from a milestone of the one before.
    fn store(fresh: &mut Milestones, lines: &Sequences, kept: usize) {
        fresh.begin(lines);
        if kept > 0 {
            fresh.go_on();
        }
        for _ in kept * fresh.distance..=lines.len() {
            fresh.pass(&State::default(), &Record::default());
        }
    }

    #[test]
    fn memory_is_used_again() {
        let slot = search::Slot { job: 0, way: 0 };
        let machines = vec![vec![slot; 200]];
        let lines = Sequences { machines };
        let (mut base, mut fresh) = (Milestones::default(), Milestones::default());
        for round in 0..500 {
            let kept = if round == 0 { 0 } else { round * 17 % 41 };
            store(&mut fresh, &lines, kept);
            base.replace(kept, &Demand::default(), &mut fresh);
            assert_eq!(base.all.len(), base.count);
            assert!(base.count >= MOST && base.all.len() + fresh.all.len() <= 3 * MOST);
        }
    }
}

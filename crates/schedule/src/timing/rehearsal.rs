//! A stretch of an answer timed, to see whether timing the whole is worth while.
//!
//! An answer that differs from the base in a few places is the same before them. It is timed from a
//! milestone before the first of them until some runs after the last, and the rest is guessed: see
//! [`super::outlook`]. In that stretch people, beds and sections are what they would be, which no
//! guess from the record can tell. Most changes are so bad that a few runs show it.

use super::outlook::more;
use super::scratch::State;
use super::{Scratch, Timing};
use crate::problem::Problem;
use search::{Sequences, Touched};

/// Runs timed after the touched ones, for each brake: delays spread to the other brakes through the
/// people they share.
const AFTER: usize = 4;
/// Runs timed at most, for each brake.
const MOST: usize = 12;

/// Whether an answer seems to cost more than a limit.
pub(super) fn seems_dearer(
    problem: &Problem<'_>,
    scratch: &mut Scratch,
    lines: &Sequences,
    touched: &Touched,
    limit: i64,
) -> bool {
    // What still looks ahead at runs that are touched is not timed anew: it costs less than it tells.
    let Some(at) = scratch.milestones.before(touched, 0) else {
        return false;
    };
    scratch.demand.set(problem, &scratch.lines, lines, touched);
    let Scratch {
        state,
        composer,
        base,
        base_cost,
        milestones,
        demand,
        room,
        ..
    } = scratch;
    state.clone_from(&milestones.get(at).state);
    demand.add_to(state);
    for &(brake, _) in touched.spots() {
        state.expect_anew(brake);
    }
    let mut timing = Timing::of(problem, state, composer, None);
    let mut passage = Passage::of(lines, touched);
    // The sooner it is asked, the less is known: by so much it may seem too dear.
    let a_job = *base_cost / i64::try_from(problem.jobs.len()).unwrap_or(i64::MAX).max(1);
    loop {
        if let Some(round) = passage.asks_early(timing.state) {
            let tolerance = if passage.is_over() { 0 } else { a_job / round };
            let seems = *base_cost + more(problem, base, timing.state, (lines, touched), room);
            if seems > limit.saturating_add(tolerance) {
                return true;
            }
        }
        if passage.is_over() {
            return false;
        }
        let Some(brake) = timing.soonest(lines) else {
            return false;
        };
        timing.advance(brake, lines);
    }
}

/// How far the timing of a changed answer has come.
pub(super) struct Passage {
    /// Brakes that are touched, each with the position after the touched ones.
    ends: Vec<(usize, usize)>,
    brakes: usize,
    /// Runs timed in all, and after the touched ones.
    runs: usize,
    after: usize,
    /// At how many the next question is due.
    due: usize,
}

impl Passage {
    pub(super) fn of(lines: &Sequences, touched: &Touched) -> Passage {
        let spots = touched.spots().iter().zip(touched.tails());
        let ends = spots.map(|(&(brake, _), &tail)| (brake, lines.machines[brake].len() - tail));
        let brakes = lines.machines.len();
        Passage {
            ends: ends.collect(),
            brakes,
            runs: 0,
            after: 0,
            due: brakes,
        }
    }

    fn pass(&mut self, state: &State) {
        self.runs += 1;
        let passed = |&(brake, end): &(usize, usize)| state.brakes[brake].next >= end;
        if self.after > 0 || self.ends.iter().all(passed) {
            self.after += 1;
        }
    }

    /// One more run is about to be timed: whether to ask, and how many rounds of all brakes were timed.
    fn asks_early(&mut self, state: &State) -> Option<i64> {
        self.pass(state);
        if self.runs < self.due && !self.is_over() {
            return None;
        }
        self.due *= 2;
        let rounds = (self.runs / self.brakes.max(1)).max(1);
        i64::try_from(rounds).ok()
    }

    fn is_over(&self) -> bool {
        self.after >= AFTER * self.brakes || self.runs >= MOST * self.brakes
    }

    /// Whether to ask in the course of timing it all.
    pub(super) fn asks_late(&mut self, state: &State) -> bool {
        self.pass(state);
        if self.after < self.due {
            return false;
        }
        self.due *= 2;
        self.after > AFTER * self.brakes
    }
}

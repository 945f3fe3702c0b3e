//! Placing jobs one after the other, and asking of each place what it would bring.

use super::{Scratch, Timing};
use crate::problem::Problem;
use search::{Sequences, Slot};
use units::{Moment, Seconds};

/// Places jobs one after the other, asking of each place what it would bring.
pub(crate) struct Trial<'a, 's> {
    problem: &'a Problem<'s>,
    state: &'a mut Scratch,
}

/// What one more run would bring.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Prospect {
    pub(crate) end: Moment,
    /// Change work, takedowns on other brakes included.
    pub(crate) change: Seconds,
    /// Addition to the objective.
    pub(crate) cost: i64,
}

impl<'a, 's> Trial<'a, 's> {
    pub(crate) fn begin(problem: &'a Problem<'s>, state: &'a mut Scratch) -> Trial<'a, 's> {
        state.reset(problem, &Sequences::new(problem.beds.len()));
        Trial { problem, state }
    }

    /// What the run would bring if it came next on a brake.
    pub(crate) fn would(&mut self, brake: usize, slot: Slot) -> Option<Prospect> {
        let before_work = self.state.change_work;
        let mut timing = Timing {
            problem: self.problem,
            state: self.state,
            log: None,
        };
        let mut before = None;
        let booked = timing.book(brake, slot, &[], &mut before);
        let takedowns = timing.state.change_work - before_work;
        timing.undo(before);
        let promise = &self.problem.promises[self.problem.jobs[slot.job].promise];
        let late_hour = i64::from(self.problem.shop.rules.late_hour_minutes);
        booked.map(|booked| {
            let late = promise.weight * (booked.end - promise.due).0.max(0) * late_hour;
            let change = Seconds(takedowns) + booked.work;
            Prospect {
                end: booked.end,
                change,
                cost: 60 * change.0 + late,
            }
        })
    }

    /// First moment at which a brake could begin to be changed for another run: it is free, and so
    /// is one who sets and one who bends there.
    pub(crate) fn next_start(&self, brake: usize) -> Option<Moment> {
        let roster = &self.problem.roster;
        let free = |people: &[usize]| people.iter().map(|&p| self.state.people[p]).min();
        let setter = free(&roster.setters[brake])?;
        let operator = free(&roster.operators[brake])?;
        roster.next_staffed(
            brake,
            self.state.brakes[brake].clock.max(setter).max(operator),
        )
    }

    /// Puts the run next on a brake.
    pub(crate) fn append(&mut self, brake: usize, slot: Slot) {
        Timing {
            problem: self.problem,
            state: self.state,
            log: None,
        }
        .run(brake, slot, &[]);
    }
}

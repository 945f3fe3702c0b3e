//! What the rest of an answer brings when it is timed only in part.
//!
//! A run that is still to come ends as much later or earlier than in the base as its brake is free.

use super::scratch::State;
use crate::forecast::{Line, Record, Run, WAITED, late_of, real, whole};
use crate::problem::{BrakeState, Problem};
use search::{Sequences, Slot, Touched};
use units::{Moment, Seconds};

/// Room for the ends of promises and kits.
#[derive(Clone, Debug, Default)]
pub(super) struct Room {
    promises: Vec<Option<Moment>>,
    kits: Vec<Option<Moment>>,
}

/// What the lines, which differ from the base where they are touched, cost more than it, if the rest
/// goes on from a state as it did there. `record` tells how that was.
pub(super) fn more(
    problem: &Problem<'_>,
    record: &Record,
    state: &State,
    (lines, touched): (&Sequences, &Touched),
    room: &mut Room,
) -> i64 {
    let rules = &problem.shop.rules;
    room.promises.clone_from(&state.promise_end);
    let mut spent = state.spent(rules);
    for (brake, slots) in lines.machines.iter().enumerate() {
        let BrakeState { next, clock, .. } = state.brakes[brake];
        let (done, rest) = slots.split_at(next);
        let placed = |slot: &&Slot| record.runs[slot.job].is_some();
        let mut walk = Walk {
            line: Line {
                problem,
                record,
                brake,
                old: &[],
                new: slots,
                from: 0,
                tail: 0,
            },
            clock,
            last: done.iter().rev().find(placed).copied(),
            spent: 0,
        };
        let mut spots = touched.spots().iter().zip(touched.tails());
        let changed = spots
            .find(|(spot, _)| spot.0 == brake)
            .map(|(spot, tail)| spot.1..slots.len() - tail)
            .unwrap_or_default();
        for (at, &slot) in rest.iter().enumerate() {
            if let Some(end) = walk.pass(slot, changed.contains(&(next + at))) {
                let promise = &mut room.promises[problem.jobs[slot.job].promise];
                *promise = (*promise).max(Some(end));
            }
        }
        spent += walk.spent;
    }
    room.kits.clear();
    room.kits.resize(problem.kits, None);
    for (promise, end) in problem.promises.iter().zip(&room.promises) {
        if let Some(kit) = promise.kit {
            room.kits[kit] = room.kits[kit].max(*end);
        }
    }
    let late = late_of(problem, &room.promises, &room.kits);
    spent - record.spent + (late - record.late) * i64::from(rules.late_hour_minutes)
}

/// Along the rest of one brake's line.
struct Walk<'a, 's> {
    line: Line<'a, 's>,
    clock: Moment,
    /// The last run that had a place.
    last: Option<Slot>,
    spent: i64,
}

impl Walk<'_, '_> {
    /// Passes a run, perhaps one that was not there before, and tells when it ends; `None` when it has
    /// no place.
    fn pass(&mut self, slot: Slot, is_new: bool) -> Option<Moment> {
        let record = self.line.record;
        self.spent += record.spends[slot.job];
        let end = match record.runs[slot.job] {
            Some(run) if run.brake == self.line.brake && run.way == slot.way => {
                self.shifted(slot, run)
            }
            None if !is_new => return None,
            run => {
                let change = self.line.change(&self.line.bed_after(self.last), slot);
                let end = self.moved(slot, change);
                if run.is_none() && end > self.line.problem.until {
                    return None;
                }
                let was = run.map_or(record.spends[slot.job], |run| 60 * run.change);
                self.spent += 60 * change - was;
                end
            }
        };
        self.clock = end;
        self.last = Some(slot);
        Some(end)
    }

    /// A run that goes on where it was.
    fn shifted(&mut self, slot: Slot, run: Run) -> Moment {
        let line = &self.line;
        let before = run
            .previous
            .map_or(line.problem.from, |before| line.end(before.job));
        let mut shift = self.clock - before;
        let mut change = 0;
        if run.previous.map(|before| before.job) != self.last.map(|last| last.job) {
            let was = line.change(&line.bed_after(run.previous), slot);
            change = line.change(&line.bed_after(self.last), slot) - was;
            self.spent += 60 * change;
            shift += Seconds(whole(real(change) * self.pace()));
        }
        let ready = line.ready(slot.job);
        let mut start = run.start + shift;
        if run.start <= ready + WAITED {
            start = self.clock + Seconds(run.change + change);
        }
        run.end + (start.max(ready) - run.start)
    }

    /// When a run ends that comes from elsewhere, after a change of so many seconds.
    fn moved(&self, slot: Slot, change: i64) -> Moment {
        let line = &self.line;
        let work = real(change) + line.problem.usual.runs[slot.job][slot.way];
        self.clock.max(line.ready(slot.job)) + Seconds(whole(work * self.pace()))
    }

    fn pace(&self) -> f64 {
        self.line.problem.usual.pace[self.line.brake]
    }
}

#[cfg(test)]
mod tests {
    use super::super::Scratch;
    use super::super::evaluation::{keep, set_milestones, whole};
    use super::*;
    use crate::{Means, begin, compile_with};
    use testkit::{Recipe, Sections, invent};

    /// Seen from anywhere on its way, an answer that does not differ costs what it costs.
    #[test]
    fn the_outlook_of_the_base_is_the_base() {
        let (mut seen, mut exact) = (0, 0);
        for seed in 1..=12 {
            let recipe = match seed % 2 {
                0 => Recipe::anything(seed),
                _ => Recipe::bed(50, 0.5, Sections::Scarce, seed),
            };
            let shop = invent(&recipe);
            let (problem, _) = compile_with(&shop, shop.as_of.unwrap(), Means::default());
            let lines = begin(&problem, None, 1).start;
            let mut scratch = Scratch::default();
            whole(&problem, &mut scratch, &lines, i64::MAX);
            keep(&problem, &mut scratch, &lines);
            set_milestones(&problem, &mut scratch);
            let mut room = Room::default();
            for index in 0..scratch.milestones.len() {
                let state = &scratch.milestones.get(index).state;
                let lines = (&lines, &Touched::nothing());
                let more = more(&problem, &scratch.base, state, lines, &mut room);
                // A takedown that has been made leaves its brake free later than its last run did.
                exact += u32::from(more == 0);
                let most = scratch.base_cost / 10;
                assert!(more.abs() <= most, "shop {seed}, milestone {index}: {more}");
                seen += 1;
            }
        }
        assert!(seen > 150 && exact * 10 > seen * 9, "{exact} of {seen}");
    }
}

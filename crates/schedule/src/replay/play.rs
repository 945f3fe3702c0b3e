//! One play of a plan.

use super::{Floor, Item, Played, Replay, Rush, Takedown, Work};
use crate::roster::ChangeWork;
use crate::timing::TYPICAL_CHANGE;
use units::{Moment, Seconds};

#[derive(Clone, Copy)]
pub(super) enum Turn {
    Item(usize),
    Rush(Rush),
}

/// A play under way.
pub(super) struct Play<'a> {
    pub(super) replay: &'a Replay,
    pub(super) floor: &'a mut dyn Floor,
    pub(super) rush: &'a [Vec<Rush>],
    pub(super) state: &'a mut Played,
}

impl Play<'_> {
    pub(super) fn running_first(&mut self) {
        let replay = self.replay;
        for (brake, line) in replay.lines.iter().enumerate() {
            if let Some(&item) = line.first().filter(|&&item| replay.items[item].running) {
                self.turn(brake, item);
            }
        }
    }

    /// Whose turn it is: as the plan was timed, the brake whose next run would begin soonest.
    pub(super) fn soonest(&self) -> Option<(usize, Turn)> {
        let mut best: Option<(bool, Moment, usize, Turn)> = None;
        for (brake, line) in self.replay.lines.iter().enumerate() {
            let next = line.get(self.state.next[brake]).copied();
            let Some((blocked, start, turn)) = self.next_on(brake, next) else {
                continue;
            };
            let sooner = |best: &(bool, Moment, usize, Turn)| {
                (blocked, start, brake) < (best.0, best.1, best.2)
            };
            if best.as_ref().is_none_or(sooner) {
                best = Some((blocked, start, brake, turn));
            }
        }
        best.map(|(_, _, brake, turn)| (brake, turn))
    }

    fn first_free(&self, people: &[usize]) -> Moment {
        let free = people.iter().map(|&person| self.state.people[person]);
        free.min().unwrap_or(self.replay.horizon)
    }

    fn next_on(&self, brake: usize, next: Option<usize>) -> Option<(bool, Moment, Turn)> {
        let replay = self.replay;
        let clock = self.state.clock[brake];
        let free_to_set = clock.max(self.first_free(&replay.roster.setters[brake]));
        let waiting = self
            .rush
            .get(brake)
            .and_then(|list| list.get(self.state.rushed[brake]));
        if let Some(rush) = waiting {
            let begins = next.map(|item| {
                let item = &replay.items[item];
                let change = item.work.as_ref().map_or(Seconds::ZERO, |work| work.change);
                free_to_set.max(item.ready - change)
            });
            if begins.is_none_or(|begins| rush.arrival <= begins) {
                let start = self.start(brake, free_to_set + TYPICAL_CHANGE, rush.arrival);
                return Some((false, start, Turn::Rush(*rush)));
            }
        }
        let index = next?;
        let item = &replay.items[index];
        if item.before.iter().any(|&item| !self.state.had_turn[item]) {
            return None;
        }
        let blocked = item.after.is_some_and(|order| self.state.left[order] > 0);
        let same_part = self.state.previous[brake] == Some(item.part);
        let could = if same_part {
            clock
        } else {
            free_to_set + TYPICAL_CHANGE
        };
        Some((
            blocked,
            self.start(brake, could, item.ready),
            Turn::Item(index),
        ))
    }

    fn start(&self, brake: usize, could: Moment, ready: Moment) -> Moment {
        let roster = &self.replay.roster;
        let could = could
            .max(ready)
            .max(self.first_free(&roster.operators[brake]));
        roster
            .next_staffed(brake, could)
            .unwrap_or(self.replay.horizon)
    }

    pub(super) fn turn(&mut self, brake: usize, index: usize) {
        let replay = self.replay;
        let item = &replay.items[index];
        self.state.next[brake] += 1;
        self.state.had_turn[index] = true;
        let left = &mut self.state.left[item.order];
        *left = left.saturating_sub(item.quantity);
        let Some(work) = &item.work else { return };
        let Some(end) = self.work(brake, item, work) else {
            return;
        };
        self.state.previous[brake] = Some(item.part);
        let order_end = &mut self.state.order_end[item.order];
        *order_end = (*order_end).max(end);
        self.state.ends[index] = Some(end);
    }

    fn work(&mut self, brake: usize, item: &Item, work: &Work) -> Option<Moment> {
        let mut sections_free = self.replay.from;
        for takedown in &work.takedowns {
            let end = self.take_down(takedown)?;
            sections_free = sections_free.max(end);
        }
        for &event in &work.needs {
            sections_free = sections_free.max(self.state.events[event]);
        }
        let ready = item
            .after
            .map_or(item.ready, |o| item.ready.max(self.state.order_end[o]));
        let change = if work.change > Seconds::ZERO {
            self.floor.change(work.change)
        } else {
            Seconds::ZERO
        };
        let run = self.floor.run(work.run);
        let inspected = work.inspected.map(|length| length.min(change));
        let (changed, end) = self.change_and_run(
            brake,
            sections_free,
            ready,
            (change, run),
            (work.crew, inspected),
        )?;
        self.state.events[work.event] = changed;
        Some(end)
    }

    fn take_down(&mut self, takedown: &Takedown) -> Option<Moment> {
        let work = self.floor.change(takedown.work);
        let ask = self.change_work(takedown.brake, self.state.clock[takedown.brake], work, None);
        let (setter, spans) = self.replay.roster.place_change(&ask, &self.state.people)?;
        let end = spans.last()?.end;
        self.state.clock[takedown.brake] = end;
        self.state.people[setter] = end;
        self.state.events[takedown.event] = end;
        Some(end)
    }

    pub(super) fn rush(&mut self, brake: usize, rush: Rush) {
        self.state.rushed[brake] += 1;
        let (change, run) = (self.floor.change(rush.change), self.floor.run(rush.run));
        let from = self.replay.from;
        // One that finds no time any more comes to nothing; so does everything behind it.
        if self
            .change_and_run(brake, from, rush.arrival, (change, run), (rush.crew, None))
            .is_some()
        {
            self.state.previous[brake] = None;
        }
    }

    fn change_work(
        &self,
        brake: usize,
        earliest: Moment,
        work: Seconds,
        inspected: Option<Seconds>,
    ) -> ChangeWork {
        ChangeWork {
            brake,
            earliest,
            work,
            inspected,
            quiet: self.replay.quiet,
            may_span_shifts: self.replay.change_may_span,
        }
    }

    /// Books a change and a run; answers with the ends of both.
    fn change_and_run(
        &mut self,
        brake: usize,
        sections_free: Moment,
        ready: Moment,
        (change, run): (Seconds, Seconds),
        (crew, inspected): (usize, Option<Seconds>),
    ) -> Option<(Moment, Moment)> {
        let roster = &self.replay.roster;
        let begin = self.state.clock[brake].max(sections_free);
        let mut earliest = begin.max(ready - change);
        // A brake stops while it works, not while it waits for work.
        let stop = self.floor.stop(change + run);
        if stop > Seconds::ZERO {
            earliest = roster.earliest_end(brake, earliest, stop)?;
        }
        let mut changed = earliest;
        if change > Seconds::ZERO {
            let ask = self.change_work(brake, earliest, change, inspected);
            let (setter, spans) = roster.place_change(&ask, &self.state.people)?;
            changed = spans.last()?.end;
            self.state.people[setter] = changed;
        }
        let worked = roster.place_run(
            brake,
            changed.max(ready),
            run,
            crew,
            self.replay.run_may_span,
            &self.state.people,
        )?;
        for span in &worked {
            for &person in &span.crew {
                self.state.people[person] = span.end;
            }
        }
        let end = worked.last()?.end;
        self.state.clock[brake] = end;
        Some((changed, end))
    }
}

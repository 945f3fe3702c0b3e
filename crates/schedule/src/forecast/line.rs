//! What happens to one brake's line.

use super::record::Record;
use super::{real, whole};
use crate::least_change::new_station;
use crate::problem::{Problem, Promise};
use search::Slot;
use tooling::ToolingOption;
use units::{Moment, Seconds};

/// Most by which hours passed may exceed hours worked, in parts of what is usual on the brake.
const PACE_MOST: f64 = 4.0;
/// A run that begins so soon after its blanks are there has waited for them.
pub(crate) const WAITED: Seconds = Seconds(60);
/// Runs at new places remembered by what was put on for them.
const SINCE: usize = 3;

/// One brake's line before and after.
pub(crate) struct Line<'a, 's> {
    pub(crate) problem: &'a Problem<'s>,
    pub(crate) record: &'a Record,
    pub(crate) brake: usize,
    pub(crate) old: &'a [Slot],
    pub(crate) new: &'a [Slot],
    /// Slots before this position are the same.
    pub(crate) from: usize,
    /// So many slots at the end are the same.
    pub(crate) tail: usize,
}

impl Line<'_, '_> {
    /// Seconds of change and weighted seconds late, more than before.
    pub(crate) fn guess(&self) -> (i64, i64) {
        let problem = self.problem;
        let (old_end, new_end) = (self.old.len() - self.tail, self.new.len() - self.tail);
        let before = self.from.checked_sub(1).map(|last| self.old[last]);
        let begin = before.map_or(problem.from, |slot| self.end(slot.job));
        let (mut change, mut late) = (0, 0);
        let (mut worked, mut previous, mut left) = (0.0, before, begin);
        for &slot in &self.old[self.from..old_end] {
            let seconds = self.change(&self.bed_after(previous), slot);
            change -= seconds;
            worked += real(seconds) + self.run(slot);
            left = self.end(slot.job);
            late -= self.late(slot.job, left);
            previous = Some(slot);
        }
        let old_last = previous;
        let usual = problem.usual.pace[self.brake];
        let passed = real((left - begin).0);
        let pace = if worked > 0.0 {
            (passed / worked).clamp(1.0, PACE_MOST * usual)
        } else {
            usual
        };
        previous = before;
        let (mut clock, mut bed) = (begin, self.bed_after(before));
        for &slot in &self.new[self.from..new_end] {
            if self.followed(slot, previous) {
                bed = self.bed_after(previous);
            }
            let seconds = self.change(&bed, slot);
            bed.put_on(self.option(slot));
            change += seconds;
            let ready = self.ready(slot.job);
            let worked = Seconds(whole((real(seconds) + self.run(slot)) * pace));
            clock = clock.max(ready) + worked;
            late += self.late(slot.job, clock);
            previous = Some(slot);
        }
        let Some(&first) = self.new.get(new_end) else {
            return (change, late);
        };
        let more = self.change(&bed, first) - self.change(&self.bed_after(old_last), first);
        change += more;
        let shift = clock - left + Seconds(whole(real(more) * usual));
        (change, late + self.moved(new_end, left, shift))
    }

    /// Weighted seconds late that the slots from a position on bring when what is before them, which
    /// ended at `left`, ends later by `shift`.
    fn moved(&self, from: usize, mut left: Moment, mut shift: Seconds) -> i64 {
        let mut late = 0;
        for slot in &self.new[from..] {
            if shift == Seconds::ZERO {
                break;
            }
            let Some(run) = self.record.runs[slot.job] else {
                continue;
            };
            let ready = self.ready(slot.job);
            let mut start = run.start + shift;
            if run.start <= ready + WAITED {
                // It waited for its blanks: being free later matters only when that is later still.
                start = left + shift + Seconds(run.change);
            }
            shift = start.max(ready) - run.start;
            late += self.late(slot.job, run.end + shift) - self.late(slot.job, run.end);
            left = run.end;
        }
        late
    }

    pub(crate) fn end(&self, job: usize) -> Moment {
        self.record.runs[job].map_or(self.problem.until, |run| run.end)
    }

    fn run(&self, slot: Slot) -> f64 {
        self.problem.usual.runs[slot.job][slot.way]
    }

    /// From when the job's blanks are there and the order that it waits for is done.
    pub(crate) fn ready(&self, job: usize) -> Moment {
        let job = &self.problem.jobs[job];
        job.after
            .map_or(job.ready, |order| job.ready.max(self.record.orders[order]))
    }

    /// Weighted seconds late that hang on a job when it is done at a moment.
    fn late(&self, job: usize, end: Moment) -> i64 {
        let problem = self.problem;
        let job_end = self.end(job);
        let promise = problem.jobs[job].promise;
        let terms = &problem.promises[promise];
        // The runs of the promise, and the promises of the kit, that are done later stay where they
        // are.
        let at_least = |last: Option<Moment>, end: Moment| {
            let later = last.filter(|&last| last > job_end);
            later.map_or(end, |last| last.max(end))
        };
        let end = at_least(self.record.promises[promise], end);
        let late = |terms: &Promise, end: Moment| terms.weight * (end - terms.due).0.max(0);
        let own = match terms.kit {
            None => late(terms, end),
            Some(kit) => {
                let end = at_least(self.record.kits[kit], end);
                let of_kit = problem.usual.kits[kit].iter();
                of_kit
                    .map(|&promise| late(&problem.promises[promise], end))
                    .sum()
            }
        };
        own + self.delayed(job, end)
    }

    /// Weighted seconds late of what waits for a job that is done at a moment, and of what comes after
    /// that.
    fn delayed(&self, job: usize, end: Moment) -> i64 {
        let order = self.problem.jobs[job].order;
        let followers = self.problem.usual.followers[order].iter();
        followers
            .map(|&follower| {
                let start = self.record.runs[follower].map_or(end, |run| run.start);
                self.record.behind[follower] * (end - start).0.max(0)
            })
            .sum()
    }

    /// Seconds of the change to a run.
    pub(crate) fn change(&self, bed: &Guessed<'_>, slot: Slot) -> i64 {
        let tools = whole(real(self.tools(bed, slot)) * self.record.factor);
        tools + self.part(bed, slot)
    }

    /// Seconds that tools take at least.
    pub(crate) fn tools(&self, bed: &Guessed<'_>, slot: Slot) -> i64 {
        let problem = self.problem;
        let missing = self
            .option(slot)
            .needs
            .iter()
            .filter(|need| !bed.shows(need.punch, need.die));
        let stations: Seconds = missing
            .map(|need| new_station(problem, self.brake, need))
            .sum();
        if stations > Seconds::ZERO {
            stations.0 + problem.shop.brakes[self.brake].times.base.0
        } else {
            0
        }
    }

    /// Seconds that a part takes when another was bent before.
    pub(crate) fn part(&self, bed: &Guessed<'_>, slot: Slot) -> i64 {
        let part = self.option(slot).part;
        if bed.last.is_some_and(|last| last.part == part) {
            0
        } else {
            self.problem.usual.parts[slot.job][slot.way]
        }
    }

    fn option(&self, slot: Slot) -> &ToolingOption {
        &self.problem.ways[slot.job][slot.way]
    }

    /// What stands after a run where it was, or before any.
    pub(crate) fn bed_after(&self, slot: Option<Slot>) -> Guessed<'_> {
        let Some(slot) = slot else {
            return Guessed {
                stood: &self.problem.usual.beds[self.brake],
                ..Guessed::default()
            };
        };
        Guessed {
            stood: self.record.stations_after(slot.job),
            last: Some(self.option(slot)),
            ..Guessed::default()
        }
    }

    /// Whether a run came right after another on this brake.
    fn followed(&self, slot: Slot, previous: Option<Slot>) -> bool {
        let run = self.record.runs[slot.job];
        run.is_some_and(|run| {
            let before = run.previous.map(|before| before.job);
            run.brake == self.brake && before == previous.map(|previous| previous.job)
        })
    }
}

/// What stands on a bed, about.
#[derive(Clone, Copy, Default)]
pub(crate) struct Guessed<'a> {
    stood: &'a [(usize, usize)],
    /// What was put on since.
    since: [Option<&'a ToolingOption>; SINCE],
    last: Option<&'a ToolingOption>,
}

impl<'a> Guessed<'a> {
    fn shows(&self, punch: usize, die: usize) -> bool {
        let mut since = self.since.iter().flatten();
        self.stood.contains(&(punch, die)) || since.any(|option| shows(option, punch, die))
    }

    fn put_on(&mut self, option: &'a ToolingOption) {
        self.since.rotate_right(1);
        self.since[0] = Some(option);
        self.last = Some(option);
    }
}

fn shows(option: &ToolingOption, punch: usize, die: usize) -> bool {
    let mut needs = option.needs.iter();
    needs.any(|need| need.punch == punch && need.die == die)
}

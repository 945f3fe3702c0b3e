//! What a change of the lines would cost, guessed.
//!
//! Timing a plan takes some hundred microseconds, a guess less than one. The search draws several
//! changes, guesses, and times the one that promises most; a guess decides nothing else. It goes by
//! the plan as it was timed last: a run put elsewhere is changed to from the stations that stood
//! after the run before it (the least that could take), what comes after it on the brake moves by the
//! difference, and promises become late or are kept by that. People, sections on other beds and nights
//! are left out, but for the share of its hours in which a brake is staffed.

use crate::least_change::{new_part, new_station};
use crate::problem::Problem;
use search::{Sequences, Slot, Touched};
use tooling::{Bed, ToolingOption, run_time};
use units::{Moment, Seconds};

/// Most by which hours passed may exceed hours worked, in parts of what is usual on the brake.
const PACE_MOST: f64 = 4.0;

/// A timed plan, job by job.
#[derive(Clone, Debug, Default)]
pub(crate) struct Record {
    /// By job: brake, end, and where its stations are among `stations`; nothing for runs without a place.
    runs: Vec<Option<Run>>,
    /// Punch and die of each station that stood after a run.
    stations: Vec<(usize, usize)>,
    /// By promise: its end.
    promises: Vec<Option<Moment>>,
}

#[derive(Clone, Copy, Debug)]
struct Run {
    brake: usize,
    end: Moment,
    stations: (usize, usize),
}

impl Record {
    /// Nothing is timed yet.
    pub(crate) fn clear(&mut self, jobs: usize) {
        self.runs.clear();
        self.runs.resize(jobs, None);
        self.stations.clear();
    }

    /// A run was timed, and this stood on the bed.
    pub(crate) fn run(&mut self, job: usize, brake: usize, end: Moment, bed: &Bed) {
        let first = self.stations.len();
        let pairs = bed.stands.iter().map(|stand| (stand.punch, stand.die));
        self.stations.extend(pairs);
        let stations = (first, self.stations.len());
        if let Some(run) = self.runs.get_mut(job) {
            *run = Some(Run {
                brake,
                end,
                stations,
            });
        }
    }

    /// All is timed.
    pub(crate) fn promises(&mut self, ends: &[Option<Moment>]) {
        self.promises.clear();
        self.promises.extend_from_slice(ends);
    }
}

/// What guesses go by besides the record: seconds that do not depend on the plan.
#[derive(Clone, Debug, Default)]
pub(crate) struct Usual {
    /// By job and way: seconds of its run.
    runs: Vec<Vec<f64>>,
    /// By job and way: seconds of a new part.
    parts: Vec<Vec<i64>>,
    /// By brake: hours passed for an hour worked.
    pace: Vec<f64>,
}

impl Usual {
    pub(crate) fn of(problem: &Problem<'_>) -> Usual {
        let mut usual = Usual::default();
        for (job, ways) in problem.jobs.iter().zip(&problem.ways) {
            let seconds =
                |way: &ToolingOption| run_time(job.quantity, way.cycle_ms, &problem.shop.rules).0;
            let runs = ways.iter().map(|way| real(seconds(way)));
            usual.runs.push(runs.collect());
            let parts = ways.iter().map(|way| new_part(problem, way, false).0);
            usual.parts.push(parts.collect());
        }
        let all = real((problem.until - problem.from).0);
        let brakes = 0..problem.shop.brakes.len();
        let pace = brakes.map(|brake| all / real(problem.roster.staffed_seconds(brake)).max(1.0));
        usual.pace = pace.collect();
        usual
    }
}

/// What the lines would cost more than the recorded plan's, which are `before`.
pub(crate) fn forecast(
    problem: &Problem<'_>,
    record: &Record,
    before: &Sequences,
    after: &Sequences,
    touched: &Touched,
) -> i64 {
    let spots = touched.spots().iter().zip(touched.tails());
    let (mut change, mut late) = (0, 0);
    for (&(brake, from), &tail) in spots {
        let line = Line {
            problem,
            record,
            brake,
            old: &before.machines[brake],
            new: &after.machines[brake],
            from,
            tail,
        };
        let (more_change, later) = line.guess();
        change += more_change;
        late += later;
    }
    60 * change + late * i64::from(problem.shop.rules.late_hour_minutes)
}

/// One brake's line before and after.
struct Line<'a, 's> {
    problem: &'a Problem<'s>,
    record: &'a Record,
    brake: usize,
    old: &'a [Slot],
    new: &'a [Slot],
    from: usize,
    tail: usize,
}

impl Line<'_, '_> {
    /// Seconds of change and weighted seconds late, more than before.
    fn guess(&self) -> (i64, i64) {
        let problem = self.problem;
        let (old_end, new_end) = (self.old.len() - self.tail, self.new.len() - self.tail);
        let before = self.from.checked_sub(1).map(|last| self.old[last]);
        let begin = before.map_or(problem.from, |slot| self.end(slot.job));
        let (mut change, mut late) = (0, 0);
        let (mut worked, mut previous, mut left) = (0.0, before, begin);
        for &slot in &self.old[self.from..old_end] {
            let seconds = self.change(previous, slot);
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
        (previous, left) = (before, left.max(begin));
        let mut clock = begin;
        for &slot in &self.new[self.from..new_end] {
            let seconds = self.change(previous, slot);
            change += seconds;
            let ready = problem.jobs[slot.job].ready;
            let worked = Seconds(whole((real(seconds) + self.run(slot)) * pace));
            clock = clock.max(ready) + worked;
            late += self.late(slot.job, clock);
            previous = Some(slot);
        }
        let Some(&first) = self.new.get(new_end) else {
            return (change, late);
        };
        let more = self.change(previous, first) - self.change(old_last, first);
        change += more;
        let shift = clock - left + Seconds(whole(real(more) * usual));
        if shift != Seconds::ZERO {
            for slot in &self.new[new_end..] {
                let end = self.end(slot.job);
                late += self.late(slot.job, end + shift) - self.late(slot.job, end);
            }
        }
        (change, late)
    }

    fn end(&self, job: usize) -> Moment {
        self.record.runs[job].map_or(self.problem.until, |run| run.end)
    }

    fn run(&self, slot: Slot) -> f64 {
        self.problem.usual.runs[slot.job][slot.way]
    }

    /// Weighted seconds by which the job's promise is late when the job is done at a moment.
    fn late(&self, job: usize, end: Moment) -> i64 {
        let job_end = self.end(job);
        let promise = self.problem.jobs[job].promise;
        let terms = &self.problem.promises[promise];
        // The runs of the promise that are done later stay where they are.
        let last = self.record.promises[promise].filter(|&last| last > job_end);
        let end = last.map_or(end, |last| last.max(end));
        terms.weight * (end - terms.due).0.max(0)
    }

    /// Seconds of the change to a run, at least, from what stood after the one before it.
    fn change(&self, previous: Option<Slot>, slot: Slot) -> i64 {
        let problem = self.problem;
        let option = &problem.ways[slot.job][slot.way];
        let last = previous.map(|slot| problem.ways[slot.job][slot.way].as_ref());
        let last = last.filter(|last| last.brake == self.brake);
        let run = previous.and_then(|slot| self.record.runs[slot.job]);
        let run = run.filter(|run| run.brake == self.brake);
        let stood = run.map(|run| &self.record.stations[run.stations.0..run.stations.1]);
        let stands = |punch: usize, die: usize| {
            let of_last = last.is_some_and(|last| shows(last, punch, die));
            of_last
                || stood.map_or_else(
                    || previous.is_none() && on(&problem.beds[self.brake], punch, die),
                    |stood| stood.contains(&(punch, die)),
                )
        };
        let missing = option
            .needs
            .iter()
            .filter(|need| !stands(need.punch, need.die));
        let stations: Seconds = missing
            .map(|need| new_station(problem, self.brake, need))
            .sum();
        let mut seconds = stations.0;
        if seconds > 0 {
            seconds += problem.shop.brakes[self.brake].times.base.0;
        }
        if last.is_none_or(|last| last.part != option.part) {
            seconds += problem.usual.parts[slot.job][slot.way];
        }
        seconds
    }
}

fn shows(option: &ToolingOption, punch: usize, die: usize) -> bool {
    let mut needs = option.needs.iter();
    needs.any(|need| need.punch == punch && need.die == die)
}

fn on(bed: &Bed, punch: usize, die: usize) -> bool {
    let mut stands = bed.stands.iter();
    stands.any(|stand| stand.punch == punch && stand.die == die)
}

#[allow(clippy::cast_precision_loss)] // seconds far below 2^52
fn real(seconds: i64) -> f64 {
    seconds as f64
}

#[allow(clippy::cast_possible_truncation)] // `as` saturates
fn whole(seconds: f64) -> i64 {
    seconds as i64
}

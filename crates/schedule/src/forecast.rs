//! What a change of the lines would cost, guessed.
//!
//! Timing a plan takes some hundred microseconds, a guess less than one. The search draws several
//! changes, guesses, and times the one that promises most; a guess decides nothing else. It goes by
//! the plan as it was timed last: a run put elsewhere is changed to from the stations that stood
//! after the run before it (the least that could take), what comes after it on the brake moves by the
//! difference, and promises become late or are kept by that. People, sections on other beds and nights
//! are left out, but for the share of its hours in which a brake is staffed.

use crate::least_change::{new_part, new_station};
use crate::problem::{Problem, Promise};
use search::{Sequences, Slot, Touched};
use tooling::{Bed, ToolingOption, run_time};
use units::{Moment, Seconds};

/// Most by which hours passed may exceed hours worked, in parts of what is usual on the brake.
const PACE_MOST: f64 = 4.0;

/// Most by which changes are taken to last longer than they must.
const FACTOR_MOST: f64 = 4.0;
/// A run that begins so soon after its blanks are there has waited for them.
const WAITED: Seconds = Seconds(60);
/// Runs at new places remembered by what was put on for them.
const SINCE: usize = 3;

/// A timed plan, job by job.
#[derive(Clone, Debug, Default)]
pub(crate) struct Record {
    /// By job: brake, end, and where its stations are among `stations`; nothing for runs without a place.
    runs: Vec<Option<Run>>,
    /// Punch and die of each station that stood after a run.
    stations: Vec<(usize, usize)>,
    /// By promise: its end.
    promises: Vec<Option<Moment>>,
    /// By kit: the end of its last promise.
    kits: Vec<Option<Moment>>,
    /// By order: the end of its last run.
    orders: Vec<Moment>,
    /// By job: weight of the promises that are late by it and by what follows it on its brake.
    behind: Vec<i64>,
    /// By brake: the job run last.
    last: Vec<Option<usize>>,
    /// How much longer changes of tools take than they must.
    factor: f64,
}

#[derive(Clone, Copy, Debug)]
struct Run {
    brake: usize,
    /// Job of the run before it on the brake.
    previous: Option<usize>,
    /// Seconds of its change.
    change: i64,
    start: Moment,
    end: Moment,
    stations: (usize, usize),
}

impl Record {
    /// Nothing is timed yet.
    pub(crate) fn clear(&mut self, jobs: usize) {
        self.runs.clear();
        self.runs.resize(jobs, None);
        self.stations.clear();
        self.last.clear();
    }

    /// A run was timed, and this stood on the bed.
    pub(crate) fn run(
        &mut self,
        job: usize,
        (brake, bed): (usize, &Bed),
        change: Seconds,
        (start, end): (Moment, Moment),
    ) {
        let first = self.stations.len();
        let pairs = bed.stands.iter().map(|stand| (stand.punch, stand.die));
        self.stations.extend(pairs);
        let stations = (first, self.stations.len());
        if self.last.len() <= brake {
            self.last.resize(brake + 1, None);
        }
        let previous = self.last[brake].replace(job);
        if let Some(run) = self.runs.get_mut(job) {
            *run = Some(Run {
                brake,
                previous,
                change: change.0,
                start,
                end,
                stations,
            });
        }
    }

    /// All is timed: this was the answer, and these are the ends of its promises and orders.
    pub(crate) fn finish(
        &mut self,
        problem: &Problem<'_>,
        lines: &Sequences,
        promises: &[Option<Moment>],
        orders: &[Moment],
    ) {
        self.promises.clear();
        self.promises.extend_from_slice(promises);
        self.orders.clear();
        self.orders.extend_from_slice(orders);
        self.kits.clear();
        self.kits.resize(problem.kits, None);
        for (terms, end) in problem.promises.iter().zip(promises) {
            if let Some(kit) = terms.kit {
                self.kits[kit] = self.kits[kit].max(*end);
            }
        }
        self.weigh(problem, lines);
        self.factor = 1.0;
        let (mut least, mut took) = (0, 0);
        for (brake, slots) in lines.machines.iter().enumerate() {
            let line = Line {
                problem,
                record: self,
                brake,
                old: slots,
                new: slots,
                from: 0,
                tail: 0,
            };
            let mut previous = None;
            for &slot in slots {
                let bed = line.bed_after(previous);
                let same = bed
                    .last
                    .is_some_and(|last| last.part == line.option(slot).part);
                let part = if same {
                    0
                } else {
                    problem.usual.parts[slot.job][slot.way]
                };
                let seconds = line.change(&bed, slot) - part;
                if let Some(run) = self.runs[slot.job].filter(|_| seconds > 0) {
                    least += seconds;
                    took += (run.change - part).max(0);
                }
                previous = Some(slot);
            }
        }
        if least > 0 {
            self.factor = (real(took) / real(least)).clamp(1.0, FACTOR_MOST);
        }
    }

    /// What hangs on each job.
    fn weigh(&mut self, problem: &Problem<'_>, lines: &Sequences) {
        self.behind.clear();
        self.behind.resize(problem.jobs.len(), 0);
        for slots in &lines.machines {
            let mut behind = 0;
            for slot in slots.iter().rev() {
                let promise = problem.jobs[slot.job].promise;
                let terms = &problem.promises[promise];
                let last = self.runs[slot.job].map(|run| run.end) == self.promises[promise];
                if last && self.promises[promise].is_some_and(|end| end > terms.due) {
                    behind += terms.weight;
                }
                self.behind[slot.job] = behind;
            }
        }
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
    /// By order: jobs that wait for it.
    followers: Vec<Vec<usize>>,
    /// By kit: its promises.
    kits: Vec<Vec<usize>>,
    /// By brake: punch and die of each station that stands there at first.
    beds: Vec<Vec<(usize, usize)>>,
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
        usual.followers = vec![Vec::new(); problem.shop.orders.len()];
        for (index, job) in problem.jobs.iter().enumerate() {
            if let Some(order) = job.after {
                usual.followers[order].push(index);
            }
        }
        usual.kits = vec![Vec::new(); problem.kits];
        for (index, terms) in problem.promises.iter().enumerate() {
            if let Some(kit) = terms.kit {
                usual.kits[kit].push(index);
            }
        }
        let all = real((problem.until - problem.from).0);
        let brakes = 0..problem.shop.brakes.len();
        let pace = brakes.map(|brake| all / real(problem.roster.staffed_seconds(brake)).max(1.0));
        usual.pace = pace.collect();
        let pairs = |bed: &Bed| {
            bed.stands
                .iter()
                .map(|stand| (stand.punch, stand.die))
                .collect()
        };
        usual.beds = problem.beds.iter().map(pairs).collect();
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

    fn end(&self, job: usize) -> Moment {
        self.record.runs[job].map_or(self.problem.until, |run| run.end)
    }

    fn run(&self, slot: Slot) -> f64 {
        self.problem.usual.runs[slot.job][slot.way]
    }

    /// From when the job's blanks are there and the order that it waits for is done.
    fn ready(&self, job: usize) -> Moment {
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
    fn change(&self, bed: &Guessed<'_>, slot: Slot) -> i64 {
        let problem = self.problem;
        let option = &problem.ways[slot.job][slot.way];
        let missing = option
            .needs
            .iter()
            .filter(|need| !bed.shows(need.punch, need.die));
        let stations: Seconds = missing
            .map(|need| new_station(problem, self.brake, need))
            .sum();
        let mut seconds = stations.0;
        if seconds > 0 {
            seconds += problem.shop.brakes[self.brake].times.base.0;
            seconds = whole(real(seconds) * self.record.factor);
        }
        if bed.last.is_none_or(|last| last.part != option.part) {
            seconds += problem.usual.parts[slot.job][slot.way];
        }
        seconds
    }

    fn option(&self, slot: Slot) -> &ToolingOption {
        &self.problem.ways[slot.job][slot.way]
    }

    /// What stands after a run where it was, or before any.
    fn bed_after(&self, slot: Option<Slot>) -> Guessed<'_> {
        let Some(slot) = slot else {
            return Guessed {
                stood: &self.problem.usual.beds[self.brake],
                ..Guessed::default()
            };
        };
        let run = self.record.runs[slot.job];
        Guessed {
            stood: run.map_or(&[], |run| {
                &self.record.stations[run.stations.0..run.stations.1]
            }),
            last: Some(self.option(slot)),
            ..Guessed::default()
        }
    }

    /// Whether a run came right after another on this brake.
    fn followed(&self, slot: Slot, previous: Option<Slot>) -> bool {
        let run = self.record.runs[slot.job];
        run.is_some_and(|run| {
            run.brake == self.brake && run.previous == previous.map(|previous| previous.job)
        })
    }
}

/// What stands on a bed, about.
#[derive(Clone, Copy, Default)]
struct Guessed<'a> {
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

#[allow(clippy::cast_precision_loss)] // seconds far below 2^52
fn real(seconds: i64) -> f64 {
    seconds as f64
}

#[allow(clippy::cast_possible_truncation)] // `as` saturates
fn whole(seconds: f64) -> i64 {
    seconds as i64
}

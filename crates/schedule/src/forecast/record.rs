//! A plan as it was timed.

use super::line::Line;
use super::real;
use crate::problem::Problem;
use search::{Sequences, Slot};
use tooling::Bed;
use units::{Moment, Seconds};

/// Most by which changes are taken to last longer than they must.
const FACTOR_MOST: f64 = 4.0;

/// A timed plan, job by job.
#[derive(Clone, Debug, Default)]
pub(crate) struct Record {
    /// By job: brake, end, and where its stations are among `stations`; nothing for runs without a place.
    pub(crate) runs: Vec<Option<Run>>,
    /// Punch and die of each station that stood after a run.
    stations: Vec<(usize, usize)>,
    /// By promise: its end.
    pub(crate) promises: Vec<Option<Moment>>,
    /// By kit: the end of its last promise.
    pub(crate) kits: Vec<Option<Moment>>,
    /// By order: the end of its last run.
    pub(crate) orders: Vec<Moment>,
    /// By job: weight of the promises that are late by it and by what follows it on its brake.
    pub(crate) behind: Vec<i64>,
    /// By brake: what was run last.
    last: Vec<Option<Slot>>,
    /// How much longer changes of tools take than they must.
    pub(crate) factor: f64,
    /// By job: what its run and the change before it cost but for lateness, or its having no place.
    pub(crate) spends: Vec<i64>,
    /// What the plan costs but for lateness, and its weighted seconds late.
    pub(crate) spent: i64,
    pub(crate) late: i64,
}

#[derive(Clone, Copy, Debug)]
pub(crate) struct Run {
    pub(crate) brake: usize,
    /// How it is done.
    pub(crate) way: usize,
    /// The run before it on the brake.
    pub(crate) previous: Option<Slot>,
    /// Seconds of its change.
    pub(crate) change: i64,
    pub(crate) start: Moment,
    pub(crate) end: Moment,
    stations: (usize, usize),
}

/// How much of a record was there at some point.
#[derive(Clone, Debug, Default)]
pub(crate) struct Mark {
    stations: usize,
    last: Vec<Option<Slot>>,
}

impl Record {
    /// Where it stands now.
    pub(crate) fn mark(&self, mark: &mut Mark) {
        mark.stations = self.stations.len();
        mark.last.clone_from(&self.last);
    }

    /// What another had at its mark; of what it had after that, only what is timed anew counts.
    pub(crate) fn go_on_from(&mut self, other: &Record, mark: &Mark) {
        self.runs.clone_from(&other.runs);
        self.spends.clone_from(&other.spends);
        self.stations.clear();
        let stations = &other.stations[..mark.stations];
        self.stations.extend_from_slice(stations);
        self.last.clone_from(&mark.last);
    }

    /// A run found no place.
    pub(crate) fn without_place(&mut self, job: usize) {
        self.runs[job] = None;
    }

    /// Nothing is timed yet.
    pub(crate) fn clear(&mut self, jobs: usize) {
        self.runs.clear();
        self.runs.resize(jobs, None);
        self.spends.clear();
        self.spends.resize(jobs, 0);
        self.stations.clear();
        self.last.clear();
    }

    /// A run was timed, and this stood on the bed.
    pub(crate) fn run(
        &mut self,
        slot: Slot,
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
        let previous = self.last[brake].replace(slot);
        if let Some(run) = self.runs.get_mut(slot.job) {
            *run = Some(Run {
                brake,
                way: slot.way,
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
        self.late = late_of(problem, promises, &self.kits);
        self.weigh(problem, lines);
        self.factor = self.factor_of(problem, lines);
    }

    /// How much longer changes of tools took than they must.
    fn factor_of(&self, problem: &Problem<'_>, lines: &Sequences) -> f64 {
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
                let tools = line.tools(&bed, slot);
                if let Some(run) = self.runs[slot.job].filter(|_| tools > 0) {
                    least += tools;
                    took += (run.change - line.part(&bed, slot)).max(0);
                }
                previous = Some(slot);
            }
        }
        if least == 0 {
            return 1.0;
        }
        (real(took) / real(least)).clamp(1.0, FACTOR_MOST)
    }

    /// Punch and die of each station that stood after a job's run.
    pub(crate) fn stations_after(&self, job: usize) -> &[(usize, usize)] {
        let run = self.runs[job];
        run.map_or(&[], |run| &self.stations[run.stations.0..run.stations.1])
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

/// Weighted seconds late of promises that end so, each kit's together.
pub(crate) fn late_of(
    problem: &Problem<'_>,
    promises: &[Option<Moment>],
    kits: &[Option<Moment>],
) -> i64 {
    let terms = problem.promises.iter().zip(promises);
    terms
        .map(|(terms, &end)| {
            let end = end.map(|end| terms.kit.and_then(|kit| kits[kit]).unwrap_or(end));
            end.map_or(0, |end| terms.weight * (end - terms.due).0.max(0))
        })
        .sum()
}

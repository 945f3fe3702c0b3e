//! A plan as it was timed.

use super::line::Line;
use super::real;
use crate::problem::Problem;
use search::Sequences;
use tooling::Bed;
use units::{Moment, Seconds};

/// Most by which changes are taken to last longer than they must.
const FACTOR_MOST: f64 = 4.0;

/// A timed plan, job by job.
#[derive(Clone, Debug, Default)]
pub(crate) struct Record {
    /// By job: brake, end, and where its stations are among `stations`; nothing for runs without a place.
    pub(super) runs: Vec<Option<Run>>,
    /// Punch and die of each station that stood after a run.
    stations: Vec<(usize, usize)>,
    /// By promise: its end.
    pub(super) promises: Vec<Option<Moment>>,
    /// By kit: the end of its last promise.
    pub(super) kits: Vec<Option<Moment>>,
    /// By order: the end of its last run.
    pub(super) orders: Vec<Moment>,
    /// By job: weight of the promises that are late by it and by what follows it on its brake.
    pub(super) behind: Vec<i64>,
    /// By brake: the job run last.
    last: Vec<Option<usize>>,
    /// How much longer changes of tools take than they must.
    pub(super) factor: f64,
}

#[derive(Clone, Copy, Debug)]
pub(super) struct Run {
    pub(super) brake: usize,
    /// Job of the run before it on the brake.
    pub(super) previous: Option<usize>,
    /// Seconds of its change.
    pub(super) change: i64,
    pub(super) start: Moment,
    pub(super) end: Moment,
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
    pub(super) fn stations_after(&self, job: usize) -> &[(usize, usize)] {
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

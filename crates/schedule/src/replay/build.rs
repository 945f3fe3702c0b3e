//! Which run waits for which: takedowns, sections and orders as the plan had them.

use super::{Item, Replay, Takedown, Work};
use crate::problem::Problem;
use crate::timing::{Log, TimedRun};
use model::Approval;
use tooling::run_time;
use units::Seconds;

/// Finds out which run waits for which.
pub(super) struct Builder<'a, 's> {
    problem: &'a Problem<'s>,
    replay: &'a mut Replay,
    /// By section: the bed it is on, and when it was last freed by which item.
    holder: Vec<Option<usize>>,
    freed: Vec<Option<(usize, usize)>>,
    /// By brake: the item after whose turn its next one may come.
    held_by: Vec<Option<usize>>,
}

impl<'a, 's> Builder<'a, 's> {
    pub(super) fn new(problem: &'a Problem<'s>, replay: &'a mut Replay) -> Builder<'a, 's> {
        let sections = problem.shop.sections.len();
        let mut holder = vec![None; sections];
        for (brake, bed) in problem.beds.iter().enumerate() {
            for section in bed.stands.iter().flat_map(|stand| stand.sections()) {
                holder[section] = Some(brake);
            }
        }
        Builder {
            problem,
            holder,
            freed: vec![None; sections],
            held_by: vec![None; problem.beds.len()],
            replay,
        }
    }

    pub(super) fn add_all(&mut self, log: &Log) {
        let mut runs = log.runs.iter().peekable();
        let mut takedowns = 0;
        for &(brake, slot) in &log.order {
            let timed = runs.next_if(|run| run.slot == slot && run.brake == brake);
            let item = self.replay.items.len();
            let job = &self.problem.jobs[slot.job];
            let mut before: Vec<usize> = self.held_by[brake].into_iter().collect();
            let work = timed.map(|timed| {
                let made = &log.takedowns[takedowns..timed.takedowns];
                takedowns = timed.takedowns;
                let taken: Vec<(usize, Seconds)> = made
                    .iter()
                    .map(|one| (one.brake, one.steps.iter().map(|step| step.time).sum()))
                    .collect();
                let off = made.iter().map(|one| {
                    let stands = one.removed.iter();
                    stands.flat_map(|stand| stand.sections()).collect()
                });
                self.work(item, timed, &taken, off.collect(), &mut before)
            });
            if work.is_some()
                && let Some(first) = job.after
            {
                let items = self.replay.items.iter().enumerate();
                before.extend(items.filter(|(_, i)| i.order == first).map(|(at, _)| at));
            }
            before.sort_unstable();
            before.dedup();
            self.replay.items.push(Item {
                job: slot.job,
                order: job.order,
                part: job.part,
                quantity: job.quantity,
                ready: job.ready,
                after: job.after,
                running: job.running,
                work,
                before,
            });
            self.replay.lines[brake].push(item);
        }
    }

    fn event(&mut self) -> usize {
        self.replay.events += 1;
        self.replay.events - 1
    }

    fn work(
        &mut self,
        item: usize,
        timed: &TimedRun,
        taken: &[(usize, Seconds)],
        off: Vec<Vec<usize>>,
        before: &mut Vec<usize>,
    ) -> Work {
        let problem = self.problem;
        let job = &problem.jobs[timed.slot.job];
        let option = &problem.ways[timed.slot.job][timed.slot.way];
        let rules = &problem.shop.rules;
        let mut takedowns = Vec::with_capacity(taken.len());
        for (&(brake, work), sections) in taken.iter().zip(off) {
            // That bed must stand as the plan found it, and nothing may be set up there in between.
            before.extend(self.replay.lines[brake].last());
            before.extend(self.held_by[brake]);
            self.held_by[brake] = Some(item);
            let event = self.event();
            for section in sections {
                self.holder[section] = None;
                self.freed[section] = Some((item, event));
            }
            takedowns.push(Takedown { brake, work, event });
        }
        let mut needs = Vec::new();
        for &index in &timed.change.inserted {
            for section in timed.change.bed.stands[index].sections() {
                if self.holder[section].is_none()
                    && let Some((by, event)) = self.freed[section]
                {
                    if by != item {
                        before.push(by);
                    }
                    needs.push(event);
                }
            }
        }
        needs.sort_unstable();
        needs.dedup();
        let event = self.event();
        for section in timed.change.removed.iter().flat_map(|s| s.sections()) {
            self.holder[section] = None;
            self.freed[section] = Some((item, event));
        }
        for &index in &timed.change.inserted {
            for section in timed.change.bed.stands[index].sections() {
                self.holder[section] = Some(timed.brake);
            }
        }
        Work {
            takedowns,
            change: timed.steps.iter().map(|step| step.time).sum(),
            run: run_time(job.quantity, option.cycle_ms, rules),
            crew: usize::from(option.crew),
            inspected: match option.approval {
                Approval::Own => None,
                Approval::Inspector => Some(rules.approve_inspector),
                Approval::Customer => Some(rules.approve_customer),
            },
            needs,
            event,
        }
    }
}

//! Everything that takes time on a brake: changeovers, takedowns and runs, seen alike.

use crate::case::{Case, RunCase};
use crate::{change, cycle};
use model::{Brake, Segment};
use units::{BrakeId, Moment, PersonId};

/// What kind of work it is.
pub(crate) enum Kind<'c, 'a> {
    /// The changeover before a run.
    Changeover,
    /// A takedown.
    Takedown,
    /// A run.
    Run(&'c RunCase<'a>),
}

/// Work on a brake between two moments.
pub(crate) struct Job<'c, 'a> {
    /// Place named in violations.
    pub(crate) at: &'c str,
    pub(crate) kind: Kind<'c, 'a>,
    pub(crate) brake_id: &'a BrakeId,
    pub(crate) brake: Option<&'a Brake>,
    pub(crate) start: Moment,
    pub(crate) end: Moment,
    pub(crate) segments: &'a [Segment],
    /// Seconds the rules say it takes.
    pub(crate) work: i128,
}

impl Job<'_, '_> {
    /// Whether it is a run.
    pub(crate) fn is_run(&self) -> bool {
        matches!(self.kind, Kind::Run(_))
    }

    /// `changeover`, `takedown` or `run`.
    pub(crate) fn word(&self) -> &'static str {
        match self.kind {
            Kind::Changeover => "changeover",
            Kind::Takedown => "takedown",
            Kind::Run(_) => "run",
        }
    }
}

impl<'a> Case<'a> {
    /// All jobs in plan order. Changeovers that the rules say are empty and the plan shows as empty
    /// are none.
    pub(crate) fn jobs<'c>(&'c self) -> Vec<Job<'c, 'a>> {
        let mut jobs = Vec::new();
        for takedown in &self.takedowns {
            let plan = takedown.takedown;
            jobs.push(Job {
                at: &takedown.at,
                kind: Kind::Takedown,
                brake_id: takedown.brake_id,
                brake: takedown.brake,
                start: plan.start,
                end: plan.end,
                segments: &plan.segments,
                work: change::work(&change::steps_of_takedown(self, takedown)),
            });
        }
        for run in &self.runs {
            let (plan, changeover) = (run.run, &run.run.changeover);
            let work = change::work(&change::steps_of_run(self, run));
            if work != 0 || !changeover.segments.is_empty() {
                jobs.push(Job {
                    at: &plan.name,
                    kind: Kind::Changeover,
                    brake_id: run.brake_id,
                    brake: run.brake,
                    start: changeover.start,
                    end: changeover.end,
                    segments: &changeover.segments,
                    work,
                });
            }
            jobs.push(Job {
                at: &plan.name,
                kind: Kind::Run(run),
                brake_id: run.brake_id,
                brake: run.brake,
                start: plan.start,
                end: plan.end,
                segments: &plan.segments,
                work: cycle::run_seconds(self, run),
            });
        }
        jobs
    }

    /// Whether the brake is staffed in this second: in its calendar and not down.
    pub(crate) fn staffed(&self, brake: &Brake, at: Moment) -> bool {
        let down = self.lookup.down.get(&brake.id).is_some_and(|entries| {
            entries
                .iter()
                .any(|entry| entry.window.start <= at && at < entry.window.end)
        });
        !down && self.hours.there(&brake.calendar, at)
    }

    /// Whether the person is there in this second.
    pub(crate) fn person_there(&self, person: &PersonId, at: Moment) -> bool {
        let person = self.lookup.people.get(person);
        person.is_some_and(|person| self.hours.there(&person.calendar, at))
    }

    /// The first second of `start..end`, and every later one at which the brake's or one of the
    /// people's hours may change. What holds at all of them holds throughout.
    pub(crate) fn moments_to_ask(
        &self,
        brake: &Brake,
        people: &[PersonId],
        start: Moment,
        end: Moment,
    ) -> Vec<Moment> {
        if start >= end || !self.within_plan(start, end) {
            return Vec::new();
        }
        let mut moments = vec![start];
        moments.extend(self.hours.marks(&brake.calendar, start, end));
        for person in people.iter().filter_map(|id| self.lookup.people.get(id)) {
            moments.extend(self.hours.marks(&person.calendar, start, end));
        }
        for entry in self.lookup.down.get(&brake.id).into_iter().flatten() {
            moments.extend([entry.window.start, entry.window.end]);
        }
        moments.retain(|moment| start <= *moment && *moment < end);
        moments.sort_unstable();
        moments.dedup();
        moments
    }
}

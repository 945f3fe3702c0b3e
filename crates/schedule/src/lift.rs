//! A timed answer written down as a plan, with the reasons.

use crate::followers::{follower_refusals, order_before};
use crate::problem::{Misfit, Problem};
use crate::roster::Worked;
use crate::timing::{Log, Scratch, TimedRun, TimedTakedown, time};
use model::{
    BendUse, Bound, BrakePlan, Changeover, Limit, Plan, Refusal, Run, Segment, Slid, Station,
    StationPiece, Takedown, Totals, Turned, Unplaced,
};
use search::Sequences;
use tooling::{Stand, ToolingOption, run_time};
use units::{Moment, Seconds, Window};

/// Times the sequences once more and writes everything down.
#[must_use]
pub fn lift(problem: &Problem<'_>, scratch: &mut Scratch, sequences: &Sequences) -> Plan {
    let mut log = Log::default();
    let objective = time(problem, scratch, sequences, i64::MAX, Some(&mut log));
    let writer = Writer { problem, log: &log };
    let brakes: Vec<BrakePlan> = (0..problem.shop.brakes.len())
        .map(|brake| writer.brake(brake))
        .collect();
    let unplaced = writer.unplaced(sequences);
    let totals = writer.totals(&brakes, &unplaced, objective);
    Plan {
        shop: problem.shop.name.clone(),
        from: problem.from,
        until: problem.until,
        seed: 0,
        iterations: 0,
        seconds: None,
        brakes,
        unplaced,
        told: problem.told.entries(problem.shop),
        totals,
        baselines: model::Baselines::default(),
        bound: Bound::default(),
        verified: false,
    }
}

pub(crate) struct Writer<'a, 's> {
    pub(crate) problem: &'a Problem<'s>,
    log: &'a Log,
}

impl Writer<'_, '_> {
    fn brake(&self, brake: usize) -> BrakePlan {
        let mut runs: Vec<Run> = Vec::new();
        let mut batch = 0;
        let takedowns: Vec<&TimedTakedown> = self
            .log
            .takedowns
            .iter()
            .filter(|takedown| takedown.brake == brake)
            .collect();
        for timed in self.log.runs.iter().filter(|timed| timed.brake == brake) {
            if timed.change.moves_tools()
                || runs.is_empty()
                || self.taken_down_since(&runs, &takedowns, timed)
            {
                batch += 1;
            }
            let run = self.run(brake, timed, runs.len(), batch, runs.last());
            runs.push(run);
        }
        let id = self.problem.shop.brakes[brake].id.clone();
        let takedowns = takedowns
            .into_iter()
            .map(|takedown| self.takedown(takedown))
            .collect();
        BrakePlan {
            brake: id,
            runs,
            takedowns,
        }
    }

    /// Whether a takedown lies between the last run and this one.
    fn taken_down_since(
        &self,
        runs: &[Run],
        takedowns: &[&TimedTakedown],
        timed: &TimedRun,
    ) -> bool {
        let since = runs.last().map_or(self.problem.from, |run| run.end);
        let until = timed.work.first().map_or(since, |span| span.start);
        takedowns
            .iter()
            .filter_map(|takedown| takedown.spans.first())
            .any(|span| since <= span.start && span.start < until)
    }

    fn run(
        &self,
        brake: usize,
        timed: &TimedRun,
        position: usize,
        batch: usize,
        before: Option<&Run>,
    ) -> Run {
        let problem = self.problem;
        let shop = problem.shop;
        let job = &problem.jobs[timed.slot.job];
        let option = &problem.ways[timed.slot.job][timed.slot.way];
        let order = &shop.orders[job.order];
        let start = timed.work.first().map_or(problem.from, |span| span.start);
        let end = timed.work.last().map_or(start, |span| span.end);
        let promise = &problem.promises[job.promise];
        let late = self.log.completions[job.promise]
            .map_or(Seconds::ZERO, |done| Seconds((done - promise.due).0.max(0)));
        let bed = timed
            .change
            .bed
            .stands
            .iter()
            .map(|stand| self.station(stand))
            .collect();
        let id = &shop.brakes[brake].id;
        Run {
            name: format!("{id}-{:02}", position + 1),
            order: order.id.clone(),
            part: shop.parts[job.part].id.clone(),
            quantity: job.quantity,
            batch: format!("{id}/{batch}"),
            changeover: self.changeover(timed, start),
            start,
            end,
            segments: self.segments(&timed.work),
            run_time: run_time(job.quantity, option.cycle_ms, &shop.rules),
            cycle_ms: option.cycle_ms,
            bends: self.bends(timed, option),
            bed,
            program: option.program.clone(),
            ready: job.ready,
            due: promise.due,
            late,
            pinned: self.problem.is_fixed(timed.slot.job),
            reasons: self.reasons(timed, option, before),
        }
    }

    fn bends(&self, timed: &TimedRun, option: &ToolingOption) -> Vec<BendUse> {
        let part = &self.problem.shop.parts[option.part];
        option
            .hits
            .iter()
            .zip(&option.works)
            .zip(&option.need_of_hit)
            .map(|((hit, work), &need)| BendUse {
                bend: part.bends[hit.bend].number,
                hit: hit.number,
                station: timed.change.stand_of_need[need],
                force: work.force,
                x: work.x,
                r: work.r,
                radius: work.radius,
            })
            .collect()
    }

    fn station(&self, stand: &Stand) -> Station {
        let shop = self.problem.shop;
        let pieces = |sections: &[usize]| {
            sections
                .iter()
                .map(|&index| {
                    let section = &shop.sections[index];
                    StationPiece {
                        section: section.id.clone(),
                        length: section.length,
                        drawer: section.drawer.clone(),
                    }
                })
                .collect()
        };
        Station {
            punch: shop.profiles[stand.punch].id().clone(),
            die: shop.profiles[stand.die].id().clone(),
            v: self
                .problem
                .stock
                .die(stand.die)
                .map_or(units::Length::ZERO, |die| die.v),
            left: stand.left,
            length: stand.length(),
            reversed: stand.reversed,
            punch_sections: pieces(&stand.punch_sections),
            die_sections: pieces(&stand.die_sections),
            closed_height: stand.closed,
        }
    }

    fn changeover(&self, timed: &TimedRun, run_start: Moment) -> Changeover {
        let change = &timed.change;
        let (start, end) = match &timed.changing {
            Some((_, spans)) => (
                spans.first().map_or(run_start, |span| span.start),
                spans.last().map_or(run_start, |span| span.end),
            ),
            None => (run_start, run_start),
        };
        let after = &change.bed.stands;
        let is_kept = |&index: &usize| {
            !change.inserted.contains(&index)
                && change.die_before(index).is_none()
                && change.left_before(index).is_none()
        };
        Changeover {
            start,
            end,
            work: timed.steps.iter().map(|step| step.time).sum(),
            segments: timed
                .changing
                .as_ref()
                .map_or_else(Vec::new, |(setter, spans)| self.setting(*setter, spans)),
            remove: change
                .removed
                .iter()
                .map(|stand| self.station(stand))
                .collect(),
            keep: (0..after.len())
                .filter(is_kept)
                .map(|index| self.station(&after[index]))
                .collect(),
            turn: change
                .turned
                .iter()
                .map(|turned| Turned {
                    from: self.problem.shop.profiles[turned.from].id().clone(),
                    station: self.station(&after[turned.stand]),
                })
                .collect(),
            slide: change
                .slid
                .iter()
                .map(|slid| Slid {
                    from: slid.from,
                    station: self.station(&after[slid.stand]),
                })
                .collect(),
            insert: change
                .inserted
                .iter()
                .map(|&index| self.station(&after[index]))
                .collect(),
            steps: self.steps(&timed.steps, change),
        }
    }

    fn takedown(&self, timed: &TimedTakedown) -> Takedown {
        let (start, end) = match (timed.spans.first(), timed.spans.last()) {
            (Some(first), Some(last)) => (first.start, last.end),
            _ => (self.problem.from, self.problem.from),
        };
        Takedown {
            start,
            end,
            work: timed.steps.iter().map(|step| step.time).sum(),
            segments: self.setting(timed.setter, &timed.spans),
            remove: timed
                .removed
                .iter()
                .map(|stand| self.station(stand))
                .collect(),
            wanted_by: self.problem.shop.brakes[timed.wanted_by].id.clone(),
            steps: self.takedown_steps(timed),
        }
    }

    fn setting(&self, setter: usize, spans: &[Window]) -> Vec<Segment> {
        let crew = vec![self.problem.shop.people[setter].id.clone()];
        spans
            .iter()
            .map(|span| Segment {
                start: span.start,
                end: span.end,
                crew: crew.clone(),
            })
            .collect()
    }

    fn segments(&self, worked: &[Worked]) -> Vec<Segment> {
        let people = &self.problem.shop.people;
        worked
            .iter()
            .map(|span| Segment {
                start: span.start,
                end: span.end,
                crew: span
                    .crew
                    .iter()
                    .map(|&person| people[person].id.clone())
                    .collect(),
            })
            .collect()
    }

    fn reasons(
        &self,
        timed: &TimedRun,
        option: &ToolingOption,
        before: Option<&Run>,
    ) -> Vec<String> {
        let problem = self.problem;
        let job = &problem.jobs[timed.slot.job];
        let order = &problem.shop.orders[job.order];
        let mut reasons = Vec::new();
        if job.running {
            reasons.push("in progress on the floor".to_owned());
        }
        let mut brakes: Vec<usize> = problem.ways[job_index(timed)]
            .iter()
            .map(|way| way.brake)
            .collect();
        brakes.sort_unstable();
        brakes.dedup();
        let fixed = problem.is_fixed(timed.slot.job);
        let start = timed.work.first().map_or(problem.from, |span| span.start);
        let waits = start == job.ready && job.ready > problem.from;
        if let Some(place) = order.place.filter(|_| !fixed) {
            reasons.push(format!("the order has place {place} on this brake"));
            if waits {
                reasons.push("the brake waits for its blanks".to_owned());
            }
        } else if !fixed && problem.is_placed(timed.slot.job) {
            reasons.push("an order that has a place on this brake waits for it".to_owned());
        } else if order.brake.is_some() {
            reasons.push("the order is tied to this brake".to_owned());
        } else if brakes.len() == 1 {
            reasons.push("no other brake can take it".to_owned());
        }
        if let Some(program) = &option.program {
            reasons.push(format!("proven here, program {program}"));
        }
        let kept = timed
            .change
            .stand_of_need
            .iter()
            .filter(|s| !timed.change.inserted.contains(s));
        let (kept, needed) = (kept.count(), option.needs.len());
        if !job.running && kept == needed {
            let whose = before.map_or("the bed as it stands", |_| "the bed of the run before");
            reasons.push(format!("needs nothing put on: {whose} serves it"));
        } else if kept > 0 && !job.running {
            reasons.push(format!(
                "{kept} of its {needed} stations are on the bed already"
            ));
        }
        if waits && (fixed || order.place.is_none()) {
            reasons.push("starts as soon as its blanks are there".to_owned());
        }
        if reasons.is_empty() {
            reasons.push("costs least here in changeover and lateness together".to_owned());
        }
        reasons
    }

    fn unplaced(&self, sequences: &Sequences) -> Vec<Unplaced> {
        let problem = self.problem;
        let mut left_out: Vec<Misfit> = problem.misfits.clone();
        let absent = (0..problem.jobs.len()).filter(|&job| sequences.find(job).is_none());
        let failed: Vec<usize> = self.log.failed.iter().copied().chain(absent).collect();
        for &index in &failed {
            let job = &problem.jobs[index];
            match left_out.iter_mut().find(|misfit| misfit.order == job.order) {
                Some(misfit) => misfit.quantity += job.quantity,
                None => left_out.push(Misfit {
                    order: job.order,
                    quantity: job.quantity,
                    refusals: Vec::new(),
                }),
            }
        }
        let without: Vec<usize> = left_out.iter().map(|misfit| misfit.order).collect();
        for misfit in &mut left_out {
            let failed = failed
                .iter()
                .find(|&&job| problem.jobs[job].order == misfit.order);
            let why = match order_before(problem.shop, misfit.order).filter(|o| without.contains(o))
            {
                Some(first) => follower_refusals(problem.shop, first),
                None => failed.map_or_else(Vec::new, |&job| self.no_time(job)),
            };
            for refusal in why {
                if !misfit.refusals.contains(&refusal) {
                    misfit.refusals.push(refusal);
                }
            }
        }
        left_out.sort_by_key(|misfit| misfit.order);
        left_out
            .into_iter()
            .map(|misfit| Unplaced {
                order: problem.shop.orders[misfit.order].id.clone(),
                quantity: misfit.quantity,
                refusals: misfit.refusals,
            })
            .collect()
    }

    /// Reasons of an order that fits some brakes but found no staffed time there.
    fn no_time(&self, job: usize) -> Vec<Refusal> {
        let problem = self.problem;
        let rules = &problem.shop.rules;
        let days = f64::from(rules.horizon_days);
        problem
            .shop
            .brakes
            .iter()
            .enumerate()
            .map(|(index, brake)| {
                let fits = problem.ways[job].iter().any(|way| way.brake == index);
                let text = if fits {
                    format!("no staffed time left within {days} days for its changeover and run")
                } else {
                    "another brake was chosen, and its time ran out".to_owned()
                };
                Refusal {
                    brake: brake.id.clone(),
                    limit: Limit::Horizon,
                    bend: None,
                    needed: days + 1.0,
                    available: days,
                    unit: "days",
                    text,
                }
            })
            .collect()
    }

    fn totals(&self, brakes: &[BrakePlan], unplaced: &[Unplaced], objective: i64) -> Totals {
        let problem = self.problem;
        let runs = || brakes.iter().flat_map(|brake| &brake.runs);
        let takedowns = || brakes.iter().flat_map(|brake| &brake.takedowns);
        let moved = runs()
            .filter(|run| {
                let change = &run.changeover;
                let on_the_bed = change.turn.len() + change.slide.len();
                change.remove.len() + on_the_bed + change.insert.len() > 0
            })
            .count();
        let mut late_orders: Vec<usize> = Vec::new();
        let mut weighted_late = Seconds::ZERO;
        for (promise, done) in problem.promises.iter().zip(&self.log.completions) {
            let late = done.map_or(0, |done| (done - promise.due).0.max(0));
            weighted_late += Seconds(promise.weight * late);
            if late > 0 {
                late_orders.push(promise.order);
            }
        }
        late_orders.sort_unstable();
        late_orders.dedup();
        Totals {
            runs: count(runs().count()),
            changeovers: count(moved + takedowns().count()),
            changeover: runs().map(|run| run.changeover.work).sum::<Seconds>()
                + takedowns().map(|takedown| takedown.work).sum::<Seconds>(),
            run: runs().map(|run| run.run_time).sum(),
            late_orders: count(late_orders.len()),
            weighted_late,
            overtime: Seconds(self.log.overtime),
            unplaced_orders: count(unplaced.len()),
            moved: Seconds(self.log.moved),
            other_brakes: count(self.log.other_brakes),
            objective,
        }
    }
}

fn job_index(timed: &TimedRun) -> usize {
    timed.slot.job
}

fn count(number: usize) -> u32 {
    u32::try_from(number).unwrap_or(u32::MAX)
}

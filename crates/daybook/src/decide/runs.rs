//! Changeovers, takedowns and runs.

use super::check_why;
use crate::floor_entry::StationEntry;
use crate::happening::{Happening, PlannedChange, StepSeconds};
use crate::refusal::Refusal;
use crate::state::{ChangeOn, Doing, RunOn, State};
use model::{Changeover, Plan, Run, StepKind};
use std::collections::{BTreeMap, BTreeSet};
use units::{BrakeId, Moment};

/// Most spoiled pieces of a run.
const MOST_SCRAP: u32 = 1_000_000;

impl State {
    pub(super) fn start_changeover(
        &self,
        brake: &BrakeId,
        run: &str,
        now: Moment,
        published: Option<&Plan>,
    ) -> Result<Vec<Happening>, Refusal> {
        self.known_brake(brake)?;
        let (plan, planned, at) = self.planned_run(brake, run, published)?;
        match self.doing(brake) {
            Doing::Idle => {}
            Doing::ChangingOver(change) if change.plan == plan && change.run == run => {
                return Ok(Vec::new());
            }
            Doing::ChangingOver(change) => return Err(changing(brake, change)),
            Doing::Running(now) => return Err(running(brake, now)),
        }
        self.is_up(brake, now)?;
        self.may_begin(brake, at, planned)?;
        Ok(vec![Happening::ChangeoverStarted {
            brake: brake.clone(),
            plan,
            run: run.to_owned(),
            order: planned.order.clone(),
            bed: bed_of(brake, planned),
            planned: planned_change(&planned.changeover),
        }])
    }

    /// Nothing begins on a brake that is down: somebody may be working on it.
    fn is_up(&self, brake: &BrakeId, now: Moment) -> Result<(), Refusal> {
        let holds = |down: &&model::BrakeDown| {
            down.brake == *brake && down.window.start <= now && now < down.window.end
        };
        match self.downs.iter().find(holds) {
            None => Ok(()),
            Some(down) if down.reason.is_empty() => Err(Refusal::not_now(format!(
                "{brake} is down; report it up first, when it is safe to use"
            ))),
            Some(down) => Err(Refusal::not_now(format!(
                "{brake} is down ({}); report it up first, when it is safe to use",
                down.reason
            ))),
        }
    }

    /// Whether a planned run still has pieces to bend and tools to bend them with; the number of
    /// pieces.
    fn may_begin(&self, brake: &BrakeId, at: usize, planned: &Run) -> Result<u32, Refusal> {
        let name = &planned.name;
        if self.has_begun(brake, at, planned) {
            return Err(Refusal::conflict(format!(
                "run {name} has begun already; start the next one"
            )));
        }
        let id = &planned.order;
        let Some(order) = self.orders.get(id).filter(|order| !order.withdrawn) else {
            return Err(Refusal::conflict(format!(
                "order {id} was withdrawn; leave its run out"
            )));
        };
        if let Some(tied) = self.tied_to(&order.order).filter(|tied| *tied != brake) {
            return Err(Refusal::conflict(format!(
                "order {id} is tied to {tied} now; wait for the next plan"
            )));
        }
        let pieces = planned.quantity.min(self.pieces_free(order));
        if pieces == 0 {
            return Err(Refusal::conflict(format!(
                "all pieces of order {id} are done or being bent; start the next run"
            )));
        }
        if order.order.part != planned.part {
            return Err(Refusal::conflict(format!(
                "order {id} is for another part now; wait for the next plan"
            )));
        }
        let mut sections = planned.bed.iter().flat_map(|station| {
            let pieces = station.punch_sections.iter().chain(&station.die_sections);
            pieces.map(|piece| &piece.section)
        });
        let base = self.base_or_refusal()?;
        let unfit = sections.find(|id| {
            let section = base.shop().section(id);
            let good = section.is_some_and(|known| known.status == model::SectionStatus::Good);
            !good || self.sections_out.contains_key(*id)
        });
        if let Some(section) = unfit {
            return Err(Refusal::not_now(format!(
                "run {name} takes section {section}, which is out of service; wait for the next plan"
            )));
        }
        self.sections_free(brake, planned)?;
        Ok(pieces)
    }

    /// No section may be taken from under a run of another brake.
    fn sections_free(&self, brake: &BrakeId, planned: &Run) -> Result<(), Refusal> {
        for (other, run) in self.runs().filter(|(other, _)| *other != brake) {
            let bed = self.beds.get(other).map_or(&[][..], Vec::as_slice);
            let stands: Vec<&units::SectionId> =
                bed.iter().flat_map(model::BedStation::sections).collect();
            let mut wanted = planned.bed.iter().flat_map(|station| {
                let pieces = station.punch_sections.iter().chain(&station.die_sections);
                pieces.map(|piece| &piece.section)
            });
            if let Some(section) = wanted.find(|id| stands.contains(id)) {
                return Err(Refusal::not_now(format!(
                    "section {section} stands on {other}, where order {} is being bent; end that \
                     run, or describe the bed of {other} as it is",
                    run.order
                )));
            }
        }
        Ok(())
    }

    pub(super) fn finish_changeover(&self, brake: &BrakeId) -> Result<Vec<Happening>, Refusal> {
        self.known_brake(brake)?;
        let Doing::ChangingOver(change) = self.doing(brake) else {
            return Err(Refusal::conflict(format!(
                "no changeover is under way on {brake}; start it first"
            )));
        };
        Ok(vec![finished(brake, change)])
    }

    pub(super) fn finish_takedown(
        &self,
        brake: &BrakeId,
        takedown: u32,
        published: Option<&Plan>,
    ) -> Result<Vec<Happening>, Refusal> {
        self.known_brake(brake)?;
        let (Some(now), Some(plan)) = (&self.published, published) else {
            return Err(Refusal::not_now("no plan is published; publish one first"));
        };
        let line = plan.brakes.iter().find(|line| line.brake == *brake);
        let index = usize::try_from(takedown)
            .ok()
            .and_then(|at| at.checked_sub(1));
        let planned = line.and_then(|line| line.takedowns.get(index?));
        let Some(planned) = planned else {
            return Err(Refusal::missing(format!(
                "no takedown {takedown} on {brake} in the published plan; they count from 1"
            )));
        };
        if self.taken_down.contains(&(brake.clone(), takedown)) {
            return Ok(Vec::new());
        }
        match self.doing(brake) {
            Doing::Idle => {}
            Doing::ChangingOver(change) => return Err(changing(brake, change)),
            Doing::Running(run) => return Err(running(brake, run)),
        }
        let gone: Vec<&units::SectionId> = planned
            .remove
            .iter()
            .flat_map(|station| station.punch_sections.iter().chain(&station.die_sections))
            .map(|piece| &piece.section)
            .collect();
        let bed = self.beds.get(brake).into_iter().flatten();
        let stays = bed.filter(|station| !station.sections().any(|id| gone.contains(&id)));
        Ok(vec![Happening::TakedownDone {
            brake: brake.clone(),
            plan: now.plan,
            takedown,
            bed: stays.map(StationEntry::from).collect(),
        }])
    }

    pub(super) fn start_run(
        &self,
        brake: &BrakeId,
        run: &str,
        now: Moment,
        published: Option<&Plan>,
    ) -> Result<Vec<Happening>, Refusal> {
        self.known_brake(brake)?;
        let (plan, planned, at) = self.planned_run(brake, run, published)?;
        let mut all = Vec::new();
        match self.doing(brake) {
            Doing::Idle => {}
            Doing::ChangingOver(change) if change.order == planned.order => {
                all.push(finished(brake, change));
            }
            Doing::ChangingOver(change) => return Err(changing(brake, change)),
            Doing::Running(on) => return Err(running(brake, on)),
        }
        self.is_up(brake, now)?;
        let quantity = self.may_begin(brake, at, planned)?;
        let line = published.and_then(|plan| plan.brakes.iter().find(|line| line.brake == *brake));
        let before = line.map_or(&[][..], |line| line.runs.get(..at).unwrap_or(&[]));
        let waits = |(place, earlier): (usize, &Run)| {
            let order = self.open_order(&earlier.order);
            !self.has_begun(brake, place, earlier)
                && order.is_some_and(|order| self.pieces_free(order) > 0)
        };
        let its_turn = !before.iter().enumerate().any(waits);
        let worked: i64 = planned.run_time.0;
        let span = (planned.end - planned.start).0;
        all.push(Happening::RunStarted {
            brake: brake.clone(),
            plan,
            run: run.to_owned(),
            order: planned.order.clone(),
            quantity,
            bed: bed_of(brake, planned),
            uses: stations_used(planned),
            planned_cycle_ms: planned.cycle_ms,
            planned_pause_seconds: (span - worked).max(0),
            planned_end: planned.end,
            as_planned: its_turn
                && quantity == planned.quantity
                && self.in_time(planned.start, now),
        });
        Ok(all)
    }

    fn in_time(&self, planned: Moment, now: Moment) -> bool {
        (now - planned).0.abs() <= i64::from(self.policy.drift_seconds)
    }

    pub(super) fn run_or_refusal(&self, brake: &BrakeId) -> Result<&RunOn, Refusal> {
        self.known_brake(brake)?;
        self.run_on(brake).ok_or_else(|| {
            Refusal::conflict(format!(
                "nothing is being bent on {brake}; start a run first"
            ))
        })
    }

    pub(super) fn pause_run(&self, brake: &BrakeId, why: &str) -> Result<Vec<Happening>, Refusal> {
        check_why(why)?;
        if self.run_or_refusal(brake)?.paused.is_some() {
            return Ok(Vec::new());
        }
        Ok(vec![Happening::RunPaused {
            brake: brake.clone(),
            why: why.to_owned(),
        }])
    }

    pub(super) fn resume_run(&self, brake: &BrakeId) -> Result<Vec<Happening>, Refusal> {
        if self.run_or_refusal(brake)?.paused.is_none() {
            return Ok(Vec::new());
        }
        let brake = brake.clone();
        Ok(vec![Happening::RunResumed { brake }])
    }

    /// A run has no more good pieces than it was begun with. Where blanks are announced, good and
    /// spoiled pieces together are no more than the blanks not used elsewhere; where they are not,
    /// spares may have been cut, and up to [`MOST_SCRAP`] spoiled pieces are taken.
    fn check_pieces(
        &self,
        brake: &BrakeId,
        run: &RunOn,
        good: u32,
        scrap: u32,
    ) -> Result<(), Refusal> {
        let id = &run.order;
        if good > run.quantity {
            return Err(Refusal::conflict(format!(
                "{good} good pieces of order {id} on {brake}, but the run has {}; correct the count, \
                 or raise the order's quantity",
                run.quantity
            )));
        }
        let used = u64::from(good) + u64::from(scrap);
        let order = self.orders.get(id);
        let blanks = order.and_then(|order| self.blanks_for(order, brake));
        if let Some(blanks) = blanks.filter(|blanks| used > u64::from(*blanks)) {
            return Err(Refusal::conflict(format!(
                "{used} pieces of order {id} on {brake}, but only {blanks} blanks are announced for \
                 them; correct the count, or announce more blanks"
            )));
        }
        if scrap > MOST_SCRAP {
            return Err(Refusal::conflict(format!(
                "{scrap} spoiled pieces; at most {MOST_SCRAP} can be reported"
            )));
        }
        Ok(())
    }

    pub(super) fn count_pieces(
        &self,
        brake: &BrakeId,
        good: u32,
        scrap: u32,
    ) -> Result<Vec<Happening>, Refusal> {
        let run = self.run_or_refusal(brake)?;
        self.check_pieces(brake, run, good, scrap)?;
        if (good, scrap) == (run.good, run.scrap) {
            return Ok(Vec::new());
        }
        Ok(vec![Happening::PiecesCounted {
            brake: brake.clone(),
            good,
            scrap,
        }])
    }

    pub(super) fn finish_run_by(
        &self,
        (brake, good, scrap, short): (&BrakeId, u32, u32, bool),
        now: Moment,
    ) -> Result<Vec<Happening>, Refusal> {
        let run = self.run_or_refusal(brake)?;
        self.check_pieces(brake, run, good, scrap)?;
        if good < run.quantity && !short {
            return Err(Refusal::conflict(format!(
                "{good} of {} pieces of order {} are good; say that the run ends short, or finish it",
                run.quantity, run.order
            )));
        }
        let late = |end: Moment| !self.in_time(end, now);
        Ok(vec![Happening::RunFinished {
            brake: brake.clone(),
            good,
            scrap,
            short: good < run.quantity,
            planned_cycle_ms: run.planned_cycle_ms,
            as_planned: good == run.quantity && !run.planned_end.is_some_and(late),
        }])
    }
}

fn bed_of(brake: &BrakeId, run: &Run) -> Vec<StationEntry> {
    let stations = run.bed.iter();
    stations
        .map(|station| StationEntry::planned(brake, station))
        .collect()
}

/// The stations that bend, each once.
fn stations_used(run: &Run) -> Vec<usize> {
    let used: BTreeSet<usize> = run.bends.iter().map(|bend| bend.station).collect();
    used.into_iter().collect()
}

fn finished(brake: &BrakeId, change: &ChangeOn) -> Happening {
    Happening::ChangeoverFinished {
        brake: brake.clone(),
        plan: change.plan,
        run: change.run.clone(),
        bed: change.bed.clone(),
        planned: change.planned.clone(),
    }
}

fn planned_change(change: &Changeover) -> PlannedChange {
    let mut steps: BTreeMap<StepKind, i64> = BTreeMap::new();
    for step in &change.steps {
        *steps.entry(step.kind).or_insert(0) += step.time.0;
    }
    let steps = steps
        .into_iter()
        .map(|(step, seconds)| StepSeconds { step, seconds });
    PlannedChange {
        seconds: change.work.0,
        pause_seconds: ((change.end - change.start).0 - change.work.0).max(0),
        steps: steps.collect(),
    }
}

fn changing(brake: &BrakeId, change: &ChangeOn) -> Refusal {
    Refusal::conflict(format!(
        "{brake} is being changed over for run {}; finish that, or describe the bed as it is",
        change.run
    ))
}

fn running(brake: &BrakeId, run: &RunOn) -> Refusal {
    Refusal::conflict(format!(
        "order {} is being bent on {brake}; end its run first",
        run.order
    ))
}

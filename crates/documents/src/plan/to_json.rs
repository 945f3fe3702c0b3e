//! Writing a plan.

use super::FORMAT;
use super::json::{
    BaselinesJson, BendJson, BoundJson, BrakeJson, ChangeoverJson, PlanJson, ReasonJson, RunJson,
    SectionJson, SegmentJson, SlidJson, StationJson, StepJson, TakedownJson, ToldJson, TotalsJson,
    TurnedJson, UnplacedJson,
};
use super::names::{limit_name, step_name};
use crate::moment::write_rfc3339;
use chrono_tz::Tz;
use model::{
    BrakePlan, Changeover, Plan, Refusal, Run, Segment, Shop, Slid, Station, StationPiece, Step,
    Takedown, Told, Totals, Turned, Unplaced,
};
use std::fmt::Display;
use units::{Kilonewtons, Moment};

/// Writes a plan as pretty JSON with a final line break; the same plan always gives the same bytes.
///
/// Times are RFC 3339 with the offset of the shop's zone.
#[must_use]
pub fn write_plan(plan: &Plan, shop: &Shop) -> String {
    let json = plan_json(plan, Writer { zone: shop.zone });
    // Twins hold strings, numbers and lists alone, which JSON can always say.
    let mut text = serde_json::to_string_pretty(&json).unwrap_or_default();
    text.push('\n');
    text
}

/// What the twins need to know besides the plan.
#[derive(Clone, Copy)]
struct Writer {
    zone: Tz,
}

impl Writer {
    fn time(self, moment: Moment) -> String {
        write_rfc3339(moment, self.zone)
    }
}

fn plan_json(plan: &Plan, writer: Writer) -> PlanJson {
    PlanJson {
        format: FORMAT.to_owned(),
        shop: plan.shop.clone(),
        from: writer.time(plan.from),
        until: writer.time(plan.until),
        seed: plan.seed,
        iterations: plan.iterations,
        seconds: plan.seconds,
        brakes: plan
            .brakes
            .iter()
            .map(|brake| brake_json(brake, writer))
            .collect(),
        unplaced: plan.unplaced.iter().map(unplaced_json).collect(),
        told: plan
            .told
            .iter()
            .map(|told| told_json(told, writer))
            .collect(),
        totals: totals_json(&plan.totals),
        baselines: BaselinesJson {
            due_date_order: totals_json(&plan.baselines.due_date_order),
            grouped_by_die: totals_json(&plan.baselines.grouped_by_die),
        },
        bound: BoundJson {
            objective: plan.bound.objective,
            gap: plan
                .bound
                .objective
                .map(|bound| gap(plan.totals.objective, bound)),
        },
        verified: plan.verified,
    }
}

/// The share of the objective that lies above the bound; zero when there is nothing above it.
#[allow(clippy::cast_precision_loss)] // a share for people; the exact numbers stand beside it
fn gap(objective: i64, bound: i64) -> f64 {
    if objective <= bound || objective == 0 {
        return 0.0;
    }
    let share = (objective as f64 - bound as f64) / (objective as f64).abs();
    (share * 1e6).round() / 1e6
}

fn brake_json(brake: &BrakePlan, writer: Writer) -> BrakeJson {
    BrakeJson {
        brake: brake.brake.to_string(),
        runs: brake.runs.iter().map(|run| run_json(run, writer)).collect(),
        takedowns: brake
            .takedowns
            .iter()
            .map(|down| takedown_json(down, writer))
            .collect(),
    }
}

fn run_json(run: &Run, writer: Writer) -> RunJson {
    RunJson {
        run: run.name.clone(),
        order: run.order.to_string(),
        part: run.part.to_string(),
        quantity: run.quantity,
        batch: run.batch.clone(),
        changeover: changeover_json(&run.changeover, writer),
        start: writer.time(run.start),
        end: writer.time(run.end),
        segments: segments_json(&run.segments, writer),
        crew: crew_of(&run.segments),
        run_minutes: minutes(run.run_time.0),
        run_seconds: run.run_time.0,
        cycle_seconds: cycle_seconds(run.cycle_ms),
        peak_force_kn: run
            .bends
            .iter()
            .map(|bend| bend.force)
            .fold(0.0, greater_force),
        bends: run.bends.iter().map(bend_json).collect(),
        bed: stations_json(&run.bed),
        program: run.program.clone(),
        ready: writer.time(run.ready),
        due: writer.time(run.due),
        late_minutes: minutes(run.late.0),
        late_seconds: run.late.0,
        pinned: run.pinned,
        reasons: run.reasons.clone(),
    }
}

fn greater_force(most: f64, force: Kilonewtons) -> f64 {
    most.max(force.get())
}

/// Everybody in the segments, in the order of first mention.
fn crew_of(segments: &[Segment]) -> Vec<String> {
    let mut crew: Vec<String> = Vec::new();
    for person in segments.iter().flat_map(|segment| &segment.crew) {
        if !crew.iter().any(|known| known == person.as_str()) {
            crew.push(person.to_string());
        }
    }
    crew
}

fn bend_json(bend: &model::BendUse) -> BendJson {
    BendJson {
        bend: bend.bend,
        hit: bend.hit,
        station: bend.station,
        force_kn: bend.force.get(),
        x_mm: bend.x.mm(),
        r_mm: bend.r.mm(),
        radius_mm: bend.radius.mm(),
    }
}

fn changeover_json(change: &Changeover, writer: Writer) -> ChangeoverJson {
    ChangeoverJson {
        start: writer.time(change.start),
        end: writer.time(change.end),
        minutes: minutes(change.work.0),
        work_seconds: change.work.0,
        segments: segments_json(&change.segments, writer),
        remove: stations_json(&change.remove),
        keep: stations_json(&change.keep),
        turn: change.turn.iter().map(turned_json).collect(),
        slide: change.slide.iter().map(slid_json).collect(),
        insert: stations_json(&change.insert),
        steps: steps_json(&change.steps),
    }
}

fn takedown_json(down: &Takedown, writer: Writer) -> TakedownJson {
    TakedownJson {
        start: writer.time(down.start),
        end: writer.time(down.end),
        minutes: minutes(down.work.0),
        work_seconds: down.work.0,
        segments: segments_json(&down.segments, writer),
        remove: stations_json(&down.remove),
        wanted_by: down.wanted_by.to_string(),
        steps: steps_json(&down.steps),
    }
}

fn segments_json(segments: &[Segment], writer: Writer) -> Vec<SegmentJson> {
    let twin = |segment: &Segment| SegmentJson {
        start: writer.time(segment.start),
        end: writer.time(segment.end),
        crew: texts(&segment.crew),
    };
    segments.iter().map(twin).collect()
}

fn steps_json(steps: &[Step]) -> Vec<StepJson> {
    let twin = |step: &Step| StepJson {
        action: step_name(step.kind).to_owned(),
        seconds: step.time.0,
        minutes: minutes(step.time.0),
        text: step.text.clone(),
    };
    steps.iter().map(twin).collect()
}

fn stations_json(stations: &[Station]) -> Vec<StationJson> {
    stations.iter().map(station_json).collect()
}

fn turned_json(turned: &Turned) -> TurnedJson {
    TurnedJson {
        from_die: turned.from.to_string(),
        station: station_json(&turned.station),
    }
}

fn slid_json(slid: &Slid) -> SlidJson {
    SlidJson {
        from_mm: slid.from.mm(),
        station: station_json(&slid.station),
    }
}

fn station_json(station: &Station) -> StationJson {
    StationJson {
        punch: station.punch.to_string(),
        die: station.die.to_string(),
        v_mm: station.v.mm(),
        left_mm: station.left.mm(),
        length_mm: station.length.mm(),
        reversed: station.reversed,
        punch_sections: sections_json(&station.punch_sections),
        die_sections: sections_json(&station.die_sections),
        closed_height_mm: station.closed_height.mm(),
    }
}

fn sections_json(pieces: &[StationPiece]) -> Vec<SectionJson> {
    let twin = |piece: &StationPiece| SectionJson {
        id: piece.section.to_string(),
        length_mm: piece.length.mm(),
        drawer: piece.drawer.clone(),
    };
    pieces.iter().map(twin).collect()
}

fn unplaced_json(unplaced: &Unplaced) -> UnplacedJson {
    UnplacedJson {
        order: unplaced.order.to_string(),
        quantity: unplaced.quantity,
        reasons: unplaced.refusals.iter().map(reason_json).collect(),
    }
}

fn reason_json(refusal: &Refusal) -> ReasonJson {
    ReasonJson {
        brake: refusal.brake.to_string(),
        code: limit_name(refusal.limit).to_owned(),
        bend: refusal.bend,
        needed: Some(refusal.needed).filter(|number| number.is_finite()),
        limit: Some(refusal.available).filter(|number| number.is_finite()),
        unit: refusal.unit.to_owned(),
        text: refusal.text.clone(),
    }
}

fn told_json(told: &Told, writer: Writer) -> ToldJson {
    ToldJson {
        order: told.order.to_string(),
        start: writer.time(told.start),
        brakes: texts(&told.brakes),
    }
}

fn totals_json(totals: &Totals) -> TotalsJson {
    TotalsJson {
        runs: totals.runs,
        changeovers: totals.changeovers,
        changeover_minutes: minutes(totals.changeover.0),
        changeover_seconds: totals.changeover.0,
        run_minutes: minutes(totals.run.0),
        run_seconds: totals.run.0,
        late_orders: totals.late_orders,
        weighted_late_hours: hours(totals.weighted_late.0),
        weighted_late_seconds: totals.weighted_late.0,
        overtime_minutes: minutes(totals.overtime.0),
        overtime_seconds: totals.overtime.0,
        unplaced_orders: totals.unplaced_orders,
        moved_minutes: minutes(totals.moved.0),
        moved_seconds: totals.moved.0,
        other_brakes: totals.other_brakes,
        objective: totals.objective,
    }
}

/// Minutes to two decimals, for people; the exact seconds stand beside them.
#[allow(clippy::cast_precision_loss)]
fn minutes(seconds: i64) -> f64 {
    (seconds as f64 / 60.0 * 100.0).round() / 100.0
}

/// Hours to two decimals, for people.
#[allow(clippy::cast_precision_loss)]
fn hours(seconds: i64) -> f64 {
    (seconds as f64 / 3_600.0 * 100.0).round() / 100.0
}

/// Milliseconds as seconds with three decimals.
#[allow(clippy::cast_precision_loss)] // exact up to 285 years
fn cycle_seconds(milliseconds: i64) -> f64 {
    milliseconds as f64 / 1_000.0
}

fn texts<T: Display>(ids: &[T]) -> Vec<String> {
    ids.iter().map(T::to_string).collect()
}

//! A quote for machines: format `brakewright.quote/1`, docs/reference/quote-json.md.

use crate::quote::{Quote, QuoteAsk};
use documents::words::Clock;
use documents::{limit_name, step_name};
use model::{Chance, Refusal, StepKind};
use quoting::{AbleBrake, Breaks, Later, Odds, Placed, Price};
use serde_json::{Value, json};
use units::{Moment, Seconds};

/// Odds that dates are given for.
pub const PROMISED_ODDS: [f64; 3] = [0.5, 0.8, 0.95];

/// A quote with what was asked, to be written down.
#[derive(Clone, Copy, Debug)]
pub struct QuoteSheet<'a> {
    /// The answer.
    pub quote: &'a Quote,
    /// What was asked.
    pub ask: &'a QuoteAsk,
    /// The moment wished for.
    pub due: Option<Moment>,
    /// Whether the plan it was tried in stood already, and was not made for the question.
    pub stands: bool,
    /// Whether the shop is made up.
    pub invented: bool,
}

impl QuoteSheet<'_> {
    fn clock(&self) -> Clock {
        Clock::new(self.quote.shop.zone)
    }
}

/// Everything there is, exact: whole seconds, moments with their offset. The same quote always gives
/// the same value, its fields in the same order.
#[must_use]
pub fn quote_json(page: &QuoteSheet<'_>) -> Value {
    let (quote, clock) = (page.quote, page.clock());
    let answer = &quote.answer;
    let part = quote.part().map(|part| {
        json!({
            "part": part.id.as_str(),
            "name": part.name,
            "described": !quote.assumed.is_empty(),
            "material": part.material.as_str(),
            "thickness_mm": part.thickness.mm(),
            "blank_mm": [part.blank.0.mm(), part.blank.1.mm()],
            "bends": part.bends.len(),
        })
    });
    let place = answer.place.as_ref();
    json!({
        "format": "brakewright.quote/1",
        "shop": quote.shop.name,
        "invented": page.invented,
        "from": clock.with_offset(page.ask.from),
        "into": if page.stands { "plan-that-stands" } else { "plan-made-now" },
        "order": quote.order.as_str(),
        "part": part,
        "assumed": quote.assumed,
        "quantity": page.ask.job.quantity,
        "ready": clock.with_offset(page.ask.job.ready),
        "weight": page.ask.job.weight,
        "odds": quote.odds.as_ref().map(|odds| dates(page, odds, place)),
        "place": place.map(|place| offer(place, clock)),
        "earliest": answer.earliest.as_ref().map(|place| offer(place, clock)),
        "places_tried": answer.tried,
        "able": answer.able.iter().map(able).collect::<Vec<_>>(),
        "refusals": answer.refusals.iter().map(refusal).collect::<Vec<_>>(),
        "breaks": quote.breaks.as_ref().map(breaks),
    })
}

fn dates(page: &QuoteSheet<'_>, odds: &Odds, place: Option<&Placed>) -> Value {
    let clock = page.clock();
    let by = PROMISED_ODDS.iter().map(|&share| {
        let by = odds.by(share).map(|by| clock.with_offset(by));
        json!({ "odds": share, "done_by": by })
    });
    let asked =
        |moment| json!({ "moment": clock.with_offset(moment), "odds": odds.kept_by(moment) });
    let calendars_end = page.quote.answer.replay.as_ref();
    json!({
        "by": by.collect::<Vec<_>>(),
        "as_planned": place.map(|place| asked(place.run.end)),
        "due": page.due.map(asked),
        "plays": odds.samples(),
        "seed": page.ask.seed,
        "calendars_end": calendars_end.map(|(replay, _)| clock.with_offset(replay.horizon())),
        "chance": chance(&page.quote.chance),
    })
}

fn chance(chance: &Chance) -> Value {
    json!({
        "run_spread": chance.run_spread,
        "changeover_spread": chance.changeover_spread,
        "rush_orders_per_week": chance.rush_per_week,
        "brake_stop_hours": chance.hours_between_stops,
        "brake_repair_hours": chance.repair_hours,
    })
}

fn offer(place: &Placed, clock: Clock) -> Value {
    let run = &place.run;
    let change = &run.changeover;
    let worked = |segments: &[model::Segment]| -> i64 {
        let people = |segment: &model::Segment| {
            let crew = i64::try_from(segment.crew.len()).unwrap_or(i64::MAX);
            (segment.end - segment.start).0 * crew
        };
        segments.iter().map(people).sum()
    };
    let steps = change
        .steps
        .iter()
        .map(|step| step_json(step.kind, step.time));
    json!({
        "brake": place.brake.as_str(),
        "run": run.name,
        "changeover_start": clock.with_offset(change.start),
        "changeover_end": clock.with_offset(change.end),
        "start": clock.with_offset(run.start),
        "end": clock.with_offset(run.end),
        "changeover_seconds": change.work.0,
        "steps": steps.collect::<Vec<_>>(),
        "run_seconds": run.run_time.0,
        "cycle_ms": run.cycle_ms,
        "people_seconds": worked(&change.segments) + worked(&run.segments),
        "price": price(&place.price),
        "moved": place.moved.iter().map(|one| later(one, clock)).collect::<Vec<_>>(),
    })
}

fn step_json(kind: StepKind, time: Seconds) -> Value {
    json!({ "step": step_name(kind), "seconds": time.0 })
}

fn price(price: &Price) -> Value {
    json!({
        "changeover_seconds": price.changeover.0,
        "overtime_seconds": price.overtime.0,
        "others_late_seconds": price.others_late.0,
        "orders_later": price.later,
        "orders_newly_late": price.newly_late,
        "orders_without_place": price.without_place,
    })
}

fn later(later: &Later, clock: Clock) -> Value {
    json!({
        "order": later.order.as_str(),
        "due": clock.with_offset(later.due),
        "ended": clock.with_offset(later.before),
        "ends_now": clock.with_offset(later.after),
        "late_before_seconds": later.late_before.0,
        "late_after_seconds": later.late_after.0,
    })
}

fn able(able: &AbleBrake) -> Value {
    let setup = able.setup.as_ref().map(|setup| {
        let steps = setup.steps.iter();
        json!({
            "seconds": setup.work.0,
            "steps": steps.map(|&(kind, time)| step_json(kind, time)).collect::<Vec<_>>(),
        })
    });
    json!({
        "brake": able.brake.as_str(),
        "program": able.program,
        "crew": able.crew,
        "cycle_ms": able.cycle_ms,
        "setup": setup,
    })
}

fn refusal(refusal: &Refusal) -> Value {
    json!({
        "brake": refusal.brake.as_str(),
        "limit": limit_name(refusal.limit),
        "bend": refusal.bend,
        "needed": refusal.needed,
        "available": refusal.available,
        "unit": refusal.unit,
        "text": refusal.text,
    })
}

fn breaks(breaks: &Breaks) -> Value {
    let points = breaks.points.iter().map(|point| {
        json!({
            "quantity": point.quantity,
            "changeover_seconds": point.changeover.0,
            "run_seconds": point.run.0,
            "minutes_each": point.minutes_each(),
        })
    });
    json!({
        "points": points.collect::<Vec<_>>(),
        "endless_minutes": breaks.endless_minutes,
        "flat_from": breaks.flat_from,
    })
}

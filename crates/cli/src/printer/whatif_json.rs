//! Ranked changes for machines: format `brakewright.whatif/1`, docs/reference/whatif-json.md.

use super::whatif::Page;
use model::Totals;
use prospects::{Candidate, Pair, Spread, Told, by_chance};
use serde_json::{Value, json};
use workshop::Tried;

/// Everything there is, exact: whole seconds, the objective in its own unit.
pub(crate) fn as_json(page: &Page<'_>) -> Value {
    let (answer, ask) = (page.answer, page.ask);
    let changes = answer.tried.iter().enumerate();
    json!({
        "format": "brakewright.whatif/1",
        "shop": page.shop.name,
        "invented": page.invented,
        "from": page.clock().with_offset(ask.from),
        "horizon_days": page.shop.rules.horizon_days,
        "seeds": ask.seeds,
        "first_seed": ask.seed,
        "iterations": ask.iterations,
        "further": ask.further,
        "complete": answer.complete,
        "saving_by_chance": by_chance(answer.tried.len(), answer.unchanged.len()),
        "unchanged": answer.unchanged.iter().map(|(seed, of)| plan(*seed, of)).collect::<Vec<_>>(),
        "changes": changes.map(|(index, one)| tried(index + 1, one)).collect::<Vec<_>>(),
        "left": answer.left.iter().map(named).collect::<Vec<_>>(),
    })
}

fn named(candidate: &Candidate) -> Value {
    json!({
        "change": candidate.change.to_string(),
        "kind": candidate.change.kind(),
        "reason": candidate.reason,
    })
}

fn tried(place: usize, one: &Tried) -> Value {
    let found = &one.comparison;
    json!({
        "rank": place,
        "change": one.candidate.change.to_string(),
        "kind": one.candidate.change.kind(),
        "reason": one.candidate.reason,
        "verdict": match found.told {
            Told::Saves => "saves",
            Told::NotToldApart => "not-told-apart-from-chance",
            Told::Same => "no-difference",
            Told::Costs => "costs",
        },
        "saved": {
            "objective": spread(found.objective),
            "changeover_seconds": spread(found.changeover),
            "weighted_late_seconds": spread(found.late),
            "overtime_seconds": spread(found.overtime),
            "late_orders": spread(found.late_orders),
            "unplaced_orders": spread(found.unplaced_orders),
        },
        "pairs": one.pairs.iter().map(pair).collect::<Vec<_>>(),
    })
}

fn spread(spread: Spread) -> Value {
    json!({ "mean": spread.mean, "least": spread.least, "greatest": spread.greatest })
}

fn plan(seed: u64, of: &Totals) -> Value {
    let mut plan = json!({ "seed": seed });
    if let (Some(plan), Value::Object(totals)) = (plan.as_object_mut(), totals(of)) {
        plan.extend(totals);
    }
    plan
}

fn pair(pair: &Pair) -> Value {
    json!({
        "seed": pair.seed,
        "without": totals(&pair.without),
        "with": totals(&pair.with),
    })
}

fn totals(totals: &Totals) -> Value {
    json!({
        "objective": totals.objective,
        "changeovers": totals.changeovers,
        "changeover_seconds": totals.changeover.0,
        "weighted_late_seconds": totals.weighted_late.0,
        "overtime_seconds": totals.overtime.0,
        "late_orders": totals.late_orders,
        "unplaced_orders": totals.unplaced_orders,
    })
}

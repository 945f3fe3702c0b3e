//! Gauge R where the part's section is known: the stop meets the part as bent so far.

use super::gauge::{R, fitted, inside};
use super::{Rule, broken};
use crate::case::{Case, RunCase};
use crate::contact::{Contact, ROUNDING};
use crate::family::{FAMILIES, Strip, Tools, hits_in, zero_at_gauge};
use crate::made::Made;
use crate::numbers::at_least;
use model::{Brake, Violation};
use std::collections::BTreeMap;
use units::PartId;

pub(super) const STATED: Rule = (
    "A201",
    "gauge-height",
    "a bend's stated gauge R is more than 0.15 mm from where the stop meets the part as bent so far",
);
pub(super) const NOTHING: Rule = (
    "A202",
    "nothing-to-gauge",
    "nothing of the part as bent so far lies behind the bend for the stop to meet",
);

/// What decides where the stop meets: the part, the hit, and the tools of all hits of its family.
type Key<'a> = (&'a PartId, u8, Tools<'a>);

pub(super) fn check(case: &Case, out: &mut Vec<Violation>) {
    let mut seen: BTreeMap<Key, Contact> = BTreeMap::new();
    for run in &case.runs {
        let Some(brake) = run.brake else { continue };
        for family in FAMILIES {
            let strip = Strip::of(run, family, case.shop.rules.k_factor);
            // A strip whose folds overlap has no outline; that is told where collisions are.
            let Some(strip) = strip.filter(|strip| at_least(strip.shortest_flat(), 0.0)) else {
                continue;
            };
            let tools = strip.tools(run);
            for made in hits_in(run, family) {
                let Some(now) = strip.place(made.bend.number) else {
                    continue;
                };
                let contact = seen
                    .entry((run.part_id(), made.bend.number, tools.clone()))
                    .or_insert_with(|| Contact::of(&strip, now, zero_at_gauge(made.bend.edge)));
                check_hit(case, run, brake, made, contact, out);
            }
        }
    }
}

fn check_hit(
    case: &Case,
    run: &RunCase,
    brake: &Brake,
    made: &Made,
    contact: &Contact,
    out: &mut Vec<Violation>,
) {
    let mut tell = |rule: &Rule, text: String| {
        let text = format!("{}: {text}", made.name());
        broken(out, rule, &run.run.name, text);
    };
    let (stop, stated) = (case.shop.rules.stop_height, made.used.r.mm());
    let Some(worked_out) = contact.height(stop.mm()) else {
        tell(&NOTHING, "the stop has nothing to meet".to_owned());
        return;
    };
    let mut height = stated;
    if !contact.allows(stated, stop.mm()) {
        let text = format!(
            "gauge R {stated} mm stated, {worked_out:.3} mm worked out for a stop of {stop} mm"
        );
        tell(&STATED, text);
        height = worked_out;
    }
    // At no height the stop stands where it always does, however thick the sheet.
    if height.abs() <= ROUNDING {
        return;
    }
    match fitted(case, brake.gauge.r) {
        None => tell(&R, format!("height {height:.3} mm, no R axis fitted")),
        Some(axis) if !inside(axis, height) => {
            let text = format!(
                "height {height:.3} mm, axis {} to {} mm",
                axis.from, axis.to
            );
            tell(&R, text);
        }
        Some(_) => {}
    }
}

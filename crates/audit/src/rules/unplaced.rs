//! Orders without a place, and whether the reasons given are reasons.

use super::{Rule, broken};
use crate::case::Case;
use model::{Limit, Refusal, Unplaced, Violation};
use std::cmp::Ordering;

pub(super) const ENTRY: Rule = (
    "A189",
    "unplaced-entry",
    "an unplaced entry names no order of the shop, or no pieces",
);
pub(super) const BRAKES: Rule = (
    "A190",
    "refusal-missing",
    "an unplaced order lacks a reason for some brake of the shop",
);
pub(super) const NUMBERS: Rule = (
    "A191",
    "refusal-does-not-refuse",
    "a refusal's needed number does not break the available one",
);
pub(super) const BLANKS: Rule = (
    "A192",
    "blanks-not-named",
    "pieces without blanks are not refused for the blanks limit",
);

pub(super) fn check(case: &Case, out: &mut Vec<Violation>) {
    for entry in &case.plan.unplaced {
        let at = entry.order.as_str();
        if !case.lookup.orders.contains_key(&entry.order) {
            broken(out, &ENTRY, at, format!("no order {at} in the shop"));
        }
        if entry.quantity == 0 {
            broken(out, &ENTRY, at, "no pieces are unplaced".to_owned());
        }
        check_brakes(case, entry, out);
        for refusal in entry.refusals.iter().filter(|refusal| !refuses(refusal)) {
            let text = format!(
                "{} by {:?}: needed {} {}, available {}",
                refusal.brake, refusal.limit, refusal.needed, refusal.unit, refusal.available
            );
            broken(out, &NUMBERS, at, text);
        }
    }
    for (order, shares) in case
        .shares
        .iter()
        .filter(|(_, shares)| shares.without_blanks > 0)
    {
        let mut entries = case
            .plan
            .unplaced
            .iter()
            .filter(|entry| entry.order == **order);
        if !entries.any(|entry| entry.refusals.iter().any(|r| r.limit == Limit::Blanks)) {
            let text = format!("{} pieces have no blanks", shares.without_blanks);
            broken(out, &BLANKS, order.as_str(), text);
        }
    }
}

fn check_brakes(case: &Case, entry: &Unplaced, out: &mut Vec<Violation>) {
    let at = entry.order.as_str();
    for brake in &case.shop.brakes {
        if !entry
            .refusals
            .iter()
            .any(|refusal| refusal.brake == brake.id)
        {
            broken(out, &BRAKES, at, format!("no reason for {}", brake.id));
        }
    }
    for refusal in &entry.refusals {
        if !case.lookup.brakes.contains_key(&refusal.brake) {
            broken(
                out,
                &BRAKES,
                at,
                format!("a reason for {}, not in the shop", refusal.brake),
            );
        }
    }
}

/// Which way the needed number of a limit breaks the available one.
enum Breaks {
    /// Nothing is counted.
    Nothing,
    /// By being more.
    More,
    /// By being either more or less: a range, or a tolerance seen from either side.
    Either,
}

fn breaks(limit: Limit) -> Breaks {
    match limit {
        Limit::Pinned
        | Limit::Proven
        | Limit::Mount
        | Limit::Flattening
        | Limit::Predecessor => Breaks::Nothing,
        Limit::GaugeX
        | Limit::GaugeR
        | Limit::VOpening
        | Limit::Flange
        | Limit::Radius
        | Limit::Stroke
        | Limit::ToolAngle
        | Limit::AngleAccuracy
        // A V may lie beyond either end of the shop's own deductions.
        | Limit::Developed
        | Limit::Sections => Breaks::Either,
        Limit::Force
        | Limit::LineLoad
        | Limit::OffCentre
        | Limit::BedLength
        | Limit::Throat
        | Limit::Daylight
        | Limit::GaugeX1X2
        | Limit::Fingers
        | Limit::Relief
        | Limit::Collision
        | Limit::Mass
        | Limit::Crew
        | Limit::Blanks
        | Limit::Horizon => Breaks::More,
    }
}

fn refuses(refusal: &Refusal) -> bool {
    let (needed, available) = (refusal.needed, refusal.available);
    if refusal.unit.is_empty() {
        return true;
    }
    match breaks(refusal.limit) {
        Breaks::Nothing => true,
        Breaks::More => needed > available,
        // Two equal numbers refuse nothing, nor does a number that is not one.
        Breaks::Either => needed.partial_cmp(&available).is_some_and(Ordering::is_ne),
    }
}

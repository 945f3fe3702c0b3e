//! What a plan costs once the audit has accepted it.

use model::{Plan, Shop};
use schedule::Problem;
use search::Sequences;

/// A plan that does not count.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum Untrue {
    /// The audit refuses it.
    #[error("the audit refuses the plan: {0}")]
    Refused(String),
    /// Its figures add up to another cost.
    #[error("the search says {said}, the plan's totals {found}")]
    OtherCost {
        /// The search's cost.
        said: i64,
        /// By the totals.
        found: i64,
    },
    /// The shop does not say when it is.
    #[error("the shop has no moment to plan from")]
    NoMoment,
}

/// Writes an answer down as a plan, has it judged and adds its cost up anew.
///
/// # Errors
/// [`Untrue`] when the plan is refused or costs something else.
pub fn cost(problem: &Problem<'_>, answer: &Sequences, said: i64) -> Result<i64, Untrue> {
    let plan = schedule::lift(problem, &mut search::Problem::scratch(problem), answer);
    let verdict = audit::judge(problem.shop, &plan);
    if let Some(violation) = verdict.violations.first() {
        return Err(Untrue::Refused(format!("{violation:?}")));
    }
    let found = added_up(problem.shop, &plan);
    if found == said {
        Ok(found)
    } else {
        Err(Untrue::OtherCost { said, found })
    }
}

/// The objective by docs/rules.md section 7, from the totals and the list of orders without a place.
fn added_up(shop: &Shop, plan: &Plan) -> i64 {
    let (rules, totals) = (&shop.rules, &plan.totals);
    // Pieces without a place cost their share of the order, rounded up.
    let unplaced = plan.unplaced.iter().filter_map(|unplaced| {
        let order = shop
            .orders
            .iter()
            .find(|order| order.id == unplaced.order)?;
        let whole = i64::from(order.weight) * i64::from(rules.unplaced_minutes) * 3_600;
        let left = i128::from(shop.pieces_left(order).max(1));
        let share = (i128::from(whole) * i128::from(unplaced.quantity) + left - 1) / left;
        i64::try_from(share).ok()
    });
    60 * totals.changeover.0
        + totals.weighted_late.0 * i64::from(rules.late_hour_minutes)
        + totals.overtime.0 * 6 * i64::from(rules.overtime_tenths)
        + i64::from(totals.other_brakes) * i64::from(rules.other_brake_minutes) * 3_600
        + totals.moved.0 * i64::from(rules.moved_hour_minutes)
        + unplaced.sum::<i64>()
}

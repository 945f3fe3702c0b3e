//! The plan's totals beside both plain ways of planning.

use super::table::{Side, table};
use model::{Limit, Plan, Refusal, Shop, Totals};
use std::fmt::Write as _;
use units::Seconds;

/// The objective counts 3 600 to the changeover minute (docs/rules.md, part 7).
const PER_MINUTE: i64 = 3_600;

/// An objective in whole changeover minutes.
pub(crate) fn minutes_of(objective: i64) -> i64 {
    (objective + PER_MINUTE / 2).div_euclid(PER_MINUTE)
}

/// The table, what it proves, and who has checked it.
pub(crate) fn as_text(plan: &Plan, shop: &Shop, width: usize) -> String {
    let (totals, base) = (&plan.totals, &plan.baselines);
    let mut out = String::from("Totals of the whole plan, beside two plain ways of planning\n");
    // Without an earlier plan nobody is disturbed.
    let disturbance = DISTURBANCE.iter().filter(|_| !plan.told.is_empty());
    let rows: Vec<Vec<String>> = TERMS
        .iter()
        .chain(disturbance)
        .chain([&OBJECTIVE])
        .map(|term| {
            let (ours, by_due, by_die) = (
                (term.value)(totals),
                (term.value)(&base.due_date_order),
                (term.value)(&base.grouped_by_die),
            );
            vec![
                term.name.to_owned(),
                (term.say)(ours),
                (term.say)(by_due),
                (term.say)(by_die),
                less(ours, by_due, term.say),
                less(ours, by_die, term.say),
            ]
        })
        .collect();
    let columns = [
        ("", Side::Left),
        ("this plan", Side::Right),
        ("by due date", Side::Right),
        ("by die", Side::Right),
        ("less than by due date", Side::Right),
        ("less than by die", Side::Right),
    ];
    out.push_str(&table(&columns, &rows, width));
    out.push_str(
        "By due date: orders by due time, each where it ends first. By die: orders due within three \
         days\ntogether, grouped by die. Both keep the same rules.\n",
    );
    out.push_str(&bound_line(plan, shop));
    let _ = writeln!(
        out,
        "{}\n{} search steps from seed {}.",
        if plan.verified {
            "The audit, which shares no code with the planner, accepts this plan and both others."
        } else {
            "Not checked by the audit."
        },
        plan.iterations,
        plan.seed
    );
    out
}

/// The bound, and how much of the plan's cost could still be saved. Orders no brake can take cost the
/// same in every plan: they are taken out of both first, or the bound would look better than it is.
fn bound_line(plan: &Plan, shop: &Shop) -> String {
    let Some(bound) = plan.bound.objective else {
        return "No useful lower bound is known for this plan.\n".to_owned();
    };
    let fixed = without_a_brake(plan, shop).min(bound);
    let rest = plan.totals.objective - fixed;
    let of_it = if fixed > 0 {
        format!(
            ", {} of them for orders no brake can take",
            grouped(minutes_of(fixed))
        )
    } else {
        String::new()
    };
    format!(
        "No plan can cost less than {} minutes (lower bound){of_it}.\nOf the other {} minutes of this \
         plan at most {} can be saved.\n",
        grouped(minutes_of(bound)),
        grouped(minutes_of(rest)),
        share(plan.totals.objective - bound, rest),
    )
}

/// Price of the orders that are not merely out of time.
fn without_a_brake(plan: &Plan, shop: &Shop) -> i64 {
    let out_of_time = |refusal: &Refusal| refusal.limit == Limit::Horizon;
    plan.unplaced
        .iter()
        .filter(|unplaced| !unplaced.refusals.iter().any(out_of_time))
        .filter_map(|unplaced| {
            let order = shop.order(&unplaced.order)?;
            let whole = i128::from(order.weight) * i128::from(shop.rules.unplaced_minutes) * 3_600;
            let left = i128::from(shop.pieces_left(order).max(1));
            i64::try_from(whole * i128::from(unplaced.quantity) / left).ok()
        })
        .sum()
}

/// One line of the table.
struct Term {
    name: &'static str,
    value: fn(&Totals) -> i64,
    say: fn(i64) -> String,
}

const TERMS: &[Term] = &[
    Term {
        name: "runs",
        value: |totals| i64::from(totals.runs),
        say: plain,
    },
    Term {
        name: "changeovers with tools moved",
        value: |totals| i64::from(totals.changeovers),
        say: plain,
    },
    Term {
        name: "hours of changeover work",
        value: |totals| totals.changeover.0,
        say: hours,
    },
    Term {
        name: "late orders",
        value: |totals| i64::from(totals.late_orders),
        say: plain,
    },
    Term {
        name: "late hours, weighted",
        value: |totals| totals.weighted_late.0,
        say: hours,
    },
    Term {
        name: "hours in overtime",
        value: |totals| totals.overtime.0,
        say: hours,
    },
    Term {
        name: "orders without a place",
        value: |totals| i64::from(totals.unplaced_orders),
        say: plain,
    },
];

/// How far a plan is from what an earlier one has told people.
const DISTURBANCE: &[Term] = &[
    Term {
        name: "hours off the starts people know",
        value: |totals| totals.moved.0,
        say: hours,
    },
    Term {
        name: "on another brake than people know",
        value: |totals| i64::from(totals.other_brakes),
        say: plain,
    },
];

const OBJECTIVE: Term = Term {
    name: "objective, changeover minutes",
    value: |totals| totals.objective,
    say: |objective| grouped(minutes_of(objective)),
};

fn plain(number: i64) -> String {
    number.to_string()
}

/// Thousands apart: `108 679`.
pub(super) fn grouped(number: i64) -> String {
    let digits = number.unsigned_abs().to_string();
    let mut out = String::from(if number < 0 { "-" } else { "" });
    for (index, digit) in digits.chars().enumerate() {
        if index > 0 && (digits.len() - index).is_multiple_of(3) {
            out.push(' ');
        }
        out.push(digit);
    }
    out
}

fn hours(seconds: i64) -> String {
    format!("{:.1}", Seconds(seconds).hours())
}

/// How much less, with its share; `+` in front when it is more.
fn less(ours: i64, other: i64, say: fn(i64) -> String) -> String {
    match other - ours {
        0 => "same".to_owned(),
        saved if saved > 0 => format!("{} ({})", say(saved), share(saved, other)),
        saved => format!("+{} more", say(-saved)),
    }
}

#[allow(clippy::cast_precision_loss)] // a share for people
fn share(part: i64, whole: i64) -> String {
    if whole == 0 {
        return "0 %".to_owned();
    }
    format!("{:.0} %", 100.0 * part as f64 / whole as f64)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn savings_are_said_with_their_share() {
        assert_eq!(less(60, 80, plain), "20 (25 %)");
        assert_eq!(less(80, 60, plain), "+20 more");
        assert_eq!(less(8, 8, plain), "same");
        assert_eq!(less(3_600, 9_000, hours), "1.5 (60 %)");
        assert_eq!(minutes_of(342_000), 95);
        assert_eq!(grouped(1_108_679), "1 108 679");
        assert_eq!(grouped(-679), "-679");
    }
}

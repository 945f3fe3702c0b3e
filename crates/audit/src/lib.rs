//! The judge: says of a plan every rule of docs/rules.md that it breaks.
//!
//! It reads the shop and the plan, believes no derived number in the plan, and works each one out
//! again: forces, radii and gauge positions of every bend, the part as bent so far against the
//! outlines of its tools, the beds by replaying all changes from
//! the floor, steps and their times, cycle times, hours, lateness and totals. One rule of the page
//! is one file under `rules/`; the files beside it are the few derivations that several rules need.
//!
//! A verdict is about the figures in the shop's files. It does not replace the machine's manual,
//! the tool maker's load ratings, local codes and licensed practice.
//!
//! Invariant: sees `units` and `model` only. It shares no formula, calendar or bed code with the
//! crates that make plans, so that one mistake cannot be made and approved in one place. No I/O, no
//! clock, no randomness, and no plan, however malformed, makes it panic.

mod bed;
mod bent;
mod case;
mod change;
mod clock;
mod contact;
mod cycle;
mod deductions;
mod family;
mod hit;
mod hours;
mod jobs;
mod lookup;
mod made;
mod mechanics;
mod numbers;
mod outline;
mod proven;
mod replay;
mod rules;
mod shares;

use model::{Plan, Shop, Verdict, Violation};
use std::sync::atomic::{AtomicUsize, Ordering};

pub use rules::{RULES, Rule};

/// Judges a plan against the shop it was made for. All violations are collected, in plan order:
/// the plan as a whole, then brake by brake with its takedowns and runs, then orders and the rest.
///
/// # Example
/// ```
/// # fn example(shop: &model::Shop, plan: &model::Plan) {
/// let verdict = audit::judge(shop, plan);
/// for violation in &verdict.violations {
///     assert!(audit::RULES.iter().any(|rule| rule.0 == violation.code));
/// }
/// # }
/// ```
#[must_use]
pub fn judge(shop: &Shop, plan: &Plan) -> Verdict {
    judge_with(shop, plan, None, 1)
}

/// Judges a plan against the shop it was made for and against the plan that people went by before it:
/// also what that one has told them and froze.
#[must_use]
pub fn judge_after(shop: &Shop, plan: &Plan, before: &Plan) -> Verdict {
    judge_with(shop, plan, Some(before), 1)
}

/// [`judge`] or [`judge_after`], the rules spread over threads, which have no influence on the verdict.
#[must_use]
pub fn judge_with(shop: &Shop, plan: &Plan, before: Option<&Plan>, threads: usize) -> Verdict {
    let case = case::Case::open(shop, plan, before);
    let next = AtomicUsize::new(0);
    let look = || {
        let mut found = Vec::new();
        loop {
            let index = next.fetch_add(1, Ordering::Relaxed);
            let Some(check) = rules::CHECKS.get(index) else {
                return found;
            };
            let mut violations = Vec::new();
            check(&case, &mut violations);
            found.push((index, violations));
        }
    };
    let mut found = std::thread::scope(|scope| {
        let others: Vec<_> = (1..threads).map(|_| scope.spawn(look)).collect();
        let mut found = look();
        for other in others {
            match other.join() {
                Ok(more) => found.extend(more),
                Err(panic) => std::panic::resume_unwind(panic),
            }
        }
        found
    });
    found.sort_by_key(|&(index, _)| index);
    let mut violations: Vec<Violation> = found.into_iter().flat_map(|(_, one)| one).collect();
    case.sort_in_plan_order(&mut violations);
    Verdict { violations }
}

//! One thing made wrong at a time: the judge must name the rule, and none that still holds.

mod beds;
mod bends;
mod moves;
mod orders;
mod time;

use crate::plan::plan;
use crate::shop::shop;
use model::{Plan, Shop};
use std::collections::BTreeSet;

/// A corruption and the names of the rules it breaks: all of them and no other, the one aimed at
/// first.
struct Corruption {
    what: &'static str,
    breaks: &'static [&'static str],
    corrupt: fn(&mut Shop, &mut Plan),
}

const fn corruption(
    what: &'static str,
    breaks: &'static [&'static str],
    corrupt: fn(&mut Shop, &mut Plan),
) -> Corruption {
    Corruption {
        what,
        breaks,
        corrupt,
    }
}

fn all() -> impl Iterator<Item = &'static Corruption> {
    [
        orders::CORRUPTIONS,
        bends::CORRUPTIONS,
        beds::CORRUPTIONS,
        moves::CORRUPTIONS,
        time::CORRUPTIONS,
    ]
    .into_iter()
    .flatten()
}

#[test]
fn every_corruption_is_told_as_what_it_is() {
    let mut wrong = Vec::new();
    for case in all() {
        let (mut shop, mut plan) = (shop(), plan());
        (case.corrupt)(&mut shop, &mut plan);
        let verdict = audit::judge(&shop, &plan);
        let by_three = audit::judge_with(&shop, &plan, None, 3);
        assert_eq!(
            by_three.violations, verdict.violations,
            "threads decide nothing"
        );
        let found: BTreeSet<&str> = verdict.violations.iter().map(|v| v.rule).collect();
        let expected: BTreeSet<&str> = case.breaks.iter().copied().collect();
        if found != expected {
            let (what, violations) = (case.what, &verdict.violations);
            wrong.push(format!(
                "{what}: {found:?} is not {expected:?}: {violations:#?}"
            ));
        }
        for violation in &verdict.violations {
            let named = audit::RULES
                .iter()
                .any(|r| r.0 == violation.code && r.1 == violation.rule);
            assert!(named, "{violation:?} is not in the catalogue");
            assert!(!violation.at.is_empty() && !violation.text.is_empty());
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn every_rule_is_aimed_at_by_a_corruption() {
    let aimed: BTreeSet<&str> = all()
        .filter_map(|case| case.breaks.first().copied())
        .chain(crate::earlier::AIMED_AT)
        .collect();
    let rules: BTreeSet<&str> = audit::RULES.iter().map(|rule| rule.1).collect();
    assert_eq!(aimed, rules);
}

#[test]
fn codes_and_names_are_unique_and_in_order() {
    let codes: Vec<&str> = audit::RULES.iter().map(|rule| rule.0).collect();
    assert!(codes.is_sorted_by(|a, b| a < b), "{codes:?}");
    let names: BTreeSet<&str> = audit::RULES.iter().map(|rule| rule.1).collect();
    assert_eq!(names.len(), codes.len());
    for (code, name, meaning) in audit::RULES {
        let number = code.strip_prefix('A').and_then(|n| n.parse::<u16>().ok());
        assert!(number.is_some_and(|n| (100..1_000).contains(&n)), "{code}");
        let kebab = |c: char| c.is_ascii_lowercase() || c.is_ascii_digit() || c == '-';
        assert!(name.chars().all(kebab), "{name}");
        assert!(!meaning.is_empty() && !meaning.contains('\n'), "{code}");
    }
}

#[test]
fn the_page_of_codes_lists_every_rule() {
    let page = concat!(env!("CARGO_MANIFEST_DIR"), "/../../docs/reference/codes.md");
    let page = std::fs::read_to_string(page).unwrap();
    for (code, name, meaning) in audit::RULES {
        let row = format!("| {code} | `{name}` | {meaning} |");
        assert!(page.contains(&row), "codes.md lacks the row {row}");
    }
}

#[test]
fn violations_come_in_plan_order() {
    let (shop, mut plan) = (shop(), plan());
    plan.totals.runs += 1;
    plan.brakes[1].runs[0].run_time.0 += 1;
    plan.brakes[0].runs[1].run_time.0 += 1;
    plan.brakes[0].runs[0].bends[0]
        .x
        .clone_from(&units::Length::ZERO);
    plan.unplaced[0].refusals.clear();
    let verdict = audit::judge(&shop, &plan);
    let mut places: Vec<&str> = verdict.violations.iter().map(|v| v.at.as_str()).collect();
    places.dedup();
    assert_eq!(places, ["plan", "B1-01", "B1-02", "B2-01", "O5"]);
}

//! Changes of a shop, ranked by what they save.

use super::clock::Clock;
use super::table::{Side, table, wrapped};
use super::{CAUTION, INVENTED, counted};
use model::{Shop, Totals};
use prospects::{SEEDS_LEAST, Told, by_chance};
use std::fmt::Write as _;
use workshop::{Tried, WhatIf, WhatIfAsk};

/// The objective counts 3 600 to the changeover minute (docs/rules.md, part 7).
const PER_MINUTE: f64 = 3_600.0;

/// What is shown.
pub(crate) struct Page<'a> {
    /// The shop as it is.
    pub(crate) shop: &'a Shop,
    /// The answer.
    pub(crate) answer: &'a WhatIf,
    /// What was asked.
    pub(crate) ask: &'a WhatIfAsk,
    /// Whether the shop is made up.
    pub(crate) invented: bool,
    /// Columns.
    pub(crate) width: usize,
}

impl Page<'_> {
    pub(super) fn clock(&self) -> Clock {
        Clock::new(self.shop.zone)
    }
}

/// What the pairs say, in words.
pub(super) fn told_words(told: Told) -> &'static str {
    match told {
        Told::Saves => "saves",
        Told::NotToldApart => "not told apart from chance",
        Told::Same => "no difference",
        Told::Costs => "costs",
    }
}

/// The whole answer.
pub(crate) fn as_text(page: &Page<'_>) -> String {
    let answer = page.answer;
    let mut out = headline(page);
    if answer.tried.is_empty() {
        out.push_str("\nNothing could be compared.\n");
    } else {
        out.push_str(&ranking(page));
        out.push_str(&reasons(page));
    }
    out.push_str(&basis(page));
    out.push('\n');
    out.push_str(CAUTION);
    out
}

fn headline(page: &Page<'_>) -> String {
    let mut out = format!(
        "Which change pays: the same weeks planned anew with one change at a time\n{}, from {} ({}), {} days\n",
        page.shop.name,
        page.clock().long(page.ask.from),
        page.shop.zone,
        page.shop.rules.horizon_days
    );
    if page.invented {
        out.push_str(INVENTED);
    }
    if !page.answer.complete {
        out.push_str("Partial: it was interrupted.\n");
    }
    let trials = &page.answer.unchanged;
    if let Some((least, greatest)) = ends(trials) {
        let mean = |of: fn(&Totals) -> i64| mean(trials, of);
        let text = format!(
            "As it is: {:.0} min of cost on the mean ({:.0} to {:.0}), in it {:.0} min of changeovers, {:.1} h \
             of overtime and {:.1} weighted hours late; {:.1} orders late, {:.1} without a place\n",
            mean(|totals| totals.objective) / PER_MINUTE,
            minutes(least),
            minutes(greatest),
            mean(|totals| totals.changeover.0) / 60.0,
            mean(|totals| totals.overtime.0) / 3_600.0,
            mean(|totals| totals.weighted_late.0) / 3_600.0,
            mean(|totals| i64::from(totals.late_orders)),
            mean(|totals| i64::from(totals.unplaced_orders)),
        );
        out.push_str(&wrapped(&text, 2, page.width));
    }
    out
}

fn ends(trials: &[(u64, Totals)]) -> Option<(i64, i64)> {
    let objectives = || trials.iter().map(|(_, totals)| totals.objective);
    Some((objectives().min()?, objectives().max()?))
}

/// Rounding is for the eye alone; the JSON has whole seconds.
#[allow(clippy::cast_precision_loss)]
fn minutes(objective: i64) -> f64 {
    objective as f64 / PER_MINUTE
}

#[allow(clippy::cast_precision_loss)]
fn mean(trials: &[(u64, Totals)], of: fn(&Totals) -> i64) -> f64 {
    let sum: f64 = trials.iter().map(|(_, totals)| of(totals) as f64).sum();
    sum / trials.len().max(1) as f64
}

fn ranking(page: &Page<'_>) -> String {
    let tried = &page.answer.tried;
    // Most changes place nothing that had no place before.
    let spreads = tried.iter().map(|one| one.comparison.unplaced_orders);
    let placing = spreads.map(|spread| (spread.least, spread.greatest));
    let placing = placing.into_iter().any(|ends| ends != (0, 0));
    let rows = tried.iter().enumerate();
    let rows: Vec<Vec<String>> = rows
        .map(|(index, one)| row(index + 1, one, page, placing))
        .collect();
    let mut columns = vec![
        ("", Side::Right),
        ("change", Side::Left),
        ("saves min", Side::Right),
        ("least", Side::Right),
        ("most", Side::Right),
        ("change min", Side::Right),
        ("late h", Side::Right),
        ("late orders", Side::Right),
    ];
    if placing {
        columns.push(("placed", Side::Right));
    }
    columns.push(("verdict", Side::Left));
    format!("\n{}", table(&columns, &rows, page.width))
}

fn row(place: usize, one: &Tried, page: &Page<'_>, placing: bool) -> Vec<String> {
    let found = &one.comparison;
    let mut row = vec![
        place.to_string(),
        one.candidate.change.to_string(),
        whole(found.objective.mean / PER_MINUTE, 0),
        whole(minutes(found.objective.least), 0),
        whole(minutes(found.objective.greatest), 0),
        whole(found.changeover.mean / 60.0, 0),
        whole(found.late.mean / 3_600.0, 1),
        whole(found.late_orders.mean, 1),
    ];
    if placing {
        row.push(whole(found.unplaced_orders.mean, 1));
    }
    let words = told_words(found.told);
    row.push(if found.seeds == page.answer.unchanged.len() {
        words.to_owned()
    } else {
        let seeds = counted(found.seeds, "seed", "seeds");
        format!("{words}; partial, {seeds}")
    });
    row
}

/// Without a sign before what rounds to nothing.
fn whole(number: f64, decimals: usize) -> String {
    let text = format!("{number:.decimals$}");
    if text.chars().all(|c| "-0.".contains(c)) {
        text.trim_start_matches('-').to_owned()
    } else {
        text
    }
}

fn reasons(page: &Page<'_>) -> String {
    let asked = |one: &Tried| page.ask.changes.contains(&one.candidate);
    if page.answer.tried.iter().all(asked) {
        return String::new();
    }
    let mut out = String::from("\nWhy they were tried\n");
    for (index, one) in page.answer.tried.iter().enumerate() {
        let line = format!(
            "{:>3} {}: {}\n",
            index + 1,
            one.candidate.change,
            one.candidate.reason
        );
        out.push_str(&wrapped(&line, 4, page.width));
    }
    out
}

fn basis(page: &Page<'_>) -> String {
    let answer = page.answer;
    let mut text = format!(
        "{} of each shop, seeds from {}: {} steps as it is, then {} more as it is and with each change, \
         held against each other seed by seed. The audit accepts every plan counted; one that \
         both shops can run counts for both. Saved is what is made least (changeovers, lateness, \
         overtime, orders without a place), in changeover minutes over the whole plan. Parts of it, \
         on the mean: minutes of changeovers, weighted late hours, late orders, orders with a place. A \
         minus is a cost. Money plays no part.",
        counted(page.ask.seeds as usize, "plan", "plans"),
        page.ask.seed,
        page.ask.iterations,
        page.ask.further,
    );
    let seeds = answer.unchanged.len();
    if seeds < SEEDS_LEAST {
        let _ = write!(
            text,
            " With fewer than {SEEDS_LEAST} seeds nothing is told apart from chance."
        );
    } else {
        let _ = write!(
            text,
            " A change saves when all its seeds do; of {} that did nothing, chance alone would make {:.2} look so.",
            counted(answer.tried.len(), "change", "changes"),
            by_chance(answer.tried.len(), seeds)
        );
    }
    text.push('\n');
    if !answer.left.is_empty() {
        let names = answer.left.iter().map(|one| one.change.to_string());
        let _ = writeln!(
            text,
            "Not tried any more: {}.",
            names.collect::<Vec<_>>().join("; ")
        );
    }
    let lines = text
        .lines()
        .map(|line| wrapped(&format!("{line}\n"), 0, page.width));
    format!("\n{}", lines.collect::<String>())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_rounds_to_nothing_has_no_sign() {
        assert_eq!(whole(-0.4, 0), "0");
        assert_eq!(whole(-0.04, 1), "0.0");
        assert_eq!(whole(-1.25, 0), "-1");
        assert_eq!(whole(12.34, 1), "12.3");
    }
}

//! Who plans: our search, plain rivals on the same evaluation, baselines, and our search with one
//! of its means taken away.

use super::judged::{self, Untrue};
use crate::clock::{Clock, Limit};
use crate::rivals::{annealing, iterated};
use clap::ValueEnum;
use model::Shop;
use schedule::{Means, Problem};
use search::{Effort, Move, Sequences};
use std::time::Duration;
use tooling::Keep;

/// One way of planning.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum Planner {
    /// Ours: the cheapest start, graph-guided moves, stretches.
    Ours,
    /// Plain simulated annealing from due-date order.
    AnnealingDue,
    /// Plain simulated annealing from our start.
    AnnealingStart,
    /// Plain iterated local search from due-date order.
    IteratedDue,
    /// Plain iterated local search from our start.
    IteratedStart,
    /// Our start alone.
    Start,
    /// Orders by due time.
    DueDate,
    /// Orders due together, by die.
    ByDie,
    /// Ours, beds keeping the tools needed soonest.
    NeededSoonest,
    /// Ours without the similarity graph.
    NoGraph,
    /// Ours without looking ahead.
    Blind,
}

impl Planner {
    /// What it is called in tables.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Planner::Ours => "ours",
            Planner::AnnealingDue => "annealing from due dates",
            Planner::AnnealingStart => "annealing from our start",
            Planner::IteratedDue => "iterated from due dates",
            Planner::IteratedStart => "iterated from our start",
            Planner::Start => "our start alone",
            Planner::DueDate => "due-date order",
            Planner::ByDie => "by die",
            Planner::NeededSoonest => "ours, keep tool needed soonest",
            Planner::NoGraph => "ours without the graph",
            Planner::Blind => "ours without look-ahead",
        }
    }

    /// Whether another seed gives another plan.
    #[must_use]
    pub fn has_chance(self) -> bool {
        !matches!(self, Planner::Start | Planner::DueDate | Planner::ByDie)
    }

    fn means(self) -> Means {
        let keep = match self {
            Planner::NeededSoonest => Keep::NeededSoonest,
            Planner::Blind => Keep::Blind,
            _ => Keep::Serving,
        };
        Means {
            graph: self != Planner::NoGraph,
            keep,
            ..Means::default()
        }
    }
}

/// A plan's cost, in sixtieths of a changeover second, and the search's steps, 0 for those that do
/// not count them.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Planned {
    /// Cost.
    pub cost: i64,
    /// Steps.
    pub steps: u64,
}

/// Plans a shop within a time of one core, compiling and first answers included; the plan counts
/// once the audit has accepted it.
///
/// # Errors
/// [`Untrue`] when it does not.
pub fn plan(shop: &Shop, planner: Planner, seed: u64, time: Duration) -> Result<Planned, Untrue> {
    let limit = Limit::new(Clock::start(), time);
    let from = shop.as_of.ok_or(Untrue::NoMoment)?;
    let (problem, _) = schedule::compile_with(shop, from, planner.means());
    let (answer, said, steps) = search_with(&problem, planner, seed, limit);
    let cost = judged::cost(&problem, &answer, said)?;
    Ok(Planned { cost, steps })
}

/// Plans like [`Planner::Ours`], with another effort.
///
/// # Errors
/// [`Untrue`] when the audit refuses the plan.
pub fn plan_with(shop: &Shop, effort: Effort, time: Duration) -> Result<Planned, Untrue> {
    let mut limit = Limit::new(Clock::start(), time);
    let from = shop.as_of.ok_or(Untrue::NoMoment)?;
    let (problem, _) = schedule::compile(shop, from);
    let start = schedule::begin(&problem, None, 1).start;
    let outcome = search::solve(&problem, start, effort, &mut limit, &mut ());
    let cost = judged::cost(&problem, &outcome.best, outcome.cost)?;
    let steps = outcome.steps;
    Ok(Planned { cost, steps })
}

fn search_with(
    problem: &Problem<'_>,
    planner: Planner,
    seed: u64,
    mut limit: Limit,
) -> (Sequences, i64, u64) {
    let mut scratch = search::Problem::scratch(problem);
    let by_due = schedule::due_date_order(problem, &mut scratch);
    let start = || schedule::begin(problem, None, 1).start;
    let found = |(answer, cost)| (answer, cost, 0);
    match planner {
        Planner::AnnealingDue => found(annealing(problem, by_due, seed, limit)),
        Planner::AnnealingStart => found(annealing(problem, start(), seed, limit)),
        Planner::IteratedDue => found(iterated(problem, by_due, seed, limit)),
        Planner::IteratedStart => found(iterated(problem, start(), seed, limit)),
        Planner::Start => as_it_is(problem, start()),
        Planner::DueDate => as_it_is(problem, by_due),
        Planner::ByDie => {
            let by_die = schedule::grouped_by_die(problem, &mut scratch);
            as_it_is(problem, by_die)
        }
        Planner::Ours | Planner::NeededSoonest | Planner::NoGraph | Planner::Blind => {
            let mut effort = schedule::effort(seed, 1);
            if planner == Planner::NoGraph {
                effort.mix = effort.mix.without(Move::JoinAlike);
            }
            let outcome = search::solve(problem, start(), effort, &mut limit, &mut ());
            (outcome.best, outcome.cost, outcome.steps)
        }
    }
}

fn as_it_is(problem: &Problem<'_>, answer: Sequences) -> (Sequences, i64, u64) {
    use search::Problem as _;
    let cost = problem.cost(&mut problem.scratch(), &answer, i64::MAX);
    (answer, cost, 0)
}

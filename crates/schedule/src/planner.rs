//! From a shop to a plan.

use crate::bound::lower_bound;
use crate::carry_over::carry_over;
use crate::greedy::{due_date_order, grouped_by_die, starts};
use crate::lift::lift;
use crate::problem::{Problem, compile};
use crate::timing::{Scratch, time};
use crate::window::improve;
use model::{Baselines, Bound, Plan, Shop};
use search::{Effort, Progress, Sequences, Stop};
use units::{Finding, Moment};

/// Chains of the search side by side: as many as the smallest machine it is meant for has cores.
const CHAINS: usize = 2;

/// What is asked for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Ask {
    /// First moment planned.
    pub from: Moment,
    /// Number the generators start from.
    pub seed: u64,
    /// Threads the search is spread over; has no influence on the plan.
    pub threads: usize,
    /// Time limit that was asked for, for the record; the caller's stop keeps it.
    pub seconds: Option<u64>,
}

/// The plan, both baselines as plans, and findings about the floor.
#[derive(Debug)]
pub struct Planned {
    /// The plan.
    pub plan: Plan,
    /// Orders by due time, each where it ends first.
    pub due_date_order: Plan,
    /// Orders due within three days together, grouped by die.
    pub grouped_by_die: Plan,
    /// Findings about orders in progress.
    pub findings: Vec<Finding>,
}

/// Plans a shop, from the plan made before when there is one: its runs within the frozen span stay,
/// the others are where the search begins. Not yet judged: `Plan::verified` is false until the audit
/// has accepted it.
pub fn plan_day(
    shop: &Shop,
    ask: Ask,
    before: Option<&Plan>,
    stop: &mut dyn Stop,
    progress: &mut dyn Progress,
) -> Planned {
    let (mut problem, findings) = compile(shop, ask.from);
    let mut scratch = Scratch::default();
    let by_due = due_date_order(&problem, &mut scratch);
    let by_die = grouped_by_die(&problem, &mut scratch);
    let start = if let Some(before) = before {
        carry_over(&mut problem, &mut scratch, before)
    } else {
        let mut candidates = starts(&problem, &mut scratch);
        candidates.extend([by_due.clone(), by_die.clone()]);
        cheapest(&problem, &mut scratch, candidates)
    };
    let effort = Effort {
        chains: CHAINS,
        threads: ask.threads,
        ..Effort::single(ask.seed)
    };
    let outcome = improve(&problem, start, effort, stop, progress);
    let write = |sequences: &Sequences, scratch: &mut Scratch, steps: u64| {
        let mut plan = lift(&problem, scratch, sequences);
        plan.seed = ask.seed;
        plan.iterations = steps;
        plan.seconds = ask.seconds;
        plan.bound = Bound {
            objective: lower_bound(&problem),
        };
        plan
    };
    let mut plan = write(&outcome.best, &mut scratch, outcome.steps);
    let mut due_date_order = write(&by_due, &mut scratch, 0);
    let mut grouped_by_die = write(&by_die, &mut scratch, 0);
    let baselines = Baselines {
        due_date_order: due_date_order.totals,
        grouped_by_die: grouped_by_die.totals,
    };
    for plan in [&mut plan, &mut due_date_order, &mut grouped_by_die] {
        plan.baselines = baselines;
    }
    Planned {
        plan,
        due_date_order,
        grouped_by_die,
        findings,
    }
}

fn cheapest(problem: &Problem<'_>, scratch: &mut Scratch, candidates: Vec<Sequences>) -> Sequences {
    candidates
        .into_iter()
        .map(|sequences| {
            (
                time(problem, scratch, &sequences, i64::MAX, None),
                sequences,
            )
        })
        .min_by_key(|(cost, _)| *cost)
        .map(|(_, sequences)| sequences)
        .unwrap_or_else(|| Sequences::new(problem.shop.brakes.len()))
}

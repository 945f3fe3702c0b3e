//! From a shop to a plan.

use crate::bound::lower_bound;
use crate::carry_over::carry_over;
use crate::dispatch::{start, starts};
use crate::greedy::{due_date_order, grouped_by_die};
use crate::lift::lift;
use crate::problem::{Means, Problem, compile_with};
use crate::side_by_side::{both, side_by_side};
use crate::timing::{Scratch, time};
use crate::told::ToldOrders;
use model::{Baselines, Bound, Plan, Shop};
use search::{Effort, Progress, Sequences, Slot, Stop, solve};
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

/// A plan made before.
#[derive(Clone, Copy, Debug)]
pub struct Earlier<'a> {
    /// The plan.
    pub plan: &'a Plan,
    /// Whether people go by it: then its runs within the frozen span stay where they are and moving
    /// others is disturbance. If not it is only where the search begins.
    pub in_force: bool,
}

impl<'a> Earlier<'a> {
    /// A plan that people go by.
    #[must_use]
    pub fn in_force(plan: &'a Plan) -> Earlier<'a> {
        let in_force = true;
        Earlier { plan, in_force }
    }
}

/// Plans a shop, from the plan made before when there is one; see [`Earlier`]. Not yet judged:
/// `Plan::verified` is false until the audit has accepted it.
pub fn plan_day(
    shop: &Shop,
    ask: Ask,
    before: Option<Earlier<'_>>,
    stop: &mut dyn Stop,
    progress: &mut dyn Progress,
) -> Planned {
    let means = Means {
        threads: ask.threads,
        ..Means::default()
    };
    let (mut problem, findings) = compile_with(shop, ask.from, means);
    if let Some(Earlier {
        plan,
        in_force: true,
    }) = before
    {
        problem.told = ToldOrders::by(shop, ask.from, plan);
    }
    let Begun {
        by_due,
        by_die,
        start,
        pinned,
        fixed,
    } = begin(&problem, before, ask.threads);
    let written = |lines: &Sequences| lift(&problem, &mut Scratch::default(), lines);
    // These do not know the plan made before, nor what it froze.
    let (mut due_date_order, mut grouped_by_die) =
        both(ask.threads, || written(&by_due), || written(&by_die));
    (problem.pinned, problem.fixed) = (pinned, fixed);
    let effort = effort(ask.seed, ask.threads);
    let outcome = solve(&problem, start, effort, stop, progress);
    // The bound is as much work as writing the plan down.
    let (bound, mut plan) = both(
        ask.threads,
        || lower_bound(&problem, outcome.cost, ask.threads),
        || lift(&problem, &mut Scratch::default(), &outcome.best),
    );
    plan.iterations = outcome.steps;
    let baselines = Baselines {
        due_date_order: due_date_order.totals,
        grouped_by_die: grouped_by_die.totals,
    };
    for plan in [&mut plan, &mut due_date_order, &mut grouped_by_die] {
        plan.seed = ask.seed;
        plan.seconds = ask.seconds;
        plan.baselines = baselines;
        plan.bound = Bound { objective: bound };
    }
    Planned {
        plan,
        due_date_order,
        grouped_by_die,
        findings,
    }
}

/// Where a search begins that goes on from a plan made before, perhaps of a shop that was a little
/// different. Nothing is fixed but orders in progress and those with a place.
#[must_use]
pub fn carried(problem: &Problem<'_>, before: &Plan) -> Sequences {
    let draft = Earlier {
        plan: before,
        in_force: false,
    };
    carry_over(problem, &mut Scratch::default(), draft, None).lines
}

/// The effort a day is planned with.
#[must_use]
pub fn effort(seed: u64, threads: usize) -> Effort {
    Effort {
        chains: CHAINS,
        threads,
        ..Effort::single(seed)
    }
}

/// Where the search begins, and what it is compared with.
#[derive(Debug)]
pub struct Begun {
    /// Orders by due time, each where it ends first.
    pub by_due: Sequences,
    /// Orders due within three days together, grouped by die.
    pub by_die: Sequences,
    /// The plan made before, or else the cheapest of several starts and of the two above.
    pub start: Sequences,
    /// Runs that must stay first.
    pinned: Vec<Vec<Slot>>,
    /// How many of each brake's are in progress or frozen.
    fixed: Vec<usize>,
}

/// Makes both baselines and the start, side by side.
#[must_use]
pub fn begin(problem: &Problem<'_>, before: Option<Earlier<'_>>, threads: usize) -> Begun {
    let others = before.map_or_else(|| starts(problem), |_| 1);
    let mut ways = side_by_side(threads, 2 + others, |which| {
        let mut scratch = Scratch::default();
        let lines = match (which, before) {
            (0, _) => due_date_order(problem, &mut scratch),
            (1, _) => grouped_by_die(problem, &mut scratch),
            (_, Some(before)) => {
                let carried = carry_over(problem, &mut scratch, before, None);
                return (
                    i64::MIN,
                    carried.lines,
                    Some((carried.pinned, carried.fixed)),
                );
            }
            (which, None) => start(problem, &mut scratch, which - 2),
        };
        let cost = time(problem, &mut scratch, &lines, i64::MAX, None);
        (cost, lines, None)
    });
    let baseline = |which: usize| ways[which].1.clone();
    let (by_due, by_die) = (baseline(0), baseline(1));
    // What others are compared with is a start, too; the first of equals is taken.
    ways.rotate_left(2);
    let best = ways.into_iter().min_by_key(|(cost, ..)| *cost);
    let (start, carried) = best.map_or_else(
        || (by_due.clone(), None),
        |(_, lines, carried)| (lines, carried),
    );
    // Each start has chosen its own ways for the runs with a place.
    let (pinned, fixed) = carried.unwrap_or_else(|| {
        let lines = start.machines.iter().zip(&problem.pinned);
        let first = lines.map(|(line, pinned)| line[..pinned.len()].to_vec());
        (first.collect(), problem.fixed.clone())
    });
    Begun {
        by_due,
        by_die,
        start,
        pinned,
        fixed,
    }
}

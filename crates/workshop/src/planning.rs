//! Planning and judging.

use model::{Plan, Shop, Verdict};
use schedule::{Ask, Earlier, Planned, plan_day};
use search::{Progress, Stop};
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::{Duration, Instant};
use units::{Finding, Moment, Seconds, Window};

/// How long to search.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Budget {
    /// A fixed number of steps: the same plan every time.
    Steps(u64),
    /// As many steps as fit the seconds; the plan says how many those were.
    Seconds(u64),
    /// A number of steps, or as many as fit the seconds when that is fewer.
    Within {
        /// Steps at most.
        steps: u64,
        /// Seconds at most.
        seconds: u64,
    },
}

/// What is asked of the planner.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct PlanAsk {
    /// First moment planned.
    pub from: Moment,
    /// Number the generators start from.
    pub seed: u64,
    /// How long to search.
    pub budget: Budget,
}

/// A plan the judge has accepted.
#[derive(Debug)]
pub struct Made {
    /// The plan.
    pub plan: Plan,
    /// Orders by due time, each where it ends first; accepted as well.
    pub due_date_order: Plan,
    /// Orders due within three days together, grouped by die; accepted as well.
    pub grouped_by_die: Plan,
    /// What to know about the floor.
    pub findings: Vec<Finding>,
}

/// A plan the judge has rejected: a fault of this program, never of the shop's data.
#[derive(Debug, thiserror::Error)]
#[error("the {which} breaks {} rules of the audit, the first: {first}", verdict.violations.len())]
pub struct Rejected {
    /// Which plan.
    pub which: &'static str,
    /// The first violation in words.
    pub first: String,
    /// All of them.
    pub verdict: Verdict,
    /// The plan, for a fault report only.
    pub plan: Box<Plan>,
}

/// Watches a search from outside: told of better plans, asked whether to stop.
pub trait Watch {
    /// A better plan was found.
    fn better(&mut self, step: u64, cost: i64);
}

impl Watch for () {
    fn better(&mut self, _step: u64, _cost: i64) {}
}

/// Time between two looks at the clock and at the interrupt.
const LOOK_EVERY: Duration = Duration::from_millis(50);

/// Stops at the budget's end or when interrupted.
pub(crate) struct Until<'a> {
    pub(crate) budget: Budget,
    pub(crate) started: Instant,
    pub(crate) interrupt: &'a AtomicBool,
}

impl Stop for Until<'_> {
    fn now(&mut self, steps: u64) -> bool {
        self.interrupt.load(Ordering::Relaxed)
            || match self.budget {
                Budget::Steps(most) => steps >= most,
                Budget::Seconds(limit) => self.started.elapsed() >= Duration::from_secs(limit),
                Budget::Within {
                    steps: most,
                    seconds,
                } => steps >= most || self.started.elapsed() >= Duration::from_secs(seconds),
            }
    }

    /// As many steps as the pace so far makes in the time between two looks.
    fn at_most(&self, steps: u64) -> u64 {
        let elapsed = self.started.elapsed().as_millis().max(1);
        let pace = u128::from(steps.max(1)) * LOOK_EVERY.as_millis() / elapsed;
        let pace = u64::try_from(pace).unwrap_or(u64::MAX).max(1);
        match self.budget {
            Budget::Steps(most) | Budget::Within { steps: most, .. } => {
                pace.min(most - steps.min(most))
            }
            Budget::Seconds(_) => pace,
        }
    }
}

struct Told<'a>(&'a mut dyn Watch);

impl Progress for Told<'_> {
    fn better(&mut self, step: u64, cost: i64) {
        self.0.better(step, cost);
    }
}

/// Makes a plan and has it judged, and both baselines with it. The search begins from a plan made
/// before; when that is in force, its runs that begin within the shop's frozen span stay where they
/// are, and the judge looks at that as well.
/// `interrupt` ends the search early with the best plan so far.
///
/// # Errors
/// [`Rejected`] when the judge finds a rule broken; such a plan must not be shown or stored.
pub fn make_plan(
    shop: &Shop,
    ask: PlanAsk,
    before: Option<Earlier<'_>>,
    interrupt: &AtomicBool,
    watch: &mut dyn Watch,
) -> Result<Made, Box<Rejected>> {
    let started = Instant::now();
    let mut stop = Until {
        budget: ask.budget,
        started,
        interrupt,
    };
    let seconds = match ask.budget {
        Budget::Steps(_) => None,
        Budget::Seconds(seconds) | Budget::Within { seconds, .. } => Some(seconds),
    };
    let day = Ask {
        from: ask.from,
        seed: ask.seed,
        threads: threads(),
        seconds,
    };
    let planned = plan_day(shop, day, before, &mut stop, &mut Told(watch));
    let Planned {
        plan,
        due_date_order,
        grouped_by_die,
        findings,
    } = planned;
    let by_due = "due-date-order baseline";
    let by_die = "grouped-by-die baseline";
    let in_force = before.filter(|before| before.in_force);
    Ok(Made {
        plan: judged_after(
            shop,
            plan,
            "plan",
            in_force.map(|before| before.plan),
            threads(),
        )?,
        due_date_order: judged(shop, due_date_order, by_due, threads())?,
        grouped_by_die: judged(shop, grouped_by_die, by_die, threads())?,
        findings,
    })
}

/// As many as the machine runs at the same time.
pub(crate) fn threads() -> usize {
    std::thread::available_parallelism().map_or(1, usize::from)
}

pub(crate) fn judged(
    shop: &Shop,
    plan: Plan,
    which: &'static str,
    threads: usize,
) -> Result<Plan, Box<Rejected>> {
    judged_after(shop, plan, which, None, threads)
}

fn judged_after(
    shop: &Shop,
    mut plan: Plan,
    which: &'static str,
    before: Option<&Plan>,
    threads: usize,
) -> Result<Plan, Box<Rejected>> {
    let verdict = audit::judge_with(shop, &plan, before, threads);
    match verdict.violations.first() {
        None => {
            plan.verified = true;
            Ok(plan)
        }
        Some(first) => {
            let first = format!(
                "{} {} at {}: {}",
                first.code, first.rule, first.at, first.text
            );
            Err(Box::new(Rejected {
                which,
                first,
                verdict,
                plan: Box::new(plan),
            }))
        }
    }
}

/// The judge, alone.
#[must_use]
pub fn verify(shop: &Shop, plan: &Plan) -> Verdict {
    audit::judge(shop, plan)
}

/// The moment a plan starts when none is asked for: the first shift of any brake on a local day
/// after the one on which the shop was described. That is tomorrow's early shift, over weekends
/// and holidays too.
#[must_use]
pub fn default_from(shop: &Shop, now: Moment) -> Moment {
    let described = shop.as_of.unwrap_or(now);
    let Some(today) = schedule::calendar::local_day(described, shop.zone) else {
        return described;
    };
    let range = Window {
        start: described,
        end: described + Seconds(21 * 86_400),
    };
    shop.brakes
        .iter()
        .filter_map(|brake| shop.calendar(&brake.calendar))
        .flat_map(|calendar| schedule::calendar::expand(calendar, shop.zone, range))
        .map(|shift| shift.window.start)
        .filter(|start| {
            schedule::calendar::local_day(*start, shop.zone).is_some_and(|day| day > today)
        })
        .min()
        .unwrap_or(described)
}

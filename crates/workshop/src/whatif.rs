//! Which change pays: the same weeks planned anew with one change at a time.
//!
//! For every seed the shop is planned once as it is. From that plan the search goes on twice with the
//! same number of steps: in the shop as it is, and in the shop with the change. What differs then is
//! the change, and little else: two searches from two beginnings would differ by far more than most
//! changes are worth.

use crate::planning::{Budget, Rejected, Until, judged, threads};
use crate::quicker::quicker;
use model::{BrakePlan, Plan, Shop, Totals};
use prospects::{ApplyError, Candidate, Comparison, Pair, Refused, compare, rank, suggest};
use schedule::timing::Scratch;
use schedule::{Means, Problem, begin, carried, compile_with, effort, lift};
use search::Sequences;
use std::cmp::Ordering::{Equal, Greater, Less};
use std::sync::atomic::{AtomicBool, AtomicUsize, Ordering};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};
use std::time::Instant;
use units::Moment;

/// What is asked.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct WhatIfAsk {
    /// First moment planned.
    pub from: Moment,
    /// First of the seeds; the others follow it.
    pub seed: u64,
    /// Plans made with every change, each with a seed of its own; at least one.
    pub seeds: u32,
    /// Search steps of the plan that both sides of a pair begin from.
    pub iterations: u64,
    /// Search steps of each side from there on.
    pub further: u64,
    /// The changes to try; those worth trying in this shop when empty.
    pub changes: Vec<Candidate>,
}

/// A change that was tried.
#[derive(Clone, Debug)]
pub struct Tried {
    /// The change, and why it was tried.
    pub candidate: Candidate,
    /// Totals without and with it, by rising seed; fewer than asked for after an interrupt.
    pub pairs: Vec<Pair>,
    /// What they say.
    pub comparison: Comparison,
}

/// The answer.
#[derive(Clone, Debug)]
pub struct WhatIf {
    /// Totals of the shop as it is, with their seeds.
    pub unchanged: Vec<(u64, Totals)>,
    /// Changes, best first.
    pub tried: Vec<Tried>,
    /// Changes that an interrupt left without a plan.
    pub left: Vec<Candidate>,
    /// Whether every plan asked for was made.
    pub complete: bool,
}

/// Why there is no answer.
#[derive(Debug, thiserror::Error)]
pub enum WhatIfError {
    /// A change that was asked for cannot be made.
    #[error("\"{change}\": {cause}")]
    Change {
        /// The change in words.
        change: String,
        /// Why not.
        cause: ApplyError,
    },
    /// The judge refused a plan of ours.
    #[error(transparent)]
    Rejected(#[from] Box<Rejected>),
}

/// Plans made so far, and plans to make as far as is known. Called from several threads.
pub type Progressed<'a> = dyn Fn(usize, usize) + Sync + 'a;

/// Plans the shop as it is, then with each change, always with the same seeds and as many steps; every
/// plan that counts has been accepted by the judge. Plans are made side by side, which has no
/// influence on them. An interrupt ends it with what is finished: whoever is not comparable yet is
/// `left`.
///
/// A plan made with a change may not need it. When it is the better of its pair and the judge accepts
/// it in the shop as it is, it counts for both; likewise the other way about. So luck in the search
/// is not taken for a saving, nor bad luck for a cost, wherever that can be told.
///
/// # Errors
/// [`WhatIfError`] for a change that cannot be made, and for a plan that the judge rejects.
pub fn what_if(
    shop: &Shop,
    ask: &WhatIfAsk,
    interrupt: &AtomicBool,
    counted: &Progressed<'_>,
) -> Result<WhatIf, WhatIfError> {
    // Those asked for are made first: a mistake in the tenth must not show after nine were planned.
    let mut changed = apply_all(shop, ask.changes.clone())?;
    let seeds = usize::try_from(ask.seeds.max(1)).unwrap_or(usize::MAX);
    let trying = Trying {
        ask,
        seeds,
        interrupt,
    };
    let known = seeds.saturating_mul(1 + changed.len());
    let base = trying.as_it_is(shop, &|made| counted(made, known))?;
    if changed.is_empty()
        && let Some(base) = base.iter().flatten().next()
    {
        changed = apply_all(shop, suggest(shop, &base.plan, &refused(shop, ask.from)))?;
    }
    let all = seeds.saturating_mul(1 + changed.len());
    let pairs = trying.with_changes(shop, &base, &changed, &|made| counted(seeds + made, all))?;
    Ok(answer(&base, changed, pairs, seeds))
}

fn apply_all(
    shop: &Shop,
    candidates: Vec<Candidate>,
) -> Result<Vec<(Candidate, Shop)>, WhatIfError> {
    let one = |candidate: Candidate| match candidate.change.apply(shop) {
        Ok(changed) => Ok((candidate, changed)),
        Err(cause) => Err(WhatIfError::Change {
            change: candidate.change.to_string(),
            cause,
        }),
    };
    candidates.into_iter().map(one).collect()
}

/// Why brakes refuse the parts with open orders.
fn refused(shop: &Shop, from: Moment) -> Vec<Refused> {
    let (problem, _) = compile_with(shop, from, Means::default());
    let mut out: Vec<Refused> = Vec::new();
    for (index, order) in shop.orders.iter().enumerate() {
        let first = shop.orders.iter().position(|one| one.part == order.part);
        if first != Some(index) {
            continue;
        }
        out.extend(
            problem
                .refusals_of(index)
                .into_iter()
                .map(|refusal| Refused {
                    part: order.part.clone(),
                    refusal,
                }),
        );
    }
    out
}

fn answer(
    base: &[Option<Base>],
    changed: Vec<(Candidate, Shop)>,
    pairs: Vec<Vec<Pair>>,
    seeds: usize,
) -> WhatIf {
    let unchanged: Vec<(u64, Totals)> = base
        .iter()
        .flatten()
        .map(|base| (base.plan.seed, base.plan.totals))
        .collect();
    let whole = pairs.iter().all(|pairs| pairs.len() == seeds);
    let complete = unchanged.len() == seeds && whole;
    let mut tried = Vec::new();
    let mut left = Vec::new();
    for ((candidate, _), pairs) in changed.into_iter().zip(pairs) {
        match compare(&pairs) {
            Some(found) => tried.push(Some(Tried {
                comparison: if candidate.change.takes_away() {
                    found
                } else {
                    found.of_something_more()
                },
                candidate,
                pairs,
            })),
            None => left.push(candidate),
        }
    }
    let comparisons: Vec<Comparison> = tried.iter().flatten().map(|one| one.comparison).collect();
    let places = rank(&comparisons).into_iter();
    WhatIf {
        unchanged,
        tried: places.filter_map(|place| tried[place].take()).collect(),
        left,
        complete,
    }
}

/// A seed's plan of the shop as it is: the one that pairs begin from, and the one they count.
struct Base {
    begins: Plan,
    plan: Plan,
}

/// The same seeds and steps for all.
struct Trying<'a> {
    ask: &'a WhatIfAsk,
    seeds: usize,
    interrupt: &'a AtomicBool,
}

/// A changed shop's compiled state, there from its first plan to its last.
#[derive(Default)]
struct Bench<'s> {
    problem: Option<Arc<Problem<'s>>>,
    done: usize,
}

impl Trying<'_> {
    /// For each seed its plans, or none after an interrupt.
    fn as_it_is(
        &self,
        shop: &Shop,
        made: &(dyn Fn(usize) + Sync),
    ) -> Result<Vec<Option<Base>>, Box<Rejected>> {
        let means = Means {
            threads: threads(),
            ..Means::default()
        };
        let (problem, _) = compile_with(shop, self.ask.from, means);
        let start = begin(&problem, None, threads()).start;
        let one = |seed: usize| {
            let begins = self.search(&problem, start.clone(), seed, self.ask.iterations);
            let Some(begins) = begins else {
                return Ok(None);
            };
            let on = carried(&problem, &begins);
            let Some(plan) = self.search(&problem, on, seed, self.ask.further) else {
                return Ok(None);
            };
            let plan = judged(shop, plan, "plan of the shop as it is", 1)?;
            Ok(Some(Base { begins, plan }))
        };
        self.side_by_side(self.seeds, &one, made)
    }

    /// For each change its pairs by rising seed. Change after change, so that few are compiled at a
    /// time and an interrupt leaves whole comparisons.
    fn with_changes(
        &self,
        shop: &Shop,
        base: &[Option<Base>],
        changed: &[(Candidate, Shop)],
        made: &(dyn Fn(usize) + Sync),
    ) -> Result<Vec<Vec<Pair>>, Box<Rejected>> {
        let benches: Vec<Mutex<Bench<'_>>> = changed.iter().map(|_| Mutex::default()).collect();
        let one = |item: usize| {
            let (which, seed) = (item / self.seeds, item % self.seeds);
            let Some(base) = base.get(seed).and_then(Option::as_ref) else {
                return Ok(None);
            };
            let (with, bench) = (&changed[which].1, &benches[which]);
            let problem = self.compiled(with, bench);
            let on = carried(&problem, &base.begins);
            let plan = self.search(&problem, on, seed, self.ask.further);
            drop(problem);
            self.done(bench);
            let Some(plan) = plan else {
                return Ok(None);
            };
            let plan = judged(with, plan, "plan with the change", 1)?;
            Ok(Some(pair(shop, &base.plan, with, &plan)))
        };
        let found = self.side_by_side(changed.len() * self.seeds, &one, made)?;
        let by_change = found.chunks(self.seeds);
        Ok(by_change
            .map(|pairs| pairs.iter().flatten().copied().collect())
            .collect())
    }

    /// A plan of so many steps, or none after an interrupt: it may have had fewer than the others.
    fn search(
        &self,
        problem: &Problem<'_>,
        start: Sequences,
        seed: usize,
        steps: u64,
    ) -> Option<Plan> {
        let seed = u64::try_from(seed).unwrap_or(u64::MAX);
        let seed = self.ask.seed.wrapping_add(seed);
        let mut stop = Until {
            budget: Budget::Steps(steps),
            started: Instant::now(),
            interrupt: self.interrupt,
        };
        let outcome = search::solve(problem, start, effort(seed, 1), &mut stop, &mut ());
        if self.interrupt.load(Ordering::Relaxed) {
            return None;
        }
        let mut plan = lift(problem, &mut Scratch::default(), &outcome.best);
        (plan.seed, plan.iterations) = (seed, outcome.steps);
        Some(plan)
    }

    fn compiled<'s>(&self, shop: &'s Shop, bench: &Mutex<Bench<'s>>) -> Arc<Problem<'s>> {
        let mut bench = locked(bench);
        if let Some(problem) = &bench.problem {
            return Arc::clone(problem);
        }
        // Whoever needs the same shop waits here.
        let (problem, _) = compile_with(shop, self.ask.from, Means::default());
        let problem = Arc::new(problem);
        bench.problem = Some(Arc::clone(&problem));
        problem
    }

    fn done(&self, bench: &Mutex<Bench<'_>>) {
        let mut bench = locked(bench);
        bench.done += 1;
        if bench.done == self.seeds {
            bench.problem = None;
        }
    }

    /// So many pieces of work over all cores, in their order; `made` hears how many are finished.
    /// Those an interrupt prevents are none.
    fn side_by_side<T: Send>(
        &self,
        count: usize,
        work: &(dyn Fn(usize) -> Result<Option<T>, Box<Rejected>> + Sync),
        made: &(dyn Fn(usize) + Sync),
    ) -> Result<Vec<Option<T>>, Box<Rejected>> {
        let (next, finished) = (AtomicUsize::new(0), AtomicUsize::new(0));
        let slots = std::iter::repeat_with(|| None).take(count);
        let out: Mutex<Vec<Option<T>>> = Mutex::new(slots.collect());
        let fault: Mutex<Option<Box<Rejected>>> = Mutex::default();
        let go_on = || {
            loop {
                let item = next.fetch_add(1, Ordering::Relaxed);
                let stopped = self.interrupt.load(Ordering::Relaxed) || locked(&fault).is_some();
                if item >= count || stopped {
                    return;
                }
                match work(item) {
                    Ok(Some(result)) => {
                        locked(&out)[item] = Some(result);
                        made(finished.fetch_add(1, Ordering::Relaxed) + 1);
                    }
                    Ok(None) => {}
                    Err(rejected) => *locked(&fault) = Some(rejected),
                }
            }
        };
        std::thread::scope(|scope| {
            for _ in 1..threads().min(count) {
                scope.spawn(go_on);
            }
            go_on();
        });
        let fault = locked(&fault).take();
        match fault {
            Some(rejected) => Err(rejected),
            None => Ok(std::mem::take(&mut *locked(&out))),
        }
    }
}

/// A thread that panicked takes the whole call with it, so what is inside is whole.
fn locked<T>(mutex: &Mutex<T>) -> MutexGuard<'_, T> {
    mutex.lock().unwrap_or_else(PoisonError::into_inner)
}

/// The better plan of a seed counts for both shops when both could run it. Where changes take less
/// time, the plan of the shop as it is can be run with quicker changes and all else at its time: the
/// search may have found nothing as good, for it was tuned to the second.
fn pair(shop: &Shop, base: &Plan, with: &Shop, plan: &Plan) -> Pair {
    let mut pair = Pair {
        seed: base.seed,
        without: base.totals,
        with: plan.totals,
    };
    match plan.totals.objective.cmp(&base.totals.objective) {
        Less if runs_in(shop, plan) => pair.without = plan.totals,
        Greater if runs_in(with, base) => pair.with = base.totals,
        Less | Equal | Greater => {}
    }
    let times_differ = |brake: &model::Brake| {
        shop.brake(&brake.id)
            .is_some_and(|old| old.times != brake.times || old.gauge.z != brake.gauge.z)
    };
    if with.brakes.iter().any(times_differ)
        && let Some(quick) = quicker(base, with)
        && quick.totals.objective < pair.with.objective
        && runs_in(with, &quick)
    {
        pair.with = quick.totals;
    }
    pair
}

/// Whether the judge accepts a plan in another shop, brakes with nothing to do put in or left out.
fn runs_in(shop: &Shop, plan: &Plan) -> bool {
    let idle = |list: &BrakePlan| list.runs.is_empty() && list.takedowns.is_empty();
    let there = |list: &BrakePlan| shop.brake(&list.brake).is_some();
    if plan.brakes.iter().any(|list| !there(list) && !idle(list)) {
        return false;
    }
    let list_of = |brake: &model::Brake| {
        let list = plan.brakes.iter().find(|list| list.brake == brake.id);
        list.cloned().unwrap_or_else(|| BrakePlan {
            brake: brake.id.clone(),
            runs: Vec::new(),
            takedowns: Vec::new(),
        })
    };
    let plan = Plan {
        brakes: shop.brakes.iter().map(list_of).collect(),
        ..plan.clone()
    };
    audit::judge(shop, &plan).violations.is_empty()
}

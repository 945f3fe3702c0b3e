//! Which change pays: the same weeks planned anew with one change at a time.

use crate::planning::{Budget, Rejected, Until, judged};
use model::{Plan, Shop};
use prospects::{ApplyError, Candidate, Comparison, Refused, Trial, compare, rank, suggest};
use schedule::timing::Scratch;
use schedule::{Begun, Means, Problem, begin, compile_with, effort, improve, lift};
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
    /// Search steps of every plan.
    pub iterations: u64,
    /// The changes to try; those worth trying in this shop when empty.
    pub changes: Vec<Candidate>,
}

/// A change that was tried.
#[derive(Clone, Debug)]
pub struct Tried {
    /// The change, and why it was tried.
    pub candidate: Candidate,
    /// The shop as it would be.
    pub shop: Shop,
    /// Its plans' totals, by rising seed; fewer than asked for after an interrupt.
    pub trials: Vec<Trial>,
    /// Held against the shop as it is.
    pub comparison: Comparison,
}

/// The answer.
#[derive(Clone, Debug)]
pub struct WhatIf {
    /// The shop as it is, by rising seed.
    pub unchanged: Vec<Trial>,
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
pub type Counted<'a> = dyn Fn(usize, usize) + Sync + 'a;

/// Plans the shop as it is, then with each change, always with the same seeds and as many steps; every
/// plan that counts has been accepted by the judge. Plans are made side by side, which has no
/// influence on them. An interrupt ends it with what is finished: whoever is not comparable yet is
/// `left`.
///
/// # Errors
/// [`WhatIfError`] for a change that cannot be made, and for a plan that the judge rejects.
pub fn what_if(
    shop: &Shop,
    ask: &WhatIfAsk,
    interrupt: &AtomicBool,
    counted: &Counted<'_>,
) -> Result<WhatIf, WhatIfError> {
    // Those asked for are made first: a mistake in the tenth must not show after nine were planned.
    let mut changed = apply_all(shop, ask.changes.clone())?;
    let seeds = usize::try_from(ask.seeds.max(1)).unwrap_or(usize::MAX);
    let trying = Trying {
        ask,
        seeds,
        interrupt,
    };
    let known = seeds * (1 + changed.len());
    let base = trying.plans(&[shop], &|made| counted(made, known))?;
    let base: Vec<Plan> = base.into_iter().flatten().collect();
    if changed.is_empty()
        && let Some(plan) = base.first()
    {
        changed = apply_all(shop, suggest(shop, plan, &refused(shop, ask.from)))?;
    }
    let shops: Vec<&Shop> = changed.iter().map(|(_, shop)| shop).collect();
    let all = seeds * (1 + changed.len());
    let made = base.len();
    let plans = trying.plans(&shops, &|more| counted(made + more, all))?;
    Ok(answer(&base, changed, &plans, seeds))
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

fn trials(plans: &[Plan]) -> Vec<Trial> {
    let trial = |plan: &Plan| Trial {
        seed: plan.seed,
        totals: plan.totals,
    };
    plans.iter().map(trial).collect()
}

fn answer(
    base: &[Plan],
    changed: Vec<(Candidate, Shop)>,
    plans: &[Vec<Plan>],
    seeds: usize,
) -> WhatIf {
    let unchanged = trials(base);
    let complete = base.len() == seeds && plans.iter().all(|plans| plans.len() == seeds);
    let mut tried = Vec::new();
    let mut left = Vec::new();
    for ((candidate, shop), plans) in changed.into_iter().zip(plans) {
        let trials = trials(plans);
        match compare(&unchanged, &trials) {
            Some(comparison) => tried.push(Tried {
                candidate,
                shop,
                trials,
                comparison,
            }),
            None => left.push(candidate),
        }
    }
    let comparisons: Vec<Comparison> = tried.iter().map(|one| one.comparison).collect();
    let mut places = vec![0; tried.len()];
    for (place, index) in rank(&comparisons).into_iter().enumerate() {
        places[index] = place;
    }
    let mut in_order: Vec<(usize, Tried)> = places.into_iter().zip(tried).collect();
    in_order.sort_by_key(|(place, _)| *place);
    WhatIf {
        unchanged,
        tried: in_order.into_iter().map(|(_, one)| one).collect(),
        left,
        complete,
    }
}

/// Many shops, each planned with the same seeds.
struct Trying<'a> {
    ask: &'a WhatIfAsk,
    seeds: usize,
    interrupt: &'a AtomicBool,
}

/// A shop compiled once for all its seeds.
struct Ready<'s> {
    problem: Problem<'s>,
    begun: Begun,
}

/// A shop's compiled state, there from its first plan to its last.
#[derive(Default)]
struct Bench<'s> {
    ready: Option<Arc<Ready<'s>>>,
    done: usize,
}

impl Trying<'_> {
    /// For each shop its plans by rising seed. Shop after shop, so that few are compiled at a time
    /// and an interrupt leaves whole comparisons; `made` hears how many plans there are.
    fn plans(
        &self,
        shops: &[&Shop],
        made: &(dyn Fn(usize) + Sync),
    ) -> Result<Vec<Vec<Plan>>, Box<Rejected>> {
        let benches: Vec<Mutex<Bench<'_>>> = shops.iter().map(|_| Mutex::default()).collect();
        let count = shops.len() * self.seeds;
        let (next, ready) = (AtomicUsize::new(0), AtomicUsize::new(0));
        let out: Mutex<Vec<(usize, Plan)>> = Mutex::default();
        let fault: Mutex<Option<Box<Rejected>>> = Mutex::default();
        let threads = std::thread::available_parallelism().map_or(1, usize::from);
        let work = || {
            loop {
                let item = next.fetch_add(1, Ordering::Relaxed);
                let stopped = self.interrupt.load(Ordering::Relaxed) || locked(&fault).is_some();
                if item >= count || stopped {
                    return;
                }
                let (which, seed) = (item / self.seeds, item % self.seeds);
                let planned = self.plan(shops[which], &benches[which], seed);
                match planned {
                    Ok(Some(plan)) => {
                        locked(&out).push((item, plan));
                        made(ready.fetch_add(1, Ordering::Relaxed) + 1);
                    }
                    Ok(None) => return,
                    Err(rejected) => *locked(&fault) = Some(rejected),
                }
            }
        };
        std::thread::scope(|scope| {
            for _ in 1..threads.min(count) {
                scope.spawn(work);
            }
            work();
        });
        if let Some(rejected) = locked(&fault).take() {
            return Err(rejected);
        }
        let mut made = std::mem::take(&mut *locked(&out));
        made.sort_unstable_by_key(|(item, _)| *item);
        let mut by_shop = vec![Vec::new(); shops.len()];
        for (item, plan) in made {
            by_shop[item / self.seeds].push(plan);
        }
        Ok(by_shop)
    }

    /// A judged plan, or none after an interrupt.
    fn plan<'s>(
        &self,
        shop: &'s Shop,
        bench: &Mutex<Bench<'s>>,
        seed: usize,
    ) -> Result<Option<Plan>, Box<Rejected>> {
        let ready = self.ready(shop, bench);
        let seed = u64::try_from(seed).unwrap_or(u64::MAX);
        let seed = self.ask.seed.wrapping_add(seed);
        let mut stop = Until {
            budget: Budget::Steps(self.ask.iterations),
            started: Instant::now(),
            interrupt: self.interrupt,
        };
        let (problem, start) = (&ready.problem, ready.begun.start.clone());
        let outcome = improve(problem, start, effort(seed, 1), &mut stop, &mut ());
        let interrupted = self.interrupt.load(Ordering::Relaxed);
        let mut plan = lift(problem, &mut Scratch::default(), &outcome.best);
        (plan.seed, plan.iterations) = (seed, outcome.steps);
        drop(ready);
        let mut bench = locked(bench);
        bench.done += 1;
        if bench.done == self.seeds {
            bench.ready = None;
        }
        drop(bench);
        if interrupted {
            // It had fewer steps than the others, perhaps.
            return Ok(None);
        }
        judged(shop, plan, "plan with the change").map(Some)
    }

    fn ready<'s>(&self, shop: &'s Shop, bench: &Mutex<Bench<'s>>) -> Arc<Ready<'s>> {
        let mut bench = locked(bench);
        if let Some(ready) = &bench.ready {
            return Arc::clone(ready);
        }
        // Whoever needs the same shop waits here.
        let (problem, _) = compile_with(shop, self.ask.from, Means::default());
        let begun = begin(&problem, None, 1);
        let ready = Arc::new(Ready { problem, begun });
        bench.ready = Some(Arc::clone(&ready));
        ready
    }
}

/// A thread that panicked takes the whole call with it, so what is inside is whole.
fn locked<T>(mutex: &Mutex<T>) -> MutexGuard<'_, T> {
    mutex.lock().unwrap_or_else(PoisonError::into_inner)
}

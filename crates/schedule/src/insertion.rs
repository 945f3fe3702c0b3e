//! A place for one more order in a plan that stands.
//!
//! The plan made before keeps brakes, tools and order of its runs. The new order is tried at every
//! place after the frozen ones, or, in a long plan, at places evenly spread; the whole plan is timed
//! each time.

use crate::carry_over::carry_over;
use crate::planner::Earlier;
use crate::problem::Problem;
use crate::timing::{Scratch, time};
use model::Plan;
use search::{Sequences, Slot};
use units::Moment;

/// Places tried at most.
const TRIED_MOST: usize = 400;
/// Places behind the frozen runs of each brake that are asked for the earliest end.
const EARLY_TRIED: usize = 4;

/// A place for a run in the lines of a plan.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Spot {
    /// Position in the brake's line.
    pub at: usize,
    /// Brake.
    pub brake: usize,
    /// The job in the way it is done.
    pub slot: Slot,
    /// Cost of the whole plan with it, in the objective's unit.
    pub cost: i64,
    /// When the order is finished.
    pub end: Moment,
}

impl Spot {
    /// The lines with the run at this place.
    #[must_use]
    pub fn put_into(&self, lines: &Sequences) -> Sequences {
        let mut with = lines.clone();
        let line = &mut with.machines[self.brake];
        line.insert(self.at.min(line.len()), self.slot);
        with
    }
}

/// The plan made before, and where one more order would go.
#[derive(Clone, Debug)]
pub struct Inserted {
    /// The lines without the order.
    pub without: Sequences,
    /// Where it costs least; `None` when it has no way or finds no place in time.
    pub least: Option<Spot>,
    /// Where it ends first of the places right behind what is frozen, whatever that costs.
    pub earliest: Option<Spot>,
    /// Places tried.
    pub tried: usize,
}

/// Carries a plan over and tries an order, which is one job, at its places. What is frozen is pinned
/// in the problem. An order that is no single job gets none, nor does one that has its place.
pub fn insert_order(problem: &mut Problem<'_>, before: &Plan, order: usize) -> Inserted {
    let mut scratch = Scratch::default();
    let before = Earlier::in_force(before);
    let carried = carry_over(problem, &mut scratch, before, Some(order));
    (problem.pinned, problem.fixed) = (carried.pinned, carried.fixed);
    let mut found = Inserted {
        without: carried.lines,
        least: None,
        earliest: None,
        tried: 0,
    };
    let mut jobs = (0..problem.jobs.len()).filter(|&job| problem.jobs[job].order == order);
    let (Some(job), None) = (jobs.next(), jobs.next()) else {
        return found;
    };
    if problem.has_place(order) {
        return found;
    }
    let mut trial = Trial {
        problem,
        scratch,
        lines: found.without.clone(),
        order,
        tried: 0,
    };
    found.earliest = trial.earliest(job);
    found.least = trial.least(job);
    found.tried = trial.tried;
    found
}

struct Trial<'a, 's> {
    problem: &'a Problem<'s>,
    scratch: Scratch,
    lines: Sequences,
    order: usize,
    tried: usize,
}

impl Trial<'_, '_> {
    /// What a place costs, when it is less than a limit.
    fn ask(&mut self, brake: usize, at: usize, slot: Slot, limit: i64) -> Option<Spot> {
        self.tried += 1;
        self.lines.machines[brake].insert(at, slot);
        let cost = time(
            self.problem,
            &mut self.scratch,
            &self.lines,
            limit.saturating_sub(1),
            None,
        );
        self.lines.machines[brake].remove(at);
        if cost >= limit {
            return None;
        }
        let end = self.scratch.end_of(self.order)?;
        Some(Spot {
            at,
            brake,
            slot,
            cost,
            end,
        })
    }

    /// The brakes of a job with all its ways there.
    fn ways(&self, job: usize) -> Vec<(usize, Vec<Slot>)> {
        let mut by_brake: Vec<(usize, Vec<Slot>)> = Vec::new();
        for (way, option) in self.problem.ways[job].iter().enumerate() {
            let slot = Slot { job, way };
            match by_brake
                .iter_mut()
                .find(|(brake, _)| *brake == option.brake)
            {
                Some((_, slots)) => slots.push(slot),
                None => by_brake.push((option.brake, vec![slot])),
            }
        }
        by_brake
    }

    fn earliest(&mut self, job: usize) -> Option<Spot> {
        let mut best: Option<Spot> = None;
        for (brake, slots) in self.ways(job) {
            let first = self.problem.pinned[brake].len();
            let last = self.lines.machines[brake].len();
            for at in (first..=last).take(EARLY_TRIED) {
                for &slot in &slots {
                    let spot = self.ask(brake, at, slot, i64::MAX);
                    let better = |spot: &Spot| {
                        best.is_none_or(|best| (spot.end, spot.cost) < (best.end, best.cost))
                    };
                    best = spot.filter(better).or(best);
                }
            }
        }
        best
    }

    fn least(&mut self, job: usize) -> Option<Spot> {
        let ways = self.ways(job);
        let places: usize = ways
            .iter()
            .map(|(brake, _)| self.lines.machines[*brake].len() + 1)
            .sum();
        let step = places.div_ceil(TRIED_MOST).max(1);
        let mut best: Option<Spot> = None;
        for (brake, slots) in ways {
            let Some((&usual, others)) = slots.split_first() else {
                continue;
            };
            let first = self.problem.pinned[brake].len();
            let last = self.lines.machines[brake].len();
            let mut here: Option<Spot> = None;
            // The end of the line is always tried: there nobody has to wait.
            for at in (first..last).step_by(step).chain([last]) {
                let limit = here.or(best).map_or(i64::MAX, |spot| spot.cost);
                here = self.ask(brake, at, usual, limit).or(here);
            }
            if step > 1
                && let Some(spot) = here
            {
                let near = spot.at.saturating_sub(step - 1).max(first)..(spot.at + step).min(last);
                for at in near {
                    let limit = here.or(best).map_or(i64::MAX, |spot| spot.cost);
                    here = self.ask(brake, at, usual, limit).or(here);
                }
            }
            if let Some(spot) = here {
                for &slot in others {
                    let limit = here.or(best).map_or(i64::MAX, |spot| spot.cost);
                    here = self.ask(brake, spot.at, slot, limit).or(here);
                }
            }
            best = here.or(best);
        }
        best
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::lift;
    use crate::planner::{Ask, plan_day};
    use crate::problem::compile;
    use testkit::{Recipe, Sections, invent};

    /// The place found costs no more than any other place with the usual tools, and the plan lifted
    /// from it says the same cost and end; the earliest end is no later.
    #[test]
    fn no_other_place_costs_less() {
        let mut placed = 0;
        for (seed, at) in (0..12).zip(0..) {
            let mut shop = invent(&Recipe::bed(20, -0.5, Sections::Ample, seed));
            let from = shop.as_of.unwrap();
            let ask = Ask {
                from,
                seed,
                threads: 1,
                seconds: None,
            };
            let before = plan_day(&shop, ask, None, &mut |done| done >= 20, &mut ()).plan;
            let mut order: model::WorkOrder = shop.orders[at].clone();
            order.id = units::OrderId::new("Q").unwrap();
            (order.kit, order.after, order.brake) = (None, None, None);
            (order.run_pieces, order.due) = (None, from);
            order.deliveries.clear();
            order.blanks.clear();
            shop.orders.push(order);
            let last = shop.orders.len() - 1;
            let (mut problem, _) = compile(&shop, from);
            let found = insert_order(&mut problem, &before, last);
            let Some(least) = found.least else { continue };
            placed += 1;
            let job = least.slot.job;
            let mut scratch = Scratch::default();
            let mut seen = Vec::new();
            for (way, option) in problem.ways[job].iter().enumerate() {
                if seen.contains(&option.brake) {
                    continue;
                }
                seen.push(option.brake);
                let line = found.without.machines[option.brake].len();
                for at in problem.pinned[option.brake].len()..=line {
                    let other = Spot {
                        at,
                        brake: option.brake,
                        slot: Slot { job, way },
                        ..least
                    };
                    let lines = other.put_into(&found.without);
                    let cost = time(&problem, &mut scratch, &lines, i64::MAX, None);
                    assert!(least.cost <= cost, "seed {seed}, {other:?}");
                }
            }
            let plan = lift(&problem, &mut scratch, &least.put_into(&found.without));
            assert_eq!(plan.totals.objective, least.cost, "seed {seed}");
            let mut runs = plan.brakes.iter().flat_map(|brake| &brake.runs);
            let run = runs.find(|run| run.order.as_str() == "Q").unwrap();
            assert_eq!(run.end, least.end, "seed {seed}");
            assert!(found.earliest.unwrap().end <= least.end, "seed {seed}");
        }
        assert!(placed >= 8, "{placed}");
    }
}

//! Orders with a place on their brake: first in its line, behind what is in progress; docs/rules.md
//! section 1.

use crate::followers::order_before;
use crate::greedy::{Choose, best_way};
use crate::problem::Problem;
use crate::timing::Trial;
use search::{Sequences, Slot};
use std::collections::VecDeque;

/// Pins the runs of orders with a place behind the order in progress, in order of place and share.
/// In front of each stands what it waits for, when no other brake takes that.
pub(crate) fn pin_placed(problem: &mut Problem<'_>) {
    problem.fixed = problem.pinned.iter().map(Vec::len).collect();
    let shop = problem.shop;
    let mut jobs_of: Vec<Vec<usize>> = vec![Vec::new(); shop.orders.len()];
    for (index, job) in problem
        .jobs
        .iter()
        .enumerate()
        .filter(|(_, job)| !job.running)
    {
        jobs_of[job.order].push(index);
    }
    let brakes = shop.brakes.iter().enumerate();
    for (brake, id) in brakes.map(|(brake, machine)| (brake, &machine.id)) {
        let here = |order: &usize| shop.orders[*order].brake.as_ref() == Some(id);
        let mut placed: Vec<usize> = (0..shop.orders.len())
            .filter(|order| shop.orders[*order].place.is_some() && !jobs_of[*order].is_empty())
            .filter(here)
            .collect();
        placed.sort_by_key(|&order| shop.orders[order].place);
        for order in placed {
            for first in waited_for(problem, order).into_iter().rev() {
                let only_here = |job: &usize| {
                    let mut ways = problem.ways[*job].iter();
                    ways.all(|way| way.brake == brake)
                };
                if jobs_of[first].iter().all(only_here) {
                    let jobs = std::mem::take(&mut jobs_of[first]);
                    let slots = jobs.into_iter().map(|job| Slot { job, way: 0 });
                    problem.pinned[brake].extend(slots);
                }
            }
        }
    }
}

/// An order, and those it waits for, the nearest first.
fn waited_for(problem: &Problem<'_>, order: usize) -> Vec<usize> {
    let mut chain = vec![order];
    let before = |order: usize| order_before(problem.shop, order);
    let mut next = before(order);
    while let Some(first) = next.filter(|first| !chain.contains(first)) {
        chain.push(first);
        next = before(first);
    }
    chain
}

impl Problem<'_> {
    /// Whether an order has a place.
    pub(crate) fn has_place(&self, order: usize) -> bool {
        self.shop.orders[order].place.is_some()
    }

    /// Whether a job stands first on its brake because of a place.
    pub(crate) fn is_placed(&self, job: usize) -> bool {
        let mut lines = (0..self.pinned.len()).map(|brake| self.placed(brake));
        lines.any(|line| line.iter().any(|slot| slot.job == job))
    }

    /// What stands first on a brake because of places.
    pub(crate) fn placed(&self, brake: usize) -> &[Slot] {
        &self.pinned[brake][self.fixed[brake]..]
    }
}

/// When lines are built run by run: the runs with a place whose turn has not come. Their brake takes
/// no other before them.
pub(crate) struct Front {
    waiting: Vec<VecDeque<Slot>>,
}

impl Front {
    pub(crate) fn of(problem: &Problem<'_>) -> Front {
        let brakes = 0..problem.pinned.len();
        Front {
            waiting: brakes
                .map(|brake| problem.placed(brake).iter().copied().collect())
                .collect(),
        }
    }

    /// Whether a brake has such runs.
    pub(crate) fn waits(&self, brake: usize) -> bool {
        !self.waiting[brake].is_empty()
    }

    /// A brake that has some.
    pub(crate) fn any(&self) -> Option<usize> {
        (0..self.waiting.len()).find(|&brake| self.waits(brake))
    }

    /// The brake on which runs of an order wait.
    pub(crate) fn brake_of(&self, problem: &Problem<'_>, order: usize) -> Option<usize> {
        let of_order = |slot: &Slot| problem.jobs[slot.job].order == order;
        let mut lines = self.waiting.iter();
        lines.position(|line| line.iter().any(of_order))
    }

    /// Appends the runs whose turn has come: nothing they wait for is open, and their blanks are
    /// there before the busiest brake is free. A run much later would keep its people from all else.
    pub(crate) fn advance(
        &mut self,
        trial: &mut Trial<'_, '_>,
        lines: &mut Sequences,
        choose: Choose,
    ) -> Vec<Slot> {
        let mut appended = Vec::new();
        loop {
            let busiest = trial.latest_clock();
            let may = |slot: &Slot| trial.may_begin(*slot) && trial.ready(*slot) <= busiest;
            let turn = |line: &VecDeque<Slot>| line.front().is_some_and(may);
            let Some(brake) = self.waiting.iter().position(turn) else {
                return appended;
            };
            appended.extend(self.append(brake, trial, lines, choose));
        }
    }

    /// Appends all that waits on a brake, whether its turn has come or not.
    pub(crate) fn clear(
        &mut self,
        brake: usize,
        trial: &mut Trial<'_, '_>,
        lines: &mut Sequences,
        choose: Choose,
    ) -> Vec<Slot> {
        std::iter::from_fn(|| self.append(brake, trial, lines, choose)).collect()
    }

    /// Appends the first run that waits on a brake, in the way that suits best.
    fn append(
        &mut self,
        brake: usize,
        trial: &mut Trial<'_, '_>,
        lines: &mut Sequences,
        choose: Choose,
    ) -> Option<Slot> {
        let usual = self.waiting[brake].pop_front()?;
        let best = best_way(trial, usual.job, choose, |_| true);
        let slot = best.map_or(usual, |(_, slot)| slot);
        trial.append(brake, slot);
        lines.machines[brake].push(slot);
        Some(slot)
    }
}

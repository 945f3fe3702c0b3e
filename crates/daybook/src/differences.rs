//! What another plan would change: orders that move, come sooner or later, become late or find a
//! place; brakes that change tools more or less often; totals.

use model::{Changeover, Plan, Totals};
use std::collections::{BTreeMap, BTreeSet};
use units::{BrakeId, Moment, OrderId, Seconds};

/// The differences between two plans. Orders and brakes that are alike in both are left out.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Differences {
    /// Orders, by id.
    pub orders: Vec<OrderChange>,
    /// Brakes, by id.
    pub brakes: Vec<BrakeChange>,
    /// Totals of the plan before.
    pub before: Totals,
    /// Totals of the plan after.
    pub after: Totals,
    /// What the totals gain or lose, after less before.
    pub terms: Terms,
}

/// What changes for one order. Times are after less before: negative is earlier, or less late.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct OrderChange {
    /// Order.
    pub order: OrderId,
    /// Brakes it ran on before and runs on after, when they differ.
    pub moved: Option<(BTreeSet<BrakeId>, BTreeSet<BrakeId>)>,
    /// Its first run starts later by; `None` when it has no run in one of the plans.
    pub starts: Option<Seconds>,
    /// Its last run ends later by; `None` when it has no run in one of the plans.
    pub ends: Option<Seconds>,
    /// Seconds late before and after, the worst of its runs.
    pub late: (Seconds, Seconds),
    /// Pieces without a place before and after.
    pub unplaced: (u32, u32),
    /// Whether it is in the plan at all, with a run or without a place, before and after.
    pub known: (bool, bool),
}

/// What changes about an order's lateness.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Lateness {
    /// It was in time and is late, by this.
    NewlyLate(Seconds),
    /// It is late in both, and later by this.
    LaterStill(Seconds),
    /// It is late in both, and less by this.
    LessLate(Seconds),
    /// It was late by this and is in time.
    NoLonger(Seconds),
}

/// What changes about an order's place.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Placing {
    /// This many more pieces have no place.
    Lost(u32),
    /// This many more pieces have a place.
    Found(u32),
}

impl OrderChange {
    /// What changes about its lateness, when something does and it has runs in both plans or is
    /// late in one.
    #[must_use]
    pub fn lateness(&self) -> Option<Lateness> {
        let (before, after) = self.late;
        if before == after {
            return None;
        }
        Some(match (before.0 > 0, after.0 > 0) {
            (false, _) => Lateness::NewlyLate(after),
            (true, false) => Lateness::NoLonger(before),
            (true, true) if after > before => Lateness::LaterStill(after - before),
            (true, true) => Lateness::LessLate(before - after),
        })
    }

    /// What changes about its place, when something does.
    #[must_use]
    pub fn placing(&self) -> Option<Placing> {
        let (before, after) = self.unplaced;
        match after.cmp(&before) {
            std::cmp::Ordering::Greater => Some(Placing::Lost(after - before)),
            std::cmp::Ordering::Less => Some(Placing::Found(before - after)),
            std::cmp::Ordering::Equal => None,
        }
    }

    fn is_one(&self) -> bool {
        let apart = |by: Option<Seconds>| by.is_some_and(|by| by != Seconds::ZERO);
        self.moved.is_some()
            || apart(self.starts)
            || apart(self.ends)
            || self.late.0 != self.late.1
            || self.unplaced.0 != self.unplaced.1
            || self.known.0 != self.known.1
    }
}

/// What changes on one brake: before and after.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct BrakeChange {
    /// Brake.
    pub brake: BrakeId,
    /// Runs.
    pub runs: (u32, u32),
    /// Changeovers and takedowns in which a tool is moved.
    pub changeovers: (u32, u32),
    /// Work in all changeovers and takedowns.
    pub changeover: (Seconds, Seconds),
    /// Work in runs.
    pub run: (Seconds, Seconds),
}

/// The terms of the objective, and the objective itself: after less before.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Terms {
    /// Runs.
    pub runs: i64,
    /// Changeovers in which a tool is moved.
    pub changeovers: i64,
    /// Work in changeovers.
    pub changeover: Seconds,
    /// Work in runs.
    pub run: Seconds,
    /// Late orders.
    pub late_orders: i64,
    /// Weighted lateness.
    pub weighted_late: Seconds,
    /// Overtime.
    pub overtime: Seconds,
    /// Orders without a place.
    pub unplaced_orders: i64,
    /// Starts off what people were told.
    pub moved: Seconds,
    /// Orders on another brake than people were told.
    pub other_brakes: i64,
    /// Objective, in its unit.
    pub objective: i64,
}

/// What an order has in one plan.
#[derive(Clone, Debug, Default, PartialEq)]
struct Seen {
    brakes: BTreeSet<BrakeId>,
    start: Option<Moment>,
    end: Option<Moment>,
    late: Seconds,
    unplaced: u32,
    known: bool,
}

/// The differences between a plan before and a plan after. The other way about they are mirrored.
#[must_use]
pub fn differences(before: &Plan, after: &Plan) -> Differences {
    let (old, new) = (orders_of(before), orders_of(after));
    let ids: BTreeSet<&OrderId> = old.keys().chain(new.keys()).copied().collect();
    let none = Seen::default();
    let orders = ids.into_iter().map(|id| {
        let seen = |plan: &BTreeMap<&OrderId, Seen>| plan.get(id).cloned();
        let (old, new) = (seen(&old), seen(&new));
        order_change(
            id,
            old.as_ref().unwrap_or(&none),
            new.as_ref().unwrap_or(&none),
        )
    });
    Differences {
        orders: orders.filter(OrderChange::is_one).collect(),
        brakes: brake_changes(before, after),
        before: before.totals,
        after: after.totals,
        terms: terms(&before.totals, &after.totals),
    }
}

fn orders_of(plan: &Plan) -> BTreeMap<&OrderId, Seen> {
    let mut all: BTreeMap<&OrderId, Seen> = BTreeMap::new();
    for line in &plan.brakes {
        for run in &line.runs {
            let seen = all.entry(&run.order).or_default();
            seen.known = true;
            seen.brakes.insert(line.brake.clone());
            seen.start = Some(seen.start.map_or(run.start, |start| start.min(run.start)));
            seen.end = Some(seen.end.map_or(run.end, |end| end.max(run.end)));
            seen.late = seen.late.max(run.late);
        }
    }
    for unplaced in &plan.unplaced {
        let seen = all.entry(&unplaced.order).or_default();
        seen.known = true;
        seen.unplaced = seen.unplaced.saturating_add(unplaced.quantity);
    }
    all
}

fn order_change(id: &OrderId, old: &Seen, new: &Seen) -> OrderChange {
    let apart = |old: Option<Moment>, new: Option<Moment>| Some(new? - old?);
    OrderChange {
        order: id.clone(),
        moved: (old.brakes != new.brakes).then(|| (old.brakes.clone(), new.brakes.clone())),
        starts: apart(old.start, new.start),
        ends: apart(old.end, new.end),
        late: (old.late, new.late),
        unplaced: (old.unplaced, new.unplaced),
        known: (old.known, new.known),
    }
}

#[derive(Clone, Copy, Default, PartialEq)]
struct Work {
    runs: u32,
    changeovers: u32,
    changeover: Seconds,
    run: Seconds,
}

fn work_of(plan: &Plan) -> BTreeMap<&BrakeId, Work> {
    let mut all: BTreeMap<&BrakeId, Work> = BTreeMap::new();
    for line in &plan.brakes {
        let work = all.entry(&line.brake).or_default();
        for run in &line.runs {
            work.runs += 1;
            work.run += run.run_time;
            work.changeover += run.changeover.work;
            work.changeovers += u32::from(moves_tools(&run.changeover));
        }
        for takedown in &line.takedowns {
            work.changeover += takedown.work;
            work.changeovers += u32::from(!takedown.remove.is_empty());
        }
    }
    all
}

/// As totals count changeovers.
fn moves_tools(change: &Changeover) -> bool {
    let stays = change.remove.is_empty()
        && change.turn.is_empty()
        && change.slide.is_empty()
        && change.insert.is_empty();
    !stays
}

fn brake_changes(before: &Plan, after: &Plan) -> Vec<BrakeChange> {
    let (old, new) = (work_of(before), work_of(after));
    let ids: BTreeSet<&BrakeId> = old.keys().chain(new.keys()).copied().collect();
    let mut all = Vec::new();
    for id in ids {
        let (was, is) = (
            old.get(id).copied().unwrap_or_default(),
            new.get(id).copied().unwrap_or_default(),
        );
        if was == is {
            continue;
        }
        all.push(BrakeChange {
            brake: id.clone(),
            runs: (was.runs, is.runs),
            changeovers: (was.changeovers, is.changeovers),
            changeover: (was.changeover, is.changeover),
            run: (was.run, is.run),
        });
    }
    all
}

fn terms(before: &Totals, after: &Totals) -> Terms {
    let count = |before: u32, after: u32| i64::from(after) - i64::from(before);
    Terms {
        runs: count(before.runs, after.runs),
        changeovers: count(before.changeovers, after.changeovers),
        changeover: after.changeover - before.changeover,
        run: after.run - before.run,
        late_orders: count(before.late_orders, after.late_orders),
        weighted_late: after.weighted_late - before.weighted_late,
        overtime: after.overtime - before.overtime,
        unplaced_orders: count(before.unplaced_orders, after.unplaced_orders),
        moved: after.moved - before.moved,
        other_brakes: count(before.other_brakes, after.other_brakes),
        objective: after.objective - before.objective,
    }
}

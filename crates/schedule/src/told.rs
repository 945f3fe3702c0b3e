//! Disturbance: what an earlier plan has told people, and how far another one is from it;
//! docs/rules.md section 7.

use model::{Plan, Rules, Shop, Told};
use rustc_hash::FxHashMap;
use units::{Moment, OrderId};

/// The orders of which people have been told.
#[derive(Clone, Debug, Default)]
pub(crate) struct ToldOrders {
    orders: Vec<ToldOrder>,
    /// By order of the shop: its place in `orders`; empty when nobody has been told anything.
    place_of: Vec<Option<usize>>,
}

#[derive(Clone, Debug)]
struct ToldOrder {
    order: usize,
    start: Moment,
    /// By brake of the shop.
    brakes: Vec<bool>,
}

impl ToldOrders {
    /// What `before` has told people of a shop planned from a moment.
    pub(crate) fn by(shop: &Shop, from: Moment, before: &Plan) -> ToldOrders {
        let told_until = from + shop.rules.told;
        let mut planned: FxHashMap<&OrderId, (Moment, Vec<bool>)> = FxHashMap::default();
        for line in &before.brakes {
            let Some(brake) = shop.brakes.iter().position(|one| one.id == line.brake) else {
                continue;
            };
            for run in line.runs.iter().filter(|run| run.end > from) {
                let nothing = || (run.start, vec![false; shop.brakes.len()]);
                let (start, brakes) = planned.entry(&run.order).or_insert_with(nothing);
                *start = run.start.min(*start);
                brakes[brake] = true;
            }
        }
        let mut orders = Vec::new();
        for (at, order) in shop.orders.iter().enumerate() {
            let in_progress = shop.floor.running.iter().any(|one| one.order == order.id);
            if in_progress || shop.pieces_left(order) == 0 {
                continue;
            }
            match planned.remove(&order.id) {
                Some((start, brakes)) if start < told_until => orders.push(ToldOrder {
                    order: at,
                    start,
                    brakes,
                }),
                _ => {}
            }
        }
        let mut place_of = Vec::new();
        if !orders.is_empty() {
            place_of.resize(shop.orders.len(), None);
        }
        for (place, told) in orders.iter().enumerate() {
            place_of[told.order] = Some(place);
        }
        ToldOrders { orders, place_of }
    }

    /// As the plan carries it.
    pub(crate) fn entries(&self, shop: &Shop) -> Vec<Told> {
        let entry = |told: &ToldOrder| {
            let brakes = shop.brakes.iter().zip(&told.brakes);
            Told {
                order: shop.orders[told.order].id.clone(),
                start: told.start,
                brakes: brakes
                    .filter(|&(_, &told)| told)
                    .map(|(brake, _)| brake.id.clone())
                    .collect(),
            }
        };
        self.orders.iter().map(entry).collect()
    }
}

/// How far the runs timed so far are from what people have been told.
#[derive(Clone, Debug, Default)]
pub(crate) struct Disturbance {
    /// By order told of: its first start so far.
    starts: Vec<Option<Moment>>,
    /// Orders told of and the brakes they were not told of, each pair once.
    elsewhere: Vec<(usize, usize)>,
    /// Seconds between starts told and starts of the orders of which all runs are timed.
    moved: i64,
}

impl Disturbance {
    /// Nothing timed yet.
    pub(crate) fn reset(&mut self, told: &ToldOrders) {
        self.starts.clear();
        self.starts.resize(told.orders.len(), None);
        self.elsewhere.clear();
        self.moved = 0;
    }

    /// A run of an order has been timed.
    pub(crate) fn run(&mut self, told: &ToldOrders, order: usize, brake: usize, start: Moment) {
        let Some(place) = told.place_of.get(order).copied().flatten() else {
            return;
        };
        let first = &mut self.starts[place];
        *first = Some(first.map_or(start, |first| first.min(start)));
        let pair = (place, brake);
        if !told.orders[place].brakes[brake] && !self.elsewhere.contains(&pair) {
            self.elsewhere.push(pair);
        }
    }

    /// No run of an order is to come any more.
    pub(crate) fn close(&mut self, told: &ToldOrders, order: usize) {
        let Some(place) = told.place_of.get(order).copied().flatten() else {
            return;
        };
        if let Some(start) = self.starts[place] {
            self.moved += (start - told.orders[place].start).0.abs();
        }
    }

    /// Closes the orders of which runs are in no line.
    pub(crate) fn close_open(&mut self, told: &ToldOrders, left_of_order: &[u32]) {
        for place in 0..told.orders.len() {
            let order = told.orders[place].order;
            if left_of_order[order] > 0 {
                self.close(told, order);
            }
        }
    }

    /// Seconds off the starts told.
    pub(crate) fn moved(&self) -> i64 {
        self.moved
    }

    /// Brakes that were not told.
    pub(crate) fn other_brakes(&self) -> usize {
        self.elsewhere.len()
    }

    /// In the objective's unit; only grows while runs are timed.
    pub(crate) fn cost(&self, rules: &Rules) -> i64 {
        let elsewhere = i64::try_from(self.elsewhere.len()).unwrap_or(i64::MAX);
        elsewhere * i64::from(rules.other_brake_minutes) * 3_600
            + self.moved * i64::from(rules.moved_hour_minutes)
    }
}

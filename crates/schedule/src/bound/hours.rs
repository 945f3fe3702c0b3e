//! Lateness that no plan can avoid, because brakes and people have only so many hours.
//!
//! Every run is cut into shares that may be bent at any time, on any of its brakes, each hour of a
//! brake and of the people taken together holding no more than it has. A share bent late costs its
//! part of the order's lateness, in such a way that the shares of a run bent in one piece that ends
//! at C cost no more than weight · max(0, C − due): for a run of length p, work at a time t > due
//! costs weight/p · (t − due + p/2) a second (K. Bülbül, P. Kaminsky and C. Yano, "Preemption in
//! single machine earliness/tardiness scheduling", Journal of Scheduling 10 (2007) \[memory\]). So
//! the cheapest cutting is not dearer than any plan.
//!
//! It is not looked for itself. Every hour gets a price, every run takes its cheapest place at those
//! prices, and the prices of all hours there are come off: whatever the prices, that is no more than
//! the cheapest cutting (Lagrangian duality). Prices climb where more is taken than there is, by
//! subgradients: M. Held, P. Wolfe and H. P. Crowder, "Validation of subgradient optimization",
//! Mathematical Programming 6 (1974) \[memory\].

#![allow(clippy::cast_precision_loss, clippy::cast_possible_truncation)] // costs far below 2^52

use super::counts;
use super::lateness::ends_alone;
use crate::least_change::new_part;
use crate::problem::Problem;
use tooling::run_time;
use units::{Moment, Seconds, Window};

/// Hours in one step of time, the shortest first; the first that leaves few enough steps is taken.
const STEP_HOURS: [i64; 6] = [1, 2, 4, 8, 12, 24];
/// Steps of time wanted at most.
const STEPS_MOST: usize = 240;
/// Places looked at in all, which bounds the work: places of all runs, times rounds.
const LOOKS: usize = 40_000_000;
/// Rounds at most, and rounds without a better bound after which the steps are halved.
const ROUNDS: usize = 400;
const PATIENCE: usize = 12;

/// The least that lateness and orders left out can cost together, in the unit of the objective.
/// `out` is what leaving an order out costs at least, by order; `most` is the cost of some plan,
/// which steers the prices and nothing else.
pub(super) fn lateness_and_left_out(problem: &Problem<'_>, out: &[i64], most: i64) -> i64 {
    let hours = Hours::of(problem);
    let runs = Run::all(problem, &hours);
    let given = given(problem, out.len());
    let mut prices = Prices::none(&hours);
    let mut best = f64::NEG_INFINITY;
    let places: usize = runs
        .iter()
        .map(|run| run.ways.len() * hours.steps.len())
        .sum();
    let rounds = (LOOKS / places.max(1)).clamp(10, ROUNDS);
    let (mut pace, mut waited) = (1.0, 0);
    for _ in 0..rounds {
        let priced = prices.apply(&hours, &runs, &given, out);
        if priced.bound > best {
            (best, waited) = (priced.bound, 0);
        } else {
            waited += 1;
            if waited == PATIENCE {
                (pace, waited) = (pace / 2.0, 0);
            }
        }
        if !prices.climb(&priced, pace * (most as f64 - priced.bound)) {
            break;
        }
    }
    // Sums of doubles, rounded so that no error can lift the bound.
    (best - best.abs() * 1e-9 - 1.0).max(0.0).floor() as i64
}

/// By order: the price of the lateness that it has even with the shop to itself.
fn given(problem: &Problem<'_>, orders: usize) -> Vec<f64> {
    let late_hour = f64::from(problem.shop.rules.late_hour_minutes);
    let mut given = vec![0.0; orders];
    for (promise, end) in problem.promises.iter().zip(ends_alone(problem)) {
        let late = end.map_or(0, |end| (end - promise.due).0.max(0));
        given[promise.order] += late_hour * (promise.weight * late) as f64;
    }
    given
}

/// What brakes and people have, step of time by step of time.
struct Hours {
    steps: Vec<Window>,
    /// By brake and step: seconds staffed.
    brakes: Vec<Vec<f64>>,
    /// By step: seconds of people who bend.
    people: Vec<f64>,
}

impl Hours {
    fn of(problem: &Problem<'_>) -> Hours {
        let length = |hours: i64| Seconds(hours * 3_600);
        let count = |hours: i64| {
            let whole = (problem.until - problem.from).0;
            usize::try_from(whole / length(hours).0).unwrap_or(usize::MAX)
        };
        let few = STEP_HOURS.iter().find(|&&hours| count(hours) <= STEPS_MOST);
        let step = length(few.copied().unwrap_or(24));
        let mut steps = Vec::new();
        let mut start = problem.from;
        while start < problem.until {
            let end = (start + step).min(problem.until);
            steps.push(Window { start, end });
            start = end;
        }
        let roster = &problem.roster;
        Hours {
            brakes: roster
                .staffed
                .iter()
                .map(|spans| within(spans, &steps))
                .collect(),
            people: roster
                .bending()
                .iter()
                .map(|spans| within(spans, &steps))
                .fold(vec![0.0; steps.len()], |mut sum, person| {
                    sum.iter_mut()
                        .zip(person)
                        .for_each(|(sum, own)| *sum += own);
                    sum
                }),
            steps,
        }
    }
}

/// Seconds of the spans in each step of time; both in time order, spans apart.
fn within(spans: &[Window], steps: &[Window]) -> Vec<f64> {
    let seconds = |step: &Window| -> i64 {
        let from = spans.partition_point(|span| span.end <= step.start);
        let there = spans[from..]
            .iter()
            .take_while(|span| span.start < step.end);
        there
            .map(|span| (span.end.min(step.end) - span.start.max(step.start)).0)
            .sum()
    };
    steps.iter().map(|step| seconds(step) as f64).collect()
}

/// A run to be cut into shares.
struct Run {
    order: usize,
    /// First step of time in which its blanks are there.
    first: usize,
    /// Cost of each second that its end comes after `due`, and that moment: no sooner than its
    /// promise can be kept when it has the shop to itself, which is paid for already.
    weight: f64,
    due: Moment,
    ready: Moment,
    ways: Vec<Way>,
}

/// A run on one brake.
struct Way {
    brake: usize,
    /// Seconds of the brake, with the change that this run alone must have.
    taken: f64,
    /// Seconds of people who bend.
    people: f64,
}

impl Run {
    fn all(problem: &Problem<'_>, hours: &Hours) -> Vec<Run> {
        let rules = &problem.shop.rules;
        let mut of_part = vec![0_usize; problem.shop.parts.len()];
        for job in &problem.jobs {
            of_part[job.part] += 1;
        }
        let counting = || {
            let jobs = problem.jobs.iter().zip(&problem.ways);
            jobs.filter(|(job, _)| counts(problem, job))
        };
        let length = |quantity: u32, ways: &[std::sync::Arc<tooling::ToolingOption>]| -> f64 {
            let lengths = ways
                .iter()
                .map(|way| run_time(quantity, way.cycle_ms, rules).0);
            lengths.min().unwrap_or(0) as f64
        };
        let mut whole = vec![0.0; problem.promises.len()];
        for (job, ways) in counting() {
            whole[job.promise] += length(job.quantity, ways).max(1.0);
        }
        let ends = ends_alone(problem);
        let late_hour = f64::from(rules.late_hour_minutes);
        counting()
            .map(|(job, ways)| {
                let promise = &problem.promises[job.promise];
                let share = length(job.quantity, ways).max(1.0) / whole[job.promise];
                // A change that is made for this run alone; it may be made before the blanks are there.
                let alone = of_part[job.part] == 1 && !job.running && job.ready <= problem.from;
                let mut found: Vec<Way> = Vec::new();
                for option in ways {
                    let run = run_time(job.quantity, option.cycle_ms, rules).0 as f64;
                    let change = if alone {
                        new_part(problem, option, false).0 as f64
                    } else {
                        0.0
                    };
                    let way = Way {
                        brake: option.brake,
                        taken: run + change,
                        people: run * f64::from(option.crew),
                    };
                    match found.iter_mut().find(|other| other.brake == way.brake) {
                        Some(other) => {
                            other.taken = other.taken.min(way.taken);
                            other.people = other.people.min(way.people);
                        }
                        None => found.push(way),
                    }
                }
                Run {
                    order: job.order,
                    first: hours.steps.partition_point(|step| step.end <= job.ready),
                    weight: late_hour * promise.weight as f64 * share,
                    due: ends[job.promise].map_or(promise.due, |end| end.max(promise.due)),
                    ready: job.ready,
                    ways: found,
                }
            })
            .collect()
    }

    /// The cheapest place at these prices: its cost, way and step of time.
    fn cheapest(&self, hours: &Hours, prices: &Prices) -> (f64, usize, usize) {
        let mut best = (f64::INFINITY, 0, 0);
        for (index, way) in self.ways.iter().enumerate() {
            let of_brake = &prices.brakes[way.brake];
            let open = &hours.brakes[way.brake];
            for step in self.first..hours.steps.len() {
                if open[step] <= 0.0 {
                    continue;
                }
                let at = hours.steps[step].start.max(self.ready);
                let after = (at - self.due).0 as f64;
                let late = if after > 0.0 {
                    self.weight * (after + way.taken / 2.0)
                } else {
                    0.0
                };
                let cost = late + way.taken * of_brake[step] + way.people * prices.people[step];
                if cost < best.0 {
                    best = (cost, index, step);
                }
            }
        }
        best
    }
}

/// Prices of a second, by brake and step of time, and of people by step of time.
struct Prices {
    brakes: Vec<Vec<f64>>,
    people: Vec<f64>,
}

/// What the prices lead to.
struct Priced {
    bound: f64,
    /// Seconds taken less seconds there are.
    brakes: Vec<Vec<f64>>,
    people: Vec<f64>,
}

impl Prices {
    fn none(hours: &Hours) -> Prices {
        Prices {
            brakes: vec![vec![0.0; hours.steps.len()]; hours.brakes.len()],
            people: vec![0.0; hours.steps.len()],
        }
    }

    fn apply(&self, hours: &Hours, runs: &[Run], given: &[f64], out: &[i64]) -> Priced {
        let mut cost_in: Vec<f64> = given.to_vec();
        let places: Vec<(f64, usize, usize)> =
            runs.iter().map(|run| run.cheapest(hours, self)).collect();
        for (run, (cost, ..)) in runs.iter().zip(&places) {
            cost_in[run.order] += cost;
        }
        let negated = |all: &[f64]| all.iter().map(|seconds| -seconds).collect::<Vec<f64>>();
        let mut priced = Priced {
            bound: 0.0,
            brakes: hours.brakes.iter().map(|brake| negated(brake)).collect(),
            people: negated(&hours.people),
        };
        for (order, cost) in cost_in.iter().enumerate() {
            priced.bound += cost.min(out[order] as f64);
        }
        for (run, &(cost, way, step)) in runs.iter().zip(&places) {
            // An order that is cheaper left out takes no time; neither does one without a place.
            if cost_in[run.order] <= out[run.order] as f64 && cost.is_finite() {
                let way = &run.ways[way];
                priced.brakes[way.brake][step] += way.taken;
                priced.people[step] += way.people;
            }
        }
        let paid = |prices: &[f64], there: &[f64]| -> f64 {
            prices
                .iter()
                .zip(there)
                .map(|(price, seconds)| price * seconds)
                .sum()
        };
        for (prices, there) in self.brakes.iter().zip(&hours.brakes) {
            priced.bound -= paid(prices, there);
        }
        priced.bound -= paid(&self.people, &hours.people);
        priced
    }

    /// A step uphill, as far as would bring the bound up by `gap` if it were straight. False when
    /// there is nothing to climb.
    fn climb(&mut self, priced: &Priced, gap: f64) -> bool {
        let lines = || self.brakes.iter().chain([&self.people]);
        let slopes = || priced.brakes.iter().chain([&priced.people]);
        // Where the price is nothing already it cannot fall.
        let counts = |price: f64, slope: f64| price > 0.0 || slope > 0.0;
        let square: f64 = lines()
            .flatten()
            .zip(slopes().flatten())
            .filter(|&(&price, &slope)| counts(price, slope))
            .map(|(_, slope)| slope * slope)
            .sum();
        if square <= 0.0 || gap <= 0.0 {
            return false;
        }
        let step = gap / square;
        let lines = self.brakes.iter_mut().chain([&mut self.people]);
        for (line, slope) in lines.zip(slopes()) {
            for (price, slope) in line.iter_mut().zip(slope) {
                *price = (*price + step * slope).max(0.0);
            }
        }
        true
    }
}

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

use super::lateness::end_alone;
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
/// `out` is what leaving a run out costs at least, by run; `most` is the cost of some plan, which
/// steers the prices and nothing else.
pub(super) fn lateness_and_left_out(problem: &Problem<'_>, out: &[i64], most: i64) -> i64 {
    let hours = Hours::of(problem);
    let runs = Run::all(problem, &hours);
    let mut prices = Prices::none(&hours);
    let mut best = f64::NEG_INFINITY;
    let places: usize = runs
        .iter()
        .map(|run| run.ways.len() * hours.steps.len())
        .sum();
    let rounds = (LOOKS / places.max(1)).clamp(10, ROUNDS);
    let (mut pace, mut waited) = (1.0, 0);
    for _ in 0..rounds {
        let priced = prices.apply(&hours, &runs, out);
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
    /// First step of time in which its blanks are there.
    first: usize,
    ready: Moment,
    /// Cost of its lateness even with the shop to itself.
    given: f64,
    /// Cost of each second that it ends after `due`: its own due time, or when it would end with the
    /// shop to itself, if that is later.
    weight: f64,
    due: Moment,
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
        // A promise's weight is shared among its runs by their length: its lateness is that of the
        // last, so at least any mean of theirs.
        let mut whole = vec![0.0; problem.promises.len()];
        for (run, job) in problem.jobs.iter().enumerate() {
            whole[job.promise] += length(problem, run);
        }
        let mut of_part = vec![0_usize; problem.shop.parts.len()];
        for job in &problem.jobs {
            of_part[job.part] += 1;
        }
        let late_hour = f64::from(problem.shop.rules.late_hour_minutes);
        let runs = problem.jobs.iter().enumerate();
        runs.map(|(run, job)| {
            let promise = &problem.promises[job.promise];
            let share = length(problem, run) / whole[job.promise];
            let weight = late_hour * promise.weight as f64 * share;
            // One that cannot end within the horizon is left out; what it is given does not matter.
            let end = end_alone(problem, run).unwrap_or(promise.due);
            // A change that is made for this run alone, unless before its blanks are there.
            let changed = of_part[job.part] == 1 && !job.running && job.ready <= problem.from;
            Run {
                first: hours.steps.partition_point(|step| step.end <= job.ready),
                ready: job.ready,
                given: weight * (end - promise.due).0.max(0) as f64,
                weight,
                due: promise.due.max(end),
                ways: Way::all(problem, run, changed),
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
                // No price is below nothing, and later hours only cost more lateness.
                if late >= best.0 {
                    break;
                }
                let cost = late + way.taken * of_brake[step] + way.people * prices.people[step];
                if cost < best.0 {
                    best = (cost, index, step);
                }
            }
        }
        best
    }
}

impl Way {
    fn all(problem: &Problem<'_>, run: usize, changed: bool) -> Vec<Way> {
        let mut found: Vec<Way> = Vec::new();
        for option in &problem.ways[run] {
            let quantity = problem.jobs[run].quantity;
            let bent = run_time(quantity, option.cycle_ms, &problem.shop.rules).0 as f64;
            let change = if changed {
                new_part(problem, option, false).0 as f64
            } else {
                0.0
            };
            let (taken, people) = (bent + change, bent * f64::from(option.crew));
            match found.iter_mut().find(|other| other.brake == option.brake) {
                Some(other) => {
                    other.taken = other.taken.min(taken);
                    other.people = other.people.min(people);
                }
                None => found.push(Way {
                    brake: option.brake,
                    taken,
                    people,
                }),
            }
        }
        found
    }
}

/// Seconds that a run takes at least, at least one.
fn length(problem: &Problem<'_>, run: usize) -> f64 {
    let lengths = problem.ways[run].iter().map(|option| {
        let quantity = problem.jobs[run].quantity;
        run_time(quantity, option.cycle_ms, &problem.shop.rules).0
    });
    lengths.min().unwrap_or(0).max(1) as f64
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

    fn apply(&self, hours: &Hours, runs: &[Run], out: &[i64]) -> Priced {
        let negated = |all: &[f64]| all.iter().map(|seconds| -seconds).collect::<Vec<f64>>();
        let mut priced = Priced {
            bound: 0.0,
            brakes: hours.brakes.iter().map(|brake| negated(brake)).collect(),
            people: negated(&hours.people),
        };
        for (run, &out) in runs.iter().zip(out) {
            let (cost, way, step) = run.cheapest(hours, self);
            let (placed, out) = (run.given + cost, out as f64);
            priced.bound += placed.min(out);
            // A run that is cheaper left out takes no time.
            if placed <= out {
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

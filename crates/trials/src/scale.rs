//! How planning grows with the shop: time, memory, evaluations.

use crate::beds::judged::{self, Untrue};
use crate::beds::report::markdown;
use crate::clock::Clock;
use clap::Args;
use search::{Progress, Stop};
use std::str::FromStr;
use std::time::Duration;
use tabled::builder::Builder;
use testkit::{Recipe, Sections, invent};

/// Share above the long run's result within which a plan counts as good.
const GOOD: f64 = 0.02;

/// What is to be run.
#[derive(Clone, Debug, Args)]
pub struct Ask {
    /// Sizes, as orders/brakes.
    #[arg(long, value_delimiter = ',', default_value = "150/5,1000/12,5000/40")]
    sizes: Vec<Size>,
    /// Seconds of the long run whose result counts as the best to be had.
    #[arg(long, default_value_t = 600.0)]
    seconds: f64,
    /// Seed of the shop and of the search.
    #[arg(long, default_value_t = 1)]
    seed: u64,
    /// Threads of the search. With one, time is that of its core; with more, the clock's.
    #[arg(long, default_value_t = 1)]
    threads: usize,
    /// Tightness of due dates, 0 to 1.
    #[arg(long, default_value_t = 0.5)]
    tight: f64,
}

/// Orders and brakes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Size {
    orders: usize,
    brakes: usize,
}

impl FromStr for Size {
    type Err = String;

    fn from_str(text: &str) -> Result<Size, String> {
        let bad = || format!("{text:?} is no size: write orders/brakes, for example 150/5");
        let (orders, brakes) = text.split_once('/').ok_or_else(bad)?;
        let number = |text: &str| text.trim().parse().ok().filter(|&number| number > 0);
        Ok(Size {
            orders: number(orders).ok_or_else(bad)?,
            brakes: number(brakes).ok_or_else(bad)?,
        })
    }
}

/// Why a size has no line.
#[derive(Debug, thiserror::Error)]
#[error("{orders} orders: {untrue}")]
pub struct Failure {
    orders: usize,
    untrue: Untrue,
}

/// One clock for what runs in one thread, another for what runs in several.
#[derive(Clone, Copy)]
enum Watch {
    Core(Clock),
    Wall(std::time::Instant),
}

impl Watch {
    fn start(threads: usize) -> Watch {
        if threads > 1 {
            Watch::Wall(std::time::Instant::now())
        } else {
            Watch::Core(Clock::start())
        }
    }

    fn elapsed(self) -> Duration {
        match self {
            Watch::Core(clock) => clock.elapsed(),
            Watch::Wall(start) => start.elapsed(),
        }
    }
}

/// Stops after a time.
struct Until {
    watch: Watch,
    limit: Duration,
}

impl Stop for Until {
    fn now(&mut self, _steps: u64) -> bool {
        self.watch.elapsed() >= self.limit
    }

    fn at_most(&self, _steps: u64) -> u64 {
        8
    }
}

/// Better costs and when they were there.
struct Trace {
    watch: Watch,
    points: Vec<(Duration, i64)>,
}

impl Progress for Trace {
    fn better(&mut self, _steps: u64, cost: i64) {
        self.points.push((self.watch.elapsed(), cost));
    }
}

impl Trace {
    /// Cost after a time, if anything was there.
    fn at(&self, time: Duration) -> Option<i64> {
        let points = self.points.iter().take_while(|(when, _)| *when <= time);
        points.last().map(|(_, cost)| *cost)
    }

    /// First time at which the cost was at or below a limit.
    fn first_below(&self, limit: f64) -> Option<Duration> {
        let below = |(_, cost): &&(Duration, i64)| minutes(*cost) <= limit;
        self.points.iter().find(below).map(|(when, _)| *when)
    }
}

/// What one size took.
struct Measured {
    size: Size,
    runs: usize,
    compile: Duration,
    first: Duration,
    trace: Trace,
    cost: i64,
    evaluations: f64,
    memory: Option<u64>,
}

/// Plans each size for a long time and tells when it was good.
///
/// # Errors
/// [`Failure`] when the audit refuses a plan.
pub fn run(ask: &Ask) -> Result<String, Failure> {
    let mut builder = Builder::default();
    builder.push_record([
        "orders/brakes",
        "runs",
        "compile",
        "first answer there",
        "first, min",
        "after 2 s",
        "after 15 s",
        "after 60 s",
        "at the end, min",
        "within 2 % after",
        "evaluations/s",
        "peak memory",
    ]);
    for &size in &ask.sizes {
        let measured = measure(ask, size).map_err(|untrue| Failure {
            orders: size.orders,
            untrue,
        })?;
        builder.push_record(line(&measured));
    }
    Ok(format!("{}\n", markdown(builder)))
}

fn measure(ask: &Ask, size: Size) -> Result<Measured, Untrue> {
    let recipe = Recipe::bed(size.orders, ask.tight, Sections::Ample, ask.seed);
    let shop = invent(&Recipe {
        brakes: size.brakes,
        people: 2 + size.brakes * 3 / 2,
        ..recipe
    });
    let from = shop.as_of.ok_or(Untrue::NoMoment)?;
    forget_peak();
    let watch = Watch::start(ask.threads);
    let means = schedule::Means {
        threads: ask.threads,
        ..schedule::Means::default()
    };
    let (problem, _) = schedule::compile_with(&shop, from, means);
    let compile = watch.elapsed();
    let start = schedule::begin(&problem, None, ask.threads).start;
    let first = watch.elapsed();
    let points = Vec::new();
    let mut trace = Trace { watch, points };
    let limit = Duration::from_secs_f64(ask.seconds);
    let effort = schedule::effort(ask.seed, ask.threads);
    let mut until = Until { watch, limit };
    let outcome = search::solve(&problem, start, effort, &mut until, &mut trace);
    let searched = (watch.elapsed() - first).as_secs_f64();
    let memory = peak();
    let cost = judged::cost(&problem, &outcome.best, outcome.cost)?;
    let steps = u32::try_from(outcome.steps).unwrap_or(u32::MAX);
    Ok(Measured {
        size,
        runs: problem.jobs.len(),
        compile,
        first,
        trace,
        cost,
        evaluations: f64::from(steps) / searched.max(1e-9),
        memory,
    })
}

fn line(measured: &Measured) -> [String; 12] {
    let seconds = |time: Duration| format!("{:.2} s", time.as_secs_f64());
    let last = minutes(measured.cost);
    let above = |after: u64| {
        let cost = measured.trace.at(Duration::from_secs(after));
        cost.map_or("–".to_owned(), |cost| {
            format!("{:+.1} %", 100.0 * (minutes(cost) - last) / last.max(1.0))
        })
    };
    let good = measured.trace.first_below(last * (1.0 + GOOD));
    let first_cost = measured.trace.points.first().map(|(_, cost)| *cost);
    [
        format!("{}/{}", measured.size.orders, measured.size.brakes),
        measured.runs.to_string(),
        seconds(measured.compile),
        seconds(measured.first),
        format!("{:.0}", minutes(first_cost.unwrap_or(measured.cost))),
        above(2),
        above(15),
        above(60),
        format!("{last:.0}"),
        good.map_or("–".to_owned(), seconds),
        format!("{:.0}", measured.evaluations),
        measured.memory.map_or("–".to_owned(), |kibibytes| {
            format!("{} MB", kibibytes / 1_024)
        }),
    ]
}

#[allow(clippy::cast_precision_loss)] // costs far below 2^52
fn minutes(cost: i64) -> f64 {
    cost as f64 / 3_600.0
}

/// Lets the peak of the memory count from here on; where the system cannot, the peak is that of
/// the whole process so far.
fn forget_peak() {
    let _ = std::fs::write("/proc/self/clear_refs", "5");
}

/// Most memory held at a time, in kibibytes, as Linux tells.
fn peak() -> Option<u64> {
    let status = std::fs::read_to_string("/proc/self/status").ok()?;
    let line = status.lines().find(|line| line.starts_with("VmHWM:"))?;
    line.split_whitespace().nth(1)?.parse().ok()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_size_is_orders_and_brakes() {
        let size = Size {
            orders: 150,
            brakes: 5,
        };
        assert_eq!("150/5".parse(), Ok(size));
        for text in ["150", "150/", "0/5", "a/b"] {
            assert!(text.parse::<Size>().is_err(), "{text}");
        }
    }

    #[test]
    fn a_trace_tells_when_it_was_good() {
        let second = Duration::from_secs;
        let trace = Trace {
            watch: Watch::start(1),
            points: vec![(second(1), 7_200), (second(3), 3_600)],
        };
        assert_eq!(trace.at(Duration::ZERO), None);
        assert_eq!(trace.at(second(2)), Some(7_200));
        assert_eq!(trace.first_below(1.5), Some(second(3)));
        assert_eq!(trace.first_below(0.5), None);
    }
}

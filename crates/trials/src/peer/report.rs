//! The comparison and its table.

use super::pairs::{NotPairs, Pairs};
use super::solver::{self, Answer, Silent};
use crate::beds::judged::{self, Untrue};
use crate::beds::report::markdown;
use crate::clock::{Clock, Limit};
use clap::Args;
use search::Problem as _;
use std::path::PathBuf;
use std::time::Duration;
use tabled::builder::Builder;
use testkit::pairwise;

/// What is to be run.
#[derive(Clone, Debug, Args)]
pub struct Ask {
    /// Orders of the shops.
    #[arg(long, value_delimiter = ',', default_value = "8,10")]
    orders: Vec<usize>,
    /// Brakes.
    #[arg(long, value_delimiter = ',', default_value = "1,2")]
    brakes: Vec<usize>,
    /// Shops of each size.
    #[arg(long, default_value_t = 3)]
    shops: u64,
    /// Seconds of processor time for each solver.
    #[arg(long, default_value_t = 30.0)]
    seconds: f64,
    /// Seconds for ours, when other than the same.
    #[arg(long)]
    ours_seconds: Option<f64>,
    /// Threads of the other solver, which share its time; ours has one.
    #[arg(long, default_value_t = 1)]
    threads: usize,
    /// Tightness of due dates, 0 to 1.
    #[arg(long, default_value_t = 0.7)]
    tight: f64,
    /// Fails unless every shop is proved and ours is that optimum.
    #[arg(long)]
    oracle: bool,
    /// Interpreter that has the solver.
    #[arg(
        long,
        env = "BRAKEWRIGHT_PEER_PYTHON",
        default_value = "target/peer-venv/bin/python"
    )]
    python: PathBuf,
    /// The solver's program.
    #[arg(long, default_value = "tests/peer/solve.py")]
    program: PathBuf,
}

/// Why there is no table.
#[derive(Debug, thiserror::Error)]
pub enum Failure {
    /// No other solver.
    #[error(transparent)]
    Silent(#[from] Silent),
    /// No matrix.
    #[error("{0}: {1}")]
    NotPairs(String, NotPairs),
    /// A plan does not count.
    #[error("{0}: {1}")]
    Untrue(String, Untrue),
    /// The two do not fit.
    #[error("{0}: {1}")]
    Disagree(String, String),
}

impl Failure {
    /// Whether something has to be installed first.
    #[must_use]
    pub fn is_missing(&self) -> bool {
        matches!(self, Failure::Silent(Silent::NotInstalled(_)))
    }
}

/// One shop, solved by both.
struct Case {
    modes: usize,
    ours: i64,
    peer: Answer,
}

/// Solves all shops by both and tells of them.
///
/// # Errors
/// [`Failure`], among others when the other solver's bound is above ours, or its lines cost
/// something else by the engine.
pub fn run(ask: &Ask) -> Result<String, Failure> {
    if !solver::installed(&ask.python) {
        return Err(Silent::NotInstalled(ask.python.clone()).into());
    }
    let mut builder = Builder::default();
    builder.push_record([
        "shop",
        "modes",
        "ours",
        "peer",
        "peer's bound",
        "proved",
        "peer's seconds",
        "peer to ours",
    ]);
    for &orders in &ask.orders {
        for &brakes in &ask.brakes {
            for seed in 1..=ask.shops {
                let name = format!("{orders} orders, {brakes} brakes, shop {seed}");
                let case = one(ask, &name, (orders, brakes, seed))?;
                builder.push_record(line(&name, &case));
            }
        }
    }
    Ok(format!("{}\n", markdown(builder)))
}

fn one(
    ask: &Ask,
    name: &str,
    (orders, brakes, seed): (usize, usize, u64),
) -> Result<Case, Failure> {
    let untrue = |untrue| Failure::Untrue(name.to_owned(), untrue);
    let shop = pairwise(orders, brakes, ask.tight, seed);
    let from = shop.as_of.ok_or(Untrue::NoMoment).map_err(untrue)?;
    let time = Duration::from_secs_f64(ask.ours_seconds.unwrap_or(ask.seconds));
    let mut limit = Limit::new(Clock::start(), time);
    let (problem, _) = schedule::compile(&shop, from);
    let start = schedule::begin(&problem, None, 1).start;
    let effort = schedule::effort(seed, 1);
    let outcome = search::solve(&problem, start, effort, &mut limit, &mut ());
    let ours = judged::cost(&problem, &outcome.best, outcome.cost).map_err(untrue)?;
    let not_pairs = |error| Failure::NotPairs(name.to_owned(), error);
    let pairs = Pairs::of(&shop, &problem).map_err(not_pairs)?;
    let mut peer = solver::solve(&ask.python, &ask.program, &pairs, ask.seconds, ask.threads)?;
    if let Some((sequences, said)) = &mut peer.found {
        let mut scratch = problem.scratch();
        let engine = problem.cost(&mut scratch, sequences, i64::MAX);
        judged::cost(&problem, sequences, engine).map_err(untrue)?;
        // Stopped early it may have left gaps in its lines, which the engine closes.
        if engine > *said || (peer.proved && engine < *said) {
            let text = format!("its lines cost {said} by itself and {engine} by the engine");
            return Err(Failure::Disagree(name.to_owned(), text));
        }
        *said = engine;
    }
    if let Some(fault) = fault(ask, ours, &peer) {
        return Err(Failure::Disagree(name.to_owned(), fault));
    }
    Ok(Case {
        modes: pairs.modes.len(),
        ours,
        peer,
    })
}

fn fault(ask: &Ask, ours: i64, peer: &Answer) -> Option<String> {
    let Answer { bound, proved, .. } = peer;
    if ours < *bound {
        return Some(format!("ours costs {ours}, below its bound {bound}"));
    }
    let cost = peer.found.as_ref().map(|(_, cost)| *cost);
    let proof = (Some(ours), true) == (cost, *proved);
    (ask.oracle && !proof)
        .then(|| format!("ours costs {ours}, its best {cost:?}, proved: {proved}"))
}

#[allow(clippy::cast_precision_loss)] // costs far below 2^52
fn line(name: &str, case: &Case) -> [String; 8] {
    let minutes = |cost: i64| format!("{:.1}", cost as f64 / 3_600.0);
    let Case { modes, ours, peer } = case;
    let found = peer.found.as_ref().map(|(_, cost)| *cost);
    let more = |cost: i64| 100.0 * (cost - ours) as f64 / (*ours).max(1) as f64;
    let none = || "none".to_owned();
    [
        name.to_owned(),
        modes.to_string(),
        minutes(*ours),
        found.map_or_else(none, minutes),
        minutes(peer.bound),
        if peer.proved { "yes" } else { "no" }.to_owned(),
        format!("{:.1}", peer.seconds),
        found.map_or_else(none, |cost| format!("{:+.2} %", more(cost))),
    ]
}

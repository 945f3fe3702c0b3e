//! Many callers at once: how long the daemon takes to answer, and whether it ever fails.
//!
//! The daemon runs as a program of its own on an invented shop; callers keep one connection each, as
//! programs and browsers do, and ask the next thing when the last is answered.

mod caller;
mod daemon;

use caller::{Caller, Kind, Told};
use clap::Args;
use daemon::{Daemon, Trouble};
use std::collections::BTreeMap;
use std::path::PathBuf;
use std::sync::atomic::{AtomicBool, Ordering};
use std::thread::{scope, sleep};
use std::time::{Duration, Instant};
use tabled::builder::Builder;
use testkit::{Recipe, Sections, invent};

/// What is to be run.
#[derive(Clone, Debug, Args)]
pub struct Ask {
    /// The executable.
    #[arg(long, default_value = "target/release/brakewright")]
    program: PathBuf,
    /// Where the daemon keeps everything; a file of its own when not given.
    #[arg(long)]
    db: Option<String>,
    /// Orders of the invented shop.
    #[arg(long, default_value_t = 1_000)]
    orders: usize,
    /// Callers at once.
    #[arg(long, default_value_t = 200)]
    clients: usize,
    /// Seconds.
    #[arg(long, default_value_t = 60)]
    seconds: u64,
    /// Of a hundred requests so many change something.
    #[arg(long, default_value_t = 20)]
    writes: u64,
    /// Seed of the shop.
    #[arg(long, default_value_t = 1)]
    seed: u64,
}

/// Why there is no table.
#[derive(Debug, thiserror::Error)]
pub enum Failure {
    /// The daemon could not be started or reached.
    #[error(transparent)]
    Daemon(#[from] Trouble),
    /// It failed under load.
    #[error("{0}\n{1} requests were not answered or answered with a fault")]
    Faults(String, usize),
}

/// Runs the daemon under load and tells how it did.
///
/// # Errors
/// [`Failure`] when the daemon cannot be run, leaves a request unanswered or answers with a fault of
/// its own (5xx).
pub fn run(ask: &Ask) -> Result<String, Failure> {
    let shop = invent(&Recipe::bed(ask.orders, -1.0, Sections::Ample, ask.seed));
    let daemon = Daemon::start(&ask.program, ask.db.as_deref(), &shop)?;
    let orders: Vec<String> = shop
        .orders
        .iter()
        .map(|order| order.id.to_string())
        .collect();
    let parts: Vec<String> = shop.parts.iter().map(|part| part.id.to_string()).collect();
    let due = shop
        .orders
        .iter()
        .map(|order| order.due)
        .max()
        .unwrap_or_default();
    let due = documents::local(due, shop.zone);
    let over = AtomicBool::new(false);
    let began = Instant::now();
    let told: Vec<Told> = scope(|scope| {
        let callers: Vec<_> = (0..ask.clients)
            .map(|number| {
                let (orders, parts, due, over) = (&orders, &parts, &due, &over);
                let address = daemon.address();
                scope.spawn(move || {
                    let seed = number as u64;
                    let mut caller = Caller::new(address, seed, ask.writes, (orders, parts, due));
                    let mut told = Vec::new();
                    while !over.load(Ordering::Relaxed) {
                        told.push(caller.ask());
                    }
                    told
                })
            })
            .collect();
        sleep(Duration::from_secs(ask.seconds));
        over.store(true, Ordering::Relaxed);
        let all = callers
            .into_iter()
            .map(|caller| caller.join().unwrap_or_default());
        all.flatten().collect()
    });
    let seconds = began.elapsed().as_secs_f64();
    let memory = daemon.memory();
    drop(daemon);
    let faults = told.iter().filter(|told| told.is_fault()).count();
    let text = table(&told, seconds, ask, memory);
    if faults > 0 {
        return Err(Failure::Faults(text, faults));
    }
    Ok(text)
}

fn table(told: &[Told], seconds: f64, ask: &Ask, memory: Option<u64>) -> String {
    let mut kinds: BTreeMap<Kind, Vec<&Told>> = BTreeMap::new();
    for told in told {
        kinds.entry(told.kind).or_default().push(told);
    }
    let mut builder = Builder::default();
    builder.push_record([
        "request",
        "answers",
        "a second",
        "p50 ms",
        "p99 ms",
        "longest ms",
        "refused",
        "faults",
    ]);
    for (kind, told) in kinds {
        let mut times: Vec<f64> = told
            .iter()
            .map(|told| told.took.as_secs_f64() * 1e3)
            .collect();
        times.sort_by(f64::total_cmp);
        let at = |share: usize| times.get((times.len() * share / 100).min(times.len() - 1));
        let refused = told
            .iter()
            .filter(|told| (400..500).contains(&told.status))
            .count();
        let faults = told.iter().filter(|told| told.is_fault()).count();
        builder.push_record([
            kind.words().to_owned(),
            told.len().to_string(),
            format!("{:.0}", told.len() as f64 / seconds),
            format!("{:.1}", at(50).copied().unwrap_or_default()),
            format!("{:.1}", at(99).copied().unwrap_or_default()),
            format!("{:.0}", times.last().copied().unwrap_or_default()),
            refused.to_string(),
            faults.to_string(),
        ]);
    }
    let memory = memory.map_or_else(String::new, |kib| format!(", {} MB at most", kib / 1_024));
    format!(
        "{} callers for {seconds:.0} s on {} orders{memory}\n\n{}\n",
        ask.clients,
        ask.orders,
        crate::beds::report::markdown(builder),
    )
}

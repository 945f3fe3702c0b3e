//! The commands and their tables.

use clap::Args;
use search::{Effort, Mix, Move};
use std::fmt::Write as _;
use std::path::PathBuf;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::sync::{Mutex, PoisonError};
use std::time::Duration;
use tabled::builder::Builder;
use tabled::settings::object::{Columns, Object, Rows};
use tabled::settings::{Alignment, Style};
use trials::measure::{Measured, Searcher, Untrue, run};
use trials::sets::{Known, Set, SetError, sample};

/// What is to be run.
#[derive(Debug, Args)]
pub(crate) struct Ask {
    /// Folder with the published sets, laid out as docs/concepts/benchmarks.md says.
    #[arg(long, env = "BRAKEWRIGHT_BENCHMARKS")]
    data: PathBuf,
    /// Sets to run; all when none is named.
    #[arg(long, value_enum, value_delimiter = ',')]
    sets: Vec<Set>,
    /// Seconds of one core for each run; several make several runs.
    #[arg(long, value_delimiter = ',', default_value = "1,10")]
    seconds: Vec<f64>,
    /// Runs of each instance, from seeds 1, 2, ...
    #[arg(long, default_value_t = 5)]
    seeds: u64,
    /// About so many instances of each set, evenly spread; all when not given.
    #[arg(long)]
    sample: Option<usize>,
    /// Runs at the same time, each on its own core.
    #[arg(long, default_value_t = 1)]
    threads: usize,
    /// Kinds of moves the search does without: hasten, join-alike, relocate, swap, block, way,
    /// reverse, trade.
    #[arg(long, value_delimiter = ',')]
    without: Vec<String>,
    /// Every run as a row of this file.
    #[arg(long)]
    csv: Option<PathBuf>,
}

/// Why there is no table.
#[derive(Debug, thiserror::Error)]
pub(crate) enum Failure {
    #[error(transparent)]
    Set(#[from] SetError),
    #[error("{instance}, seed {seed}: {untrue}")]
    Untrue {
        instance: String,
        seed: u64,
        untrue: Untrue,
    },
    #[error("no kind of move is called {0:?}")]
    Move(String),
    #[error("cannot write {path}: {cause}")]
    Csv { path: PathBuf, cause: csv::Error },
}

/// One run.
pub(crate) struct Row {
    pub(crate) set: Set,
    searcher: Searcher,
    seconds: f64,
    instance: String,
    seed: u64,
    known: i64,
    measured: Measured,
}

impl Row {
    /// Percent above the known value; from a known zero the unit is the whole.
    #[allow(clippy::cast_precision_loss)] // values far below 2^52
    pub(crate) fn difference(&self) -> f64 {
        let above = (self.measured.value - self.known) as f64;
        100.0 * above / (self.known.max(1)) as f64
    }
}

/// The search alone.
pub(crate) fn published(ask: &Ask) -> Result<String, Failure> {
    let rows = run_all(ask, &[Searcher::Engine], usual(ask)?)?;
    Ok(table(ask, &rows, &[Searcher::Engine]))
}

/// The search and its rivals.
pub(crate) fn rivals(ask: &Ask) -> Result<String, Failure> {
    let all = [Searcher::Engine, Searcher::Annealing, Searcher::Iterated];
    let rows = run_all(ask, &all, usual(ask)?)?;
    Ok(table(ask, &rows, &all))
}

pub(crate) fn sets(ask: &Ask) -> Vec<Set> {
    if ask.sets.is_empty() {
        use clap::ValueEnum as _;
        return Set::value_variants().to_vec();
    }
    ask.sets.clone()
}

fn mix(without: &[String]) -> Result<Mix, Failure> {
    let mut mix = Mix::default();
    for name in without {
        let plain = |kind: &&Move| format!("{kind:?}").to_lowercase() == name.replace('-', "");
        let kind = Move::ALL.iter().find(plain);
        mix = mix.without(*kind.ok_or_else(|| Failure::Move(name.clone()))?);
    }
    Ok(mix)
}

/// The search as it is, but for the kinds of moves that the caller wants left out.
fn usual(ask: &Ask) -> Result<Effort, Failure> {
    Ok(Effort {
        mix: mix(&ask.without)?,
        ..Effort::single(1)
    })
}

/// A run that is still to be done.
struct Task {
    set: Set,
    searcher: Searcher,
    seconds: f64,
    seed: u64,
    known: Known,
}

/// Every run that is asked for; of `effort` all counts but the seed.
pub(crate) fn run_all(
    ask: &Ask,
    searchers: &[Searcher],
    effort: Effort,
) -> Result<Vec<Row>, Failure> {
    let mut tasks = Vec::new();
    for set in sets(ask) {
        for known in sample(set.list(&ask.data)?, ask.sample) {
            for &searcher in searchers {
                for &seconds in &ask.seconds {
                    tasks.extend((1..=ask.seeds).map(|seed| Task {
                        set,
                        searcher,
                        seconds,
                        seed,
                        known: known.clone(),
                    }));
                }
            }
        }
    }
    let next = AtomicUsize::new(0);
    let done = Mutex::new(Vec::new());
    std::thread::scope(|scope| {
        for _ in 0..ask.threads.max(1) {
            scope.spawn(|| {
                while let Some(task) = tasks.get(next.fetch_add(1, Ordering::Relaxed)) {
                    let row = one(task, effort);
                    done.lock()
                        .unwrap_or_else(PoisonError::into_inner)
                        .push(row);
                }
            });
        }
    });
    let done = done.into_inner().unwrap_or_else(PoisonError::into_inner);
    let mut rows = done.into_iter().collect::<Result<Vec<Row>, Failure>>()?;
    // In the order of the tasks, whoever was done first.
    rows.sort_by(|a, b| (&a.instance, a.seed).cmp(&(&b.instance, b.seed)));
    if let Some(path) = &ask.csv {
        write_csv(path, &rows)?;
    }
    Ok(rows)
}

fn one(task: &Task, effort: Effort) -> Result<Row, Failure> {
    let instance = task.set.read(&task.known.path)?;
    let effort = Effort {
        seed: task.seed,
        ..effort
    };
    let time = Duration::from_secs_f64(task.seconds);
    let measured =
        run(&instance, task.searcher, effort, time).map_err(|untrue| Failure::Untrue {
            instance: task.known.name.clone(),
            seed: task.seed,
            untrue,
        })?;
    Ok(Row {
        set: task.set,
        searcher: task.searcher,
        seconds: task.seconds,
        instance: task.known.name.clone(),
        seed: task.seed,
        known: task.known.value,
        measured,
    })
}

fn write_csv(path: &PathBuf, rows: &[Row]) -> Result<(), Failure> {
    let failed = |cause| Failure::Csv {
        path: path.clone(),
        cause,
    };
    let mut writer = csv::Writer::from_path(path).map_err(failed)?;
    let heads = [
        "set", "search", "seconds", "instance", "seed", "known", "found", "steps",
    ];
    writer.write_record(heads).map_err(failed)?;
    for row in rows {
        let record = [
            row.set.name(),
            format!("{:?}", row.searcher).to_lowercase(),
            row.seconds.to_string(),
            row.instance.clone(),
            row.seed.to_string(),
            row.known.to_string(),
            row.measured.value.to_string(),
            row.measured.steps.to_string(),
        ];
        writer.write_record(record).map_err(failed)?;
    }
    writer.flush().map_err(|cause| failed(cause.into()))
}

/// A line for each set, search and time.
#[allow(clippy::cast_precision_loss, clippy::float_cmp)] // counts; seconds as they were given
fn table(ask: &Ask, rows: &[Row], searchers: &[Searcher]) -> String {
    let mut builder = Builder::default();
    builder.push_record([
        "set",
        "search",
        "seconds",
        "instances",
        "runs",
        "at or below known",
        "below",
        "instances at or below",
        "mean difference",
        "worst",
        "steps, mean",
    ]);
    for set in sets(ask) {
        for &searcher in searchers {
            for &seconds in &ask.seconds {
                let of = |row: &&Row| {
                    row.set == set && row.searcher == searcher && row.seconds == seconds
                };
                let group: Vec<&Row> = rows.iter().filter(of).collect();
                if !group.is_empty() {
                    builder.push_record(line(set, searcher, seconds, &group));
                }
            }
        }
    }
    let mut table = builder.build();
    table
        .with(Style::markdown())
        .modify(Columns::new(2..).not(Rows::first()), Alignment::right());
    let mut text = table.to_string();
    let _ = writeln!(text);
    text
}

#[allow(clippy::cast_precision_loss)] // counts
fn line(set: Set, searcher: Searcher, seconds: f64, group: &[&Row]) -> [String; 11] {
    let share = |count: usize, of: usize| format!("{:.1} %", 100.0 * count as f64 / of as f64);
    let reached = group.iter().filter(|row| row.measured.value <= row.known);
    let below = group.iter().filter(|row| row.measured.value < row.known);
    let mut instances: Vec<(&str, bool)> = Vec::new();
    for row in group {
        let hit = row.measured.value <= row.known;
        match instances.iter_mut().find(|(name, _)| *name == row.instance) {
            Some((_, best)) => *best |= hit,
            None => instances.push((&row.instance, hit)),
        }
    }
    let hits = instances.iter().filter(|(_, hit)| *hit).count();
    let differences = group.iter().map(|row| row.difference());
    let mean = differences.clone().sum::<f64>() / group.len() as f64;
    let worst = differences.fold(f64::MIN, f64::max);
    let steps = group.iter().map(|row| row.measured.steps).sum::<u64>() / group.len() as u64;
    [
        set.name(),
        format!("{searcher:?}").to_lowercase(),
        seconds.to_string(),
        instances.len().to_string(),
        group.len().to_string(),
        share(reached.count(), group.len()),
        share(below.count(), group.len()),
        share(hits, instances.len()),
        format!("{mean:+.3} %"),
        format!("{worst:+.3} %"),
        steps.to_string(),
    ]
}

//! The contest's command and its tables.

use super::contest::{Planned, Planner, plan};
use super::judged::{self, Untrue};
use super::shops::{Class, PROVED_MOST};
use crate::tasks;
use clap::{Args, ValueEnum};
use exact::enumerate;
use std::fmt::Write as _;
use std::path::PathBuf;
use std::time::Duration;
use tabled::builder::Builder;
use tabled::settings::object::{Columns, Object, Rows};
use tabled::settings::{Alignment, Style};

/// What is to be run.
#[derive(Clone, Debug, Args)]
pub struct Ask {
    /// Orders of the shops; 8 or fewer are also solved to proof.
    #[arg(long, value_delimiter = ',', default_value = "8,30,100,300")]
    orders: Vec<usize>,
    /// Seconds of one core for each plan.
    #[arg(long, default_value_t = 10.0)]
    seconds: f64,
    /// Plans of each shop by each planner, from seeds 1, 2, ...
    #[arg(long, default_value_t = 5)]
    seeds: u64,
    /// Shops of each size and kind.
    #[arg(long, default_value_t = 3)]
    shops: u64,
    /// Planners beside ours; all when none is named.
    #[arg(long, value_enum, value_delimiter = ',')]
    planners: Vec<Planner>,
    /// Most sequences tried for a proof; a shop with more is left without.
    #[arg(long, default_value_t = 3_000_000)]
    tried_most: u64,
    /// Plans made at the same time, each on its own core.
    #[arg(long, default_value_t = 1)]
    threads: usize,
    /// Every plan as a row of this file.
    #[arg(long)]
    csv: Option<PathBuf>,
}

/// Why there is no table.
#[derive(Debug, thiserror::Error)]
pub enum Failure {
    /// A plan does not count.
    #[error("{class}, shop {shop}, {planner}, seed {seed}: {untrue}")]
    Untrue {
        /// Kind of shop.
        class: String,
        /// Its seed.
        shop: u64,
        /// Who planned.
        planner: &'static str,
        /// With which seed.
        seed: u64,
        /// Why.
        untrue: Untrue,
    },
    /// The rows cannot be written.
    #[error("cannot write {path}: {cause}")]
    Csv {
        /// Where.
        path: PathBuf,
        /// Why.
        cause: csv::Error,
    },
    /// A thread was lost.
    #[error("a thread was lost")]
    Thread,
}

/// One plan to be made; a proof when no planner is named.
#[derive(Clone, Copy)]
struct Task {
    class: Class,
    shop: u64,
    planner: Option<Planner>,
    seed: u64,
}

/// A plan made. `planned` is nothing when a proof was given up.
struct Row {
    task: Task,
    planned: Option<Planned>,
}

/// Makes all plans and tells of them.
///
/// # Errors
/// [`Failure`] when a plan does not count or the rows cannot be written.
pub fn run(ask: &Ask) -> Result<String, Failure> {
    let tasks = tasks_of(ask);
    let done = tasks::each(&tasks, ask.threads, |task| one(ask, task)).ok_or(Failure::Thread)?;
    let rows = done.into_iter().collect::<Result<Vec<Row>, Failure>>()?;
    if let Some(path) = &ask.csv {
        let failed = |cause| Failure::Csv {
            path: path.clone(),
            cause,
        };
        write_csv(path, &rows).map_err(failed)?;
    }
    let mut text = String::new();
    for &orders in &ask.orders {
        if orders <= PROVED_MOST {
            let _ = writeln!(text, "{}", against_proof(orders, &rows));
        }
        for class in Class::all(orders) {
            let of_class: Vec<&Row> = rows.iter().filter(|row| row.task.class == class).collect();
            let _ = writeln!(text, "{orders} orders, {}:\n", class.name());
            let _ = writeln!(text, "{}\n", table(ask, &of_class));
        }
    }
    Ok(text)
}

fn planners(ask: &Ask) -> Vec<Planner> {
    let named = |planner: &&Planner| {
        ask.planners.is_empty() || ask.planners.contains(planner) || **planner == Planner::Ours
    };
    let all = Planner::value_variants().iter();
    all.filter(named).copied().collect()
}

fn tasks_of(ask: &Ask) -> Vec<Task> {
    let mut tasks = Vec::new();
    for class in ask.orders.iter().flat_map(|&orders| Class::all(orders)) {
        for shop in 1..=ask.shops {
            let of = |planner, seed| Task {
                class,
                shop,
                planner,
                seed,
            };
            if class.orders <= PROVED_MOST {
                tasks.push(of(None, 0));
            }
            for planner in planners(ask) {
                let seeds = if planner.has_chance() { ask.seeds } else { 1 };
                tasks.extend((1..=seeds).map(|seed| of(Some(planner), seed)));
            }
        }
    }
    tasks
}

fn one(ask: &Ask, task: &Task) -> Result<Row, Failure> {
    let shop = task.class.shop(task.shop);
    let planned = match task.planner {
        Some(planner) => {
            let time = Duration::from_secs_f64(ask.seconds);
            plan(&shop, planner, task.seed, time).map(Some)
        }
        None => prove(&shop, ask.tried_most),
    };
    let failed = |untrue| Failure::Untrue {
        class: format!("{} orders, {}", task.class.orders, task.class.name()),
        shop: task.shop,
        planner: task.planner.map_or("proof", Planner::name),
        seed: task.seed,
        untrue,
    };
    Ok(Row {
        task: *task,
        planned: planned.map_err(failed)?,
    })
}

/// The best of all sequences, unless there are too many.
fn prove(shop: &model::Shop, most: u64) -> Result<Option<Planned>, Untrue> {
    let (problem, _) = schedule::compile(shop, shop.as_of.ok_or(Untrue::NoMoment)?);
    let Some(best) = enumerate(&problem, most) else {
        return Ok(None);
    };
    Ok(Some(Planned {
        cost: judged::cost(&problem, &best.sequences, best.cost)?,
        steps: best.evaluated,
    }))
}

fn write_csv(path: &PathBuf, rows: &[Row]) -> Result<(), csv::Error> {
    let mut writer = csv::Writer::from_path(path)?;
    let heads = [
        "orders", "kind", "shop", "planner", "seed", "cost", "minutes", "steps",
    ];
    writer.write_record(heads)?;
    for Row { task, planned } in rows {
        let Some(planned) = planned else { continue };
        writer.write_record([
            task.class.orders.to_string(),
            task.class.name(),
            task.shop.to_string(),
            task.planner.map_or("proved", Planner::name).to_owned(),
            task.seed.to_string(),
            planned.cost.to_string(),
            format!("{:.1}", minutes(planned.cost)),
            planned.steps.to_string(),
        ])?;
    }
    writer.flush()?;
    Ok(())
}

#[allow(clippy::cast_precision_loss)] // costs far below 2^52
fn minutes(cost: i64) -> f64 {
    cost as f64 / 3_600.0
}

/// Costs in minutes of one planner, by shop.
fn of_planner(rows: &[&Row], planner: Option<Planner>) -> Vec<(u64, Vec<f64>)> {
    let mut shops: Vec<(u64, Vec<f64>)> = Vec::new();
    for row in rows.iter().filter(|row| row.task.planner == planner) {
        let Some(planned) = row.planned else { continue };
        match shops.iter_mut().find(|(shop, _)| *shop == row.task.shop) {
            Some((_, costs)) => costs.push(minutes(planned.cost)),
            None => shops.push((row.task.shop, vec![minutes(planned.cost)])),
        }
    }
    shops
}

#[allow(clippy::cast_precision_loss)] // counts
fn mean(values: impl Iterator<Item = f64>) -> f64 {
    let (sum, count) = values.fold((0.0, 0_u32), |(sum, count), v| (sum + v, count + 1));
    sum / f64::from(count.max(1))
}

fn table(ask: &Ask, rows: &[&Row]) -> String {
    let mut builder = Builder::default();
    builder.push_record([
        "planner", "mean", "best", "worst", "to ours", "better", "equal", "worse", "steps",
    ]);
    let ours = of_planner(rows, Some(Planner::Ours));
    for planner in planners(ask) {
        let shops = of_planner(rows, Some(planner));
        let all = || shops.iter().flat_map(|(_, costs)| costs.iter().copied());
        let pick = |pick: fn(f64, f64) -> f64, from: f64| {
            mean(
                shops
                    .iter()
                    .map(|(_, costs)| costs.iter().copied().fold(from, pick)),
            )
        };
        let mut counts = [0; 3];
        let mut differences = Vec::new();
        for (shop, costs) in &shops {
            let Some((_, other)) = ours.iter().find(|(number, _)| number == shop) else {
                continue;
            };
            let here = mean(costs.iter().copied());
            let there = mean(other.iter().copied());
            differences.push(100.0 * (here - there) / there.max(1.0));
            for (index, cost) in other.iter().enumerate() {
                let rival = costs.get(index).or(costs.last()).copied().unwrap_or(0.0);
                let place = match rival.total_cmp(cost) {
                    std::cmp::Ordering::Less => 0,
                    std::cmp::Ordering::Equal => 1,
                    std::cmp::Ordering::Greater => 2,
                };
                counts[place] += 1;
            }
        }
        let steps = rows.iter().filter(|row| row.task.planner == Some(planner));
        let steps = mean(steps.filter_map(|row| {
            Some(f64::from(
                u32::try_from(row.planned?.steps).unwrap_or(u32::MAX),
            ))
        }));
        builder.push_record([
            planner.name().to_owned(),
            format!("{:.0}", mean(all())),
            format!("{:.0}", pick(f64::min, f64::MAX)),
            format!("{:.0}", pick(f64::max, f64::MIN)),
            format!("{:+.2} %", mean(differences.into_iter())),
            counts[0].to_string(),
            counts[1].to_string(),
            counts[2].to_string(),
            format!("{steps:.0}"),
        ]);
    }
    markdown(builder)
}

/// How often each planner found what was proved.
fn against_proof(orders: usize, rows: &[Row]) -> String {
    let of_size: Vec<&Row> = rows
        .iter()
        .filter(|row| row.task.class.orders == orders)
        .collect();
    let proofs: Vec<(Class, u64, Planned)> = of_size
        .iter()
        .filter(|row| row.task.planner.is_none())
        .filter_map(|row| Some((row.task.class, row.task.shop, row.planned?)))
        .collect();
    let asked = of_size.iter().filter(|row| row.task.planner.is_none());
    let tried: u64 = proofs.iter().map(|(_, _, proof)| proof.steps).sum();
    let mut builder = Builder::default();
    builder.push_record(["planner", "plans", "proved optimum", "below", "mean above"]);
    for &planner in Planner::value_variants() {
        let mut above = Vec::new();
        for row in &of_size {
            let proof = proofs.iter().find(|(class, shop, _)| {
                (*class, *shop, Some(planner)) == (row.task.class, row.task.shop, row.task.planner)
            });
            if let (Some((_, _, proof)), Some(planned)) = (proof, row.planned) {
                above.push((planned.cost - proof.cost, minutes(proof.cost)));
            }
        }
        if above.is_empty() {
            continue;
        }
        let hits = above.iter().filter(|(more, _)| *more == 0).count();
        let below = above.iter().filter(|(more, _)| *more < 0).count();
        let percent = above
            .iter()
            .map(|(more, of)| 100.0 * minutes(*more) / of.max(1.0));
        builder.push_record([
            planner.name().to_owned(),
            above.len().to_string(),
            hits.to_string(),
            below.to_string(),
            format!("{:+.2} %", mean(percent)),
        ]);
    }
    format!(
        "{orders} orders: {} of {} shops proved, {tried} sequences tried\n\n{}\n",
        proofs.len(),
        asked.count(),
        markdown(builder)
    )
}

pub(crate) fn markdown(builder: Builder) -> String {
    let mut table = builder.build();
    table
        .with(Style::markdown())
        .modify(Columns::new(1..).not(Rows::first()), Alignment::right());
    table.to_string()
}

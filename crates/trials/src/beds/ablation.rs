//! What each part of the search is worth on beds.

use super::contest::plan_with;
use super::judged::Untrue;
use super::report::markdown;
use super::shops::Class;
use crate::tasks;
use crate::variants::variants;
use clap::Args;
use search::Effort;
use std::time::Duration;
use tabled::builder::Builder;

/// What is to be run.
#[derive(Clone, Debug, Args)]
pub struct Ask {
    /// Orders of the shops, four kinds of each size.
    #[arg(long, value_delimiter = ',', default_value = "30,100")]
    orders: Vec<usize>,
    /// Seconds of one core for each plan.
    #[arg(long, default_value_t = 5.0)]
    seconds: f64,
    /// Plans of each shop, from seeds 1, 2, ...
    #[arg(long, default_value_t = 3)]
    seeds: u64,
    /// Shops of each size and kind.
    #[arg(long, default_value_t = 1)]
    shops: u64,
    /// Plans made at the same time, each on its own core.
    #[arg(long, default_value_t = 1)]
    threads: usize,
}

/// Why there is no table.
#[derive(Debug, thiserror::Error)]
pub enum Failure {
    /// A plan does not count.
    #[error("{class}, shop {shop}, {variant}: {untrue}")]
    Untrue {
        /// Kind of shop.
        class: String,
        /// Its seed.
        shop: u64,
        /// What was left out.
        variant: String,
        /// Why.
        untrue: Untrue,
    },
    /// A thread was lost.
    #[error("a thread was lost")]
    Thread,
}

/// One plan to be made.
struct Task {
    /// Which line of the table.
    variant: usize,
    name: String,
    effort: Effort,
    class: Class,
    shop: u64,
}

/// A line for the search as it is and for each part left out: mean difference in percent from the
/// plans as it is on the same shops, by size.
///
/// # Errors
/// [`Failure`] when the audit refuses a plan.
pub fn run(ask: &Ask) -> Result<String, Failure> {
    let tasks = tasks_of(ask);
    let time = Duration::from_secs_f64(ask.seconds);
    let one = |task: &Task| {
        let shop = task.class.shop(task.shop);
        plan_with(&shop, task.effort, time).map_err(|untrue| Failure::Untrue {
            class: format!("{} orders, {}", task.class.orders, task.class.name()),
            shop: task.shop,
            variant: task.name.clone(),
            untrue,
        })
    };
    let done = tasks::each(&tasks, ask.threads, one).ok_or(Failure::Thread)?;
    let mut rows = Vec::new();
    for (task, planned) in tasks.iter().zip(done) {
        rows.push((task, planned?.cost));
    }
    let mut builder = Builder::default();
    let heads = ask.orders.iter().map(|orders| format!("{orders} orders"));
    builder.push_record(std::iter::once("search".to_owned()).chain(heads));
    for (number, (name, _)) in variants(Effort::single(1)).into_iter().enumerate() {
        let means = ask.orders.iter().map(|&orders| mean(&rows, number, orders));
        builder.push_record(std::iter::once(name).chain(means));
    }
    Ok(format!("{}\n", markdown(builder)))
}

fn tasks_of(ask: &Ask) -> Vec<Task> {
    let mut tasks = Vec::new();
    for class in ask.orders.iter().flat_map(|&orders| Class::all(orders)) {
        for shop in 1..=ask.shops {
            for seed in 1..=ask.seeds {
                let of_seed = variants(schedule::effort(seed, 1)).into_iter().enumerate();
                tasks.extend(of_seed.map(|(variant, (name, effort))| Task {
                    variant,
                    name,
                    effort,
                    class,
                    shop,
                }));
            }
        }
    }
    tasks
}

/// Mean over shops of how much dearer a variant's plans are on average than those as it is.
#[allow(clippy::cast_precision_loss)] // costs far below 2^52, counts
fn mean(rows: &[(&Task, i64)], variant: usize, orders: usize) -> String {
    let mut differences = Vec::new();
    for class in Class::all(orders) {
        let mut shops: Vec<u64> = rows.iter().map(|(task, _)| task.shop).collect();
        shops.sort_unstable();
        shops.dedup();
        for shop in shops {
            let sum = |wanted: usize| -> f64 {
                let of_shop = rows.iter().filter(|(task, _)| {
                    (task.class, task.shop, task.variant) == (class, shop, wanted)
                });
                of_shop.map(|(_, cost)| *cost as f64).sum()
            };
            differences.push(100.0 * (sum(variant) / sum(0).max(1.0) - 1.0));
        }
    }
    let mean = differences.iter().sum::<f64>() / differences.len().max(1) as f64;
    format!("{mean:+.1} %")
}

//! How strong the bound is: on tiny shops whose best plan is proved.

use super::report::markdown;
use clap::Args;
use exact::enumerate;
use tabled::builder::Builder;
use testkit::{Recipe, invent};

/// What is to be run.
#[derive(Clone, Debug, Args)]
pub struct Ask {
    /// Shops of three to five orders, from seeds 0, 1, ...; those with too many sequences are passed
    /// over.
    #[arg(long, default_value_t = 2_000)]
    shops: usize,
    /// Most sequences tried of one shop.
    #[arg(long, default_value_t = 600)]
    tried_most: u64,
}

/// One proof.
#[derive(Clone, Copy)]
struct Case {
    orders: usize,
    bound: i64,
    optimum: i64,
}

/// Proves the shops and tells how near the bound comes.
#[must_use]
pub fn run(ask: &Ask) -> String {
    let prove = |seed| {
        let shop = invent(&Recipe::tiny(seed));
        let (problem, _) = schedule::compile(&shop, shop.as_of?);
        let best = enumerate(&problem, ask.tried_most)?;
        Some(Case {
            orders: shop.orders.len(),
            bound: schedule::lower_bound(&problem, best.cost, 1).unwrap_or(0),
            optimum: best.cost,
        })
    };
    let cases: Vec<Case> = (0..).filter_map(prove).take(ask.shops).collect();
    let mut builder = Builder::default();
    builder.push_record([
        "orders",
        "shops",
        "optimum above 0",
        "no bound",
        "bound/optimum, mean",
        "at least half",
        "equal",
        "above (a fault)",
    ]);
    for orders in [Some(3), Some(4), Some(5), None] {
        let of = |case: &&Case| orders.is_none_or(|orders| case.orders == orders);
        let group: Vec<Case> = cases.iter().filter(of).copied().collect();
        builder.push_record(line(orders, &group));
    }
    format!("{}\n", markdown(builder))
}

#[allow(clippy::cast_precision_loss)] // costs far below 2^52
fn line(orders: Option<usize>, group: &[Case]) -> [String; 8] {
    let costly: Vec<&Case> = group.iter().filter(|case| case.optimum > 0).collect();
    let count = costly.len().max(1);
    let percent = |test: &dyn Fn(&Case) -> bool| {
        let hits = costly.iter().filter(|case| test(case)).count();
        format!("{:.1} %", 100.0 * hits as f64 / count as f64)
    };
    let shares = costly
        .iter()
        .map(|case| case.bound as f64 / case.optimum as f64);
    [
        orders.map_or_else(|| "all".to_owned(), |orders| orders.to_string()),
        group.len().to_string(),
        costly.len().to_string(),
        percent(&|case| case.bound == 0),
        format!("{:.3}", shares.sum::<f64>() / count as f64),
        percent(&|case| 2 * case.bound >= case.optimum),
        percent(&|case| case.bound == case.optimum),
        percent(&|case| case.bound > case.optimum),
    ]
}

//! Which way of finding batches serves a shop best.

use crate::beds::report::markdown;
use crate::clock::Clock;
use crate::communities::{by_modularity, components, cut, none};
use clap::Args;
use documents::FileSet;
use model::Shop;
use schedule::Problem;
use similarity::{Beds, batches};
use std::fmt::Write as _;
use std::path::PathBuf;
use std::time::Duration;
use tabled::builder::Builder;
use testkit::{Recipe, Sections, invent};
use tooling::Composer;
use units::Seconds;

/// What is to be run.
#[derive(Clone, Debug, Args)]
pub struct Ask {
    /// Orders of the invented shops.
    #[arg(long, value_delimiter = ',', default_value = "30,100,300")]
    orders: Vec<usize>,
    /// Shops of each size and supply of sections, from seeds 1, 2, ...
    #[arg(long, default_value_t = 4)]
    shops: u64,
    /// A shop folder that is measured as well.
    #[arg(long)]
    folder: Option<PathBuf>,
}

/// Why there is no table.
#[derive(Debug, thiserror::Error)]
pub enum Failure {
    /// The folder is no shop.
    #[error("cannot read a shop from {0}")]
    Folder(PathBuf),
    /// The shop does not say when it is.
    #[error("{0} has no moment to plan from")]
    NoMoment(String),
}

/// A way of finding batches.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Way {
    /// Edges from the greatest down, groups that fit one bed join; several setups tried.
    Ours,
    /// The same with every part's best setup alone.
    BestSetups,
    Components,
    Modularity,
    None,
}

const WAYS: [Way; 5] = [
    Way::Ours,
    Way::BestSetups,
    Way::Components,
    Way::Modularity,
    Way::None,
];

impl Way {
    fn name(self) -> &'static str {
        match self {
            Way::Ours => "greedy, several setups (ours)",
            Way::BestSetups => "greedy, best setups only",
            Way::Components => "components, cut to beds",
            Way::Modularity => "modularity, cut to beds",
            Way::None => "none",
        }
    }

    fn find(self, problem: &Problem<'_>) -> Vec<Vec<usize>> {
        let graph = &problem.graph;
        let options = problem.options_compared();
        let mut composer = Composer::new();
        let mut beds = Beds::new(&problem.stock, &mut composer, &options);
        match self {
            Way::Ours => batches(&mut beds, graph),
            Way::BestSetups => batches(&mut beds.trying(1), graph),
            Way::Components => cut(&mut beds, &components(graph)),
            Way::Modularity => cut(&mut beds, &by_modularity(graph)),
            Way::None => none(graph),
        }
    }
}

/// What one way is worth in one shop.
#[derive(Clone, Copy, Debug)]
struct Worth {
    way: Way,
    /// Minutes of the edges between parts of one batch.
    inside: f64,
    /// Share of all minutes of edges.
    inside_share: f64,
    /// Share of parts that stand on a bed with another.
    together: f64,
    /// Minutes saved on the shared beds.
    saved: f64,
    /// How long finding the batches took.
    took: Duration,
}

/// Finds batches in every shop in every way and tells what they are worth.
///
/// # Errors
/// [`Failure`] when the folder cannot be read or says no moment.
pub fn run(ask: &Ask) -> Result<String, Failure> {
    let mut text = String::new();
    for &orders in &ask.orders {
        for sections in [Sections::Scarce, Sections::Ample] {
            let shops = (1..=ask.shops).map(|seed| {
                let recipe = Recipe::bed(orders, 0.5, sections, seed);
                invent(&recipe)
            });
            let worths = all(&shops.collect::<Vec<_>>())?;
            let sections = format!("{sections:?}").to_lowercase();
            let _ = writeln!(
                text,
                "{} shops of {orders} orders, sections {sections}:\n",
                ask.shops
            );
            let _ = writeln!(text, "{}\n", table(&worths));
        }
    }
    if let Some(folder) = &ask.folder {
        let shop = read(folder).ok_or_else(|| Failure::Folder(folder.clone()))?;
        let worths = all(std::slice::from_ref(&shop))?;
        let _ = writeln!(text, "{}:\n\n{}\n", shop.name, table(&worths));
    }
    Ok(text)
}

/// A shop folder that holds no error.
fn read(folder: &PathBuf) -> Option<Shop> {
    let mut files = FileSet::new();
    for entry in std::fs::read_dir(folder).ok()? {
        let entry = entry.ok()?;
        if let (Some(name), Ok(bytes)) = (entry.file_name().to_str(), std::fs::read(entry.path())) {
            files.insert(name, bytes);
        }
    }
    documents::read_shop(&files).0
}

fn all(shops: &[Shop]) -> Result<Vec<Worth>, Failure> {
    let mut worths = Vec::new();
    for shop in shops {
        let from = shop
            .as_of
            .ok_or_else(|| Failure::NoMoment(shop.name.clone()))?;
        let (problem, _) = schedule::compile(shop, from);
        for way in WAYS {
            let clock = Clock::start();
            let groups = way.find(&problem);
            worths.push(worth(&problem, way, &groups, clock.elapsed()));
        }
    }
    Ok(worths)
}

fn worth(problem: &Problem<'_>, way: Way, groups: &[Vec<usize>], took: Duration) -> Worth {
    let batch_of = |part: usize| groups.iter().position(|group| group.contains(&part));
    let edges = problem.graph.edges();
    let sum = |of: &dyn Fn(usize, usize) -> bool| -> Seconds {
        let some = edges.iter().filter(|(one, two, _)| of(*one, *two));
        some.map(|(_, _, saving)| saving.saved).sum()
    };
    let within = sum(&|one, two| batch_of(one) == batch_of(two)).minutes();
    let everything = sum(&|_, _| true).minutes();
    let options = problem.options_compared();
    let mut composer = Composer::new();
    let mut beds = Beds::new(&problem.stock, &mut composer, &options);
    let (mut together, mut saved) = (0, Seconds::ZERO);
    for group in groups.iter().filter(|group| group.len() > 1) {
        if let Some(layout) = beds.of(group) {
            together += group.len();
            saved += layout.saved;
        }
    }
    Worth {
        way,
        inside: within,
        inside_share: within / everything.max(1.0),
        together: share(together, problem.graph.parts().len()),
        saved: saved.minutes(),
        took,
    }
}

#[allow(clippy::cast_precision_loss)] // counts
fn share(part: usize, all: usize) -> f64 {
    part as f64 / all.max(1) as f64
}

/// Means over the shops.
fn table(worths: &[Worth]) -> String {
    let mut builder = Builder::default();
    builder.push_record([
        "way",
        "minutes inside",
        "of all",
        "parts together",
        "saved on beds, min",
        "ms",
    ]);
    for way in WAYS {
        let of_way: Vec<&Worth> = worths.iter().filter(|w| w.way == way).collect();
        let mean = |of: &dyn Fn(&Worth) -> f64| {
            of_way.iter().map(|here| of(here)).sum::<f64>() / share(of_way.len().max(1), 1)
        };
        builder.push_record([
            way.name().to_owned(),
            format!("{:.0}", mean(&|here| here.inside)),
            format!("{:.0} %", 100.0 * mean(&|here| here.inside_share)),
            format!("{:.0} %", 100.0 * mean(&|here| here.together)),
            format!("{:.0}", mean(&|here| here.saved)),
            format!("{:.1}", mean(&|h| h.took.as_secs_f64() * 1e3)),
        ]);
    }
    markdown(builder)
}

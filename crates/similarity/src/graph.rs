//! Building the graph, and showing it.

use crate::layout::stay;
use crate::shared::Shared;
use model::Brake;
use petgraph::graph::{NodeIndex, UnGraph};
use petgraph::visit::EdgeRef;
use std::fmt::Write as _;
use tooling::{
    Bed, BedChange, Composer, Custody, Need, Request, Stand, StepTime, Stock, ToolingOption,
    change, change_steps,
};
use units::Seconds;

/// What two parts gain from sharing a bed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Saving {
    /// Brake on which the gain is greatest, as an index into the shop's brakes.
    pub brake: usize,
    /// Seconds of changeover saved there.
    pub saved: Seconds,
    /// Whether both setups stand on the bed at once without anything taken off.
    pub fits_one_bed: bool,
    /// The setups compared, of the part set up first and of the other, as indices into the options
    /// that the graph was built of.
    pub setups: [usize; 2],
}

/// The setup-similarity graph of a shop's parts.
#[derive(Debug)]
pub struct SetupGraph {
    graph: UnGraph<usize, Saving>,
    node_of_part: Vec<Option<NodeIndex>>,
}

/// Every section lies free: what matters here is which tools suit, not who has them.
pub(crate) struct AllFree;

impl Custody for AllFree {
    fn on_this_bed(&self, _section: usize) -> bool {
        true
    }
    fn wait(&self, _section: usize) -> Option<i64> {
        Some(0)
    }
    fn wanted_elsewhere(&self, _stand: &Stand) -> bool {
        false
    }
}

pub(crate) fn change_free(
    stock: &Stock<'_>,
    composer: &mut Composer,
    bed: &Bed,
    brake: &Brake,
    option: &ToolingOption,
    later: &[&ToolingOption],
) -> Option<BedChange> {
    change(
        stock,
        composer,
        bed,
        &Request {
            brake,
            option,
            later,
        },
        &AllFree,
    )
}

/// Parts each part is compared with at most, those it shares most tools with first. Few shops have a
/// part with more that matter, and the work stays in proportion to the parts.
const COMPARED: usize = 40;
/// Brakes on which two parts are compared at most.
pub(crate) const BRAKES_COMPARED: usize = 6;
/// Pairs of setups compared on each, the best of both parts first.
const SETUPS_COMPARED: usize = 4;

impl SetupGraph {
    /// Compares parts whose tooling can share a station on some brake, each with the forty it shares
    /// most with. `options` are the tooling options of the parts that have orders, the best of each
    /// part and brake first. Threads have no influence on the graph.
    #[must_use]
    pub fn build(
        stock: &Stock<'_>,
        composer: &Composer,
        options: &[&ToolingOption],
        threads: usize,
    ) -> SetupGraph {
        let parts = stock.shop().parts.len();
        let mut graph = UnGraph::default();
        let mut node_of_part: Vec<Option<NodeIndex>> = vec![None; parts];
        let mut with_orders: Vec<usize> = options.iter().map(|option| option.part).collect();
        with_orders.sort_unstable();
        with_orders.dedup();
        for &part in &with_orders {
            node_of_part[part] = Some(graph.add_node(part));
        }
        let shared = Shared::of(options);
        let pairs: Vec<_> = shared.pairs(&with_orders, COMPARED).into_iter().collect();
        let compare = |pairs: &[(usize, usize)]| -> Vec<Option<Saving>> {
            let mut compare = Compare {
                stock,
                composer: &mut composer.clone(),
                options,
                alone: vec![None; options.len()],
            };
            let savings = pairs
                .iter()
                .map(|&(one, two)| compare.best_saving(&shared, one, two));
            savings.collect()
        };
        let savings = in_stretches(threads, &pairs, compare);
        for ((one, two), saving) in pairs.iter().copied().zip(savings) {
            let nodes = (node_of_part[one], node_of_part[two]);
            if let (Some(saving), (Some(a), Some(b))) = (saving, nodes) {
                graph.add_edge(a, b, saving);
            }
        }
        SetupGraph {
            graph,
            node_of_part,
        }
    }

    /// Parts alike to this one, the greatest saving first.
    #[must_use]
    pub fn neighbours(&self, part: usize) -> Vec<(usize, Saving)> {
        let Some(node) = self.node_of_part.get(part).copied().flatten() else {
            return Vec::new();
        };
        let mut out: Vec<(usize, Saving)> = self
            .graph
            .edges(node)
            .map(|edge| {
                let other = if edge.source() == node {
                    edge.target()
                } else {
                    edge.source()
                };
                (self.graph[other], *edge.weight())
            })
            .collect();
        out.sort_by_key(|(other, saving)| (std::cmp::Reverse(saving.saved), *other));
        out
    }

    /// Parts in the graph, in shop order.
    #[must_use]
    pub fn parts(&self) -> Vec<usize> {
        self.graph
            .node_indices()
            .map(|node| self.graph[node])
            .collect()
    }

    /// Edges as part, part, saving: the greatest saving first.
    #[must_use]
    pub fn edges(&self) -> Vec<(usize, usize, Saving)> {
        let mut out: Vec<(usize, usize, Saving)> = self
            .graph
            .edge_references()
            .map(|edge| {
                (
                    self.graph[edge.source()],
                    self.graph[edge.target()],
                    *edge.weight(),
                )
            })
            .collect();
        out.sort_by_key(|(one, two, saving)| (std::cmp::Reverse(saving.saved), *one, *two));
        out
    }

    /// The graph in the DOT language, batches as clusters.
    #[must_use]
    pub fn dot(&self, stock: &Stock<'_>, batches: &[Vec<usize>]) -> String {
        let shop = stock.shop();
        let mut out = String::from("graph setups {\n  node [shape=box];\n");
        for (index, batch) in batches.iter().enumerate() {
            let _ = writeln!(
                out,
                "  subgraph cluster_{index} {{ label=\"batch {}\";",
                index + 1
            );
            for &part in batch {
                let _ = writeln!(out, "    \"{}\";", shop.parts[part].id);
            }
            out.push_str("  }\n");
        }
        for (one, two, saving) in self.edges() {
            let style = if saving.fits_one_bed {
                "solid"
            } else {
                "dashed"
            };
            let _ = writeln!(
                out,
                "  \"{}\" -- \"{}\" [label=\"{:.0} min on {}\", style={style}];",
                shop.parts[one].id,
                shop.parts[two].id,
                saving.saved.minutes(),
                shop.brakes[saving.brake].id,
            );
        }
        out.push_str("}\n");
        out
    }
}

/// What becomes of each of many, cut into one stretch for each thread.
fn in_stretches<I: Sync, O: Send>(
    threads: usize,
    all: &[I],
    work: impl Fn(&[I]) -> Vec<O> + Sync,
) -> Vec<O> {
    let length = all.len().div_ceil(threads.max(1)).max(1);
    std::thread::scope(|scope| {
        let work = &work;
        let mut stretches = all.chunks(length);
        let own = stretches.next().unwrap_or_default();
        let others: Vec<_> = stretches
            .map(|stretch| scope.spawn(move || work(stretch)))
            .collect();
        let mut found = work(own);
        for other in others {
            match other.join() {
                Ok(more) => found.extend(more),
                Err(panic) => std::panic::resume_unwind(panic),
            }
        }
        found
    })
}

/// Compares pairs of parts.
struct Compare<'a, 's> {
    stock: &'a Stock<'s>,
    composer: &'a mut Composer,
    options: &'a [&'a ToolingOption],
    /// By option: changeover work when it is put on an empty bed, once known.
    alone: Vec<Option<Option<Seconds>>>,
}

impl Compare<'_, '_> {
    /// The brake on which the two parts gain most from sharing a bed.
    fn best_saving(&mut self, shared: &Shared, one: usize, two: usize) -> Option<Saving> {
        let mut best: Option<Saving> = None;
        let options = self.options;
        let on_brake = |brake: usize| -> Vec<(usize, usize)> {
            let seconds = shared.options_of(two, brake);
            let firsts = shared.options_of(one, brake).iter();
            firsts
                .flat_map(|&first| seconds.iter().map(move |&second| (first, second)))
                .filter(|&(first, second)| share_a_station(options[first], options[second]))
                .take(SETUPS_COMPARED)
                .collect()
        };
        let brakes = 0..self.stock.shop().brakes.len();
        let compared = brakes.map(on_brake).filter(|setups| !setups.is_empty());
        for (first, second) in compared.take(BRAKES_COMPARED).flatten() {
            if let Some(saving) = self.saving(first, second)
                && best.is_none_or(|best| saving.saved > best.saved)
            {
                best = Some(saving);
            }
        }
        best.filter(|best| best.saved > Seconds::ZERO)
    }

    /// Work saved when `second` follows `first` on one brake: against a bed that is stripped
    /// between.
    fn saving(&mut self, first: usize, second: usize) -> Option<Saving> {
        let setups = [first, second];
        let alone = self.work_alone(second)?;
        let (first, second) = (self.options[first], self.options[second]);
        let stock = self.stock;
        let brake = &stock.shop().brakes[first.brake];
        let bare = Bed::default();
        let shared = change_free(stock, self.composer, &bare, brake, first, &[second])?;
        let after = change_free(stock, self.composer, &shared.bed, brake, second, &[])?;
        let stripped = strip(stock, brake, &shared.bed);
        Some(Saving {
            setups,
            brake: first.brake,
            saved: alone + stripped - brake.times.base - work(stock, second, &after),
            fits_one_bed: stay(&after),
        })
    }

    fn work_alone(&mut self, index: usize) -> Option<Seconds> {
        if let Some(known) = self.alone[index] {
            return known;
        }
        let (stock, option) = (self.stock, self.options[index]);
        let brake = &stock.shop().brakes[option.brake];
        let bare = Bed::default();
        let change = change_free(stock, self.composer, &bare, brake, option, &[]);
        let found = change.map(|change| work(stock, option, &change));
        self.alone[index] = Some(found);
        found
    }
}

/// Seconds it takes to take everything off a bed.
pub(crate) fn strip(stock: &Stock<'_>, brake: &Brake, bed: &Bed) -> Seconds {
    let steps = BedChange::takedown_steps(stock, brake, &bed.stands);
    steps.iter().map(|step: &StepTime| step.time).sum()
}

/// Seconds of a change for a part that was not made before it.
pub(crate) fn work(stock: &Stock<'_>, option: &ToolingOption, change: &BedChange) -> Seconds {
    let brake = &stock.shop().brakes[option.brake];
    let steps = change_steps(stock, brake, option, change, None, true);
    steps.iter().map(|step| step.time).sum()
}

/// Whether one station can serve a need of both.
fn share_a_station(one: &ToolingOption, two: &ToolingOption) -> bool {
    let same =
        |a: &Need, b: &Need| (a.punch, a.die) == (b.punch, b.die) && a.shared_with(b).is_some();
    one.needs
        .iter()
        .any(|a| two.needs.iter().any(|b| same(a, b)))
}

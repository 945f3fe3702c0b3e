//! Building the graph, and showing it.

use model::Brake;
use petgraph::graph::{NodeIndex, UnGraph};
use petgraph::visit::EdgeRef;
use std::fmt::Write as _;
use tooling::{
    Bed, BedChange, Composer, Custody, Request, Stand, StepTime, Stock, ToolingOption, change,
    change_steps,
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

impl SetupGraph {
    /// Compares every two parts whose tooling shares a punch and die on some brake. `options` are
    /// the tooling options of the parts that have orders, the best of each part and brake first.
    #[must_use]
    pub fn build(
        stock: &Stock<'_>,
        composer: &mut Composer,
        options: &[&ToolingOption],
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
        for (at, &one) in with_orders.iter().enumerate() {
            for &two in &with_orders[at + 1..] {
                let Some(saving) = best_saving(stock, composer, options, one, two) else {
                    continue;
                };
                if let (Some(a), Some(b)) = (node_of_part[one], node_of_part[two]) {
                    graph.add_edge(a, b, saving);
                }
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

/// The brake on which the two parts gain most from sharing a bed.
fn best_saving(
    stock: &Stock<'_>,
    composer: &mut Composer,
    options: &[&ToolingOption],
    one: usize,
    two: usize,
) -> Option<Saving> {
    let mut best: Option<Saving> = None;
    for brake in 0..stock.shop().brakes.len() {
        let on = |part: usize| {
            options
                .iter()
                .copied()
                .filter(move |o| o.part == part && o.brake == brake)
        };
        for first in on(one) {
            for second in on(two).filter(|second| shares_tools(first, second)) {
                let Some(saving) = saving(stock, composer, first, second) else {
                    continue;
                };
                if best.is_none_or(|best| saving.saved > best.saved) {
                    best = Some(saving);
                }
            }
        }
    }
    best.filter(|best| best.saved > Seconds::ZERO)
}

fn shares_tools(one: &ToolingOption, two: &ToolingOption) -> bool {
    one.needs.iter().any(|a| {
        two.needs
            .iter()
            .any(|b| a.punch == b.punch && a.die == b.die)
    })
}

/// Work saved when `second` follows `first` on one brake: against a bed that is stripped between.
fn saving(
    stock: &Stock<'_>,
    composer: &mut Composer,
    first: &ToolingOption,
    second: &ToolingOption,
) -> Option<Saving> {
    let brake = &stock.shop().brakes[first.brake];
    let bare = Bed::default();
    let shared = change_free(stock, composer, &bare, brake, first, &[second])?;
    let after = change_free(stock, composer, &shared.bed, brake, second, &[])?;
    let alone = change_free(stock, composer, &bare, brake, second, &[])?;
    let work = |change: &BedChange| -> Seconds {
        change_steps(stock, brake, second, change, None, true)
            .iter()
            .map(|s| s.time)
            .sum()
    };
    let strip: Seconds = BedChange::takedown_steps(stock, brake, &shared.bed.stands)
        .iter()
        .map(|step: &StepTime| step.time)
        .sum();
    Some(Saving {
        brake: first.brake,
        saved: work(&alone) + strip - brake.times.base - work(&after),
        fits_one_bed: after.removed.is_empty(),
    })
}

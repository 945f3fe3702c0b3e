//! The graph of setups and its batches, on invented shops and on a pair of parts by hand.

#![allow(clippy::unwrap_used)] // what the tests invent is there

use model::{Part, Shop};
use similarity::{Beds, Layout, SetupGraph, batches};
use testkit::{Features, Recipe, Sections, invent};
use tooling::{
    Bed, Composer, Custody, Job, Request, Stand, Stock, ToolingOption, change, options_for,
};
use units::PartId;

/// Options of every part on every brake.
fn options(shop: &Shop, stock: &Stock<'_>) -> Vec<ToolingOption> {
    let mut composer = Composer::new();
    let mut all = Vec::new();
    for (index, part) in shop.parts.iter().enumerate() {
        let material = shop.material(&part.material).unwrap();
        for (brake, machine) in shop.brakes.iter().enumerate() {
            let job = Job {
                shop,
                brake: machine,
                part,
                material,
                strength: material.strength_typical,
                at: shop.as_of.unwrap(),
            };
            all.extend(options_for(stock, &mut composer, &job, index, brake).options);
        }
    }
    all
}

struct Found {
    options: Vec<ToolingOption>,
    graph: SetupGraph,
    batches: Vec<Vec<usize>>,
    dot: String,
}

fn look(shop: &Shop) -> Found {
    let stock = Stock::new(shop);
    let options = options(shop, &stock);
    let of: Vec<&ToolingOption> = options.iter().collect();
    let mut composer = Composer::new();
    let graph = SetupGraph::build(&stock, &composer, &of, 1);
    let threaded = SetupGraph::build(&stock, &Composer::new(), &of, 3);
    assert_eq!(threaded.dot(&stock, &[]), graph.dot(&stock, &[]));
    let mut beds = Beds::new(&stock, &mut composer, &of);
    let batches = batches(&mut beds, &graph);
    for (_, _, saving) in graph.edges() {
        assert!(!beds.shared_stations(&saving).is_empty(), "{}", shop.name);
    }
    let dot = graph.dot(&stock, &batches);
    Found {
        graph,
        batches,
        dot,
        options,
    }
}

fn shops() -> impl Iterator<Item = Shop> {
    let small = (0..40).map(|seed| {
        invent(&Recipe {
            parts: 12,
            ..Recipe::anything(seed)
        })
    });
    let sizes = [(30, Sections::Scarce), (100, Sections::Ample)];
    small.chain(sizes.map(|(orders, sections)| invent(&Recipe::bed(orders, 0.5, sections, 2))))
}

struct Free;

impl Custody for Free {
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

/// The bed of a layout built anew, setup by setup, without the code under test; `None` when something
/// comes off for one of them.
fn stand_in_order(shop: &Shop, found: &Found, layout: &Layout) -> Option<Bed> {
    let stock = Stock::new(shop);
    let mut composer = Composer::new();
    let best = |part: usize| {
        let of = |option: &&ToolingOption| (option.part, option.brake) == (part, layout.brake);
        found.options.iter().find(of)
    };
    let mut bed = Bed::default();
    for (at, setup) in layout.setups.iter().enumerate() {
        let later: Vec<&ToolingOption> = layout.setups[at + 1..]
            .iter()
            .filter_map(|setup| best(setup.part))
            .collect();
        let request = Request {
            brake: &shop.brakes[layout.brake],
            option: &found.options[setup.option],
            later: &later,
        };
        let change = change(&stock, &mut composer, &bed, &request, &Free)?;
        if !change.removed.is_empty() {
            return None;
        }
        bed = change.bed;
    }
    Some(bed)
}

/// Stations stand on the bed, apart from one another, no section twice; every need has its punch
/// and die over the length it takes.
fn assert_stands(shop: &Shop, found: &Found, layout: &Layout) {
    let stock = Stock::new(shop);
    let stands = &layout.bed.stands;
    assert!(
        stands
            .iter()
            .all(|s| s.left.mm() >= 0.0 && s.right() <= shop.brakes[layout.brake].bed)
    );
    assert!(stands.windows(2).all(|pair| pair[0].right() < pair[1].left));
    let mut sections: Vec<usize> = stands.iter().flat_map(|s| s.sections()).collect();
    let all = sections.len();
    sections.sort_unstable();
    sections.dedup();
    assert_eq!(sections.len(), all, "a section stands twice");
    for setup in &layout.setups {
        let option = &found.options[setup.option];
        assert_eq!((option.part, option.brake), (setup.part, layout.brake));
        assert_eq!(option.needs.len(), setup.stations.len());
        for (need, &at) in option.needs.iter().zip(&setup.stations) {
            let stand = &stands[at];
            assert_eq!((stand.punch, stand.die), (need.punch, need.die));
            let punch: f64 = stand
                .punch_sections
                .iter()
                .map(|&s| stock.section_length(s).mm())
                .sum();
            assert!(punch >= need.punch_span.least.mm() && punch <= need.punch_span.most.mm());
            assert!(stand.die_length >= need.die_least);
        }
    }
}

#[test]
fn every_part_is_in_one_batch_and_every_batch_stands_on_one_bed() {
    let mut together = 0;
    for shop in shops() {
        let found = look(&shop);
        let mut members: Vec<usize> = found.batches.iter().flatten().copied().collect();
        members.sort_unstable();
        let mut parts = found.graph.parts();
        parts.sort_unstable();
        assert_eq!(members, parts, "{}", shop.name);
        let (stock, mut composer) = (Stock::new(&shop), Composer::new());
        let options: Vec<&ToolingOption> = found.options.iter().collect();
        let mut beds = Beds::new(&stock, &mut composer, &options);
        for batch in found.batches.iter().filter(|batch| batch.len() > 1) {
            let layout = beds.of(batch).unwrap();
            let stand: Vec<usize> = layout.setups.iter().map(|setup| setup.part).collect();
            assert_eq!(&stand, batch);
            assert!(layout.saved.0 > 0, "{}: {batch:?}", shop.name);
            assert_eq!(
                stand_in_order(&shop, &found, &layout),
                Some(layout.bed.clone())
            );
            assert_stands(&shop, &found, &layout);
            together += 1;
        }
    }
    assert!(together > 60, "{together}");
}

#[test]
fn an_edge_needs_a_punch_and_die_in_common_and_saves_something() {
    let mut edges = 0;
    for shop in shops() {
        let found = look(&shop);
        for (one, two, saving) in found.graph.edges() {
            let pairs = |part: usize| {
                let on = found
                    .options
                    .iter()
                    .filter(move |o| (o.part, o.brake) == (part, saving.brake));
                on.flat_map(|option| option.needs.iter().map(|need| (need.punch, need.die)))
            };
            assert!(
                pairs(one).any(|pair| pairs(two).any(|other| other == pair)),
                "{}",
                shop.name
            );
            assert!(saving.saved.0 > 0);
            edges += 1;
        }
    }
    assert!(edges > 300, "{edges}");
}

#[test]
fn neighbours_and_edges_tell_the_same_the_greatest_saving_first() {
    for shop in shops() {
        let graph = look(&shop).graph;
        let edges = graph.edges();
        assert!(edges.is_sorted_by_key(|(one, two, saving)| (-saving.saved.0, *one, *two)));
        for part in graph.parts() {
            let neighbours = graph.neighbours(part);
            assert!(neighbours.is_sorted_by_key(|(other, saving)| (-saving.saved.0, *other)));
            for (other, saving) in neighbours {
                let edge = |(one, two, of): &(usize, usize, _)| {
                    ((*one, *two) == (part, other) || (*two, *one) == (part, other))
                        && *of == saving
                };
                assert_eq!(edges.iter().filter(|found| edge(found)).count(), 1);
                assert!(graph.neighbours(other).contains(&(part, saving)));
            }
        }
        assert_eq!(graph.neighbours(usize::MAX), []);
    }
}

#[test]
fn the_same_shop_gives_the_same_graph_in_the_same_order() {
    for shop in shops().take(10) {
        let (one, two) = (look(&shop), look(&shop));
        assert_eq!(one.graph.edges(), two.graph.edges());
        assert_eq!((one.batches, one.dot), (two.batches, two.dot));
    }
}

/// Two identical parts: their bed saves what their edge says.
#[test]
fn what_a_bed_saves_is_what_its_edge_saves() {
    let shop = copies(2);
    let found = look(&shop);
    let stock = Stock::new(&shop);
    let options: Vec<&ToolingOption> = found.options.iter().collect();
    let mut composer = Composer::new();
    let layout = Beds::new(&stock, &mut composer, &options)
        .of(&[0, 1])
        .unwrap();
    assert_eq!(layout.saved, found.graph.edges()[0].2.saved);
    assert_eq!(layout.setups[0].stations, layout.setups[1].stations);
}

/// One brake and parts that are copies of one another.
fn copies(count: usize) -> Shop {
    let mut shop = invent(&Recipe {
        brakes: 1,
        parts: 1,
        proven: 0.0,
        features: Features::default(),
        ..Recipe::bed(8, 0.0, Sections::Ample, 4)
    });
    let first = shop.parts[0].clone();
    for copy in 1..count {
        let id = PartId::new(&format!("copy-{copy}")).unwrap();
        shop.parts.push(Part {
            id,
            ..first.clone()
        });
    }
    shop
}

/// Whatever the first of two identical parts is, the second saves all that tools cost: taking its
/// stations off and putting them on.
#[test]
fn identical_parts_save_the_same_both_ways_and_share_a_batch() {
    let shop = copies(3);
    let found = look(&shop);
    let edges = found.graph.edges();
    assert_eq!(edges.len(), 3);
    assert!(
        edges
            .iter()
            .all(|(_, _, saving)| saving.saved == edges[0].2.saved && saving.fits_one_bed)
    );
    assert_eq!(found.batches, [vec![0, 1, 2]]);
    let times = &shop.brakes[0].times;
    let option = &found.options[0];
    let stock = Stock::new(&shop);
    let request = Request {
        brake: &shop.brakes[0],
        option,
        later: &[],
    };
    let laid = change(
        &stock,
        &mut Composer::new(),
        &Bed::default(),
        &request,
        &Free,
    )
    .unwrap();
    let sections: i64 = laid
        .bed
        .stands
        .iter()
        .map(|stand| stand.sections().count() as i64)
        .sum();
    let heavy = laid
        .bed
        .stands
        .iter()
        .flat_map(|s| s.sections())
        .filter(|&s| stock.is_heavy(s))
        .count();
    let stations = laid.bed.stands.len() as i64;
    let tools = stations * (times.station_off.0 + times.station_on.0)
        + sections * (times.section_off.0 + times.section_on.0)
        + 2 * heavy as i64 * times.heavy_section.0;
    // One preparation in any case: taking off and putting on are one change.
    assert_eq!(edges[0].2.saved.0, times.base.0 + tools);
}

#[test]
fn the_picture_names_every_part_and_edge() {
    let shop = copies(3);
    let found = look(&shop);
    for part in &shop.parts {
        assert!(found.dot.contains(&format!("\"{}\"", part.id)));
    }
    assert_eq!(found.dot.matches(" -- ").count(), 3);
    assert_eq!(found.dot.matches("subgraph").count(), 1);
}

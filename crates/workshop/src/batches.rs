//! The similarity graph and its batches, for people.

use model::Shop;
use schedule::Problem;
use similarity::{Beds, Layout, Saving};
use std::cmp::Reverse;
use std::collections::BTreeMap;
use tooling::{Composer, Stand};
use units::{BrakeId, Length, Moment, OrderId, PartId, ProfileId, Seconds};

/// Batches and the graph they come from.
#[derive(Debug)]
pub struct BatchReport {
    /// Parts that stand on one bed together, the batch that saves most first.
    pub batches: Vec<Batch>,
    /// Parts that stand alone, by reason, then in shop order.
    pub alone: Vec<Alone>,
    /// What two parts save when one follows the other, the most first.
    pub savings: Vec<PairSaving>,
    /// The graph in the DOT language.
    pub dot: String,
}

/// Parts that are bent one after the other on one bed while no station comes off it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Batch {
    /// The brake.
    pub brake: BrakeId,
    /// Length of its bed.
    pub bed: Length,
    /// What stands on it, from left to right.
    pub stations: Vec<BatchStation>,
    /// The parts in an order in which they stand.
    pub parts: Vec<BatchPart>,
    /// Changeover time saved against a bed stripped between every two of the parts.
    pub saved: Seconds,
}

/// A punch over a die.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct BatchStation {
    /// Punch profile.
    pub punch: ProfileId,
    /// Die profile.
    pub die: ProfileId,
    /// V opening.
    pub v: Length,
    /// Left end, from the bed's left end.
    pub left: Length,
    /// Bed length taken.
    pub length: Length,
}

/// A part and what is on order of it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct BatchPart {
    /// The part.
    pub part: PartId,
    /// Its open orders, in shop order.
    pub orders: Vec<OrderId>,
    /// Pieces still to be made.
    pub pieces: u32,
    /// The earliest due time of its orders and their deliveries.
    pub due: Option<Moment>,
    /// Stations of the batch's bed that it uses, by index; none for a part that stands alone.
    pub stations: Vec<usize>,
}

/// A part without a batch.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Alone {
    /// The part.
    pub part: BatchPart,
    /// Why.
    pub why: WhyAlone,
}

/// Why a part stands alone.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum WhyAlone {
    /// It would stand beside another part, but that one's batch has a bed that does not take both.
    BedTaken {
        /// The part it saves most with.
        with: PartId,
    },
    /// It saves time after another part, but something must come off the bed for it.
    DoesNotFit {
        /// The part it saves most with.
        with: PartId,
    },
    /// No other part on order can use its stations.
    SharesNothing,
    /// No brake can make it.
    NoBrake,
}

/// What two parts save when one follows the other.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct PairSaving {
    /// One part.
    pub one: PartId,
    /// The other.
    pub two: PartId,
    /// Changeover time saved.
    pub saved: Seconds,
    /// On which brake.
    pub brake: BrakeId,
    /// Whether both stand on the bed at once.
    pub fits_one_bed: bool,
    /// The stations that serve both.
    pub shared: Vec<BatchStation>,
}

/// Builds the graph of the parts with open orders.
#[must_use]
pub fn batches(shop: &Shop, from: Moment) -> BatchReport {
    let (problem, _) = schedule::compile(shop, from);
    let options = problem.options_compared();
    let mut composer = Composer::new();
    let mut beds = Beds::new(&problem.stock, &mut composer, &options);
    let orders = Orders::of(shop);
    let (mut laid, mut single) = (Vec::new(), Vec::new());
    for group in similarity::batches(&mut beds, &problem.graph) {
        match beds.of(&group) {
            Some(layout) if group.len() > 1 => laid.push(layout),
            _ => single.extend(group.iter().copied()),
        }
    }
    laid.sort_by_key(|layout| {
        let parts = layout.setups.len();
        let first = layout.setups.first().map(|setup| setup.part);
        (Reverse(layout.saved), Reverse(parts), first)
    });
    let edges = problem.graph.edges();
    let pair = |(one, two, saving): &(usize, usize, Saving)| {
        let stands = beds.shared_stations(saving);
        let shared = stands.iter().filter_map(|stand| station(&problem, stand));
        Some(PairSaving {
            one: shop.parts.get(*one)?.id.clone(),
            two: shop.parts.get(*two)?.id.clone(),
            saved: saving.saved,
            brake: shop.brakes.get(saving.brake)?.id.clone(),
            fits_one_bed: saving.fits_one_bed,
            shared: shared.collect(),
        })
    };
    let savings = edges.iter().filter_map(pair).collect();
    let mut groups: Vec<Vec<usize>> = laid
        .iter()
        .map(|layout| layout.setups.iter().map(|setup| setup.part).collect())
        .collect();
    groups.extend(single.iter().map(|&part| vec![part]));
    let dot = problem.graph.dot(&problem.stock, &groups);
    let batches = laid
        .iter()
        .filter_map(|layout| batch(&problem, &orders, layout));
    BatchReport {
        batches: batches.collect(),
        alone: alone(&problem, &orders, &single),
        savings,
        dot,
    }
}

/// Open orders by part.
struct Orders(BTreeMap<PartId, BatchPart>);

impl Orders {
    fn of(shop: &Shop) -> Orders {
        let mut parts: BTreeMap<PartId, BatchPart> = BTreeMap::new();
        for order in &shop.orders {
            let left = shop.pieces_left(order);
            if left == 0 {
                continue;
            }
            let part = parts
                .entry(order.part.clone())
                .or_insert_with(|| BatchPart {
                    part: order.part.clone(),
                    orders: Vec::new(),
                    pieces: 0,
                    due: None,
                    stations: Vec::new(),
                });
            part.orders.push(order.id.clone());
            part.pieces = part.pieces.saturating_add(left);
            let dues = order.deliveries.iter().map(|delivery| delivery.due);
            part.due = dues.chain([order.due]).chain(part.due).min();
        }
        Orders(parts)
    }

    fn part(&self, part: &PartId, stations: Vec<usize>) -> BatchPart {
        let nothing = || BatchPart {
            part: part.clone(),
            orders: Vec::new(),
            pieces: 0,
            due: None,
            stations: Vec::new(),
        };
        let known = self.0.get(part).cloned().unwrap_or_else(nothing);
        BatchPart { stations, ..known }
    }
}

fn batch(problem: &Problem<'_>, orders: &Orders, layout: &Layout) -> Option<Batch> {
    let brake = problem.shop.brakes.get(layout.brake)?;
    let stands = layout.bed.stands.iter();
    let setups = layout.setups.iter().filter_map(|setup| {
        let part = problem.shop.parts.get(setup.part)?;
        Some(orders.part(&part.id, setup.stations.clone()))
    });
    Some(Batch {
        brake: brake.id.clone(),
        bed: brake.bed,
        stations: stands
            .map(|stand| station(problem, stand))
            .collect::<Option<_>>()?,
        parts: setups.collect(),
        saved: layout.saved,
    })
}

fn station(problem: &Problem<'_>, stand: &Stand) -> Option<BatchStation> {
    let (punch, die) = (
        problem.stock.punch(stand.punch)?,
        problem.stock.die(stand.die)?,
    );
    Some(BatchStation {
        punch: punch.id.clone(),
        die: die.id.clone(),
        v: die.v,
        left: stand.left,
        length: stand.length(),
    })
}

/// The single parts with their reasons, and those that are in no graph because no brake takes them.
fn alone(problem: &Problem<'_>, orders: &Orders, single: &[usize]) -> Vec<Alone> {
    let shop = problem.shop;
    let why = |part: usize| -> WhyAlone {
        let near = problem.graph.neighbours(part);
        let named = |(other, _): &(usize, Saving)| shop.parts.get(*other).map(|p| p.id.clone());
        let beside = near.iter().find(|(_, saving)| saving.fits_one_bed);
        if let Some(with) = beside.and_then(named) {
            return WhyAlone::BedTaken { with };
        }
        match near.first().and_then(named) {
            Some(with) => WhyAlone::DoesNotFit { with },
            None => WhyAlone::SharesNothing,
        }
    };
    let in_graph = single.iter().filter_map(|&part| {
        Some(Alone {
            part: orders.part(&shop.parts.get(part)?.id, Vec::new()),
            why: why(part),
        })
    });
    let mut all: Vec<Alone> = in_graph.collect();
    let known = problem.graph.parts();
    let missing = shop.parts.iter().enumerate();
    let missing =
        missing.filter(|(at, part)| !known.contains(at) && orders.0.contains_key(&part.id));
    all.extend(missing.map(|(_, part)| Alone {
        part: orders.part(&part.id, Vec::new()),
        why: WhyAlone::NoBrake,
    }));
    let rank = |why: &WhyAlone| match why {
        WhyAlone::BedTaken { .. } => 0,
        WhyAlone::DoesNotFit { .. } => 1,
        WhyAlone::SharesNothing => 2,
        WhyAlone::NoBrake => 3,
    };
    all.sort_by_key(|alone| rank(&alone.why));
    all
}

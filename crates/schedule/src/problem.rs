//! A shop compiled into indices: jobs, their options, and everything timing needs to know.

use crate::followers::drop_followers_of_misfits;
use crate::forecast::Usual;
use crate::placed::pin_placed;
use crate::roster::Roster;
use crate::running::pin_running;
use crate::shares::{Shares, split_orders};
use crate::side_by_side::side_by_side;
use crate::told::ToldOrders;
use model::{Limit, Refusal, Shop, WorkOrder};
use rustc_hash::{FxHashMap, FxHashSet};
use search::{Place, Slot};
use similarity::SetupGraph;
use std::sync::Arc;
use tooling::{
    Bed, BedChange, Composer, Job as BendJob, Keep, Previous, Stock, ToolingOption, options_for,
};
use units::{Finding, Moment, PartId, Seconds, Window};

/// Neighbours kept per job; the moves pick among them at random.
const ALIKE_MOST: usize = 12;

/// A share of an order that is run at once.
#[derive(Clone, Debug)]
pub struct JobShare {
    /// Index of the order in the shop.
    pub order: usize,
    /// Index of the part.
    pub part: usize,
    /// Pieces.
    pub quantity: u32,
    /// From when its blanks are there.
    pub ready: Moment,
    /// Index of its promise.
    pub promise: usize,
    /// Order that must be finished first.
    pub after: Option<usize>,
    /// Whether it is in progress on the floor.
    pub running: bool,
}

/// Runs of one order with one due time.
#[derive(Clone, Copy, Debug)]
pub struct Promise {
    /// Due at bending.
    pub due: Moment,
    /// Weight of the order.
    pub weight: i64,
    /// Index of the kit, when the order belongs to one.
    pub kit: Option<usize>,
    /// Index of the order.
    pub order: usize,
}

/// An order, or a share of it, that no brake can take.
#[derive(Clone, Debug)]
pub struct Misfit {
    /// Index of the order.
    pub order: usize,
    /// Pieces.
    pub quantity: u32,
    /// Every brake's reasons.
    pub refusals: Vec<Refusal>,
}

/// A shop ready to be sequenced.
#[derive(Debug)]
pub struct Problem<'s> {
    /// The shop.
    pub shop: &'s Shop,
    /// Its sections, indexed.
    pub stock: Stock<'s>,
    /// First moment planned.
    pub from: Moment,
    /// Every run ends by this moment.
    pub until: Moment,
    /// Jobs in order and share order.
    pub jobs: Vec<JobShare>,
    /// For each job, its ways: tooling options over all brakes.
    pub ways: Vec<Vec<Arc<ToolingOption>>>,
    /// Promises.
    pub promises: Vec<Promise>,
    /// Number of kits.
    pub kits: usize,
    /// Orders and shares without a place.
    pub misfits: Vec<Misfit>,
    /// The setup-similarity graph of the parts with orders.
    pub graph: SetupGraph,
    /// What scratches begin with and tell each other of.
    pub(crate) composer: Composer,
    /// Tells this problem from every other, for memories that hold for one only.
    pub(crate) identity: Arc<()>,
    pub(crate) keep: Keep,
    pub(crate) beds: Vec<Bed>,
    pub(crate) roster: Roster,
    pub(crate) places: Vec<Vec<Place>>,
    pub(crate) alike: Vec<Vec<usize>>,
    /// By brake: the runs that come first, those in progress or frozen before those with a place.
    pub(crate) pinned: Vec<Vec<Slot>>,
    /// By brake: how many of these are in progress or frozen.
    pub(crate) fixed: Vec<usize>,
    /// For each brake with an order in progress, its bed as that order uses it.
    pub(crate) serving: Vec<Option<BedChange>>,
    /// For each order, pieces of it in jobs, and pieces that can have no place anyway.
    pub(crate) pieces_in_jobs: Vec<u32>,
    pub(crate) pieces_without: Vec<u32>,
    /// Cost of what can have no place anyway.
    pub(crate) misfit_cost: i64,
    /// What people go by when there was an earlier plan.
    pub(crate) told: ToldOrders,
    pub(crate) usual: Usual,
}

/// What planning makes use of: all there is, unless its worth is to be measured.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Means {
    /// The setup-similarity graph, in first answers and in moves.
    pub graph: bool,
    /// Which stations beds keep.
    pub keep: Keep,
    /// Threads that the parts' tooling options are worked out on.
    pub threads: usize,
}

impl Default for Means {
    fn default() -> Means {
        Means {
            graph: true,
            keep: Keep::default(),
            threads: 1,
        }
    }
}

type OptionKey = (usize, u64);

/// A part's options on one brake, shared by all its jobs, or why there are none.
struct Found {
    options: Vec<Arc<ToolingOption>>,
    refusals: Vec<Refusal>,
}

/// Compiles a shop for planning from a moment. The findings are about orders in progress whose bed
/// does not hold their tools; such an order is planned like any other.
#[must_use]
pub fn compile(shop: &Shop, from: Moment) -> (Problem<'_>, Vec<Finding>) {
    compile_with(shop, from, Means::default())
}

/// [`compile`] with fewer means, to measure what each is worth.
#[must_use]
pub fn compile_with(shop: &Shop, from: Moment, means: Means) -> (Problem<'_>, Vec<Finding>) {
    let until = from + Seconds(i64::from(shop.rules.horizon_days) * 86_400);
    let stock = Stock::new(shop);
    let composer = Composer::new();
    let beds = beds_of(shop, &stock);
    let options = all_options(shop, &stock, &composer, from, means.threads);
    let mut shares = split_orders(shop);
    let (mut jobs, mut ways, mut misfits) = jobs_with_ways(shop, &mut shares, &options);
    drop_followers_of_misfits(shop, &mut jobs, &mut ways, &mut misfits);
    let merged = merge_misfits(misfits);
    let options_in_use = if means.graph {
        options_by_part(shop, &jobs, &ways)
    } else {
        Vec::new()
    };
    let graph = SetupGraph::build(&stock, &composer, &options_in_use, means.threads);
    let mut problem = Problem {
        shop,
        from,
        until,
        places: ways.iter().map(|ways| places_of(ways)).collect(),
        alike: if means.graph {
            alike_jobs(shop.parts.len(), &jobs, &graph)
        } else {
            vec![Vec::new(); jobs.len()]
        },
        keep: means.keep,
        pinned: vec![Vec::new(); shop.brakes.len()],
        fixed: vec![0; shop.brakes.len()],
        serving: vec![None; shop.brakes.len()],
        pieces_in_jobs: vec![0; shop.orders.len()],
        pieces_without: vec![0; shop.orders.len()],
        misfit_cost: merged
            .iter()
            .map(|misfit| unplaced_cost(shop, misfit.order, misfit.quantity))
            .sum(),
        told: ToldOrders::default(),
        usual: Usual::default(),
        misfits: merged,
        promises: shares.promises,
        kits: shares.kits,
        roster: Roster::new(
            shop,
            Window {
                start: from,
                end: until,
            },
        ),
        graph,
        composer,
        identity: Arc::new(()),
        beds,
        stock,
        jobs,
        ways,
    };
    for job in &problem.jobs {
        problem.pieces_in_jobs[job.order] += job.quantity;
    }
    for misfit in &problem.misfits {
        problem.pieces_without[misfit.order] += misfit.quantity;
    }
    let findings = pin_running(&mut problem);
    pin_placed(&mut problem);
    problem.usual = Usual::of(&problem);
    (problem, findings)
}

/// What stands on each brake's bed now.
fn beds_of(shop: &Shop, stock: &Stock<'_>) -> Vec<Bed> {
    let brakes = shop.brakes.iter();
    brakes
        .map(|brake| {
            let stations = shop.floor.stations.iter();
            Bed::of_floor(stock, stations.filter(|station| station.brake == brake.id))
        })
        .collect()
}

/// The shares that some brake takes, each with its ways, and the others.
fn jobs_with_ways(
    shop: &Shop,
    shares: &mut Shares,
    options: &FxHashMap<OptionKey, Vec<Found>>,
) -> (Vec<JobShare>, Vec<Vec<Arc<ToolingOption>>>, Vec<Misfit>) {
    let mut jobs = Vec::new();
    let mut ways = Vec::new();
    let mut misfits = std::mem::take(&mut shares.misfits);
    for job in std::mem::take(&mut shares.jobs) {
        let order = &shop.orders[job.order];
        let found = options
            .get(&key(job.part, order))
            .map_or(&[][..], Vec::as_slice);
        let (job_ways, refusals) = ways_of(shop, order, found);
        if job_ways.is_empty() {
            misfits.push(Misfit {
                order: job.order,
                quantity: job.quantity,
                refusals,
            });
        } else {
            jobs.push(job);
            ways.push(job_ways);
        }
    }
    (jobs, ways, misfits)
}

impl Problem<'_> {
    /// The tooling options that the graph compares: those of each part with orders, the best of each
    /// brake first.
    #[must_use]
    pub fn options_compared(&self) -> Vec<&ToolingOption> {
        options_by_part(self.shop, &self.jobs, &self.ways)
    }

    /// Why brakes cannot take an order: those of all that cannot, whether another can or not.
    #[must_use]
    pub fn refusals_of(&self, order: usize) -> Vec<Refusal> {
        let Some(order) = self.shop.orders.get(order) else {
            return Vec::new();
        };
        let parts = &self.shop.parts;
        let Some(part) = parts.iter().position(|part| part.id == order.part) else {
            return Vec::new();
        };
        let mut composer = Composer::new();
        let asked = (part, order);
        let found = options_of(self.shop, &self.stock, &mut composer, self.from, asked);
        found.map_or_else(Vec::new, |found| ways_of(self.shop, order, &found).1)
    }

    /// Whether a job was where it is before planning began: in progress or frozen.
    pub(crate) fn is_fixed(&self, job: usize) -> bool {
        let mut lines = self.pinned.iter().zip(&self.fixed);
        lines.any(|(line, &fixed)| line[..fixed].iter().any(|slot| slot.job == job))
    }
}

/// Cost of leaving so many pieces of an order without a place; docs/rules.md section 7.
pub(crate) fn unplaced_cost(shop: &Shop, order: usize, pieces: u32) -> i64 {
    let order = &shop.orders[order];
    let whole = i64::from(order.weight) * i64::from(shop.rules.unplaced_minutes) * 3_600;
    let left = i128::from(shop.pieces_left(order).max(1));
    let share = (i128::from(whole) * i128::from(pieces) + left - 1) / left;
    i64::try_from(share).unwrap_or(i64::MAX)
}

fn key(part: usize, order: &WorkOrder) -> OptionKey {
    (
        part,
        order
            .certificate
            .map_or(0, |strength| strength.get().to_bits()),
    )
}

/// Options of every part with an order, by part and certificate, over all brakes.
fn all_options(
    shop: &Shop,
    stock: &Stock<'_>,
    composer: &Composer,
    from: Moment,
    threads: usize,
) -> FxHashMap<OptionKey, Vec<Found>> {
    let numbers = shop.parts.iter().enumerate();
    let part_of: FxHashMap<&PartId, usize> = numbers.map(|(at, part)| (&part.id, at)).collect();
    let mut asked: Vec<(OptionKey, &WorkOrder)> = Vec::new();
    let mut seen = FxHashSet::default();
    for order in &shop.orders {
        let Some(&part) = part_of.get(&order.part) else {
            continue;
        };
        if seen.insert(key(part, order)) {
            asked.push((key(part, order), order));
        }
    }
    // Each thread has parts of its own: what is known of a part's strokes is known to one.
    let threads = threads.clamp(1, asked.len().max(1));
    let found = side_by_side(threads, threads, |first| {
        let mut composer = composer.clone();
        let mine = asked.iter().skip(first).step_by(threads);
        mine.filter_map(|&(key, order)| {
            Some((
                key,
                options_of(shop, stock, &mut composer, from, (key.0, order))?,
            ))
        })
        .collect::<Vec<_>>()
    });
    found.into_iter().flatten().collect()
}

/// Options of one part over all brakes; `None` for a material that is not there.
fn options_of(
    shop: &Shop,
    stock: &Stock<'_>,
    composer: &mut Composer,
    at: Moment,
    (part, order): (usize, &WorkOrder),
) -> Option<Vec<Found>> {
    let material = shop.material(&shop.parts[part].material)?;
    let strength = order.certificate.unwrap_or(material.strength_typical);
    let on = |(brake, machine)| {
        let job = BendJob {
            shop,
            brake: machine,
            part: &shop.parts[part],
            material,
            strength,
            at,
        };
        let found = options_for(stock, composer, &job, part, brake);
        Found {
            options: found.options.into_iter().map(Arc::new).collect(),
            refusals: found.refusals,
        }
    };
    Some(shop.brakes.iter().enumerate().map(on).collect())
}

/// The order's ways over all brakes it may use, or every brake's refusals.
fn ways_of(
    shop: &Shop,
    order: &WorkOrder,
    found: &[Found],
) -> (Vec<Arc<ToolingOption>>, Vec<Refusal>) {
    let mut ways = Vec::new();
    let mut refusals = Vec::new();
    for (brake, options) in shop.brakes.iter().zip(found) {
        let refuse = |limit, needed: f64, available: f64, unit, text: String| Refusal {
            brake: brake.id.clone(),
            limit,
            bend: None,
            needed,
            available,
            unit,
            text,
        };
        if let Some(pinned) = order.brake.as_ref().filter(|pinned| **pinned != brake.id) {
            let text = format!("the order is tied to {pinned}");
            refusals.push(refuse(Limit::Pinned, 1.0, 0.0, "brake", text));
            continue;
        }
        if options.options.is_empty() {
            refusals.extend(options.refusals.iter().cloned());
            continue;
        }
        let trained = |role: fn(model::Role) -> bool| {
            shop.people
                .iter()
                .filter(|p| role(p.role) && p.brakes.contains(&brake.id))
                .count()
        };
        let bends = u8::try_from(trained(model::Role::bends)).unwrap_or(u8::MAX);
        let crew = options.options[0].crew;
        if bends < crew || trained(model::Role::sets) == 0 {
            let text = format!("takes {crew} trained to bend and one to set; {bends} bend here");
            refusals.push(refuse(
                Limit::Crew,
                f64::from(crew),
                f64::from(bends),
                "people",
                text,
            ));
            continue;
        }
        ways.extend(options.options.iter().cloned());
    }
    (ways, refusals)
}

/// The options of each part's job that has most of them: one that is tied to a brake has fewer, and
/// with another certificate the tools are nearly always the same.
fn options_by_part<'w>(
    shop: &Shop,
    jobs: &[JobShare],
    ways: &'w [Vec<Arc<ToolingOption>>],
) -> Vec<&'w ToolingOption> {
    let mut richest: Vec<&[Arc<ToolingOption>]> = vec![&[]; shop.parts.len()];
    for (job, job_ways) in jobs.iter().zip(ways) {
        if job_ways.len() > richest[job.part].len() {
            richest[job.part] = job_ways;
        }
    }
    richest.into_iter().flatten().map(AsRef::as_ref).collect()
}

/// One entry per order, in order.
fn merge_misfits(misfits: Vec<Misfit>) -> Vec<Misfit> {
    let mut merged: Vec<Misfit> = Vec::new();
    for misfit in misfits {
        match merged.iter_mut().find(|other| other.order == misfit.order) {
            Some(other) => {
                other.quantity += misfit.quantity;
                for refusal in misfit.refusals {
                    if !other.refusals.contains(&refusal) {
                        other.refusals.push(refusal);
                    }
                }
            }
            None => merged.push(misfit),
        }
    }
    merged.sort_by_key(|misfit| misfit.order);
    merged
}

fn places_of(ways: &[Arc<ToolingOption>]) -> Vec<Place> {
    ways.iter()
        .enumerate()
        .map(|(way, option)| Place {
            machine: option.brake,
            way,
        })
        .collect()
}

/// Jobs of the same part, then those of parts alike in the graph.
fn alike_jobs(parts: usize, jobs: &[JobShare], graph: &SetupGraph) -> Vec<Vec<usize>> {
    let mut of_part: Vec<Vec<usize>> = vec![Vec::new(); parts];
    for (index, job) in jobs.iter().enumerate() {
        of_part[job.part].push(index);
    }
    let alike_parts: Vec<Vec<usize>> = (0..parts)
        .map(|part| {
            let neighbours = graph.neighbours(part).into_iter().map(|(part, _)| part);
            std::iter::once(part).chain(neighbours).collect()
        })
        .collect();
    jobs.iter()
        .enumerate()
        .map(|(index, job)| {
            alike_parts[job.part]
                .iter()
                .flat_map(|&part| of_part[part].iter().copied())
                .filter(|&other| other != index)
                .take(ALIKE_MOST)
                .collect()
        })
        .collect()
}

/// What stands on a brake before and what was run last: state of one brake while timing.
#[derive(Debug, Default)]
pub(crate) struct BrakeState {
    pub(crate) clock: Moment,
    pub(crate) bed: Bed,
    pub(crate) previous: Option<Previous>,
    /// Parts programmed on this brake within the plan.
    pub(crate) programmed: Parts,
    /// Next position in its sequence.
    pub(crate) next: usize,
}

impl Clone for BrakeState {
    fn clone(&self) -> BrakeState {
        let mut new = BrakeState::default();
        new.clone_from(self);
        new
    }

    fn clone_from(&mut self, other: &BrakeState) {
        self.bed.stands.clone_from(&other.bed.stands);
        self.programmed.0.clone_from(&other.programmed.0);
        (self.clock, self.previous, self.next) = (other.clock, other.previous, other.next);
    }
}

/// A set of parts, by index.
#[derive(Clone, Debug, Default)]
pub(crate) struct Parts(Vec<u64>);

impl Parts {
    pub(crate) fn has(&self, part: usize) -> bool {
        let word = self.0.get(part / 64);
        word.is_some_and(|word| word & (1 << (part % 64)) != 0)
    }

    pub(crate) fn add(&mut self, part: usize) {
        if self.0.len() <= part / 64 {
            self.0.resize(part / 64 + 1, 0);
        }
        self.0[part / 64] |= 1 << (part % 64);
    }
}

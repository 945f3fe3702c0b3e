//! A shop compiled into indices: jobs, their options, and everything timing needs to know.

use crate::followers::{drop_followers_of_misfits, order_before};
use crate::roster::Roster;
use model::{Limit, Refusal, Shop, WorkOrder};
use rustc_hash::FxHashMap;
use search::{Place, Slot};
use similarity::SetupGraph;
use tooling::{
    Bed, BedChange, Composer, Custody, Job as BendJob, Options, Previous, Request, Stand, Stock,
    ToolingOption, change, options_for,
};
use units::{Finding, Moment, Place as FilePlace, Seconds, Severity, Window};

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
    pub ways: Vec<Vec<std::sync::Arc<ToolingOption>>>,
    /// Promises.
    pub promises: Vec<Promise>,
    /// Number of kits.
    pub kits: usize,
    /// Orders and shares without a place.
    pub misfits: Vec<Misfit>,
    /// The setup-similarity graph of the parts with orders.
    pub graph: SetupGraph,
    /// Batches of parts it suggests.
    pub part_batches: Vec<Vec<usize>>,
    pub(crate) beds: Vec<Bed>,
    pub(crate) roster: Roster,
    pub(crate) places: Vec<Vec<Place>>,
    pub(crate) alike: Vec<Vec<usize>>,
    pub(crate) pinned: Vec<Vec<Slot>>,
    /// For each brake with an order in progress, its bed as that order uses it.
    pub(crate) serving: Vec<Option<BedChange>>,
    /// For each order, how many of its jobs there are, and the cost of leaving it without a place.
    pub(crate) jobs_of_order: Vec<usize>,
    /// Cost of what can have no place anyway.
    pub(crate) misfit_cost: i64,
}

type OptionKey = (usize, u64);

/// Compiles a shop for planning from a moment. The findings are about orders in progress whose bed
/// does not hold their tools; such an order is planned like any other.
#[must_use]
pub fn compile(shop: &Shop, from: Moment) -> (Problem<'_>, Vec<Finding>) {
    let until = from + Seconds(i64::from(shop.rules.horizon_days) * 86_400);
    let stock = Stock::new(shop);
    let mut composer = Composer::new();
    let beds: Vec<Bed> = shop
        .brakes
        .iter()
        .map(|brake| {
            Bed::of_floor(
                &stock,
                shop.floor.stations.iter().filter(|s| s.brake == brake.id),
            )
        })
        .collect();
    let options = all_options(shop, &stock, &mut composer, from);
    let mut shares = split_orders(shop);
    let mut jobs = Vec::new();
    let mut ways = Vec::new();
    let mut misfits = std::mem::take(&mut shares.misfits);
    for job in shares.jobs {
        let order = &shop.orders[job.order];
        let found = &options[&key(job.part, order)];
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
    drop_followers_of_misfits(shop, &mut jobs, &mut ways, &mut misfits);
    let merged = merge_misfits(misfits);
    let options_in_use = options_by_part(shop, &jobs, &ways);
    let graph = SetupGraph::build(&stock, &mut composer, &options_in_use);
    let part_batches = similarity::batches(&stock, &mut composer, &options_in_use, &graph);
    let mut problem = Problem {
        shop,
        from,
        until,
        places: ways.iter().map(|ways| places_of(ways)).collect(),
        alike: alike_jobs(&jobs, &graph),
        pinned: vec![Vec::new(); shop.brakes.len()],
        serving: vec![None; shop.brakes.len()],
        jobs_of_order: vec![0; shop.orders.len()],
        misfit_cost: merged
            .iter()
            .map(|misfit| unplaced_cost(shop, misfit.order))
            .sum(),
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
        part_batches,
        beds,
        stock,
        jobs,
        ways,
    };
    for job in &problem.jobs {
        problem.jobs_of_order[job.order] += 1;
    }
    let findings = pin_running(&mut problem, &mut composer);
    (problem, findings)
}

impl Problem<'_> {
    /// Price of an order for which a run finds no place; nothing more when a share of it has none
    /// anyway.
    pub(crate) fn price_of_failing(&self, order: usize) -> i64 {
        if self.misfits.iter().any(|misfit| misfit.order == order) {
            0
        } else {
            unplaced_cost(self.shop, order)
        }
    }
}

/// Cost of leaving any piece of an order without a place; docs/rules.md section 7.
pub(crate) fn unplaced_cost(shop: &Shop, order: usize) -> i64 {
    i64::from(shop.orders[order].weight) * i64::from(shop.rules.unplaced_minutes) * 3_600
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
    composer: &mut Composer,
    from: Moment,
) -> FxHashMap<OptionKey, Vec<Options>> {
    let mut all = FxHashMap::default();
    for order in &shop.orders {
        let Some(part) = shop.parts.iter().position(|part| part.id == order.part) else {
            continue;
        };
        let Some(material) = shop.material(&shop.parts[part].material) else {
            continue;
        };
        all.entry(key(part, order)).or_insert_with(|| {
            let strength = order.certificate.unwrap_or(material.strength_typical);
            (0..shop.brakes.len())
                .map(|brake| {
                    let job = BendJob {
                        shop,
                        brake: &shop.brakes[brake],
                        part: &shop.parts[part],
                        material,
                        strength,
                        at: from,
                    };
                    options_for(stock, composer, &job, part, brake)
                })
                .collect()
        });
    }
    all
}

struct Shares {
    jobs: Vec<JobShare>,
    promises: Vec<Promise>,
    kits: usize,
    misfits: Vec<Misfit>,
}

/// Cuts orders at the boundaries of blank lots and deliveries; docs/rules.md section 1.
fn split_orders(shop: &Shop) -> Shares {
    let mut out = Shares {
        jobs: Vec::new(),
        promises: Vec::new(),
        kits: 0,
        misfits: Vec::new(),
    };
    let mut kits: FxHashMap<&units::KitId, usize> = FxHashMap::default();
    for (index, order) in shop.orders.iter().enumerate() {
        let Some(part) = shop.parts.iter().position(|part| part.id == order.part) else {
            continue;
        };
        let kit = order.kit.as_ref().map(|kit| {
            let next = kits.len();
            *kits.entry(kit).or_insert(next)
        });
        let after =
            order_before(shop, index).filter(|&other| shop.pieces_left(&shop.orders[other]) > 0);
        let running = shop
            .floor
            .running
            .iter()
            .any(|running| running.order == order.id);
        let mut first = true;
        for share in shares_of(shop, order) {
            let Some(ready) = share.ready else {
                out.misfits
                    .push(no_blanks(shop, index, order, share.quantity));
                continue;
            };
            let promise = Promise {
                due: share.due,
                weight: i64::from(order.weight),
                kit,
                order: index,
            };
            let same = out
                .promises
                .iter()
                .rposition(|p| p.order == index && p.due == share.due);
            let promise = same.unwrap_or_else(|| {
                out.promises.push(promise);
                out.promises.len() - 1
            });
            let running = running && std::mem::take(&mut first);
            let quantity = share.quantity;
            out.jobs.push(JobShare {
                order: index,
                part,
                quantity,
                ready,
                promise,
                after,
                running,
            });
        }
    }
    out.kits = kits.len();
    out
}

struct Share {
    quantity: u32,
    /// `None` when no lot covers it.
    ready: Option<Moment>,
    due: Moment,
}

fn shares_of(shop: &Shop, order: &WorkOrder) -> Vec<Share> {
    let mut lots = order.blanks.clone();
    lots.sort_by_key(|lot| lot.available);
    let mut deliveries = order.deliveries.clone();
    deliveries.sort_by_key(|delivery| delivery.due);
    let running_sums = |quantities: Vec<u32>| -> Vec<u32> {
        quantities
            .into_iter()
            .scan(0_u32, |sum, quantity| {
                *sum = sum.saturating_add(quantity);
                Some(*sum)
            })
            .collect()
    };
    let lot_ends = running_sums(lots.iter().map(|lot| lot.quantity).collect());
    let delivery_ends = running_sums(deliveries.iter().map(|d| d.quantity).collect());
    let done = order.quantity - shop.pieces_left(order);
    let mut cuts: Vec<u32> = lot_ends
        .iter()
        .chain(&delivery_ends)
        .copied()
        .filter(|&cut| done < cut && cut < order.quantity)
        .chain([order.quantity])
        .collect();
    cuts.sort_unstable();
    cuts.dedup();
    let mut start = done;
    let mut shares = Vec::new();
    for end in cuts.into_iter().filter(|&end| end > done) {
        // Pieces start+1..=end lie within one lot and one delivery.
        let lot = lot_ends.iter().position(|&sum| end <= sum);
        let ready = match lot {
            Some(lot) => Some(order.ready.max(lots[lot].available)),
            None if lots.is_empty() => Some(order.ready),
            None => None,
        };
        let delivery = delivery_ends.iter().position(|&sum| end <= sum);
        let due = delivery.map_or(order.due, |delivery| deliveries[delivery].due);
        shares.push(Share {
            quantity: end - start,
            ready,
            due,
        });
        start = end;
    }
    shares
}

fn no_blanks(shop: &Shop, index: usize, order: &WorkOrder, quantity: u32) -> Misfit {
    let there = order.quantity.saturating_sub(quantity);
    let refusals = shop
        .brakes
        .iter()
        .map(|brake| Refusal {
            brake: brake.id.clone(),
            limit: Limit::Blanks,
            bend: None,
            needed: f64::from(order.quantity),
            available: f64::from(there),
            unit: "blanks",
            text: format!("{quantity} blanks are neither on hand nor announced"),
        })
        .collect();
    Misfit {
        order: index,
        quantity,
        refusals,
    }
}

/// The order's ways over all brakes it may use, or every brake's refusals.
fn ways_of(
    shop: &Shop,
    order: &WorkOrder,
    found: &[Options],
) -> (Vec<std::sync::Arc<ToolingOption>>, Vec<Refusal>) {
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
        ways.extend(options.options.iter().cloned().map(std::sync::Arc::new));
    }
    (ways, refusals)
}

/// The options of each part's job that has most of them: one that is tied to a brake has fewer, and
/// with another certificate the tools are nearly always the same.
fn options_by_part<'w>(
    shop: &Shop,
    jobs: &[JobShare],
    ways: &'w [Vec<std::sync::Arc<ToolingOption>>],
) -> Vec<&'w ToolingOption> {
    let mut richest: Vec<&[std::sync::Arc<ToolingOption>]> = vec![&[]; shop.parts.len()];
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

fn places_of(ways: &[std::sync::Arc<ToolingOption>]) -> Vec<Place> {
    ways.iter()
        .enumerate()
        .map(|(way, option)| Place {
            machine: option.brake,
            way,
        })
        .collect()
}

/// Jobs of the same part, then those of parts alike in the graph.
fn alike_jobs(jobs: &[JobShare], graph: &SetupGraph) -> Vec<Vec<usize>> {
    let of_part = |part: usize| {
        jobs.iter()
            .enumerate()
            .filter(move |(_, job)| job.part == part)
            .map(|(index, _)| index)
    };
    jobs.iter()
        .enumerate()
        .map(|(index, job)| {
            let neighbours = graph.neighbours(job.part).into_iter().map(|(part, _)| part);
            [job.part]
                .into_iter()
                .chain(neighbours)
                .flat_map(of_part)
                .filter(|&other| other != index)
                .take(ALIKE_MOST)
                .collect()
        })
        .collect()
}

/// Sections on other beds do not come into it: an order in progress has its tools.
struct BedOnly;

impl Custody for BedOnly {
    fn on_this_bed(&self, _section: usize) -> bool {
        true
    }
    fn wait(&self, _section: usize) -> Option<i64> {
        None
    }
    fn wanted_elsewhere(&self, _stand: &Stand) -> bool {
        false
    }
}

/// Pins every order in progress first on its brake, with a way its bed already serves.
fn pin_running(problem: &mut Problem<'_>, composer: &mut Composer) -> Vec<Finding> {
    let mut findings = Vec::new();
    for job in 0..problem.jobs.len() {
        if !problem.jobs[job].running {
            continue;
        }
        let order = &problem.shop.orders[problem.jobs[job].order];
        let running = problem
            .shop
            .floor
            .running
            .iter()
            .find(|r| r.order == order.id);
        let brake = running.and_then(|r| {
            problem
                .shop
                .brakes
                .iter()
                .position(|brake| brake.id == r.brake)
        });
        let Some(brake) = brake else { continue };
        let way = (0..problem.ways[job].len()).find_map(|way| {
            serving_change(problem, composer, brake, job, way).map(|change| (way, change))
        });
        match way {
            Some((way, change)) => {
                problem.pinned[brake].push(Slot { job, way });
                problem.serving[brake] = Some(change);
            }
            None => {
                problem.jobs[job].running = false;
                findings.push(wrong_bed(problem.shop, brake, order));
            }
        }
    }
    findings
}

/// The change that is none: the bed serves the way as it stands.
fn serving_change(
    problem: &Problem<'_>,
    composer: &mut Composer,
    brake: usize,
    job: usize,
    way: usize,
) -> Option<BedChange> {
    let option = &problem.ways[job][way];
    if option.brake != brake {
        return None;
    }
    let request = Request {
        brake: &problem.shop.brakes[brake],
        option,
        later: &[],
    };
    let found = change(
        &problem.stock,
        composer,
        &problem.beds[brake],
        &request,
        &BedOnly,
    )?;
    (found.removed.is_empty() && found.inserted.is_empty()).then_some(found)
}

fn wrong_bed(shop: &Shop, brake: usize, order: &WorkOrder) -> Finding {
    Finding {
        code: "D390",
        severity: Severity::Warning,
        place: FilePlace {
            file: "floor.csv".into(),
            line: None,
            field: Some(order.id.to_string()),
        },
        found: format!(
            "order {} is in progress on {}, but no setup of its part is on that bed as described",
            order.id, shop.brakes[brake].id
        ),
        expected: "stations that make all its bends".into(),
        action: "describe the bed as it is, or take the order off the floor file; it is planned like an order that has not begun".into(),
    }
}

/// What stands on a brake before and what was run last: state of one brake while timing.
#[derive(Clone, Debug, Default)]
pub(crate) struct BrakeState {
    pub(crate) clock: Moment,
    pub(crate) bed: Bed,
    pub(crate) previous: Option<Previous>,
    /// Parts programmed on this brake within the plan.
    pub(crate) programmed: Vec<usize>,
    /// Next position in its sequence.
    pub(crate) next: usize,
}

//! The job tried in a plan that stands, and what its place costs the others.

use model::{Plan, Refusal, Run, Shop};
use schedule::{Means, Problem, Replay, Spot, compile_with, insert_order, lift, timing::Scratch};
use search::Sequences;
use study::{Ask, Setup, part_study};
use units::{BrakeId, Moment, OrderId, Seconds};

/// Days that calendars reach at least beyond the plan's horizon, for dates that slip out of it.
const BEYOND: Seconds = Seconds(28 * 86_400);

/// A brake that can bend the part.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct AbleBrake {
    /// Brake.
    pub brake: BrakeId,
    /// Program there, when its best setup is proven.
    pub program: Option<String>,
    /// People a piece takes.
    pub crew: u8,
    /// Milliseconds a piece.
    pub cycle_ms: i64,
    /// Setting up on an empty bed; `None` when its stations cannot be put up so.
    pub setup: Option<Setup>,
}

/// An order that ends at another time because of the job.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Later {
    /// The order.
    pub order: OrderId,
    /// Its end without the job.
    pub before: Moment,
    /// Its end with it.
    pub after: Moment,
    /// Due at bending, the first of its promises.
    pub due: Moment,
    /// How late it was without the job, kits counted at their last member.
    pub late_before: Seconds,
    /// How late it is with it.
    pub late_after: Seconds,
}

/// What the job adds to the plan.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Default)]
pub struct Price {
    /// Changeover work of the whole plan.
    pub changeover: Seconds,
    /// Overtime of the whole plan.
    pub overtime: Seconds,
    /// Lateness of all other orders together, unweighted.
    pub others_late: Seconds,
    /// Other orders that end later than without it.
    pub later: u32,
    /// Of these, orders that are late only because of it.
    pub newly_late: u32,
    /// Other orders that lose their place.
    pub without_place: u32,
}

/// A place in the plan.
#[derive(Clone, Debug)]
pub struct Placed {
    /// The job's run, with its changeover.
    pub run: Run,
    /// Its brake.
    pub brake: BrakeId,
    /// What it adds.
    pub price: Price,
    /// Other orders that end at another time, the most delayed first.
    pub moved: Vec<Later>,
    /// The whole plan with it; not judged yet.
    pub plan: Plan,
}

/// Where the job can go.
#[derive(Debug)]
pub struct Answer {
    /// Brakes that can bend it, in the shop's order.
    pub able: Vec<AbleBrake>,
    /// The others' reasons.
    pub refusals: Vec<Refusal>,
    /// The place that costs least, an hour of waiting counted like an hour late; `None` when no brake
    /// can bend it or none has the time.
    pub place: Option<Placed>,
    /// The place where it ends first of those right behind what is frozen, when that is another one.
    pub earliest: Option<Placed>,
    /// Places tried.
    pub tried: usize,
    /// The plan with the job at the place that costs least, ready to be played, and its item there.
    pub replay: Option<(Replay, usize)>,
}

/// Tries the last order of a shop in a plan made before it came.
#[must_use]
pub fn place(shop: &Shop, from: Moment, before: &Plan, threads: usize) -> Answer {
    let means = Means {
        threads,
        ..Means::default()
    };
    let (mut problem, _) = compile_with(shop, from, means);
    let order = shop.orders.len().saturating_sub(1);
    let found = insert_order(&mut problem, before, order);
    let mut answer = Answer {
        able: able(&problem, order),
        refusals: problem.refusals_of(order),
        place: None,
        earliest: None,
        tried: found.tried,
        replay: None,
    };
    let Some(least) = found.least else {
        return answer;
    };
    let mut scratch = Scratch::default();
    let without = lift(&problem, &mut scratch, &found.without);
    let stands = (&found.without, &without);
    answer.place = placed(&problem, &mut scratch, stands, &least, order);
    let apart =
        |spot: &Spot| (spot.brake, spot.at, spot.slot) != (least.brake, least.at, least.slot);
    if let Some(spot) = found.earliest.filter(apart)
        && spot.end < least.end
    {
        answer.earliest = placed(&problem, &mut scratch, stands, &spot, order);
    }
    let beyond = BEYOND.max(problem.until - problem.from);
    let replay = Replay::new(&problem, &least.put_into(&found.without), beyond);
    answer.replay = replay.item_of(order).map(|item| (replay, item));
    answer
}

fn able(problem: &Problem<'_>, order: usize) -> Vec<AbleBrake> {
    let shop = problem.shop;
    let Some(job) = problem.jobs.iter().position(|job| job.order == order) else {
        return Vec::new();
    };
    let part = &shop.parts[problem.jobs[job].part].id;
    let study = part_study(shop, part, Ask::numbers(problem.from));
    let setup = |brake: usize| {
        let brake = study.as_ref()?.brakes.get(brake)?;
        brake.options.first()?.setup.clone()
    };
    let brakes = shop.brakes.iter().enumerate();
    brakes
        .filter_map(|(index, brake)| {
            let mut ways = problem.ways[job].iter();
            let way = ways.find(|way| way.brake == index)?;
            Some(AbleBrake {
                brake: brake.id.clone(),
                program: way.program.clone(),
                crew: way.crew,
                cycle_ms: way.cycle_ms,
                setup: setup(index),
            })
        })
        .collect()
}

fn placed(
    problem: &Problem<'_>,
    scratch: &mut Scratch,
    (lines, without): (&Sequences, &Plan),
    spot: &Spot,
    order: usize,
) -> Option<Placed> {
    let plan = lift(problem, scratch, &spot.put_into(lines));
    let own = &problem.shop.orders[order].id;
    let brake = problem.shop.brakes[spot.brake].id.clone();
    let mut runs = plan.brakes[spot.brake].runs.iter();
    let run = runs.find(|run| run.order == *own)?.clone();
    let moved = moved(without, &plan, own);
    Some(Placed {
        price: price(without, &plan, &moved, own),
        run,
        brake,
        moved,
        plan,
    })
}

/// End, first due time and lateness of an order in a plan.
struct Told {
    end: Moment,
    due: Moment,
    late: Seconds,
}

fn told(plan: &Plan, order: &OrderId) -> Option<Told> {
    let runs = || {
        let all = plan.brakes.iter().flat_map(|brake| &brake.runs);
        all.filter(|run| run.order == *order)
    };
    Some(Told {
        end: runs().map(|run| run.end).max()?,
        due: runs().map(|run| run.due).min()?,
        late: runs().map(|run| run.late).max()?,
    })
}

/// Orders that end at another time or are late otherwise, the most delayed first.
fn moved(without: &Plan, with: &Plan, own: &OrderId) -> Vec<Later> {
    let mut orders: Vec<&OrderId> = Vec::new();
    for run in without.brakes.iter().flat_map(|brake| &brake.runs) {
        orders.push(&run.order);
    }
    orders.sort_unstable();
    orders.dedup();
    let mut moved: Vec<Later> = orders
        .into_iter()
        .filter(|order| *order != own)
        .filter_map(|order| {
            let (before, after) = (told(without, order)?, told(with, order)?);
            let later = Later {
                order: order.clone(),
                before: before.end,
                after: after.end,
                due: before.due,
                late_before: before.late,
                late_after: after.late,
            };
            (before.end != after.end || before.late != after.late).then_some(later)
        })
        .collect();
    moved.sort_by(|one, two| {
        let delay = |later: &Later| later.after - later.before;
        delay(two).cmp(&delay(one)).then(one.order.cmp(&two.order))
    });
    moved
}

fn price(without: &Plan, with: &Plan, moved: &[Later], own: &OrderId) -> Price {
    let count = |which: fn(&Later) -> bool| {
        let found = moved.iter().filter(|later| which(later)).count();
        u32::try_from(found).unwrap_or(u32::MAX)
    };
    let others = |plan: &Plan| {
        let left_out = plan.unplaced.iter().filter(|one| one.order != *own).count();
        u32::try_from(left_out).unwrap_or(u32::MAX)
    };
    Price {
        changeover: with.totals.changeover - without.totals.changeover,
        overtime: with.totals.overtime - without.totals.overtime,
        others_late: moved
            .iter()
            .map(|later| later.late_after - later.late_before)
            .sum(),
        later: count(|later| later.after > later.before),
        newly_late: count(|later| {
            later.late_before == Seconds::ZERO && later.late_after > Seconds::ZERO
        }),
        without_place: others(with).saturating_sub(others(without)),
    }
}

//! How long planning again takes after one event, and that nothing frozen moves.

use crate::beds::judged::Untrue;
use crate::beds::report::markdown;
use clap::Args;
use model::{BrakeDown, Plan, Shop};
use schedule::{Earlier, Planned, plan_day};
use std::time::{Duration, Instant};
use tabled::builder::Builder;
use testkit::{Recipe, Sections, invent};
use units::{Moment, OrderId, Seconds, Window};

/// What is to be run.
#[derive(Clone, Debug, Args)]
pub struct Ask {
    /// Orders.
    #[arg(long, default_value_t = 1_000)]
    orders: usize,
    /// Seed of the shop and of the search.
    #[arg(long, default_value_t = 1)]
    seed: u64,
    /// Threads.
    #[arg(long, default_value_t = 2)]
    threads: usize,
    /// Steps of the search after each event.
    #[arg(long, default_value_t = 1)]
    steps: u64,
    /// Hours at the plan's beginning that are frozen.
    #[arg(long, default_value_t = 4)]
    frozen_hours: u32,
}

/// Why there is no table.
#[derive(Debug, thiserror::Error)]
pub enum Failure {
    /// A plan does not count.
    #[error(transparent)]
    Untrue(#[from] Untrue),
    /// A frozen run has moved.
    #[error("{0}: a frozen run has another place")]
    Moved(&'static str),
}

/// What happened, and the shop after it.
type Event = (&'static str, Shop);

/// Plans a shop, then again after each of several events.
///
/// # Errors
/// [`Failure`] when the audit refuses a plan or a frozen run moves.
pub fn run(ask: &Ask) -> Result<String, Failure> {
    let mut shop = invent(&Recipe::bed(ask.orders, 0.5, Sections::Ample, ask.seed));
    shop.rules.frozen = Seconds(i64::from(ask.frozen_hours) * 3_600);
    let from = shop.as_of.ok_or(Untrue::NoMoment)?;
    let until = from + shop.rules.frozen;
    let before = planned(ask, &shop, from, None)?.0;
    let frozen = begun(&before, until);
    let mut builder = Builder::default();
    builder.push_record(["event", "frozen runs", "moved", "seconds", "objective, min"]);
    for (name, shop) in events(&shop, until) {
        let (after, took) = planned(ask, &shop, from, Some(&before))?;
        let again = begun(&after, after.until);
        let stay = frozen
            .iter()
            .zip(&again)
            .all(|(old, new)| new.starts_with(old));
        if !stay {
            return Err(Failure::Moved(name));
        }
        builder.push_record([
            name.to_owned(),
            frozen.iter().map(Vec::len).sum::<usize>().to_string(),
            "0".to_owned(),
            format!("{:.2}", took.as_secs_f64()),
            (after.totals.objective / 3_600).to_string(),
        ]);
    }
    Ok(format!("{}\n", markdown(builder)))
}

/// A plan and both baselines, judged; and the time that passed.
fn planned(
    ask: &Ask,
    shop: &Shop,
    from: Moment,
    before: Option<&Plan>,
) -> Result<(Plan, Duration), Untrue> {
    let day = schedule::Ask {
        from,
        seed: ask.seed,
        threads: ask.threads,
        seconds: None,
    };
    let started = Instant::now();
    let steps = ask.steps;
    let Planned {
        plan,
        due_date_order,
        grouped_by_die,
        ..
    } = plan_day(
        shop,
        day,
        before.map(Earlier::in_force),
        &mut |done| done >= steps,
        &mut (),
    );
    let plans = [&plan, &due_date_order, &grouped_by_die];
    let judge = |plan| audit::judge_with(shop, plan, None, ask.threads).violations;
    let refused: Vec<_> = plans.into_iter().flat_map(judge).collect();
    let took = started.elapsed();
    match refused.first() {
        Some(violation) => Err(Untrue::Refused(format!("{violation:?}"))),
        None => Ok((plan, took)),
    }
}

/// By brake: order and pieces of the runs that begin before a moment.
fn begun(plan: &Plan, until: Moment) -> Vec<Vec<(OrderId, u32)>> {
    let line = |brake: &model::BrakePlan| {
        let runs = brake.runs.iter().take_while(|run| run.start < until);
        runs.map(|run| (run.order.clone(), run.quantity)).collect()
    };
    plan.brakes.iter().map(line).collect()
}

fn events(shop: &Shop, until: Moment) -> Vec<Event> {
    let mut down = shop.clone();
    let day = Seconds(86_400);
    down.floor
        .down
        .extend(shop.brakes.last().map(|brake| BrakeDown {
            brake: brake.id.clone(),
            window: Window {
                start: until + day,
                end: until + day + Seconds(8 * 3_600),
            },
            reason: "for measuring".to_owned(),
        }));
    let waited_for = |id: &OrderId| {
        let mut orders = shop.orders.iter();
        orders.any(|order| order.after.as_ref() == Some(id))
    };
    let free = shop.orders.iter().filter(|order| !waited_for(&order.id));
    let last = free.max_by_key(|order| order.due).map(|order| &order.id);
    let mut fewer = shop.clone();
    fewer.orders.retain(|order| Some(&order.id) != last);
    vec![
        ("nothing", shop.clone()),
        ("a brake is down for eight hours", down),
        ("the order due last is withdrawn", fewer),
    ]
}

//! A plan as tables: runs, loads, orders, and what has no place.

use super::clock::Clock;
use super::csv_list;
use exchange::table::{Cell, Table, TableError, as_csv, as_workbook};
use model::{Plan, Run, Shop};
use std::collections::BTreeMap;
use units::{Moment, OrderId};
use workshop::loads;

/// Columns of the run list that hold numbers.
const NUMBERS: [&str; 9] = [
    "quantity",
    "change_minutes",
    "stations_off",
    "stations_stay",
    "stations_turned",
    "stations_slid",
    "stations_on",
    "late_minutes",
    "v_mm",
];

/// The workbook, loads and orders as CSV, in this order.
///
/// # Errors
/// When the workbook cannot be: a text or a table too long for one.
pub(crate) fn all(shop: &Shop, plan: &Plan, made: Moment) -> Result<[Vec<u8>; 3], TableError> {
    let (loads, orders) = (loads_table(shop, plan), orders_table(shop, plan));
    let csv = [as_csv(&loads), as_csv(&orders)].map(String::into_bytes);
    let tables = [runs_table(shop, plan), loads, orders, unplaced_table(plan)];
    let [loads, orders] = csv;
    Ok([as_workbook(&tables, made)?, loads, orders])
}

fn table(name: &str, header: &[&str], rows: Vec<Vec<Cell>>) -> Table {
    Table {
        name: name.to_owned(),
        header: header.iter().map(|&name| name.to_owned()).collect(),
        rows,
    }
}

fn runs_table(shop: &Shop, plan: &Plan) -> Table {
    let clock = Clock::new(shop.zone);
    let cell = |(column, text): (&&str, String)| match text.parse::<f64>() {
        Ok(number) if NUMBERS.contains(column) => Cell::Number(number),
        _ => Cell::Text(text),
    };
    let lists = plan.brakes.iter();
    let rows = lists.flat_map(|list| csv_list::rows(clock, list));
    let rows = rows.map(|(_, row)| csv_list::HEADER.iter().zip(row).map(cell).collect());
    table("runs", csv_list::HEADER, rows.collect())
}

fn loads_table(shop: &Shop, plan: &Plan) -> Table {
    let header = [
        "brake",
        "day",
        "staffed_minutes",
        "run_minutes",
        "changeover_minutes",
        "free_minutes",
        "load_percent",
    ];
    let tenth = |value: f64| Cell::Number((value * 10.0).round() / 10.0);
    let rows = loads(shop, plan).into_iter().map(|load| {
        let free = load.staffed.minutes() - load.run.minutes() - load.changeover.minutes();
        vec![
            load.brake.to_string().into(),
            load.day.to_string().into(),
            tenth(load.staffed.minutes()),
            tenth(load.run.minutes()),
            tenth(load.changeover.minutes()),
            tenth(free),
            tenth(load.share() * 100.0),
        ]
    });
    table("loads", &header, rows.collect())
}

fn orders_table(shop: &Shop, plan: &Plan) -> Table {
    let header = [
        "order",
        "part",
        "quantity",
        "placed",
        "ready",
        "due",
        "weight",
        "brakes",
        "start",
        "end",
        "late_minutes",
    ];
    let clock = Clock::new(shop.zone);
    let mut runs: BTreeMap<&OrderId, Vec<(&str, &Run)>> = BTreeMap::new();
    for list in &plan.brakes {
        for run in &list.runs {
            let of = runs.entry(&run.order).or_default();
            of.push((list.brake.as_str(), run));
        }
    }
    let rows = shop.orders.iter().map(|order| {
        let runs = runs.get(&order.id).map(Vec::as_slice).unwrap_or_default();
        let mut brakes: Vec<&str> = runs.iter().map(|(brake, _)| *brake).collect();
        brakes.dedup();
        let placed: u32 = runs.iter().map(|(_, run)| run.quantity).sum();
        let moment = |moment: Option<Moment>| {
            Cell::Text(moment.map_or_else(String::new, |at| clock.sortable(at)))
        };
        let late = runs.iter().map(|(_, run)| run.late).max();
        vec![
            order.id.to_string().into(),
            order.part.to_string().into(),
            f64::from(order.quantity).into(),
            f64::from(placed).into(),
            moment(Some(order.ready)),
            moment(Some(order.due)),
            f64::from(order.weight).into(),
            brakes.join(" ").into(),
            moment(runs.iter().map(|(_, run)| run.start).min()),
            moment(runs.iter().map(|(_, run)| run.end).max()),
            late.map_or(Cell::Number(f64::NAN), |late| {
                Cell::Number((late.minutes() * 10.0).round() / 10.0)
            }),
        ]
    });
    table("orders", &header, rows.collect())
}

fn unplaced_table(plan: &Plan) -> Table {
    let header = ["order", "quantity", "brake", "limit", "why"];
    let rows = plan.unplaced.iter().flat_map(|unplaced| {
        unplaced.refusals.iter().map(|refusal| {
            vec![
                unplaced.order.to_string().into(),
                f64::from(unplaced.quantity).into(),
                refusal.brake.to_string().into(),
                documents::limit_name(refusal.limit).into(),
                refusal.text.clone().into(),
            ]
        })
    });
    table("no place", &header, rows.collect())
}

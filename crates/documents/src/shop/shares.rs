//! deliveries.csv and blanks.csv: the shares in which orders ship and in which blanks arrive.

use super::general::General;
use super::orders::{FILE as ORDERS, Orders, QUANTITY};
use crate::codes::{FEW_BLANKS, MANY_DELIVERIES, UNKNOWN_ORDER};
use crate::fields::Fields;
use crate::findings::{Findings, Problem};
use crate::table::{Column, Layout, Row, optional, read_table, required};
use crate::value::Id;
use model::{BlankLot, Delivery};
use std::collections::BTreeMap;
use units::{OrderId, Place};

pub(super) const DELIVERIES: &str = "deliveries.csv";
pub(super) const BLANKS: &str = "blanks.csv";

pub(super) const DELIVERY_COLUMNS: &[Column] =
    &[required("order"), required("quantity"), required("due")];
pub(super) const BLANK_COLUMNS: &[Column] = &[
    required("order"),
    required("quantity"),
    optional("available"),
];

/// Where an order's last share stands, and the pieces of all its shares.
type Sums = BTreeMap<OrderId, (Place, u64)>;

/// Reads deliveries.csv into the orders.
pub(super) fn read_deliveries(
    bytes: Option<&[u8]>,
    general: &General,
    orders: &mut Orders,
    out: &mut Findings,
) {
    let layout = Layout {
        file: DELIVERIES,
        columns: DELIVERY_COLUMNS,
        unit: general.unit,
    };
    let Some(bytes) = bytes else { return };
    let mut sums = Sums::new();
    read_table(layout, bytes, out, |row| {
        let order = read_order(row, orders);
        let quantity = row.required("quantity", &QUANTITY);
        let due = row.required("due", &general.moment_until());
        let (Some(order), Some(quantity), Some(due)) = (order, quantity, due) else {
            return;
        };
        add(&mut sums, &order, quantity, row.place("quantity"));
        if let Some(order) = orders.get_mut(&order) {
            order.deliveries.push(Delivery { quantity, due });
        }
    });
    for order in &mut orders.list {
        order.deliveries.sort_by_key(|delivery| delivery.due);
    }
    for (id, (place, pieces)) in sums {
        let Some(order) = orders.get(&id) else {
            continue;
        };
        if pieces > u64::from(order.quantity) {
            let found = format!("{pieces} pieces in the deliveries of {id}");
            let expected = format!("at most the {} ordered", order.quantity);
            let action = "correct the deliveries or the order's quantity";
            out.add(
                place,
                Problem::new(MANY_DELIVERIES, found, expected, action),
            );
        }
    }
}

/// Reads blanks.csv into the orders.
pub(super) fn read_blanks(
    bytes: Option<&[u8]>,
    general: &General,
    orders: &mut Orders,
    out: &mut Findings,
) {
    let layout = Layout {
        file: BLANKS,
        columns: BLANK_COLUMNS,
        unit: general.unit,
    };
    let Some(bytes) = bytes else { return };
    let mut sums = Sums::new();
    let mut all = true;
    let whole = read_table(layout, bytes, out, |row| {
        let order = read_order(row, orders);
        let quantity = row.required("quantity", &QUANTITY);
        let available = row.or("available", &general.moment_from(), general.already());
        let (Some(order), Some(quantity)) = (order, quantity) else {
            all = false;
            return;
        };
        add(&mut sums, &order, quantity, row.place("quantity"));
        if let Some(order) = orders.get_mut(&order) {
            order.blanks.push(BlankLot {
                quantity,
                available,
            });
        }
    });
    for order in &mut orders.list {
        order.blanks.sort_by_key(|lot| lot.available);
    }
    if !(whole && all) {
        return;
    }
    for (id, (place, pieces)) in sums {
        let Some(order) = orders.get(&id) else {
            continue;
        };
        if pieces < u64::from(order.quantity) {
            let found = format!("{pieces} blanks for {id}");
            let expected = format!("{} for the order", order.quantity);
            let action = "the pieces without a blank are left out of plans; announce their blanks";
            out.add(place, Problem::new(FEW_BLANKS, found, expected, action));
        }
    }
}

fn read_order(row: &mut Row<'_, '_>, orders: &Orders) -> Option<OrderId> {
    let order = row.required("order", &Id(OrderId::new))?;
    if let Some(problem) = orders.ids.missing(&order, UNKNOWN_ORDER, ORDERS) {
        row.report("order", problem);
    }
    Some(order)
}

fn add(sums: &mut Sums, order: &OrderId, quantity: u32, place: Place) {
    let sum = sums
        .entry(order.clone())
        .or_insert_with(|| (place.clone(), 0));
    *sum = (place, sum.1 + u64::from(quantity));
}

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
pub(super) type Sums = BTreeMap<OrderId, (Place, u64)>;

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
        take_delivery(row, general, orders, &mut sums);
    });
    finish_deliveries(orders, sums, out);
}

/// Reads a delivery into its order.
pub(super) fn take_delivery(
    row: &mut Row<'_, '_>,
    general: &General,
    orders: &mut Orders,
    sums: &mut Sums,
) {
    let order = read_order(row, orders);
    let quantity = row.required("quantity", &QUANTITY);
    let due = row.required("due", &general.moment_until());
    let (Some(order), Some(quantity), Some(due)) = (order, quantity, due) else {
        return;
    };
    add(sums, &order, quantity, row.place("quantity"));
    if let Some(order) = orders.get_mut(&order) {
        order.deliveries.push(Delivery { quantity, due });
    }
}

/// Puts deliveries in order and compares their sums with what was ordered.
pub(super) fn finish_deliveries(orders: &mut Orders, sums: Sums, out: &mut Findings) {
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
        all &= take_blanks(row, general, orders, &mut sums);
    });
    finish_blanks(orders, sums, whole && all, out);
}

/// Reads a blank lot into its order; false when it could not be read.
pub(super) fn take_blanks(
    row: &mut Row<'_, '_>,
    general: &General,
    orders: &mut Orders,
    sums: &mut Sums,
) -> bool {
    let order = read_order(row, orders);
    let quantity = row.required("quantity", &QUANTITY);
    let available = row.or("available", &general.moment_from(), general.already());
    let (Some(order), Some(quantity)) = (order, quantity) else {
        return false;
    };
    add(sums, &order, quantity, row.place("quantity"));
    if let Some(order) = orders.get_mut(&order) {
        order.blanks.push(BlankLot {
            quantity,
            available,
        });
    }
    true
}

/// Puts blank lots in order and, when all could be read, compares their sums with what was ordered.
pub(super) fn finish_blanks(orders: &mut Orders, sums: Sums, whole: bool, out: &mut Findings) {
    for order in &mut orders.list {
        order.blanks.sort_by_key(|lot| lot.available);
    }
    if !whole {
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

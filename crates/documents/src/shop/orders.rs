//! work-orders.csv: the open work orders.

use super::brakes::{Brakes, FILE as BRAKES};
use super::calendars::working_days_before;
use super::general::{DOWNSTREAM_DAYS, General};
use super::materials::STRENGTH;
use super::parts::{FILE as PARTS, Parts};
use crate::codes::{
    DUE_BEFORE_READY, LONE_KIT, MANY_RUNS, NOT_USED, ONE_OF_TWO, OUT_OF_RANGE, PLACE_ALONE,
    PLACE_TWICE, UNKNOWN_BRAKE, UNKNOWN_PART,
};
use crate::fields::Fields;
use crate::findings::{Findings, Problem};
use crate::known::Known;
use crate::moment::{DateMeans, day_moment, local};
use crate::table::{Column, Layout, Row, optional, read_table, required};
use crate::time_value::Day;
use crate::value::{Id, Text, Whole};
use chrono::NaiveDate;
use model::WorkOrder;
use std::collections::BTreeMap;
use units::{BrakeId, KitId, Megapascals, Moment, OrderId, PartId, Place};

pub(super) const FILE: &str = "work-orders.csv";

pub(super) const COLUMNS: &[Column] = &[
    required("order"),
    required("part"),
    required("quantity"),
    optional("ready"),
    optional("due"),
    optional("ship_date"),
    optional("downstream_days"),
    optional("weight"),
    optional("kit"),
    optional("after"),
    optional("brake"),
    optional("place"),
    optional("run_pieces"),
    optional("certificate_mpa"),
    optional("heat"),
    optional("reference"),
];
/// Pieces of an order or of a share of one.
pub(super) const QUANTITY: Whole = Whole {
    least: 1,
    most: 1_000_000,
    unit: "pieces",
};

/// Places of orders on their brake.
const PLACE: Whole = Whole {
    least: 1,
    most: 999,
    unit: "",
};

/// Runs that one order may be cut into, besides what its lots and deliveries do.
const RUNS_MOST: u32 = 20;

/// The orders and their ids.
pub(super) struct Orders {
    pub(super) list: Vec<WorkOrder>,
    pub(super) ids: Known<OrderId>,
    /// Where the orders stand: work-orders.csv, or what a request is called.
    pub(super) file: String,
    /// The line of each order of the list.
    pub(super) lines: Vec<u64>,
    index: BTreeMap<OrderId, usize>,
}

impl Orders {
    /// None yet.
    pub(super) fn none(file: &str) -> Orders {
        Orders {
            list: Vec::new(),
            ids: Known::new(),
            file: file.to_owned(),
            lines: Vec::new(),
            index: BTreeMap::new(),
        }
    }

    /// Reads a row and keeps its order when it is a good one.
    pub(super) fn take_row(&mut self, row: &mut Row<'_, '_>, around: Around<'_>) {
        let id = row.required("order", &Id(OrderId::new));
        let fresh = match &id {
            Some(id) => self.ids.add(id, row.place("order"), row.out),
            None => {
                self.ids.mark_incomplete();
                false
            }
        };
        let read = read_order(row, id, around);
        if let Some(order) = read.filter(|_| fresh) {
            self.index.insert(order.id.clone(), self.list.len());
            self.lines.push(row.line());
            self.list.push(order);
        }
    }

    pub(super) fn get(&self, id: &OrderId) -> Option<&WorkOrder> {
        self.list.get(self.position(id)?)
    }

    pub(super) fn get_mut(&mut self, id: &OrderId) -> Option<&mut WorkOrder> {
        let position = self.position(id)?;
        self.list.get_mut(position)
    }

    /// Where an order stands in the list.
    pub(super) fn position(&self, id: &OrderId) -> Option<usize> {
        self.index.get(id).copied()
    }

    /// The place of a field of the order at a position of the list.
    pub(super) fn place(&self, position: usize, field: &str) -> Place {
        Place {
            file: self.file.clone(),
            line: self.lines.get(position).copied(),
            field: Some(field.to_owned()),
        }
    }
}

/// What the orders refer to.
#[derive(Clone, Copy)]
pub(super) struct Around<'a> {
    pub(super) general: &'a General,
    pub(super) parts: &'a Parts,
    pub(super) brakes: &'a Brakes,
}

/// Reads work-orders.csv.
pub(super) fn read_orders(bytes: Option<&[u8]>, around: Around<'_>, out: &mut Findings) -> Orders {
    let general = around.general;
    let mut orders = Orders::none(FILE);
    let layout = Layout {
        file: FILE,
        columns: COLUMNS,
        unit: general.unit,
    };
    let whole = bytes
        .is_some_and(|bytes| read_table(layout, bytes, out, |row| orders.take_row(row, around)));
    if whole {
        note_lone_kits(&orders, out);
        report_shared_places(&orders, out);
    } else {
        orders.ids.mark_incomplete();
    }
    orders
}

fn read_order(row: &mut Row<'_, '_>, id: Option<OrderId>, around: Around<'_>) -> Option<WorkOrder> {
    let general = around.general;
    let part = row.required("part", &Id(PartId::new));
    let quantity = row.required("quantity", &QUANTITY);
    let ready = row.optional("ready", &general.moment_from());
    let due = read_due(row, general);
    let weight = row.or(
        "weight",
        &Whole {
            least: 1,
            most: 99,
            unit: "",
        },
        1,
    );
    let kit = row.optional("kit", &Id(KitId::new));
    let after = row.optional("after", &Id(OrderId::new));
    let brake = row.optional("brake", &Id(BrakeId::new));
    check_references(row, part.as_ref(), brake.as_ref(), around);
    let place = read_place(row);
    let run_pieces = row.optional("run_pieces", &QUANTITY);
    if let (Some(pieces), Some(quantity)) = (run_pieces, quantity)
        && quantity.div_ceil(pieces) > RUNS_MOST
    {
        let found = format!("{pieces}: {} runs", quantity.div_ceil(pieces));
        let expected = format!("at most {RUNS_MOST} runs of an order");
        let action = "allow more pieces in a run";
        row.report(
            "run_pieces",
            Problem::new(MANY_RUNS, found, expected, action),
        );
    }
    let certificate = row
        .optional("certificate_mpa", &STRENGTH)
        .map(Megapascals::of);
    let heat = row.or("heat", &Text, String::new());
    let reference = row.or("reference", &Text, String::new());
    if let (Some(ready), Some(due)) = (ready, due)
        && due < ready
    {
        let found = format!("due {}", local(due, general.zone));
        let expected = format!("no earlier than ready, {}", local(ready, general.zone));
        let action = "correct one of the two";
        let key = if row.has("due") { "due" } else { "ship_date" };
        row.report(key, Problem::new(DUE_BEFORE_READY, found, expected, action));
    }
    Some(WorkOrder {
        id: id?,
        part: part?,
        quantity: quantity?,
        ready: ready.unwrap_or(general.already()),
        due: due?,
        weight,
        kit,
        after,
        brake,
        place,
        run_pieces,
        certificate,
        heat,
        reference,
        deliveries: Vec::new(),
        blanks: Vec::new(),
    })
}

/// The place on a brake, which must be named beside it.
fn read_place(row: &mut Row<'_, '_>) -> Option<u32> {
    let place = row.optional("place", &PLACE);
    if place.is_some() && !row.has("brake") {
        let found = "a place without a brake";
        let action = "name the brake, or leave the place empty";
        let problem = Problem::new(PLACE_ALONE, found, "a brake beside the place", action);
        row.report("place", problem);
    }
    place
}

/// Due at bending: as given, or the ship date less the days of later work.
fn read_due(row: &mut Row<'_, '_>, general: &General) -> Option<Moment> {
    let days = row.or("downstream_days", &DOWNSTREAM_DAYS, general.downstream_days);
    match (row.has("due"), row.has("ship_date")) {
        (true, false) => {
            if row.has("downstream_days") {
                let found = "days of later work beside a due time";
                let action = "leave it empty, or give a ship date instead of due";
                let problem = Problem::new(NOT_USED, found, "an empty cell", action);
                row.report("downstream_days", problem);
            }
            row.optional("due", &general.moment_until())
        }
        (false, true) => {
            let ship = row.optional("ship_date", &Day)?;
            due_for_ship_date(row, ship, days, general)
        }
        (both, _) => {
            let found = if both {
                "due and ship_date"
            } else {
                "neither due nor ship_date"
            };
            let action = if both {
                "leave one of them empty"
            } else {
                "fill one of them in"
            };
            row.report(
                "due",
                Problem::new(ONE_OF_TWO, found, "exactly one of the two", action),
            );
            None
        }
    }
}

fn due_for_ship_date(
    row: &mut Row<'_, '_>,
    ship: NaiveDate,
    days: u32,
    general: &General,
) -> Option<Moment> {
    let named = general.downstream_calendar.as_ref();
    let counts = |calendar: &&model::Calendar| named.is_none_or(|id| calendar.id == *id);
    let calendars = general.calendars.iter().filter(counts);
    let day = working_days_before(ship, days, &calendars);
    let due = day.map(|day| day_moment(day, general.zone, DateMeans::At(general.due_time)));
    if let Some(Ok(due)) = due {
        return Some(due);
    }
    let found = format!("{days} working days before {ship}");
    let expected = "as many working days before the ship date";
    let action = "correct the ship date, the days, or the calendars' shifts";
    row.report(
        "ship_date",
        Problem::new(OUT_OF_RANGE, found, expected, action),
    );
    None
}

fn check_references(
    row: &mut Row<'_, '_>,
    part: Option<&PartId>,
    brake: Option<&BrakeId>,
    around: Around<'_>,
) {
    if let Some(problem) = part.and_then(|id| around.parts.ids.missing(id, UNKNOWN_PART, PARTS)) {
        row.report("part", problem);
    }
    let known = &around.brakes.ids;
    if let Some(problem) = brake.and_then(|id| known.missing(id, UNKNOWN_BRAKE, BRAKES)) {
        row.report("brake", problem);
    }
}

fn report_shared_places(orders: &Orders, out: &mut Findings) {
    let mut first: BTreeMap<(&BrakeId, u32), &OrderId> = BTreeMap::new();
    for (position, order) in orders.list.iter().enumerate() {
        let (Some(brake), Some(place)) = (&order.brake, order.place) else {
            continue;
        };
        let other = *first.entry((brake, place)).or_insert(&order.id);
        if *other != order.id {
            let found = format!("{place}, which is the place of {other} on {brake}");
            let action = "give one of the two another place";
            let expected = "a place of its own on the brake";
            let problem = Problem::new(PLACE_TWICE, found, expected, action);
            out.add(orders.place(position, "place"), problem);
        }
    }
}

fn note_lone_kits(orders: &Orders, out: &mut Findings) {
    let mut kits: BTreeMap<&KitId, Vec<usize>> = BTreeMap::new();
    for (position, order) in orders.list.iter().enumerate() {
        if let Some(kit) = &order.kit {
            kits.entry(kit).or_default().push(position);
        }
    }
    for (kit, members) in kits {
        if let [alone] = members.as_slice() {
            let found = format!("{kit} has one member");
            let action = "it makes no difference; name the kit at its other orders if there are";
            let place = orders.place(*alone, "kit");
            out.add(
                place,
                Problem::new(LONE_KIT, found, "two members or more", action),
            );
        }
    }
}

//! floor.csv: what stands on the beds, what is running, what is down.

use super::beds::{Beds, StationRow};
use super::brakes::{Brakes, FILE as BRAKES};
use super::general::General;
use super::orders::{FILE as ORDERS, Orders};
use super::sections::Sections;
use super::tooling::Tooling;
use crate::codes::{
    ALL_DONE, DONE_TOO_MANY, NOT_FOR_THIS, REVERSED, RUNNING_TWICE, TIED_ELSEWHERE, UNKNOWN_BRAKE,
    UNKNOWN_ORDER,
};
use crate::fields::Fields;
use crate::findings::{Findings, Problem};
use crate::table::{Column, Layout, Row, optional, read_table, required};
use crate::value::{Choice, Id, Ids, LengthIn, Text, Whole, YesNo};
use model::{BedStation, BrakeDown, Floor, RunningOrder};
use units::{BrakeId, OrderId, ProfileId, SectionId, Window};

pub(super) const FILE: &str = "floor.csv";

pub(super) const COLUMNS: &[Column] = &[
    required("what"),
    required("brake"),
    optional("punch"),
    optional("die"),
    optional("left").length(),
    optional("punch_sections"),
    optional("die_sections"),
    optional("reversed"),
    optional("order"),
    optional("pieces_done"),
    optional("from"),
    optional("until"),
    optional("reason"),
];

/// The columns that describe one station of a bed that is known.
pub(super) const BED_COLUMNS: &[Column] = &[
    required("punch"),
    required("die"),
    required("left").length(),
    required("punch_sections"),
    required("die_sections"),
    optional("reversed"),
];

/// What a row describes.
#[derive(Clone, Copy)]
enum What {
    Station,
    Running,
    Down,
}

const WHATS: Choice<What> = Choice(&[
    ("station", What::Station),
    ("running", What::Running),
    ("down", What::Down),
]);
const STATION_CELLS: &[&str] = &[
    "punch",
    "die",
    "left",
    "punch_sections",
    "die_sections",
    "reversed",
];
const RUNNING_CELLS: &[&str] = &["order", "pieces_done"];
const DOWN_CELLS: &[&str] = &["from", "until", "reason"];

/// What the floor refers to.
pub(super) struct Around<'a> {
    pub(super) general: &'a General,
    pub(super) brakes: &'a Brakes,
    pub(super) tooling: &'a Tooling,
    pub(super) sections: &'a Sections,
    pub(super) orders: &'a Orders,
}

/// Reads floor.csv.
pub(super) fn read_floor(bytes: Option<&[u8]>, around: &Around<'_>, out: &mut Findings) -> Floor {
    let mut floor = Floor::default();
    let Some(bytes) = bytes else { return floor };
    let mut beds = Beds::new();
    let layout = Layout {
        file: FILE,
        columns: COLUMNS,
        unit: around.general.unit,
    };
    read_table(layout, bytes, out, |row| {
        let what = row.required("what", &WHATS);
        let brake = row.required("brake", &Id(BrakeId::new));
        if let Some(problem) = brake
            .as_ref()
            .and_then(|id| around.brakes.ids.missing(id, UNKNOWN_BRAKE, BRAKES))
        {
            row.report("brake", problem);
        }
        let (Some(what), Some(brake)) = (what, brake) else {
            return;
        };
        refuse_other_cells(row, what);
        match what {
            What::Station => read_station(row, brake, around, &mut beds),
            What::Running => read_running(row, brake, around, &mut floor),
            What::Down => floor.down.extend(read_down(row, brake, around.general)),
        }
    });
    floor.stations = beds.finish(around.brakes, out);
    floor
}

fn refuse_other_cells(row: &mut Row<'_, '_>, what: What) {
    let others = match what {
        What::Station => [RUNNING_CELLS, DOWN_CELLS],
        What::Running => [STATION_CELLS, DOWN_CELLS],
        What::Down => [STATION_CELLS, RUNNING_CELLS],
    };
    for key in others.into_iter().flatten() {
        if row.has(key) {
            let action = "empty the cell, or correct `what`";
            let problem = Problem::new(NOT_FOR_THIS, "a value", "nothing in this row", action);
            row.report(key, problem);
        }
    }
}

pub(super) fn read_station(
    row: &mut Row<'_, '_>,
    brake: BrakeId,
    around: &Around<'_>,
    beds: &mut Beds,
) {
    let punch = row.required("punch", &Id(ProfileId::new));
    let die = row.required("die", &Id(ProfileId::new));
    let left = row.required("left", &LengthIn::from(0, 30_000));
    let punch_sections = row.required("punch_sections", &Ids(SectionId::new));
    let die_sections = row.required("die_sections", &Ids(SectionId::new));
    let reversed = row.or("reversed", &YesNo, false);
    let (Some(punch), Some(die), Some(left), Some(punch_sections), Some(die_sections)) =
        (punch, die, left, punch_sections, die_sections)
    else {
        return;
    };
    let station = BedStation {
        brake,
        punch,
        die,
        left,
        reversed,
        punch_sections,
        die_sections,
    };
    beds.add(StationRow { row, station }, around);
}

fn read_running(row: &mut Row<'_, '_>, brake: BrakeId, around: &Around<'_>, floor: &mut Floor) {
    let order = row.required("order", &Id(OrderId::new));
    let done = Whole {
        least: 0,
        most: 1_000_000,
        unit: "pieces",
    };
    let pieces_done = row.or("pieces_done", &done, 0);
    let Some(order) = order else { return };
    if let Some(problem) = around.orders.ids.missing(&order, UNKNOWN_ORDER, ORDERS) {
        row.report("order", problem);
    }
    let running = RunningOrder {
        brake,
        order,
        pieces_done,
    };
    check_running(row, &running, around.orders, floor);
    // One order a brake: a second one is reported above, and kept out so that lists stay short.
    if !floor
        .running
        .iter()
        .any(|other| other.brake == running.brake)
    {
        floor.running.push(running);
    }
}

fn check_running(row: &mut Row<'_, '_>, running: &RunningOrder, orders: &Orders, floor: &Floor) {
    let order = &running.order;
    if floor.running.iter().any(|other| other.order == *order) {
        let found = format!("{order} is running already");
        let action = "keep the row of the brake it runs on";
        row.report(
            "order",
            Problem::new(RUNNING_TWICE, found, "an order on one brake", action),
        );
    }
    if let Some(other) = floor
        .running
        .iter()
        .find(|other| other.brake == running.brake)
    {
        let found = format!("{} is running on {} already", other.order, other.brake);
        let action = "keep the order that is being bent";
        row.report(
            "brake",
            Problem::new(RUNNING_TWICE, found, "one order a brake", action),
        );
    }
    let Some(order) = orders.get(order) else {
        return;
    };
    if running.pieces_done > order.quantity {
        let found = format!("{} done", running.pieces_done);
        let expected = format!("at most the {} ordered", order.quantity);
        let action = "correct the pieces done or the order's quantity";
        row.report(
            "pieces_done",
            Problem::new(DONE_TOO_MANY, found, expected, action),
        );
    } else if running.pieces_done == order.quantity {
        let found = format!("all {} pieces of {} are done", order.quantity, order.id);
        let action = "it is left out of plans; close the order";
        row.report(
            "pieces_done",
            Problem::new(ALL_DONE, found, "pieces still to bend", action),
        );
    }
    if let Some(tied) = order.brake.as_ref().filter(|tied| **tied != running.brake) {
        let found = format!("{} runs on {}, tied to {tied}", order.id, running.brake);
        let action = "correct the row, or the order's brake";
        row.report(
            "brake",
            Problem::new(TIED_ELSEWHERE, found, "the brake it is tied to", action),
        );
    }
}

fn read_down(row: &mut Row<'_, '_>, brake: BrakeId, general: &General) -> Option<BrakeDown> {
    let start = row.or("from", &general.moment_from(), general.already());
    let end = row.required("until", &general.moment_until());
    let reason = row.or("reason", &Text, String::new());
    let end = end?;
    if end <= start {
        let found = "until is not after from";
        let expected = "an end after the start (an empty `from` means already)";
        let problem = Problem::new(REVERSED, found, expected, "correct one of the two");
        row.report("until", problem);
        return None;
    }
    Some(BrakeDown {
        brake,
        window: Window { start, end },
        reason,
    })
}

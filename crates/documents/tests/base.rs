//! Orders and beds that come one by one are read as the folder's tables are.

#![allow(clippy::expect_used, clippy::panic)] // helpers of tests fail by it

mod small_shop;

use documents::{Base, Cells, OrderRow, read_shop};
use model::WorkOrder;
use small_shop::{files, text};
use units::{BrakeId, Finding, OrderId};

fn base() -> Base {
    Base::read(&files()).0.expect("sound")
}

/// The rows of a table whose cells hold no commas.
fn rows(table: &str) -> Vec<Cells> {
    let mut lines = text(table).lines();
    let header: Vec<&str> = lines.next().expect("a header").split(',').collect();
    let cells = |line: &str| {
        let filled = header.iter().zip(line.split(','));
        let pairs = filled.map(|(column, text)| ((*column).to_owned(), text.to_owned()));
        pairs.collect::<Cells>()
    };
    lines.map(cells).collect()
}

fn order_rows() -> Vec<OrderRow> {
    let of = |table: &str, id: &str| -> Vec<Cells> {
        rows(table)
            .into_iter()
            .filter(|row| row["order"] == id)
            .collect()
    };
    rows("work-orders.csv")
        .into_iter()
        .map(|cells| {
            let id = cells["order"].clone();
            OrderRow {
                line: None,
                deliveries: of("deliveries.csv", &id),
                blanks: of("blanks.csv", &id),
                cells,
            }
        })
        .collect()
}

fn nobody<'o>(_: &OrderId) -> Option<&'o WorkOrder> {
    None
}

#[test]
fn orders_one_by_one_mean_what_the_tables_mean() {
    let base = base();
    let (shop, findings) = read_shop(&files());
    let shop = shop.expect("sound");
    assert_eq!(findings, Base::read(&files()).1);
    assert_eq!(base.shop().orders, shop.orders);
    let read = base
        .read_orders("request", &order_rows(), &nobody)
        .expect("sound");
    assert_eq!(read, shop.orders);
    assert!(
        read.iter()
            .any(|order| order.deliveries.len() == 2 && order.blanks.len() == 2)
    );
    // One at a time, with those read before at hand.
    for row in order_rows() {
        let known = |id: &OrderId| shop.order(id);
        let one = base.read_orders("request", std::slice::from_ref(&row), &known);
        let one = one.unwrap_or_else(|findings| panic!("{findings:#?}"));
        assert_eq!(Some(&one[0]), shop.order(&one[0].id));
    }
}

fn places(findings: &[Finding]) -> Vec<(&'static str, String)> {
    let errors = findings.iter().filter(|finding| finding.is_error());
    errors
        .map(|finding| (finding.code, finding.place.to_string()))
        .collect()
}

type Edit = fn(&mut Vec<OrderRow>);
fn set(cells: &mut Cells, column: &str, text: &str) {
    cells.insert(column.to_owned(), text.to_owned());
}
/// One edit of the good rows, the code it causes and where it is found.
const MISTAKES: &[(Edit, &str, &str)] = &[
    (
        |rows| set(&mut rows[0].cells, "part", "NONE"),
        "D301",
        "inbox/a.json:1:part",
    ),
    (
        |rows| set(&mut rows[1].cells, "quantity", "0"),
        "D205",
        "inbox/a.json:2:quantity",
    ),
    (
        |rows| set(&mut rows[1].cells, "brake", "B7"),
        "D304",
        "inbox/a.json:2:brake",
    ),
    (
        |rows| set(&mut rows[0].cells, "colour", "red"),
        "D107",
        "inbox/a.json:1:colour",
    ),
    (
        |rows| set(&mut rows[0].cells, "after", "W-9"),
        "D307",
        "inbox/a.json:1:after",
    ),
    (
        |rows| set(&mut rows[1].cells, "order", "W-1"),
        "D308",
        "inbox/a.json:2:order",
    ),
    (
        |rows| {
            rows[0].cells.remove("quantity");
        },
        "D201",
        "inbox/a.json:1:quantity",
    ),
    (
        |rows| set(&mut rows[2].deliveries[1], "quantity", "61"),
        "D312",
        "inbox/a.json:3:deliveries.2.quantity",
    ),
    (
        |rows| set(&mut rows[2].blanks[0], "available", "soon"),
        "D207",
        "inbox/a.json:3:blanks.1.available",
    ),
    (
        |rows| set(&mut rows[2].blanks[0], "order", "W-1"),
        "D219",
        "inbox/a.json:3:blanks.1.order",
    ),
];

#[test]
fn the_same_mistakes_have_the_same_codes() {
    let base = base();
    for (edit, code, place) in MISTAKES {
        let mut rows = order_rows();
        edit(&mut rows);
        let findings = base
            .read_orders("inbox/a.json", &rows, &nobody)
            .expect_err(code);
        assert!(
            places(&findings).contains(&(code, (*place).to_owned())),
            "{code} {place}: {findings:#?}"
        );
    }
}

/// W-2 waits for the known W-8, which waits for W-1: then W-1 may not wait for W-2.
#[test]
fn circles_through_known_orders_are_found() {
    let base = base();
    let mut known = base.shop().orders[0].clone();
    known.id = OrderId::new("W-8").expect("an id");
    known.after = Some(OrderId::new("W-1").expect("an id"));
    let others = |id: &OrderId| (*id == known.id).then_some(&known);
    let mut rows = order_rows();
    rows[1].cells.insert("after".to_owned(), "W-8".to_owned());
    base.read_orders("request", &rows, &others)
        .expect("no circle yet");
    rows[0].cells.insert("after".to_owned(), "W-2".to_owned());
    let findings = base
        .read_orders("request", &rows, &others)
        .expect_err("a circle");
    let found = findings
        .iter()
        .find(|finding| finding.code == "D309")
        .expect("D309");
    assert_eq!(
        found.found,
        "W-1 waits for W-2 waits for W-8 waits for W-1 in a circle"
    );
}

#[test]
fn a_bed_is_read_like_the_floor() {
    let base = base();
    let brake = BrakeId::new("B1").expect("an id");
    let columns = ["punch", "die", "left", "punch_sections", "die_sections"];
    let stations: Vec<Cells> = rows("floor.csv")
        .into_iter()
        .filter(|row| row["what"] == "station")
        .map(|mut row| {
            row.retain(|column, _| columns.contains(&column.as_str()));
            row
        })
        .collect();
    let bed = base.read_bed("request", &brake, &stations).expect("sound");
    assert_eq!(bed, base.shop().floor.stations);
    assert_eq!(base.check_bed("bed", &brake, &bed), Vec::new());
    let mut twice = stations.clone();
    twice.push(stations[0].clone());
    let findings = base.read_bed("request", &brake, &twice).expect_err("twice");
    let line = twice.len();
    let place = ("D315", format!("request:{line}:punch_sections"));
    assert!(places(&findings).contains(&place), "{findings:#?}");
    let nowhere = BrakeId::new("B7").expect("an id");
    let findings = base.check_bed("bed", &nowhere, &bed);
    assert_eq!(places(&findings)[0], ("D304", "bed:brake".to_owned()));
    let mut wider = bed.clone();
    wider[0].left = units::Length::from_whole_mm(2_400);
    let findings = base.check_bed("bed", &brake, &wider);
    assert!(
        places(&findings).iter().any(|(code, _)| *code == "D318"),
        "{findings:#?}"
    );
}

#[test]
fn orders_of_another_base_are_checked_for_what_they_refer_to() {
    let base = base();
    let mut order = base.shop().orders[0].clone();
    assert_eq!(
        base.check_orders("open orders", [&order].into_iter()),
        Vec::new()
    );
    order.part = units::PartId::new("GONE").expect("an id");
    let findings = base.check_orders("open orders", [&base.shop().orders[0], &order].into_iter());
    assert_eq!(
        places(&findings),
        [("D301", "open orders:2:part".to_owned())]
    );
    assert!(
        findings[0].found.contains("of open order W-1"),
        "{findings:?}"
    );
}

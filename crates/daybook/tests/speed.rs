//! How long things take with a thousand orders. The bounds are wide: a build machine may be busy.

#![allow(clippy::expect_used, clippy::panic)] // helpers of tests fail by it

use daybook::{Command, Happening, Source, State};
use documents::{Base, FileSet, OrderRow};
use std::sync::Arc;
use std::time::{Duration, Instant};
use testkit::{Recipe, Sections, invent, write_folder};

/// The mean of one of many.
fn each(count: u32, mut act: impl FnMut(u32)) -> Duration {
    let begun = Instant::now();
    for at in 0..count {
        act(at);
    }
    begun.elapsed() / count
}

fn row(number: u32, part: &str) -> OrderRow {
    let cells = [
        ("order", format!("N-{number}")),
        ("part", part.to_owned()),
        ("quantity", "12".to_owned()),
        ("due", "2027-12-01".to_owned()),
        ("after", "W-7".to_owned()),
    ];
    OrderRow {
        cells: cells.map(|(column, text)| (column.to_owned(), text)).into(),
        ..OrderRow::default()
    }
}

#[test]
fn a_thousand_orders_are_no_burden() {
    let shop = invent(&Recipe::bed(1_000, 0.5, Sections::Scarce, 3));
    let now = shop.as_of.expect("said");
    let mut files = FileSet::new();
    for (name, text) in write_folder(&shop) {
        files.insert(name, text.into_bytes());
    }
    let begun = Instant::now();
    let base = Arc::new(Base::read(&files).0.expect("sound"));
    let whole = begun.elapsed();
    let mut state = State::new();
    let take = Command::TakeShopData {
        revision: 1,
        base: Arc::clone(&base),
    };
    let begun = Instant::now();
    for happening in state.decide(&take, now, None).expect("taken") {
        let number = state.number + 1;
        state.apply(&happening, number, now, "lead");
    }
    let taken = begun.elapsed();
    state.furnish(1, base);
    let part = shop.parts[0].id.as_str();
    let put = |number| Command::PutOrders {
        source: Source::Request,
        name: "request".to_owned(),
        rows: vec![row(number, part)],
        new_only: false,
        expect: None,
    };
    let mut made: Vec<Happening> = Vec::new();
    let decide = each(2_000, |at| {
        made.extend(state.decide(&put(at), now, None).expect("taken"));
    });
    let texts: Vec<String> = made
        .iter()
        .map(|one| one.to_json().expect("written"))
        .collect();
    let read = each(2_000, |at| {
        let text = &texts[usize::try_from(at).expect("small")];
        Happening::from_json(text).expect("read");
    });
    let mut grown = state.clone();
    let apply = each(2_000, |at| {
        let happening = &made[usize::try_from(at).expect("small")];
        let number = grown.number + 1;
        grown.apply(happening, number, now, "lead");
    });
    assert_eq!(grown.orders.len(), 3_000);
    let plan = each(20, |_| assert!(state.shop().is_some()));
    let copy = each(50, |_| assert_eq!(grown.clone().number, grown.number));
    let lines = each(20, |_| assert_eq!(state.order_lines().count(), 1_000));
    println!("whole folder {whole:?}, taking it over {taken:?}");
    println!("one order: decide {decide:?}, apply {apply:?}, read its JSON {read:?}");
    println!("shop to plan {plan:?}, lines of all orders {lines:?}");
    println!("a copy of a state of 3 000 orders {copy:?}");
    assert!(decide < Duration::from_millis(1), "{decide:?}");
    assert!(apply < Duration::from_millis(1), "{apply:?}");
    assert!(plan < Duration::from_millis(100), "{plan:?}");
}

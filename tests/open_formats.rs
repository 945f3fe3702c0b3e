//! Calendars and tables out, holidays and orders in.

use crate::program::{Scratch, brakewright, names_in};
use std::fs;

const NAMES: &str = "[columns]\norder = \"WO No\"\npart = \"Item\"\nquantity = \"Qty\"\n\
                     [ignore]\ncolumns = [\"Customer\"]\n";

#[test]
fn a_plan_is_written_as_calendars_and_tables() {
    let scratch = Scratch::new();
    let folder = scratch.text("monday");
    let plan = ["plan", "tests/tiny-shop", "--iterations", "50", "--out"];
    let more = ["--ical", "--tables", "--made", "2027-06-06T12:00"];
    let call = [&plan[..], &[folder.as_str()], &more[..]].concat();
    let answer = brakewright(&call);
    assert_eq!(answer.code, Some(0), "{}", answer.err);
    let written = || {
        let names = names_in(&scratch.path("monday"));
        let read = |name: &String| fs::read(scratch.path("monday").join(name)).unwrap();
        let bytes: Vec<Vec<u8>> = names.iter().map(read).collect();
        (names, bytes)
    };
    let (names, bytes) = written();
    for name in [
        "calendar-brake-B1.ics",
        "plan.xlsx",
        "loads.csv",
        "orders.csv",
    ] {
        assert!(names.iter().any(|known| known == name), "{names:?}");
    }
    let calendar =
        fs::read_to_string(scratch.path("monday").join("calendar-brake-B1.ics")).unwrap();
    assert!(calendar.starts_with("BEGIN:VCALENDAR\r\nVERSION:2.0\r\n"));
    assert_eq!(
        calendar.matches("CATEGORIES:run\r\n").count(),
        6,
        "{calendar}"
    );
    assert!(calendar.contains("DTSTAMP:20270606T100000Z"), "{calendar}");
    // The same call into the same folder writes the same bytes.
    assert_eq!(brakewright(&call).code, Some(0));
    assert_eq!(written(), (names, bytes));
}

#[test]
fn orders_under_other_names_become_rows_of_ours() {
    let scratch = Scratch::new();
    let (table, names) = (scratch.text("open.csv"), scratch.text("names.toml"));
    fs::write(&names, NAMES).unwrap();
    fs::write(
        &table,
        "WO No,Customer,Item,Qty,due\nN-1,\"a, b\",A-1,12,2027-06-09\n",
    )
    .unwrap();
    let call = [
        "orders",
        "tests/tiny-shop",
        "--from",
        &table,
        "--columns",
        &names,
    ];
    let answer = brakewright(&call);
    assert_eq!(answer.code, Some(0), "{}", answer.err);
    assert_eq!(
        answer.out,
        "order,part,quantity,due\nN-1,A-1,12,2027-06-09\n"
    );
    for (text, code) in [
        ("WO No,Item,Qty,due\nN-1,NO-SUCH,12,2027-06-09\n", "D3"),
        ("WO No,Item,Qty,Colour\nN-1,A-1,12,red\n", "D107"),
        ("WO No,Item,Qty,due\nN-1,A-1,=1+1,2027-06-09\n", "D202"),
        ("PK\u{3}\u{4}", "E201"),
    ] {
        fs::write(&table, text).unwrap();
        let answer = brakewright(&call);
        assert_eq!(answer.code, Some(2), "{text}: {}", answer.out);
        assert!(answer.err.contains(code), "{code}: {}", answer.err);
        assert!(answer.out.is_empty(), "{}", answer.out);
    }
}

#[test]
fn holidays_become_closed_days_and_what_is_not_read_is_named() {
    let scratch = Scratch::new();
    let file = scratch.text("holidays.ics");
    let call = [
        "holidays",
        "demo-shop",
        "--ics",
        &file,
        "--from",
        "2027-01-01",
        "--days",
        "365",
    ];
    let event = |lines: &str| format!("BEGIN:VEVENT\r\n{lines}\r\nEND:VEVENT\r\n");
    let calendar = |events: &str| format!("BEGIN:VCALENDAR\r\n{events}END:VCALENDAR\r\n");
    let day = event("DTSTART;VALUE=DATE:20200501\r\nRRULE:FREQ=YEARLY\r\nSUMMARY:First of May");
    fs::write(&file, calendar(&day)).unwrap();
    let answer = brakewright(&call);
    assert_eq!(answer.code, Some(0), "{}", answer.err);
    let line = "{ date = \"2027-05-01\", reason = \"First of May\" }";
    assert!(answer.out.contains(line), "{}", answer.out);
    assert!(
        answer
            .out
            .contains("{ date = \"2027-03-26\", reason = \"public holiday\" }")
    );
    let weekly = event("DTSTART;VALUE=DATE:20270101\r\nRRULE:FREQ=WEEKLY\r\nSUMMARY:Off");
    fs::write(&file, calendar(&(day + &weekly))).unwrap();
    let answer = brakewright(&call);
    assert_eq!(answer.code, Some(1));
    assert!(answer.err.contains("Off is left out"), "{}", answer.err);
    fs::write(&file, "order,part\n").unwrap();
    let answer = brakewright(&call);
    assert_eq!(answer.code, Some(2));
    assert!(answer.err.contains("E101"), "{}", answer.err);
}

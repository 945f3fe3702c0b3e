//! Bytes of all kinds, packed and not: words for all of them, a panic for none.

use chrono::NaiveDate;
use exchange::ical::days_off;
use exchange::table::{Cell, Table, as_table, as_workbook};
use proptest::prelude::*;
use units::Moment;

fn day(year: i32) -> NaiveDate {
    NaiveDate::from_ymd_opt(year, 1, 1).unwrap()
}

fn workbook() -> Vec<u8> {
    let table = Table {
        name: "orders".to_owned(),
        header: vec!["order".to_owned(), "part".to_owned()],
        rows: (0..40)
            .map(|row| vec![Cell::from(format!("W-{row}")), Cell::Number(f64::from(row))])
            .collect(),
    };
    as_workbook(&[table], Moment(1_800_000_000)).unwrap()
}

const EVENT: &str = "BEGIN:VCALENDAR\r\nBEGIN:VEVENT\r\nDTSTART;VALUE=DATE:20270101\r\n\
                     RRULE:FREQ=YEARLY;COUNT=3\r\nSUMMARY:a\r\n b\r\nEND:VEVENT\r\nEND:VCALENDAR\r\n";

proptest! {
    #![proptest_config(ProptestConfig::with_cases(256))]

    #[test]
    fn no_bytes_make_it_panic(bytes in proptest::collection::vec(any::<u8>(), 0..300)) {
        let _ = days_off("x", &bytes, day(2027), day(2030));
        let _ = as_table("x", &bytes, None);
        let mut begun = b"BEGIN:VCALENDAR\n".to_vec();
        begun.extend(&bytes);
        let _ = days_off("x", &begun, day(2027), day(2030));
    }

    #[test]
    fn no_change_of_a_calendar_makes_it_panic(at in 0..EVENT.len(), with in "[A-Z0-9:;=,\r\n-]{0,6}") {
        let mut text = EVENT.to_owned();
        text.replace_range(at..(at + 3).min(EVENT.len()), &with);
        let _ = days_off("x", text.as_bytes(), day(1970), day(2199));
    }

    #[test]
    fn no_change_of_a_workbook_makes_it_panic(
        changes in proptest::collection::vec((any::<prop::sample::Index>(), any::<u8>()), 1..12),
    ) {
        let mut bytes = workbook();
        for (at, with) in changes {
            let at = at.index(bytes.len());
            bytes[at] = with;
        }
        let _ = as_table("x", &bytes, None);
    }
}

use super::*;
use chrono::{DateTime, NaiveTime, Weekday};
use chrono_tz::Europe::Berlin;
use model::DayOverride;

const ALL: [Weekday; 7] = [
    Weekday::Mon,
    Weekday::Tue,
    Weekday::Wed,
    Weekday::Thu,
    Weekday::Fri,
    Weekday::Sat,
    Weekday::Sun,
];

fn span(start: &str, end: &str) -> LocalSpan {
    let time = |text| NaiveTime::parse_from_str(text, "%H:%M").unwrap();
    LocalSpan {
        start: time(start),
        end: time(end),
    }
}

fn night() -> Calendar {
    Calendar {
        id: CalendarId::new("night").unwrap(),
        shifts: vec![Shift {
            name: "night".to_owned(),
            days: ALL.to_vec(),
            span: span("22:00", "06:00"),
            breaks: vec![span("02:15", "02:45")],
            overtime: false,
        }],
        closed: Vec::new(),
        extra: Vec::new(),
    }
}

fn utc(text: &str) -> Moment {
    Moment(text.parse::<DateTime<chrono::Utc>>().unwrap().timestamp())
}

fn hours(calendar: &Calendar) -> Hours<'_> {
    Hours {
        zone: Berlin,
        calendars: BTreeMap::from([(&calendar.id, (0, calendar))]),
        days: Mutex::default(),
    }
}

/// Whether somebody of the calendar is there at each moment.
fn check(calendar: &Calendar, cases: &[(&str, bool)]) {
    let hours = hours(calendar);
    for (text, expected) in cases {
        assert_eq!(hours.there(&calendar.id, utc(text)), *expected, "{text}");
    }
}

#[test]
fn a_night_shift_ends_the_next_day() {
    // Winter, UTC+1: 22:00 is 21:00Z.
    check(
        &night(),
        &[
            ("2027-03-24T20:59:59Z", false),
            ("2027-03-24T21:00:00Z", true),
            ("2027-03-25T01:14:59Z", true),
            ("2027-03-25T01:15:00Z", false),
            ("2027-03-25T01:44:59Z", false),
            ("2027-03-25T01:45:00Z", true),
            ("2027-03-25T04:59:59Z", true),
            ("2027-03-25T05:00:00Z", false),
        ],
    );
}

#[test]
fn the_night_of_the_gap_is_an_hour_shorter() {
    // 2027-03-28 02:00 becomes 03:00 at 01:00Z. The break 02:15-02:45 is skipped whole: both of its
    // ends are the first instant after the gap.
    let night = night();
    check(
        &night,
        &[
            ("2027-03-27T21:00:00Z", true),
            ("2027-03-28T00:59:59Z", true),
            ("2027-03-28T01:00:00Z", true),
            ("2027-03-28T01:30:00Z", true),
            ("2027-03-28T03:59:59Z", true),
            ("2027-03-28T04:00:00Z", false),
        ],
    );
    let shift = hours(&night).shifts_at(&night.id, utc("2027-03-28T01:00:00Z"));
    let [shift] = shift.as_slice() else {
        panic!("{shift:?}")
    };
    assert_eq!(shift.end.0 - shift.start.0, 7 * 3_600);
    // The evening after is in summer time: 22:00 is 20:00Z.
    check(
        &night,
        &[
            ("2027-03-28T19:59:59Z", false),
            ("2027-03-28T20:00:00Z", true),
        ],
    );
}

#[test]
fn the_night_of_the_fold_is_an_hour_longer() {
    // 2027-10-31 03:00 becomes 02:00 at 01:00Z. 02:15 occurs at 00:15Z and 01:15Z, 02:45 at 00:45Z
    // and 01:45Z: the break runs from the first 02:15 to the last 02:45.
    let night = night();
    check(
        &night,
        &[
            ("2027-10-30T20:00:00Z", true),
            ("2027-10-31T00:14:59Z", true),
            ("2027-10-31T00:15:00Z", false),
            ("2027-10-31T00:50:00Z", false),
            ("2027-10-31T01:44:59Z", false),
            ("2027-10-31T01:45:00Z", true),
            ("2027-10-31T04:59:59Z", true),
            ("2027-10-31T05:00:00Z", false),
        ],
    );
    let shift = hours(&night).shifts_at(&night.id, utc("2027-10-31T00:30:00Z"));
    let [shift] = shift.as_slice() else {
        panic!("{shift:?}")
    };
    assert_eq!(shift.end.0 - shift.start.0, 9 * 3_600);
}

#[test]
fn shifts_may_start_or_end_in_the_missing_and_the_doubled_hour() {
    let mut odd = night();
    odd.shifts[0].span = span("02:30", "10:00");
    odd.shifts[0].breaks.clear();
    check(
        &odd,
        &[
            ("2027-03-28T00:59:59Z", false),
            ("2027-03-28T01:00:00Z", true),
        ],
    );
    check(
        &odd,
        &[
            ("2027-10-31T00:29:59Z", false),
            ("2027-10-31T00:30:00Z", true),
        ],
    );
    odd.shifts[0].span = span("18:00", "02:30");
    check(
        &odd,
        &[
            ("2027-03-28T00:59:59Z", true),
            ("2027-03-28T01:00:00Z", false),
        ],
    );
    check(
        &odd,
        &[
            ("2027-10-31T01:29:59Z", true),
            ("2027-10-31T01:30:00Z", false),
        ],
    );
}

#[test]
fn marks_are_the_starts_and_ends_between() {
    let night = night();
    let hours = hours(&night);
    let (start, end) = (utc("2027-03-24T21:00:00Z"), utc("2027-03-25T21:00:01Z"));
    let expected = [
        "2027-03-25T01:15:00Z",
        "2027-03-25T01:45:00Z",
        "2027-03-25T05:00:00Z",
    ];
    let mut expected: Vec<_> = expected.into_iter().map(utc).collect();
    expected.push(utc("2027-03-25T21:00:00Z"));
    assert_eq!(hours.marks(&night.id, start, end), expected);
}

#[test]
fn every_second_agrees_with_the_marks() {
    // Between two marks nothing may change: three days around each change of clocks, minute by
    // minute.
    let night = night();
    let hours = hours(&night);
    for (from, to) in [
        ("2027-03-26T12:00:00Z", "2027-03-29T12:00:00Z"),
        ("2027-10-29T12:00:00Z", "2027-11-01T12:00:00Z"),
    ] {
        let (from, to) = (utc(from), utc(to));
        let marks = hours.marks(&night.id, from, to);
        let mut before = hours.there(&night.id, from);
        for minute in (from.0..to.0).step_by(60) {
            let now = hours.there(&night.id, Moment(minute));
            assert!(now == before || marks.contains(&Moment(minute)), "{minute}");
            before = now;
        }
    }
}

#[test]
fn closed_days_have_no_pattern_but_extra_shifts() {
    let mut calendar = night();
    let day: NaiveDate = "2027-03-24".parse().unwrap();
    calendar.closed.push(DayOverride {
        date: day,
        reason: "stocktaking".to_owned(),
    });
    // The night begun the day before still ends in the morning.
    check(
        &calendar,
        &[
            ("2027-03-24T04:00:00Z", true),
            ("2027-03-24T22:00:00Z", false),
        ],
    );
    let mut extra = calendar.shifts[0].clone();
    extra.days.clear();
    extra.overtime = true;
    extra.span = span("21:00", "23:00");
    calendar.extra.push((day, extra));
    check(
        &calendar,
        &[
            ("2027-03-24T20:30:00Z", true),
            ("2027-03-24T22:00:00Z", false),
        ],
    );
    let hours = hours(&calendar);
    assert!(hours.overtime(&calendar.id, utc("2027-03-24T20:30:00Z")));
    assert!(!hours.overtime(&calendar.id, utc("2027-03-25T21:30:00Z")));
}

#[test]
fn an_unknown_calendar_and_an_absurd_moment_have_no_shifts() {
    let night = night();
    let hours = hours(&night);
    let unknown = CalendarId::new("nobody").unwrap();
    assert!(!hours.there(&unknown, utc("2027-03-25T02:00:00Z")));
    for seconds in [i64::MIN, i64::MAX] {
        assert!(!hours.there(&night.id, Moment(seconds)));
        assert!(
            hours
                .marks(&night.id, Moment(seconds), Moment(seconds))
                .is_empty()
        );
    }
}

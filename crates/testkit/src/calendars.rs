//! Calendars and the moment at which a shop is described.

use crate::recipe::{Recipe, Season};
use chrono::{Days, NaiveDate, NaiveTime, TimeZone, Weekday};
use chrono_tz::Tz;
use model::{Calendar, DayOverride, LocalSpan, Shift};
use units::{CalendarId, Moment};

/// Where the shop is, and the local day on which it is described.
pub(crate) fn place_and_day(season: Season, seed: u64) -> (Tz, NaiveDate) {
    let east = seed.is_multiple_of(2);
    let (zone, (year, month, day)) = match (season, east) {
        (Season::Plain, true) => (Tz::Europe__Berlin, (2027, 6, 7)),
        (Season::Plain, false) => (Tz::UTC, (2027, 6, 7)),
        (Season::ClocksForward, true) => (Tz::Europe__Berlin, (2027, 3, 26)),
        (Season::ClocksForward, false) => (Tz::America__Chicago, (2027, 3, 12)),
        (Season::ClocksBack, true) => (Tz::Europe__Berlin, (2027, 10, 29)),
        (Season::ClocksBack, false) => (Tz::America__Chicago, (2027, 11, 5)),
        (Season::ClocksBackHalf, _) => (Tz::Australia__Lord_Howe, (2027, 4, 2)),
    };
    (
        zone,
        NaiveDate::from_ymd_opt(year, month, day).expect("a date"),
    )
}

/// The instant of a local time that the clocks do not skip.
pub(crate) fn at(zone: Tz, day: NaiveDate, hour: u32, minute: u32) -> Moment {
    let local = day.and_time(clock(hour, minute));
    let instant = zone
        .from_local_datetime(&local)
        .earliest()
        .expect("a time that exists");
    Moment(instant.timestamp())
}

fn clock(hour: u32, minute: u32) -> NaiveTime {
    NaiveTime::from_hms_opt(hour, minute, 0).expect("a clock time")
}

fn span(start: (u32, u32), end: (u32, u32)) -> LocalSpan {
    LocalSpan {
        start: clock(start.0, start.1),
        end: clock(end.0, end.1),
    }
}

const WEEK: [Weekday; 5] = [
    Weekday::Mon,
    Weekday::Tue,
    Weekday::Wed,
    Weekday::Thu,
    Weekday::Fri,
];

fn early() -> Shift {
    Shift {
        name: "early".to_owned(),
        days: WEEK.to_vec(),
        span: span((6, 0), (14, 0)),
        breaks: vec![span((9, 0), (9, 15)), span((12, 0), (12, 30))],
        overtime: false,
    }
}

fn late() -> Shift {
    Shift {
        name: "late".to_owned(),
        span: span((14, 0), (22, 0)),
        breaks: vec![span((18, 0), (18, 30))],
        ..early()
    }
}

/// From Friday to Monday: the hour in which clocks are changed lies within one of them.
fn night() -> Shift {
    Shift {
        name: "night".to_owned(),
        days: vec![Weekday::Fri, Weekday::Sat, Weekday::Sun],
        span: span((22, 0), (6, 0)),
        breaks: vec![span((1, 45), (2, 15))],
        overtime: false,
    }
}

/// `two-shift` and `early` for brakes; `early`, `late` and `night` for people; `inspection`.
pub(crate) fn calendars(recipe: &Recipe, day: NaiveDate) -> Vec<Calendar> {
    let after = |days: u64| day.checked_add_days(Days::new(days)).expect("a date");
    let closed = if recipe.features.closed {
        vec![DayOverride {
            date: after(3),
            reason: "closed, \"stock\" day, invented".to_owned(),
        }]
    } else {
        Vec::new()
    };
    // On an ordinary Tuesday it lies beside the early shift, and goes on through its break.
    let extra_day = if recipe.season == Season::Plain && recipe.seed % 4 < 2 {
        5
    } else {
        1
    };
    let saturday = Shift {
        name: "extra".to_owned(),
        days: Vec::new(),
        span: span((6, 0), (12, 0)),
        breaks: vec![],
        overtime: true,
    };
    let extra = if recipe.features.overtime {
        vec![(after(extra_day), saturday)]
    } else {
        Vec::new()
    };
    let night = recipe.features.nights.then(night);
    let make = |id: &str, shifts: Vec<Shift>, extra: &[(NaiveDate, Shift)]| Calendar {
        id: CalendarId::new(id).expect("an id"),
        shifts,
        closed: closed.clone(),
        extra: extra.to_vec(),
    };
    let inspection = Shift {
        name: "inspection".to_owned(),
        span: span((7, 0), (15, 30)),
        breaks: vec![span((12, 0), (13, 0))],
        ..early()
    };
    let whole: Vec<Shift> = [early(), late()].into_iter().chain(night.clone()).collect();
    let mut all = vec![
        make("two-shift", whole, &extra),
        make("early", vec![early()], &extra),
        make("late", vec![late()], &[]),
        make("inspection", vec![inspection], &[]),
    ];
    all.extend(night.map(|night| make("night", vec![night], &[])));
    all
}

//! Wall clock to instants and back, in the shop's zone.

use chrono::{DateTime, NaiveDate, NaiveTime, Offset, TimeDelta, TimeZone};
use chrono_tz::Tz;
use units::Moment;

/// Beyond this many seconds from 1970 (about the year 5100) a moment lies in no calendar; it keeps
/// every conversion within the range dates can express.
const FURTHEST: i64 = 100_000_000_000;

/// Which end of a span a clock time is: it decides between the two instants of a time that occurs
/// twice.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum End {
    Start,
    End,
}

/// The local date of a moment.
pub(crate) fn local_date(zone: Tz, at: Moment) -> Option<NaiveDate> {
    local(zone, at.0).map(|local| local.date())
}

/// A moment as people read it: local date and time, or bare seconds when it is no sensible date.
pub(crate) fn show(zone: Tz, at: Moment) -> String {
    match local(zone, at.0) {
        Some(local) => local.format("%Y-%m-%d %H:%M:%S").to_string(),
        None => format!("{} s", at.0),
    }
}

/// The instant of a local date and clock time. A time skipped by a daylight-saving change is the
/// first instant after the gap; a time that occurs twice is the first for a start and the last for
/// an end.
pub(crate) fn instant(zone: Tz, date: NaiveDate, time: NaiveTime, end: End) -> Option<Moment> {
    let wall = date.and_time(time);
    if wall.and_utc().timestamp().abs() > FURTHEST {
        return None;
    }
    match zone.from_local_datetime(&wall) {
        chrono::LocalResult::Single(only) => Some(Moment(only.timestamp())),
        chrono::LocalResult::Ambiguous(first, last) => {
            let chosen = if end == End::Start { first } else { last };
            Some(Moment(chosen.timestamp()))
        }
        chrono::LocalResult::None => first_instant_after_gap(zone, wall),
    }
}

/// Halves a span of two days either side until it holds the one second in which the local clock
/// jumps over `wall`.
fn first_instant_after_gap(zone: Tz, wall: chrono::NaiveDateTime) -> Option<Moment> {
    let middle = wall.and_utc().timestamp();
    let mut before = middle - 2 * 86_400;
    let mut after = middle + 2 * 86_400;
    while after - before > 1 {
        let half = before + (after - before) / 2;
        if local(zone, half)? >= wall {
            after = half;
        } else {
            before = half;
        }
    }
    Some(Moment(after))
}

fn local(zone: Tz, seconds: i64) -> Option<chrono::NaiveDateTime> {
    if seconds.checked_abs()? > FURTHEST {
        return None;
    }
    let utc = DateTime::from_timestamp(seconds, 0)?.naive_utc();
    let offset = zone.offset_from_utc_datetime(&utc).fix().local_minus_utc();
    utc.checked_add_signed(TimeDelta::seconds(i64::from(offset)))
}

#[cfg(test)]
mod tests {
    use super::*;
    use chrono_tz::Europe::Berlin;

    fn day(text: &str) -> NaiveDate {
        text.parse().unwrap()
    }

    fn time(text: &str) -> NaiveTime {
        NaiveTime::parse_from_str(text, "%H:%M:%S").unwrap()
    }

    fn utc(text: &str) -> Option<Moment> {
        Some(Moment(
            text.parse::<DateTime<chrono::Utc>>().unwrap().timestamp(),
        ))
    }

    #[test]
    fn a_skipped_time_is_the_first_instant_after_the_gap() {
        let sunday = day("2027-03-28");
        for skipped in ["02:00:00", "02:30:17", "02:59:59"] {
            for end in [End::Start, End::End] {
                assert_eq!(
                    instant(Berlin, sunday, time(skipped), end),
                    utc("2027-03-28T01:00:00Z")
                );
            }
        }
        assert_eq!(
            instant(Berlin, sunday, time("03:00:00"), End::Start),
            utc("2027-03-28T01:00:00Z")
        );
        assert_eq!(
            instant(Berlin, sunday, time("01:59:59"), End::Start),
            utc("2027-03-28T00:59:59Z")
        );
    }

    #[test]
    fn a_time_that_occurs_twice_is_first_for_a_start_and_last_for_an_end() {
        let sunday = day("2027-10-31");
        assert_eq!(
            instant(Berlin, sunday, time("02:30:00"), End::Start),
            utc("2027-10-31T00:30:00Z")
        );
        assert_eq!(
            instant(Berlin, sunday, time("02:30:00"), End::End),
            utc("2027-10-31T01:30:00Z")
        );
    }

    #[test]
    fn moments_beyond_all_calendars_have_no_date() {
        for seconds in [i64::MIN, i64::MAX, FURTHEST + 1, -FURTHEST - 1] {
            assert_eq!(local_date(Berlin, Moment(seconds)), None);
            assert_eq!(show(Berlin, Moment(seconds)), format!("{seconds} s"));
        }
        assert_eq!(local_date(Berlin, Moment(0)), Some(day("1970-01-01")));
    }
}

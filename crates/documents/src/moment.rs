//! Moments as people and files write them.

use chrono::{DateTime, Duration, LocalResult, NaiveDate, NaiveDateTime, NaiveTime, TimeZone};
use chrono_tz::Tz;
use std::fmt;
use units::Moment;

/// First and last year a moment may lie in, inclusive.
pub(crate) const YEARS: (i32, i32) = (1970, 2199);

/// Why a text is not a moment.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) enum MomentProblem {
    /// Not written as a date or a date and time.
    Unreadable,
    /// A year outside [`YEARS`].
    Year,
    /// The clocks of the zone skip this local time.
    Skipped(String),
}

impl fmt::Display for MomentProblem {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            MomentProblem::Unreadable => write!(
                f,
                "not a date (2027-03-22), a local date and time (2027-03-22 06:00) or one with an \
                 offset (2027-03-22T06:00:00+01:00)"
            ),
            MomentProblem::Year => write!(f, "a year outside {} to {}", YEARS.0, YEARS.1),
            MomentProblem::Skipped(text) => write!(f, "{text}"),
        }
    }
}

/// What a date without a time means.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum DateMeans {
    /// The first instant of the local day.
    StartOfDay,
    /// This clock time on that day.
    At(NaiveTime),
}

/// A local time as `2027-03-22 06:00`, in the zone. Seconds within the minute are dropped.
#[must_use]
pub fn local(moment: Moment, zone: Tz) -> String {
    match in_zone(moment, zone) {
        Some(time) => time.format("%Y-%m-%d %H:%M").to_string(),
        None => format!("@{}", moment.0),
    }
}

/// Reads a moment as a command's option takes it: `2027-03-22` (the day's first instant),
/// `2027-03-22T06:00`, `2027-03-22 06:00:30`, or RFC 3339 with an offset.
///
/// A local time that occurs twice, when clocks are set back, means the first.
///
/// # Errors
/// Says what is wrong with the text: unreadable, a year outside 1970 to 2199, or a local time that
/// the clocks of the zone skip.
pub fn parse_moment(text: &str, zone: Tz) -> Result<Moment, String> {
    read_moment(text, zone, DateMeans::StartOfDay).map_err(|problem| match problem {
        MomentProblem::Skipped(_) => problem.to_string(),
        _ => format!("{text:?} is {problem}"),
    })
}

/// [`parse_moment`] with a meaning for a date alone.
pub(crate) fn read_moment(
    text: &str,
    zone: Tz,
    date_means: DateMeans,
) -> Result<Moment, MomentProblem> {
    let text = text.trim();
    if let Ok(date) = NaiveDate::parse_from_str(text, "%Y-%m-%d") {
        return day_moment(date, zone, date_means);
    }
    if let Ok(instant) = DateTime::parse_from_rfc3339(text) {
        check_year(instant.naive_local().date())?;
        return Ok(Moment(instant.timestamp()));
    }
    let forms = [
        "%Y-%m-%dT%H:%M",
        "%Y-%m-%d %H:%M",
        "%Y-%m-%dT%H:%M:%S",
        "%Y-%m-%d %H:%M:%S",
    ];
    let local = forms
        .iter()
        .find_map(|form| NaiveDateTime::parse_from_str(text, form).ok())
        .ok_or(MomentProblem::Unreadable)?;
    check_year(local.date())?;
    match zone.from_local_datetime(&local) {
        LocalResult::Single(instant) | LocalResult::Ambiguous(instant, _) => {
            Ok(Moment(instant.timestamp()))
        }
        LocalResult::None => Err(MomentProblem::Skipped(format!(
            "{} does not exist in {zone}: the clocks are set forward past it",
            local.format("%Y-%m-%d %H:%M")
        ))),
    }
}

/// The moment a whole local day stands for.
pub(crate) fn day_moment(
    date: NaiveDate,
    zone: Tz,
    date_means: DateMeans,
) -> Result<Moment, MomentProblem> {
    check_year(date)?;
    let time = match date_means {
        DateMeans::StartOfDay => NaiveTime::MIN,
        DateMeans::At(time) => time,
    };
    first_instant_from(date.and_time(time), zone).ok_or(MomentProblem::Year)
}

/// The instant of a local time; of a skipped one, the first after the gap. Nobody wrote this time,
/// so nobody is told to write another one.
fn first_instant_from(local: NaiveDateTime, zone: Tz) -> Option<Moment> {
    // No zone has ever skipped more than a day; whole minutes are enough, gaps begin and end there.
    (0..=1_500).find_map(|minutes| {
        let later = local.checked_add_signed(Duration::minutes(minutes))?;
        zone.from_local_datetime(&later)
            .earliest()
            .map(|instant| Moment(instant.timestamp()))
    })
}

fn check_year(date: NaiveDate) -> Result<(), MomentProblem> {
    use chrono::Datelike;
    if (YEARS.0..=YEARS.1).contains(&date.year()) {
        Ok(())
    } else {
        Err(MomentProblem::Year)
    }
}

/// A moment as RFC 3339 with the zone's offset. One that RFC 3339 cannot say exactly (years beyond
/// four digits, offsets with seconds) is written as `@` and its seconds since 1970.
pub(crate) fn write_rfc3339(moment: Moment, zone: Tz) -> String {
    let text = in_zone(moment, zone).map(|time| time.format("%Y-%m-%dT%H:%M:%S%:z").to_string());
    match text {
        Some(text) if read_rfc3339(&text) == Some(moment) => text,
        _ => format!("@{}", moment.0),
    }
}

/// Reads what [`write_rfc3339`] writes.
pub(crate) fn read_rfc3339(text: &str) -> Option<Moment> {
    if let Some(seconds) = text.strip_prefix('@') {
        return seconds.parse().ok().map(Moment);
    }
    let instant = DateTime::parse_from_rfc3339(text).ok()?;
    (instant.timestamp_subsec_nanos() == 0).then(|| Moment(instant.timestamp()))
}

fn in_zone(moment: Moment, zone: Tz) -> Option<DateTime<Tz>> {
    // A day's margin, so that no offset carries the local time out of the calendar's range.
    let margin = 86_400;
    let far = DateTime::from_timestamp(moment.0.checked_add(margin)?, 0).is_some()
        && DateTime::from_timestamp(moment.0.checked_sub(margin)?, 0).is_some();
    if !far {
        return None;
    }
    DateTime::from_timestamp(moment.0, 0).map(|instant| instant.with_timezone(&zone))
}

#[cfg(test)]
mod tests {
    use super::*;
    use chrono_tz::Europe::Berlin;

    #[test]
    fn moments_are_read_in_the_zone() {
        // 2027-03-22 is winter time in Berlin (UTC+1): 06:00 local is 05:00 UTC [computed].
        let six = 1_805_691_600;
        for text in [
            "2027-03-22T06:00",
            "2027-03-22 06:00",
            " 2027-03-22 06:00:00 ",
            "2027-03-22T06:00:00+01:00",
            "2027-03-22T05:00:00Z",
        ] {
            assert_eq!(parse_moment(text, Berlin), Ok(Moment(six)), "{text}");
        }
        assert_eq!(
            parse_moment("2027-03-22", Berlin),
            Ok(Moment(six - 6 * 3_600))
        );
        assert_eq!(local(Moment(six + 59), Berlin), "2027-03-22 06:00");
    }

    #[test]
    fn clock_changes_are_told_apart() {
        let skipped = parse_moment("2027-03-28 02:30", Berlin);
        assert!(skipped.is_err_and(|text| text.contains("does not exist in Europe/Berlin")));
        // 02:30 occurs twice on 2027-10-31; the first is summer time, 00:30 UTC.
        let first = parse_moment("2027-10-31 02:30", Berlin);
        assert_eq!(first, parse_moment("2027-10-31T00:30:00Z", Berlin));
    }

    #[test]
    fn nonsense_is_refused() {
        for text in [
            "",
            "soon",
            "2027-13-01",
            "2027-03-22T25:00",
            "0001-01-01",
            "2200-01-01",
            "6",
        ] {
            assert!(parse_moment(text, Berlin).is_err(), "{text}");
        }
    }

    #[test]
    fn every_second_can_be_written_and_read() {
        for seconds in [
            0,
            1_805_691_600,
            -5_000_000_000,
            i64::MIN,
            i64::MAX,
            253_402_300_800,
        ] {
            let moment = Moment(seconds);
            let text = write_rfc3339(moment, Berlin);
            assert_eq!(read_rfc3339(&text), Some(moment), "{text}");
        }
        assert_eq!(
            write_rfc3339(Moment(1_805_691_600), Berlin),
            "2027-03-22T06:00:00+01:00"
        );
    }
}

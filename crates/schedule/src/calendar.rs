//! Calendars, expanded forwards from local rules into instants.

use chrono::{Days, LocalResult, NaiveDate, NaiveDateTime, NaiveTime, TimeDelta, TimeZone};
use chrono_tz::Tz;
use model::{Calendar, LocalSpan, Shift};
use units::{Moment, Window};

/// One shift on one day.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ShiftDay {
    /// From its start to its end, breaks included.
    pub window: Window,
    /// Spans of work: the window less the breaks.
    pub spans: Vec<Window>,
    /// Whether it is overtime.
    pub overtime: bool,
}

/// All shifts of a calendar that touch `range`, in time order.
#[must_use]
pub fn expand(calendar: &Calendar, zone: Tz, range: Window) -> Vec<ShiftDay> {
    let (Some(mut day), Some(last)) = (local_day(range.start, zone), local_day(range.end, zone))
    else {
        return Vec::new();
    };
    // A night shift of the day before may reach into the range.
    day = day.checked_sub_days(Days::new(1)).unwrap_or(day);
    let mut shifts = Vec::new();
    while day <= last {
        let open = !calendar.closed.iter().any(|closed| closed.date == day);
        let pattern = calendar
            .shifts
            .iter()
            .filter(|shift| open && shift.days.contains(&chrono::Datelike::weekday(&day)));
        let extra = calendar
            .extra
            .iter()
            .filter(|(date, _)| *date == day)
            .map(|(_, shift)| shift);
        shifts.extend(
            pattern
                .chain(extra)
                .filter_map(|shift| shift_day(shift, day, zone)),
        );
        match day.succ_opt() {
            Some(next) => day = next,
            None => break,
        }
    }
    shifts.retain(|shift| shift.window.overlaps(range));
    shifts.sort_by_key(|shift| shift.window);
    shifts
}

/// The local day of an instant.
#[must_use]
pub fn local_day(at: Moment, zone: Tz) -> Option<NaiveDate> {
    chrono::DateTime::from_timestamp(at.0, 0).map(|utc| utc.with_timezone(&zone).date_naive())
}

fn shift_day(shift: &Shift, day: NaiveDate, zone: Tz) -> Option<ShiftDay> {
    let window = span_on(shift.span, day, zone)?;
    let mut breaks: Vec<Window> = shift
        .breaks
        .iter()
        .filter_map(|pause| {
            let late = pause.start < shift.span.start;
            let date = if late { day.succ_opt()? } else { day };
            span_on(*pause, date, zone)
        })
        .collect();
    breaks.sort();
    let mut spans = Vec::with_capacity(breaks.len() + 1);
    let mut from = window.start;
    for pause in breaks {
        let until = pause.start.min(window.end);
        if from < until {
            spans.push(Window {
                start: from,
                end: until,
            });
        }
        from = from.max(pause.end);
    }
    if from < window.end {
        spans.push(Window {
            start: from,
            end: window.end,
        });
    }
    Some(ShiftDay {
        window,
        spans,
        overtime: shift.overtime,
    })
}

/// A local span on a day; an end at or before the start lies on the next day.
fn span_on(span: LocalSpan, day: NaiveDate, zone: Tz) -> Option<Window> {
    let end_day = if span.end <= span.start {
        day.succ_opt()?
    } else {
        day
    };
    let start = instant(day, span.start, zone, Twice::First)?;
    let end = instant(end_day, span.end, zone, Twice::Last)?;
    (start < end).then_some(Window { start, end })
}

#[derive(Clone, Copy)]
enum Twice {
    First,
    Last,
}

/// A local clock time as an instant: one that is skipped means the first instant after the gap,
/// one that occurs twice the first for a start and the last for an end.
fn instant(day: NaiveDate, time: NaiveTime, zone: Tz, twice: Twice) -> Option<Moment> {
    let local = day.and_time(time);
    let found = match zone.from_local_datetime(&local) {
        LocalResult::Single(one) => one,
        LocalResult::Ambiguous(first, last) => match twice {
            Twice::First => first,
            Twice::Last => last,
        },
        LocalResult::None => after_gap(local, zone)?,
    };
    Some(Moment(found.timestamp()))
}

/// Gaps are at most a few hours and end on a whole minute.
fn after_gap(local: NaiveDateTime, zone: Tz) -> Option<chrono::DateTime<Tz>> {
    let first_minute = local.date().and_hms_opt(
        chrono::Timelike::hour(&local),
        chrono::Timelike::minute(&local),
        0,
    )?;
    (1..=24 * 60).find_map(|minutes| {
        let later = first_minute.checked_add_signed(TimeDelta::minutes(minutes))?;
        zone.from_local_datetime(&later).earliest()
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use chrono::Weekday;
    use units::CalendarId;

    fn time(hour: u32, minute: u32) -> NaiveTime {
        NaiveTime::from_hms_opt(hour, minute, 0).unwrap()
    }

    fn nights() -> Calendar {
        let span = LocalSpan {
            start: time(22, 0),
            end: time(6, 0),
        };
        let pause = LocalSpan {
            start: time(2, 0),
            end: time(2, 30),
        };
        Calendar {
            id: CalendarId::new("nights").unwrap(),
            shifts: vec![Shift {
                name: "night".into(),
                days: vec![Weekday::Sat],
                span,
                breaks: vec![pause],
                overtime: false,
            }],
            closed: Vec::new(),
            extra: Vec::new(),
        }
    }

    fn hours_on(date: &str) -> (f64, f64) {
        let zone = chrono_tz::Europe::Berlin;
        let day: NaiveDate = date.parse().unwrap();
        let start = Moment(day.and_time(time(12, 0)).and_utc().timestamp());
        let range = Window {
            start,
            end: Moment(start.0 + 86_400),
        };
        let shifts = expand(&nights(), zone, range);
        assert_eq!(shifts.len(), 1);
        let worked: i64 = shifts[0].spans.iter().map(|span| span.length().0).sum();
        (
            shifts[0].window.length().hours(),
            units::Seconds(worked).hours(),
        )
    }

    #[test]
    fn an_ordinary_night_has_eight_hours() {
        assert_eq!(hours_on("2027-03-20"), (8.0, 7.5));
    }

    #[test]
    fn the_night_the_clock_skips_an_hour_has_seven_and_its_break_is_gone() {
        // 02:00 to 02:30 does not exist: both ends are the first instant after the gap.
        assert_eq!(hours_on("2027-03-27"), (7.0, 7.0));
    }

    #[test]
    fn the_night_the_clock_repeats_an_hour_has_nine_and_a_long_break() {
        // The break starts at the first 02:00 and ends at the last 02:30.
        assert_eq!(hours_on("2027-10-30"), (9.0, 7.5));
    }

    #[test]
    fn closed_days_have_only_extra_shifts() {
        let mut calendar = nights();
        let day: NaiveDate = "2027-03-20".parse().unwrap();
        calendar.closed.push(model::DayOverride {
            date: day,
            reason: "inventory".into(),
        });
        let zone = chrono_tz::Europe::Berlin;
        let start = Moment(day.and_time(time(0, 0)).and_utc().timestamp());
        let range = Window {
            start,
            end: Moment(start.0 + 86_400),
        };
        assert!(expand(&calendar, zone, range).is_empty());
        let mut extra = calendar.shifts[0].clone();
        extra.span = LocalSpan {
            start: time(8, 0),
            end: time(12, 0),
        };
        extra.breaks.clear();
        calendar.extra.push((day, extra));
        assert_eq!(expand(&calendar, zone, range).len(), 1);
    }
}

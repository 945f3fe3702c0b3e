//! Calendars: shifts on weekdays, closed days, extra shifts.

use super::general::General;
use crate::codes::{BAD_ID, BREAK_OUTSIDE, WRONG_TYPE};
use crate::fields::Fields;
use crate::findings::{Problem, shown};
use crate::settings::Settings;
use crate::time_value::{ClockTime, Day};
use crate::value::{Choice, Text, YesNo};
use chrono::{Datelike, NaiveDate, NaiveTime, Timelike, Weekday};
use model::{Calendar, DayOverride, LocalSpan, Shift};
use units::{CalendarId, Place};

const DAYS: Choice<Weekday> = Choice(&[
    ("mon", Weekday::Mon),
    ("tue", Weekday::Tue),
    ("wed", Weekday::Wed),
    ("thu", Weekday::Thu),
    ("fri", Weekday::Fri),
    ("sat", Weekday::Sat),
    ("sun", Weekday::Sun),
]);

const SECONDS_A_DAY: u32 = 86_400;

/// Reads one calendar into the shop's list.
pub(super) fn read_calendar(
    name: &str,
    place: Place,
    calendar: &mut Settings<'_, '_>,
    general: &mut General,
) {
    let id = match CalendarId::new(name) {
        Ok(id) => id,
        Err(error) => {
            let found = format!("{}: {error}", shown(name));
            let problem = Problem::new(BAD_ID, found, "an id", "give the calendar another name");
            calendar.out.add(place, problem);
            general.calendar_ids.mark_incomplete();
            return;
        }
    };
    general.calendar_ids.add(&id, place, calendar.out);
    let mut read = Calendar {
        id,
        shifts: Vec::new(),
        closed: Vec::new(),
        extra: Vec::new(),
    };
    let any = calendar.each("shifts", |shift| {
        let days = shift.list("days", &DAYS);
        if days.is_none() && !shift.has("days") {
            shift.absent("days", "the weekdays on which the shift starts");
        }
        let times = read_times(shift);
        read.shifts
            .extend(days.zip(times).map(|(days, times)| Shift { days, ..times }));
    });
    if !any {
        calendar.absent("shifts", "a list of shifts, which may be empty");
    }
    calendar.each("closed", |closed| {
        let date = closed.required("date", &Day);
        let reason = closed.or("reason", &Text, String::new());
        read.closed
            .extend(date.map(|date| DayOverride { date, reason }));
    });
    calendar.each("extra", |extra| {
        let date = extra.required("date", &Day);
        let times = read_times(extra);
        read.extra.extend(date.zip(times));
    });
    general.calendars.push(read);
}

/// A shift without its weekdays.
fn read_times(shift: &mut Settings<'_, '_>) -> Option<Shift> {
    let name = shift.required("name", &Text);
    let start = shift.required("start", &ClockTime);
    let end = shift.required("end", &ClockTime);
    let pairs = shift.lists("breaks", &ClockTime);
    let no_breaks = pairs.is_none() && !shift.has("breaks");
    let overtime = shift.or("overtime", &YesNo, false);
    let span = LocalSpan {
        start: start?,
        end: end?,
    };
    let pairs = if no_breaks { Vec::new() } else { pairs? };
    let breaks = read_breaks(shift, span, &pairs)?;
    Some(Shift {
        name: name?,
        days: Vec::new(),
        span,
        breaks,
        overtime,
    })
}

fn read_breaks(
    shift: &mut Settings<'_, '_>,
    span: LocalSpan,
    pairs: &[Vec<NaiveTime>],
) -> Option<Vec<LocalSpan>> {
    let length = after(span.start, span.end);
    let mut breaks = Vec::new();
    let mut ends = 0;
    for pair in pairs {
        let [start, end] = pair.as_slice() else {
            let found = format!("a break of {} times", pair.len());
            let action = "write a break as [\"09:00\", \"09:15\"]";
            shift.report(
                "breaks",
                Problem::new(WRONG_TYPE, found, "a start and an end", action),
            );
            return None;
        };
        // Seconds from the shift's start; a break that starts with the shift starts at zero.
        let from = after(span.start, *start) % SECONDS_A_DAY;
        let to = after(span.start, *end);
        if from < ends || to <= from || to > length {
            let found = format!("{} to {}", clock(*start), clock(*end));
            let expected = format!(
                "a break within {} to {}, after the one before it",
                clock(span.start),
                clock(span.end)
            );
            let problem = Problem::new(BREAK_OUTSIDE, found, expected, "correct its times");
            shift.report("breaks", problem);
            return None;
        }
        ends = to;
        breaks.push(LocalSpan {
            start: *start,
            end: *end,
        });
    }
    Some(breaks)
}

/// Seconds from one clock time forward to the next occurrence of another, 1 to a whole day.
fn after(start: NaiveTime, time: NaiveTime) -> u32 {
    let (start, time) = (
        start.num_seconds_from_midnight(),
        time.num_seconds_from_midnight(),
    );
    if time > start {
        time - start
    } else {
        time + SECONDS_A_DAY - start
    }
}

fn clock(time: NaiveTime) -> String {
    time.format("%H:%M").to_string()
}

/// The local day so many working days before a date; `None` when there are fewer within
/// the year before.
///
/// A day is a working day when a shift of one of the calendars starts on it.
pub(super) fn working_days_before<'a>(
    date: NaiveDate,
    days: u32,
    calendars: &(impl Iterator<Item = &'a Calendar> + Clone),
) -> Option<NaiveDate> {
    const LONGEST_SEARCH: u32 = 400;
    let mut day = date;
    let mut left = days;
    for _ in 0..LONGEST_SEARCH {
        if left == 0 {
            return Some(day);
        }
        day = day.pred_opt()?;
        if calendars.clone().any(|calendar| works_on(calendar, day)) {
            left -= 1;
        }
    }
    None
}

fn works_on(calendar: &Calendar, day: NaiveDate) -> bool {
    let open = !calendar.closed.iter().any(|closed| closed.date == day);
    let patterned = calendar
        .shifts
        .iter()
        .any(|shift| shift.days.contains(&day.weekday()));
    (open && patterned) || calendar.extra.iter().any(|(date, _)| *date == day)
}

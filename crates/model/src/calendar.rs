//! Staffing calendars: rules in local time.
//!
//! Turning them into instants is left to those who need it. The engine expands them forwards into
//! windows; the audit asks of an instant whether it lies inside. Both must agree.

use chrono::{NaiveDate, NaiveTime, Weekday};
use units::CalendarId;

/// A weekly pattern of shifts with exceptions.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Calendar {
    /// Its id in the shop's files.
    pub id: CalendarId,
    /// Shifts, each on some weekdays.
    pub shifts: Vec<Shift>,
    /// Days on which nothing starts: holidays, closures.
    pub closed: Vec<DayOverride>,
    /// Shifts on one day beside the pattern, also on closed days.
    pub extra: Vec<(NaiveDate, Shift)>,
}

/// A shift, in local wall time.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Shift {
    /// What people call it.
    pub name: String,
    /// Weekdays on which it starts; ignored for an extra shift.
    pub days: Vec<Weekday>,
    /// Start and end. An end at or before the start lies on the next local day.
    pub span: LocalSpan,
    /// Breaks inside it; a break whose clock time is before the shift's start lies on the next day.
    pub breaks: Vec<LocalSpan>,
    /// Priced per minute worked when it is overtime.
    pub overtime: bool,
}

/// A span of local wall time.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct LocalSpan {
    /// Start.
    pub start: NaiveTime,
    /// End; at or before `start` means the next day.
    pub end: NaiveTime,
}

/// A closed day.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct DayOverride {
    /// Local date.
    pub date: NaiveDate,
    /// Why, for people.
    pub reason: String,
}

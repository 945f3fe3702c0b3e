//! Whether an instant lies in a calendar.
//!
//! A question about one second is answered by the shifts that start on its local day and on the
//! days before; no list of coming windows is ever made. What holds of a whole span is asked at its
//! first second and at every second inside it at which some shift or break begins or ends.

use crate::clock::{End, instant, local_date};
use chrono::{Datelike, Days, NaiveDate};
use chrono_tz::Tz;
use model::{Calendar, LocalSpan, Shift, Shop};
use std::collections::BTreeMap;
use std::sync::{Arc, Mutex, PoisonError};
use units::{CalendarId, Moment};

/// One shift on one day.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct ShiftOnDay {
    /// First second.
    pub(crate) start: Moment,
    /// First second after.
    pub(crate) end: Moment,
    /// Breaks, as instants.
    breaks: Vec<(Moment, Moment)>,
    /// Whether its work is overtime.
    overtime: bool,
}

impl ShiftOnDay {
    /// Inside the shift, breaks included.
    fn spans(&self, at: Moment) -> bool {
        self.start <= at && at < self.end
    }

    /// Inside the shift and in none of its breaks.
    fn works(&self, at: Moment) -> bool {
        self.spans(at)
            && !self
                .breaks
                .iter()
                .any(|(start, end)| *start <= at && at < *end)
    }
}

/// The shifts that start on one local day of one calendar, by the calendar's place in the shop.
type ByDay = BTreeMap<(usize, NaiveDate), Arc<[ShiftOnDay]>>;

/// The shop's calendars, with the shifts of each day looked at kept for the next question.
pub(crate) struct Hours<'a> {
    zone: Tz,
    calendars: BTreeMap<&'a CalendarId, (usize, &'a Calendar)>,
    days: Mutex<ByDay>,
}

impl<'a> Hours<'a> {
    pub(crate) fn of(shop: &'a Shop) -> Hours<'a> {
        let calendars = shop
            .calendars
            .iter()
            .enumerate()
            .map(|(i, c)| (&c.id, (i, c)))
            .collect();
        Hours {
            zone: shop.zone,
            calendars,
            days: Mutex::default(),
        }
    }

    /// Whether the second lies in a shift of the calendar and in none of that shift's breaks. An
    /// unknown calendar has no shifts.
    pub(crate) fn there(&self, calendar: &CalendarId, at: Moment) -> bool {
        self.near(calendar, at, at)
            .iter()
            .any(|day| day.iter().any(|shift| shift.works(at)))
    }

    /// Whether the second lies in an overtime shift and in none of its breaks.
    pub(crate) fn overtime(&self, calendar: &CalendarId, at: Moment) -> bool {
        let days = self.near(calendar, at, at);
        days.iter()
            .any(|day| day.iter().any(|shift| shift.overtime && shift.works(at)))
    }

    /// The shifts, breaks included, that the second lies in.
    pub(crate) fn shifts_at(&self, calendar: &CalendarId, at: Moment) -> Vec<ShiftOnDay> {
        let days = self.near(calendar, at, at);
        days.iter()
            .flat_map(|day| day.iter())
            .filter(|shift| shift.spans(at))
            .cloned()
            .collect()
    }

    /// Seconds strictly inside `start..end` at which a shift or a break begins or ends.
    pub(crate) fn marks(&self, calendar: &CalendarId, start: Moment, end: Moment) -> Vec<Moment> {
        let mut marks = Vec::new();
        for shift in self
            .near(calendar, start, end)
            .iter()
            .flat_map(|day| day.iter())
        {
            let breaks = shift.breaks.iter().flat_map(|(from, to)| [*from, *to]);
            marks.extend([shift.start, shift.end].into_iter().chain(breaks));
        }
        marks.retain(|mark| start < *mark && *mark < end);
        marks.sort_unstable();
        marks.dedup();
        marks
    }

    /// Shifts that can touch `start..=end`: a shift lasts a day at most, so those that start on the
    /// local days from two before (one more, for zones that have skipped a whole day) to the last.
    fn near(&self, calendar: &CalendarId, start: Moment, end: Moment) -> Vec<Arc<[ShiftOnDay]>> {
        let mut found = Vec::new();
        let Some((index, calendar)) = self.calendars.get(calendar) else {
            return found;
        };
        let (Some(first), Some(last)) = (local_date(self.zone, start), local_date(self.zone, end))
        else {
            return found;
        };
        let mut day = first.checked_sub_days(Days::new(2)).unwrap_or(first);
        while day <= last {
            found.push(self.day(*index, calendar, day));
            match day.succ_opt() {
                Some(next) => day = next,
                None => break,
            }
        }
        found
    }

    fn day(&self, index: usize, calendar: &Calendar, day: NaiveDate) -> Arc<[ShiftOnDay]> {
        // Days are only ever added whole: what another thread left behind is good.
        let mut days = self.days.lock().unwrap_or_else(PoisonError::into_inner);
        Arc::clone(
            days.entry((index, day))
                .or_insert_with(|| shifts_of_day(self.zone, calendar, day)),
        )
    }
}

/// The shifts that start on a local day: the pattern's unless it is closed, and the extra ones.
fn shifts_of_day(zone: Tz, calendar: &Calendar, day: NaiveDate) -> Arc<[ShiftOnDay]> {
    let closed = calendar.closed.iter().any(|closed| closed.date == day);
    let pattern = calendar
        .shifts
        .iter()
        .filter(|shift| !closed && shift.days.contains(&day.weekday()));
    let extra = calendar
        .extra
        .iter()
        .filter(|(date, _)| *date == day)
        .map(|(_, shift)| shift);
    pattern
        .chain(extra)
        .filter_map(|shift| shift_on_day(zone, shift, day))
        .collect()
}

fn shift_on_day(zone: Tz, shift: &Shift, day: NaiveDate) -> Option<ShiftOnDay> {
    let (start, end) = span_on_day(zone, shift.span, day)?;
    let mut breaks = Vec::new();
    for pause in &shift.breaks {
        // A break whose clock time is before the shift's start belongs to the night's second day.
        let date = if pause.start < shift.span.start {
            day.succ_opt()?
        } else {
            day
        };
        breaks.push(span_on_day(zone, *pause, date)?);
    }
    Some(ShiftOnDay {
        start,
        end,
        breaks,
        overtime: shift.overtime,
    })
}

fn span_on_day(zone: Tz, span: LocalSpan, day: NaiveDate) -> Option<(Moment, Moment)> {
    let last_day = if span.end <= span.start {
        day.succ_opt()?
    } else {
        day
    };
    Some((
        instant(zone, day, span.start, End::Start)?,
        instant(zone, last_day, span.end, End::End)?,
    ))
}

#[cfg(test)]
mod tests;

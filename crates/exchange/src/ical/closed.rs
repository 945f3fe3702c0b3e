//! Days off as the `closed` of a calendar in shop.toml.

use model::{Calendar, DayOverride};
use std::collections::BTreeMap;
use std::fmt::Write as _;

/// The days a calendar has, and these, each day once and in order; a reason that stands stays. The
/// text is the calendar's `closed` in TOML. Answers also how many days are new.
#[must_use]
pub fn closed_with(calendar: &Calendar, days: &[DayOverride]) -> (String, usize) {
    let mut all: BTreeMap<_, &str> = BTreeMap::new();
    for day in calendar.closed.iter().chain(days) {
        all.entry(day.date).or_insert(&day.reason);
    }
    let mut known: Vec<_> = calendar.closed.iter().map(|day| day.date).collect();
    known.sort();
    known.dedup();
    let fresh = all.len() - known.len();
    let mut out = format!("# [calendars.{}], {fresh} new\nclosed = [\n", calendar.id);
    for (date, reason) in &all {
        let reason = toml::Value::String((*reason).to_owned());
        let _ = writeln!(out, "  {{ date = \"{date}\", reason = {reason} }},");
    }
    out.push_str("]\n");
    (out, fresh)
}

#[cfg(test)]
mod tests {
    use super::*;
    use chrono::NaiveDate;
    use units::CalendarId;

    #[test]
    fn days_are_there_once_and_reasons_are_kept_in_quotes() {
        let day = |d: u32, reason: &str| DayOverride {
            date: NaiveDate::from_ymd_opt(2027, 3, d).unwrap(),
            reason: reason.to_owned(),
        };
        let calendar = Calendar {
            id: CalendarId::new("early").unwrap(),
            shifts: Vec::new(),
            closed: vec![day(26, "ours")],
            extra: Vec::new(),
        };
        let (text, fresh) = closed_with(&calendar, &[day(26, "theirs"), day(2, "a \"b\"\\ = [")]);
        assert_eq!(fresh, 1);
        let table: toml::Table = text.parse().unwrap();
        let closed = table["closed"].as_array().unwrap();
        assert_eq!(closed.len(), 2);
        assert_eq!(closed[0]["reason"].as_str(), Some("a \"b\"\\ = ["));
        assert_eq!(closed[1]["reason"].as_str(), Some("ours"));
    }
}

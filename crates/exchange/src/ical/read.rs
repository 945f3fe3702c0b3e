//! Days off out of a calendar: whole-day events, once or every year.

use super::lines::{Line, plain, unfolded};
use crate::codes::{BAD_DATE, BROKEN_CALENDAR, NO_CALENDAR, TOO_MANY_DAYS, error, shown};
use chrono::{Datelike, Days, NaiveDate};
use model::DayOverride;
use std::collections::BTreeMap;
use units::Finding;

/// Largest file read, in bytes.
const LARGEST: usize = 4 * 1024 * 1024;
/// Events of a calendar.
const EVENTS_MOST: usize = 20_000;
/// Days of one event.
const DAYS_MOST: u64 = 366;
/// Parts within parts.
const DEPTH_MOST: usize = 8;
/// Dates taken out of one event.
const EXCEPTIONS_MOST: usize = 2_000;

/// What a calendar says of a span of days.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Holidays {
    /// Days off, each once, in order.
    pub days: Vec<DayOverride>,
    /// Events that were left out, and why, in words.
    pub left_out: Vec<String>,
}

/// Reads the days off from `from` on and before `until`. An event that is not of whole days, or repeats
/// in another way than every year on its date, is left out and named.
///
/// # Errors
/// Findings when the file is no iCalendar, or when a date in it cannot be read.
pub fn days_off(
    file: &str,
    bytes: &[u8],
    from: NaiveDate,
    until: NaiveDate,
) -> Result<Holidays, Vec<Finding>> {
    read(file, bytes, from, until).map_err(|finding| vec![finding])
}

fn read(file: &str, bytes: &[u8], from: NaiveDate, until: NaiveDate) -> Result<Holidays, Finding> {
    let refuse = |found: &str| {
        let action = "save the calendar as iCalendar (.ics)";
        let expected = "an iCalendar of RFC 5545 in UTF-8, at most 4 MiB";
        error(NO_CALENDAR, (file, 0), found, expected, action)
    };
    if bytes.len() > LARGEST {
        return Err(refuse("a larger file"));
    }
    let text = std::str::from_utf8(bytes).map_err(|_| refuse("bytes that are not UTF-8"))?;
    let text = text.trim_start_matches('\u{feff}');
    if !text
        .get(..15)
        .is_some_and(|begin| begin.eq_ignore_ascii_case("BEGIN:VCALENDAR"))
    {
        return Err(refuse("another beginning than BEGIN:VCALENDAR"));
    }
    let lines = unfolded(text).map_err(|line| {
        let expected = "NAME:value, or a line that goes on with a space";
        let action = "save the calendar again";
        error(
            BROKEN_CALENDAR,
            (file, line),
            "a line of another form",
            expected,
            action,
        )
    })?;
    let events = events(file, &lines)?;
    let mut days: BTreeMap<NaiveDate, String> = BTreeMap::new();
    let mut left_out = Vec::new();
    for event in &events {
        match event.days(file, from, until)? {
            Ok(found) => {
                for day in found {
                    days.entry(day).or_insert_with(|| event.title.clone());
                }
            }
            Err(why) => left_out.push(format!(
                "line {}: {} is left out: {why}",
                event.line,
                shown(&event.title)
            )),
        }
    }
    let days = days.into_iter();
    Ok(Holidays {
        days: days
            .map(|(date, reason)| DayOverride { date, reason })
            .collect(),
        left_out,
    })
}

/// An event's own lines, not those of alarms in it.
struct Event<'l> {
    line: u64,
    title: String,
    own: Vec<&'l Line>,
}

fn events<'l>(file: &str, lines: &'l [Line]) -> Result<Vec<Event<'l>>, Finding> {
    let broken = |line: u64, found: &str| {
        let action = "save the calendar again";
        let expected = "BEGIN and END in pairs, VCALENDAR outermost";
        error(BROKEN_CALENDAR, (file, line), found, expected, action)
    };
    let mut open: Vec<String> = Vec::new();
    let mut events: Vec<Event<'l>> = Vec::new();
    for line in lines {
        let within = |open: &[String]| matches!(open, [calendar, event] if calendar == "VCALENDAR" && event == "VEVENT");
        match line.name.as_str() {
            "BEGIN" => {
                let name = line.value.trim().to_ascii_uppercase();
                if (name == "VCALENDAR") != open.is_empty() || open.len() >= DEPTH_MOST {
                    return Err(broken(line.number, "a part where none can begin"));
                }
                open.push(name);
                if within(&open) {
                    if events.len() >= EVENTS_MOST {
                        let found = format!("more than {EVENTS_MOST} events");
                        let action = "give a calendar of holidays alone";
                        return Err(error(
                            TOO_MANY_DAYS,
                            (file, line.number),
                            found,
                            "less",
                            action,
                        ));
                    }
                    events.push(Event {
                        line: line.number,
                        title: String::new(),
                        own: Vec::new(),
                    });
                }
            }
            "END" => {
                let name = line.value.trim().to_ascii_uppercase();
                if open.pop().as_deref() != Some(name.as_str()) {
                    return Err(broken(line.number, "an end of what was not begun"));
                }
            }
            _ if open.is_empty() => return Err(broken(line.number, "a line outside of all parts")),
            name => {
                if let Some(event) = events.last_mut().filter(|_| within(&open)) {
                    if name == "SUMMARY" {
                        event.title = shown(&plain(&line.value));
                    }
                    event.own.push(line);
                }
            }
        }
    }
    if open.is_empty() {
        Ok(events)
    } else {
        Err(broken(0, "the end of the file within a part"))
    }
}

/// Why an event is left out, in words.
type LeftOut = String;

impl Event<'_> {
    fn line(&self, name: &str) -> Option<&Line> {
        self.own.iter().copied().find(|line| line.name == name)
    }

    /// Its days within the span.
    fn days(
        &self,
        file: &str,
        from: NaiveDate,
        until: NaiveDate,
    ) -> Result<Result<Vec<NaiveDate>, LeftOut>, Finding> {
        if self
            .line("STATUS")
            .is_some_and(|line| line.value.trim().eq_ignore_ascii_case("CANCELLED"))
        {
            return Ok(Ok(Vec::new()));
        }
        for name in ["RDATE", "EXRULE", "RECURRENCE-ID"] {
            if self.line(name).is_some() {
                return Ok(Err(format!("it has {name}, which is not read")));
            }
        }
        let Some(start) = self.line("DTSTART") else {
            return Ok(Err("it has no DTSTART".to_owned()));
        };
        let Some(first) = whole_day(start) else {
            return Ok(Err("it is not of whole days".to_owned()));
        };
        let first = first.ok_or_else(|| bad_date(file, start))?;
        let length = match self.length(file, first)? {
            Ok(length) => length,
            Err(why) => return Ok(Err(why)),
        };
        let starts = match self.starts(file, first, until)? {
            Ok(starts) => starts,
            Err(why) => return Ok(Err(why)),
        };
        let except = self.except(file)?;
        let mut days = Vec::new();
        for start in starts.into_iter().filter(|start| !except.contains(start)) {
            let each = (0..length).filter_map(|past| start.checked_add_days(Days::new(past)));
            days.extend(each.filter(|day| *day >= from && *day < until));
        }
        Ok(Ok(days))
    }

    /// How many days it takes.
    fn length(&self, file: &str, first: NaiveDate) -> Result<Result<u64, LeftOut>, Finding> {
        let days = match (self.line("DTEND"), self.line("DURATION")) {
            (Some(end), _) => {
                let Some(day) = whole_day(end) else {
                    return Ok(Err("its end is not a day".to_owned()));
                };
                let day = day.ok_or_else(|| bad_date(file, end))?;
                u64::try_from((day - first).num_days()).unwrap_or(0)
            }
            (None, Some(line)) => whole_days(&line.value).ok_or_else(|| bad_date(file, line))?,
            (None, None) => 1,
        };
        Ok(match days {
            // An end that is not after the start is the start itself, as many programs write it.
            0 => Ok(1),
            1..=DAYS_MOST => Ok(days),
            _ => Err(format!("it takes {days} days, more than {DAYS_MOST}")),
        })
    }

    /// The days on which it begins, before `until`.
    fn starts(
        &self,
        file: &str,
        first: NaiveDate,
        until: NaiveDate,
    ) -> Result<Result<Vec<NaiveDate>, LeftOut>, Finding> {
        let rules = self.own.iter().filter(|line| line.name == "RRULE").count();
        if rules > 1 {
            return Ok(Err("it has several rules".to_owned()));
        }
        let Some(line) = self.line("RRULE") else {
            return Ok(Ok(vec![first]));
        };
        let rule = match rule(line, first).ok_or_else(|| bad_date(file, line))? {
            Ok(rule) => rule,
            Err(why) => return Ok(Err(why)),
        };
        let mut starts = Vec::new();
        let mut year = first.year();
        while year <= until.year() {
            // The 29th of February is there in some years only, and RFC 5545 leaves out the others.
            if let Some(day) = first.with_year(year) {
                let done = rule.count.is_some_and(|most| starts.len() as u64 >= most);
                if done || rule.until.is_some_and(|last| day > last) || day >= until {
                    break;
                }
                starts.push(day);
            }
            let Some(next) = year.checked_add(rule.interval) else {
                break;
            };
            year = next;
        }
        Ok(Ok(starts))
    }

    fn except(&self, file: &str) -> Result<Vec<NaiveDate>, Finding> {
        let mut except = Vec::new();
        for line in self.own.iter().filter(|line| line.name == "EXDATE") {
            for day in line.value.split(',') {
                if except.len() >= EXCEPTIONS_MOST {
                    let found = format!("more than {EXCEPTIONS_MOST} exceptions");
                    let action = "give a calendar of holidays alone";
                    return Err(error(
                        TOO_MANY_DAYS,
                        (file, line.number),
                        found,
                        "less",
                        action,
                    ));
                }
                except.push(date(day.trim()).ok_or_else(|| bad_date(file, line))?);
            }
        }
        Ok(except)
    }
}

/// Every so many years.
struct Rule {
    interval: i32,
    count: Option<u64>,
    until: Option<NaiveDate>,
}

/// A rule, or why it is not read; `None` when it cannot be.
fn rule(line: &Line, first: NaiveDate) -> Option<Result<Rule, LeftOut>> {
    let mut rule = Rule {
        interval: 1,
        count: None,
        until: None,
    };
    let mut yearly = false;
    for part in line.value.trim().split(';') {
        let (name, value) = part.split_once('=')?;
        match name.to_ascii_uppercase().as_str() {
            "FREQ" if value.eq_ignore_ascii_case("YEARLY") => yearly = true,
            "INTERVAL" => rule.interval = value.parse().ok().filter(|years| *years >= 1)?,
            "COUNT" => rule.count = Some(value.parse().ok().filter(|count| *count >= 1)?),
            // A moment ends the rule on its day.
            "UNTIL" => rule.until = Some(date(value.get(..8)?)?),
            "WKST" => {}
            "BYMONTH" if value.parse() == Ok(first.month()) => {}
            "BYMONTHDAY" if value.parse() == Ok(first.day()) => {}
            name => {
                let why = format!(
                    "its rule has {}={}, which is not read",
                    shown(name),
                    shown(value)
                );
                return Some(Err(why));
            }
        }
    }
    yearly.then_some(Ok(rule))
}

/// The day of a line that holds one: `None` when it holds a time, `Some(None)` when it cannot be read.
fn whole_day(line: &Line) -> Option<Option<NaiveDate>> {
    let value = line.value.trim();
    let told = line
        .parameter("VALUE")
        .is_some_and(|kind| kind.eq_ignore_ascii_case("DATE"));
    (told || !value.contains(['T', 't'])).then(|| date(value))
}

/// `20270101`, of the years for which shops plan.
fn date(text: &str) -> Option<NaiveDate> {
    if text.len() != 8 || !text.bytes().all(|byte| byte.is_ascii_digit()) {
        return None;
    }
    let number = |from: usize, to: usize| text.get(from..to)?.parse::<u32>().ok();
    let year = i32::try_from(number(0, 4)?).ok()?;
    let day = NaiveDate::from_ymd_opt(year, number(4, 6)?, number(6, 8)?)?;
    (1900..=2199).contains(&year).then_some(day)
}

/// `P1D`, `P2W`; no times.
fn whole_days(value: &str) -> Option<u64> {
    let value = value.trim().strip_prefix('P')?;
    if let Some(weeks) = value.strip_suffix('W') {
        return weeks.parse::<u64>().ok()?.checked_mul(7);
    }
    value.strip_suffix('D')?.parse().ok()
}

fn bad_date(file: &str, line: &Line) -> Finding {
    error(
        BAD_DATE,
        (file, line.number),
        format!("{}:{}", line.name, shown(&line.value)),
        "dates as 20270101 of the years 1900 to 2199, whole days, rules with FREQ",
        "mend or remove the event",
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    fn day(year: i32, month: u32, day: u32) -> NaiveDate {
        NaiveDate::from_ymd_opt(year, month, day).unwrap()
    }

    fn holidays(events: &[&str]) -> Result<Holidays, &'static str> {
        let events: String = events
            .iter()
            .map(|lines| {
                format!(
                    "BEGIN:VEVENT\r\n{}\r\nEND:VEVENT\r\n",
                    lines.replace(' ', "\r\n")
                )
            })
            .collect();
        let text = format!("BEGIN:VCALENDAR\r\nVERSION:2.0\r\n{events}END:VCALENDAR\r\n");
        days_off("x.ics", text.as_bytes(), day(2027, 1, 1), day(2029, 1, 1))
            .map_err(|findings| findings[0].code)
    }

    fn dates(event: &str) -> Vec<String> {
        let found = holidays(&[event]).unwrap();
        assert_eq!(found.left_out, Vec::<String>::new());
        found.days.iter().map(|one| one.date.to_string()).collect()
    }

    #[test]
    fn single_days_spans_and_years_are_read() {
        assert_eq!(
            dates("DTSTART;VALUE=DATE:20270326 SUMMARY:A"),
            ["2027-03-26"]
        );
        assert_eq!(
            dates("DTSTART;VALUE=DATE:20271224 DTEND;VALUE=DATE:20271227"),
            ["2027-12-24", "2027-12-25", "2027-12-26"]
        );
        assert_eq!(dates("DTSTART:20270101 DURATION:P2D").len(), 2);
        assert_eq!(
            dates("DTSTART;VALUE=DATE:20010101 RRULE:FREQ=YEARLY"),
            ["2027-01-01", "2028-01-01"]
        );
        assert_eq!(
            dates("DTSTART;VALUE=DATE:20240229 RRULE:FREQ=YEARLY;BYMONTH=2;BYMONTHDAY=29"),
            ["2028-02-29"]
        );
        assert_eq!(
            dates("DTSTART;VALUE=DATE:20260501 RRULE:FREQ=YEARLY;COUNT=2"),
            ["2027-05-01"]
        );
        assert_eq!(
            dates("DTSTART;VALUE=DATE:20260501 RRULE:FREQ=YEARLY;UNTIL=20271231T000000Z"),
            ["2027-05-01"]
        );
        assert_eq!(
            dates("DTSTART;VALUE=DATE:20260501 RRULE:FREQ=YEARLY EXDATE;VALUE=DATE:20270501"),
            ["2028-05-01"]
        );
        assert!(dates("DTSTART;VALUE=DATE:20270501 STATUS:CANCELLED").is_empty());
    }

    #[test]
    fn what_is_not_read_is_named() {
        for event in [
            "DTSTART:20270326T080000Z",
            "DTSTART;VALUE=DATE:20270326 RRULE:FREQ=WEEKLY",
            "DTSTART;VALUE=DATE:20270326 RRULE:FREQ=YEARLY;BYDAY=1MO",
            "DTSTART;VALUE=DATE:20270326 RRULE:FREQ=YEARLY;BYMONTH=4",
            "DTSTART;VALUE=DATE:20270326 RDATE:20270401",
            "DTSTART;VALUE=DATE:20270326 DURATION:P500D",
            "SUMMARY:nothing",
        ] {
            let found = holidays(&[event, "DTSTART;VALUE=DATE:20270101"]).unwrap();
            assert_eq!((found.days.len(), found.left_out.len()), (1, 1), "{event}");
        }
    }

    #[test]
    fn what_cannot_be_is_refused() {
        for event in [
            "DTSTART;VALUE=DATE:20270230",
            "DTSTART;VALUE=DATE:2027",
            "DTSTART;VALUE=DATE:20270101 RRULE:FREQ=YEARLY;COUNT=-1",
            "DTSTART;VALUE=DATE:20270101 RRULE:COUNT=1",
            "DTSTART;VALUE=DATE:20270101 DURATION:PT1H",
        ] {
            assert_eq!(holidays(&[event]), Err("E103"), "{event}");
        }
        let code = |text: &str| {
            days_off("x", text.as_bytes(), day(2027, 1, 1), day(2028, 1, 1)).unwrap_err()[0].code
        };
        assert_eq!(code("name,age\n"), "E101");
        assert_eq!(code("BEGIN:VCALENDAR\nBEGIN:VEVENT\n"), "E102");
        assert_eq!(code("BEGIN:VCALENDAR\nEND:VEVENT\n"), "E102");
        assert_eq!(code("BEGIN:VCALENDAR\nwords\nEND:VCALENDAR\n"), "E102");
        let deep = format!("BEGIN:VCALENDAR\n{}", "BEGIN:VALARM\n".repeat(100_000));
        assert_eq!(code(&deep), "E102");
    }
}

//! Dates, clock times and moments as values.

use crate::codes::{BAD_CLOCK_TIME, BAD_MOMENT, SKIPPED_TIME};
use crate::fields::{Kind, Parse, Raw};
use crate::findings::{Problem, shown};
use crate::moment::{DateMeans, MomentProblem, YEARS, read_moment};
use chrono::{Datelike, NaiveDate, NaiveTime};
use chrono_tz::Tz;
use units::Moment;

/// A local date such as 2027-03-22.
pub(crate) struct Day;

impl Parse for Day {
    type Out = NaiveDate;
    const KIND: Kind = Kind::DateOrText;

    fn parse(&self, raw: &Raw) -> Result<NaiveDate, Problem> {
        match NaiveDate::parse_from_str(&raw.text, "%Y-%m-%d") {
            Ok(date) if (YEARS.0..=YEARS.1).contains(&date.year()) => Ok(date),
            _ => {
                let expected = format!(
                    "a date from {}-01-01 to {}-12-31, year first",
                    YEARS.0, YEARS.1
                );
                let action = "write it as 2027-03-22";
                Err(Problem::new(BAD_MOMENT, shown(&raw.text), expected, action))
            }
        }
    }
}

/// A time of day such as 06:00.
pub(crate) struct ClockTime;

impl Parse for ClockTime {
    type Out = NaiveTime;
    const KIND: Kind = Kind::DateOrText;

    fn parse(&self, raw: &Raw) -> Result<NaiveTime, Problem> {
        let forms = ["%H:%M", "%H:%M:%S"];
        let read = forms
            .iter()
            .find_map(|form| NaiveTime::parse_from_str(&raw.text, form).ok());
        read.ok_or_else(|| {
            let expected = "a time of day from 00:00 to 23:59";
            let action = "write hours and minutes as 06:00 (midnight is 00:00)";
            Problem::new(BAD_CLOCK_TIME, shown(&raw.text), expected, action)
        })
    }
}

/// A moment, local in the shop's zone unless it carries an offset.
pub(crate) struct MomentIn {
    pub(crate) zone: Tz,
    pub(crate) date_means: DateMeans,
}

impl Parse for MomentIn {
    type Out = Moment;
    const KIND: Kind = Kind::DateOrText;

    fn parse(&self, raw: &Raw) -> Result<Moment, Problem> {
        read_moment(&raw.text, self.zone, self.date_means).map_err(|problem| match problem {
            MomentProblem::Skipped(text) => Problem::new(
                SKIPPED_TIME,
                text,
                "a local time that exists",
                "write a time an hour later, or one with its offset",
            ),
            MomentProblem::Unreadable | MomentProblem::Year => Problem::new(
                BAD_MOMENT,
                format!("{} is {problem}", shown(&raw.text)),
                format!(
                    "a date or a date and time, years {} to {}",
                    YEARS.0, YEARS.1
                ),
                "write it as 2027-03-22 or 2027-03-22T06:00",
            ),
        })
    }
}

//! The shop's clock, as people read it.

use chrono::{DateTime, Days, Duration, NaiveDate, NaiveTime, TimeZone, Timelike};
use chrono_tz::Tz;
use units::{Moment, Window};

/// The clock of a shop's zone.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Clock(pub(crate) Tz);

impl Clock {
    fn at(self, moment: Moment) -> Option<DateTime<Tz>> {
        DateTime::from_timestamp(moment.0, 0).map(|utc| utc.with_timezone(&self.0))
    }

    fn say(self, moment: Moment, form: &str) -> String {
        self.at(moment).map_or_else(
            || format!("@{}", moment.0),
            |time| time.format(form).to_string(),
        )
    }

    /// `06:05`.
    pub(crate) fn time(self, moment: Moment) -> String {
        self.say(moment, "%H:%M")
    }

    /// `Mon 22 Mar 06:05`.
    pub(crate) fn short(self, moment: Moment) -> String {
        self.say(moment, "%a %-d %b %H:%M")
    }

    /// `06:05` on `day`, else with the day before it.
    pub(crate) fn on(self, moment: Moment, day: NaiveDate) -> String {
        if self.day(moment) == day {
            self.time(moment)
        } else {
            self.short(moment)
        }
    }

    /// `06:05` on `day`, `Tue 06:05` within the week after it, else `31 Mar`.
    pub(crate) fn brief(self, moment: Moment, day: NaiveDate) -> String {
        let apart = self.day(moment).signed_duration_since(day).num_days();
        match apart {
            0 => self.time(moment),
            1..=6 => self.say(moment, "%a %H:%M"),
            _ => self.say(moment, "%-d %b"),
        }
    }

    /// RFC 3339 with the zone's offset.
    pub(crate) fn exact(self, moment: Moment) -> String {
        self.say(moment, "%Y-%m-%dT%H:%M:%S%:z")
    }

    /// The local day of a moment.
    pub(crate) fn day(self, moment: Moment) -> NaiveDate {
        self.at(moment)
            .map_or(NaiveDate::default(), |time| time.date_naive())
    }

    /// Minutes past the hour.
    pub(crate) fn minute(self, moment: Moment) -> u32 {
        self.at(moment).map_or(0, |time| time.minute())
    }

    /// From the first moment of a local day to that of the next.
    pub(crate) fn window(self, day: NaiveDate) -> Window {
        let next = day.checked_add_days(Days::new(1)).unwrap_or(day);
        Window {
            start: self.first(day),
            end: self.first(next),
        }
    }

    fn first(self, day: NaiveDate) -> Moment {
        let midnight = day.and_time(NaiveTime::MIN);
        // Where clocks skip midnight, the day begins a little later.
        let first = (0..4).find_map(|hours| {
            let later = midnight.checked_add_signed(Duration::hours(hours))?;
            self.0.from_local_datetime(&later).earliest()
        });
        Moment(first.map_or_else(|| midnight.and_utc().timestamp(), |time| time.timestamp()))
    }
}

/// `Mon 22 Mar 2027`.
pub(crate) fn day_words(day: NaiveDate) -> String {
    day.format("%a %-d %b %Y").to_string()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_day_has_as_many_hours_as_its_clock_shows() {
        let clock = Clock(chrono_tz::Europe::Berlin);
        let hours = |month, day| {
            let day = NaiveDate::from_ymd_opt(2027, month, day).unwrap();
            clock.window(day).length().0 / 3_600
        };
        // Clocks go forward on 28 March 2027 and back on 31 October 2027.
        assert_eq!((hours(3, 27), hours(3, 28), hours(10, 31)), (24, 23, 25));
    }

    #[test]
    fn a_moment_on_another_day_says_which() {
        let clock = Clock(chrono_tz::Europe::Berlin);
        // 2027-03-22 06:00 in Berlin.
        let at = Moment(1_805_691_600);
        let day = clock.day(at);
        assert_eq!(clock.on(at, day), "06:00");
        assert_eq!(clock.on(at, day.succ_opt().unwrap()), "Mon 22 Mar 06:00");
        let before = |days| day.checked_sub_days(Days::new(days)).unwrap();
        assert_eq!(clock.brief(at, before(1)), "Mon 06:00");
        assert_eq!(clock.brief(at, before(7)), "22 Mar");
        assert_eq!(clock.exact(at), "2027-03-22T06:00:00+01:00");
    }
}

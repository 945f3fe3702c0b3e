//! Moments as the shop floor says them.

use chrono::{DateTime, Datelike, Days, NaiveDate, TimeZone};
use chrono_tz::Tz;
use units::{Moment, Seconds};

/// The shop's clock.
#[derive(Clone, Copy, Debug)]
pub struct Clock {
    zone: Tz,
}

impl Clock {
    /// In this zone.
    #[must_use]
    pub fn new(zone: Tz) -> Clock {
        Clock { zone }
    }

    fn local(self, moment: Moment) -> Option<DateTime<Tz>> {
        DateTime::from_timestamp(moment.0, 0).map(|utc| utc.with_timezone(&self.zone))
    }

    fn say(self, moment: Moment, form: &str) -> String {
        self.local(moment).map_or_else(
            || format!("@{}", moment.0),
            |time| time.format(form).to_string(),
        )
    }

    /// The local day of a moment; the calendar's first day for one beyond the calendar.
    #[must_use]
    pub fn day(self, moment: Moment) -> NaiveDate {
        self.local(moment)
            .map_or(NaiveDate::MIN, |time| time.date_naive())
    }

    /// The first moment of a local day.
    #[must_use]
    pub fn start_of(self, day: NaiveDate) -> Moment {
        // Where midnight is skipped, the day starts within the next three hours.
        let midnight = day.and_time(chrono::NaiveTime::MIN);
        let first = (0..4).find_map(|hours| {
            let later = midnight.checked_add_signed(chrono::Duration::hours(hours))?;
            self.zone.from_local_datetime(&later).earliest()
        });
        Moment(first.map_or_else(|| midnight.and_utc().timestamp(), |time| time.timestamp()))
    }

    /// `06:05` on that day, `Wed 06:05` on a day within the week around it, else `31 Mar 06:05`.
    #[must_use]
    pub fn time_seen_from(self, moment: Moment, day: NaiveDate) -> String {
        let own = self.day(moment);
        let apart = own.num_days_from_ce() - day.num_days_from_ce();
        match apart {
            0 => self.say(moment, "%H:%M"),
            -6..=6 => self.say(moment, "%a %H:%M"),
            _ => self.say(moment, "%-d %b %H:%M"),
        }
    }

    /// `23 Mar 14:00`.
    #[must_use]
    pub fn short(self, moment: Moment) -> String {
        self.say(moment, "%-d %b %H:%M")
    }

    /// `Tue 23 Mar`.
    #[must_use]
    pub fn weekday(self, moment: Moment) -> String {
        self.say(moment, "%a %-d %b")
    }

    /// `Tue 23 Mar 2027 06:00`.
    #[must_use]
    pub fn long(self, moment: Moment) -> String {
        self.say(moment, "%a %-d %b %Y %H:%M")
    }

    /// `2027-03-23T06:00:00+01:00`.
    #[must_use]
    pub fn with_offset(self, moment: Moment) -> String {
        self.say(moment, "%Y-%m-%dT%H:%M:%S%:z")
    }

    /// `2027-03-23 06:00`, for tables that machines read.
    #[must_use]
    pub fn sortable(self, moment: Moment) -> String {
        crate::local(moment, self.zone)
    }
}

/// `Tue 23 Mar 2027`.
#[must_use]
pub fn day_long(day: NaiveDate) -> String {
    day.format("%a %-d %b %Y").to_string()
}

/// The day so many days later; the same one beyond the calendar's end.
#[must_use]
pub fn days_later(day: NaiveDate, days: u32) -> NaiveDate {
    day.checked_add_days(Days::new(u64::from(days)))
        .unwrap_or(day)
}

/// A duration in a narrow column: `-` for none, `45 s`, `12 min`, `2 h 05`, `3 d 02 h`.
#[must_use]
pub fn short_duration(duration: Seconds) -> String {
    let minutes = (duration.0 + 30).div_euclid(60);
    match duration.0 {
        0 => "-".to_owned(),
        1..=59 => format!("{} s", duration.0),
        _ if minutes < 60 => format!("{minutes} min"),
        _ if minutes < 24 * 60 => format!("{} h {:02}", minutes / 60, minutes % 60),
        _ => format!("{} d {:02} h", minutes / 1_440, minutes % 1_440 / 60),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn days_start_at_their_first_moment() {
        let berlin = Clock::new(chrono_tz::Europe::Berlin);
        let day = NaiveDate::from_ymd_opt(2027, 3, 28).unwrap();
        // Summer time starts that day: 23 hours between the two midnights.
        let length = berlin.start_of(days_later(day, 1)) - berlin.start_of(day);
        assert_eq!(length, Seconds(23 * 3_600));
        assert_eq!(berlin.day(berlin.start_of(day)), day);
        // Midnight of 2027-03-28 does not exist in Asuncion-like zones; Beirut skips 00:00 then.
        let beirut = Clock::new(chrono_tz::Asia::Beirut);
        assert_eq!(beirut.day(beirut.start_of(day)), day);
    }

    #[test]
    fn times_are_said_from_the_day_at_hand() {
        let berlin = Clock::new(chrono_tz::Europe::Berlin);
        let day = NaiveDate::from_ymd_opt(2027, 3, 23).unwrap();
        let six = berlin.start_of(day) + Seconds(6 * 3_600);
        assert_eq!(berlin.time_seen_from(six, day), "06:00");
        assert_eq!(berlin.time_seen_from(six, days_later(day, 1)), "Tue 06:00");
        assert_eq!(
            berlin.time_seen_from(six, days_later(day, 20)),
            "23 Mar 06:00"
        );
        assert_eq!(berlin.short(six), "23 Mar 06:00");
    }

    #[test]
    fn durations_fit_a_narrow_column() {
        let cases = [
            (0, "-"),
            (45, "45 s"),
            (725, "12 min"),
            (7_500, "2 h 05"),
            (266_400, "3 d 02 h"),
        ];
        for (seconds, text) in cases {
            assert_eq!(short_duration(Seconds(seconds)), text);
        }
    }
}

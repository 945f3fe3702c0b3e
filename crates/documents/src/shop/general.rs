//! shop.toml: the shop itself, its rules and its calendars.

use super::calendars::read_calendar;
use super::defaults::Defaults;
use super::rules::{Over, read_rules};
use crate::codes::{UNKNOWN_CALENDAR, UNKNOWN_ZONE};
use crate::fields::{Fields, Kind, Parse, Raw};
use crate::findings::{Findings, Problem, shown};
use crate::known::Known;
use crate::moment::DateMeans;
use crate::nearest::suggestion;
use crate::settings::{Settings, read_settings};
use crate::time_value::{ClockTime, MomentIn};
use crate::value::{Choice, Id, Text, Whole, YesNo};
use chrono::NaiveTime;
use chrono_tz::{TZ_VARIANTS, Tz};
use model::{Calendar, Rules};
use units::{CalendarId, LengthUnit, Moment};

pub(super) const FILE: &str = "shop.toml";

const UNITS: Choice<LengthUnit> =
    Choice(&[("mm", LengthUnit::Millimetre), ("in", LengthUnit::Inch)]);
/// Most days between bending and shipping.
pub(super) const DOWNSTREAM_DAYS: Whole = Whole {
    least: 0,
    most: 60,
    unit: "days",
};

/// What shop.toml says, and what every other file is read with.
pub(super) struct General {
    pub(super) name: Option<String>,
    /// Whether the files say that the shop is made up; no plan depends on it.
    pub(super) invented: bool,
    pub(super) zone: Tz,
    pub(super) unit: LengthUnit,
    pub(super) as_of: Option<Moment>,
    pub(super) due_time: NaiveTime,
    pub(super) downstream_days: u32,
    /// Its shifts make a day of later work; any calendar's do when none is named.
    pub(super) downstream_calendar: Option<CalendarId>,
    pub(super) rules: Option<Rules>,
    pub(super) calendars: Vec<Calendar>,
    pub(super) calendar_ids: Known<CalendarId>,
}

impl General {
    pub(super) fn new() -> General {
        General {
            name: None,
            invented: false,
            zone: Tz::UTC,
            unit: LengthUnit::Millimetre,
            as_of: None,
            due_time: NaiveTime::MIN,
            downstream_days: 0,
            downstream_calendar: None,
            rules: None,
            calendars: Vec::new(),
            calendar_ids: Known::new(),
        }
    }

    /// The moment that stands for "already": when the folder was described, else the beginning of
    /// time.
    pub(super) fn already(&self) -> Moment {
        self.as_of.unwrap_or(Moment(0))
    }

    /// A moment for which a date alone means the start of the local day.
    pub(super) fn moment_from(&self) -> MomentIn {
        MomentIn {
            zone: self.zone,
            date_means: DateMeans::StartOfDay,
        }
    }

    /// A moment for which a date alone means the shop's due time.
    pub(super) fn moment_until(&self) -> MomentIn {
        MomentIn {
            zone: self.zone,
            date_means: DateMeans::At(self.due_time),
        }
    }
}

/// Reads shop.toml; what is not there or bad is as if it were left out, and reported.
pub(super) fn read_general(
    bytes: Option<&[u8]>,
    defaults: &Defaults,
    out: &mut Findings,
) -> General {
    let mut general = General::new();
    let whole = bytes.is_some_and(|bytes| {
        read_settings(FILE, bytes, out, |shop| {
            read_keys(shop, defaults, &mut general);
        })
    });
    if !whole {
        general.calendar_ids.mark_incomplete();
    }
    general
}

fn read_keys(shop: &mut Settings<'_, '_>, defaults: &Defaults, general: &mut General) {
    general.name = shop.required("name", &Text);
    general.zone = shop.required("time_zone", &Zone).unwrap_or(Tz::UTC);
    general.unit = shop.or("units", &UNITS, LengthUnit::Millimetre);
    shop.unit = general.unit;
    general.as_of = shop.optional("as_of", &general.moment_from());
    general.invented = shop.or("invented", &YesNo, false);
    let two = NaiveTime::from_hms_opt(14, 0, 0).unwrap_or_default();
    general.due_time = shop.or("due_time", &ClockTime, two);
    general.downstream_days = shop.or("downstream_days", &DOWNSTREAM_DAYS, 0);
    shop.each_named("calendars", |name, place, calendar| {
        read_calendar(name, place, calendar, general);
    });
    general.downstream_calendar = shop.optional("downstream_calendar", &Id(CalendarId::new));
    if let Some(id) = &general.downstream_calendar {
        check_calendar(shop, "downstream_calendar", id, &general.calendar_ids);
    }
    let over = Over::Base(&defaults.rules);
    let rules = shop.inside("rules", |rules| read_rules(rules, over, general));
    general.rules = Some(rules.unwrap_or_else(|| defaults.rules.clone()));
}

/// Reports a calendar that is not there.
pub(super) fn check_calendar(
    fields: &mut impl Fields,
    key: &'static str,
    id: &CalendarId,
    known: &Known<CalendarId>,
) {
    if let Some(problem) = known.missing(id, UNKNOWN_CALENDAR, FILE) {
        fields.report(key, problem);
    }
}

/// A time zone by its IANA name.
struct Zone;

impl Parse for Zone {
    type Out = Tz;
    const KIND: Kind = Kind::Text;

    fn parse(&self, raw: &Raw) -> Result<Tz, Problem> {
        raw.text.parse().map_err(|_| {
            let names = TZ_VARIANTS.iter().map(|zone| zone.name());
            let action = suggestion(&raw.text, names, "write a name such as \"Europe/Berlin\"");
            Problem::new(UNKNOWN_ZONE, shown(&raw.text), "an IANA time zone", action)
        })
    }
}

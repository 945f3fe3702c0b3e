//! `holidays`: days off out of a calendar file, as the shop's settings have them.

use super::{load, read_up_to, usual_from};
use crate::args::exchange::HolidaysArgs;
use crate::printer::Printer;
use crate::trouble::{Ended, Trouble};
use documents::words::{Clock, days_later};
use exchange::ical::{closed_with, days_off};
use model::Calendar;
use serde_json::{Value, json};

/// Reads no more of a calendar file than this and one byte.
const CALENDAR_BYTES_MOST: usize = 4 * 1024 * 1024;

/// Ends with 1 when an event could not be read.
pub(super) fn run(args: &HolidaysArgs, printer: &mut Printer) -> Result<Ended, Trouble> {
    let loaded = load(&args.folder, printer)?;
    let shop = &loaded.shop;
    let of = |calendar: &&Calendar| match &args.calendar {
        Some(name) => calendar.id.as_str() == name,
        None => true,
    };
    let calendars: Vec<&Calendar> = shop.calendars.iter().filter(of).collect();
    if calendars.is_empty() {
        let known: Vec<&str> = shop.calendars.iter().map(|one| one.id.as_str()).collect();
        return Err(Trouble::Usage(format!(
            "no such calendar in this shop; there are {}",
            known.join(", ")
        )));
    }
    let moment = match &args.from {
        None => shop.as_of.unwrap_or_else(|| usual_from(shop)),
        Some(text) => documents::parse_moment(text, shop.zone)
            .map_err(|problem| Trouble::Usage(format!("--from: {problem}")))?,
    };
    let from = Clock::new(shop.zone).day(moment);
    let until = days_later(from, args.days);
    let bytes = read_up_to(&args.ics, CALENDAR_BYTES_MOST)?;
    let file = args.ics.display().to_string();
    let holidays = days_off(&file, &bytes, from, until).map_err(Trouble::Findings)?;
    if args.json {
        let days: Vec<Value> = holidays
            .days
            .iter()
            .map(|day| json!({ "date": day.date.to_string(), "reason": day.reason }))
            .collect();
        printer.json(&json!({
            "format": "brakewright.holidays/1",
            "from": from.to_string(),
            "until": until.to_string(),
            "days": days,
            "left_out": holidays.left_out,
        }))?;
    } else {
        let mut text = format!(
            "# Days off from {from} on and before {until}. Put each list into shop.toml in place of its\n\
             # calendar's closed, then check the shop.\n"
        );
        for calendar in calendars {
            text.push('\n');
            text.push_str(&closed_with(calendar, &holidays.days).0);
        }
        printer.data(&text)?;
    }
    for line in &holidays.left_out {
        printer.message(&format!("{file}: {line}"));
    }
    Ok(if holidays.left_out.is_empty() {
        Ended::Done
    } else {
        Ended::NeedsAPerson
    })
}

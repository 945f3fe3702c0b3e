//! A quote: the date with its odds first, then what it rests on.

use super::clock::{Clock, short_duration};
use super::table::{Side, table, wrapped};
use super::{CAUTION, INVENTED, counted, unplaced};
use model::{Chance, Refusal, StepKind};
use quoting::{AbleBrake, Breaks, Placed, Price};
use std::fmt::Write as _;
use units::Seconds;
use workshop::{PROMISED_ODDS, QuoteSheet};

/// Other orders named at most.
const NAMED_MOST: usize = 10;

/// What is shown.
pub(crate) struct Page<'a> {
    /// The quote.
    pub(crate) sheet: QuoteSheet<'a>,
    /// Columns.
    pub(crate) width: usize,
}

impl Page<'_> {
    fn clock(&self) -> Clock {
        Clock::new(self.sheet.quote.shop.zone)
    }
}

/// The whole answer.
pub(crate) fn as_text(page: &Page<'_>) -> String {
    let answer = &page.sheet.quote.answer;
    let mut out = headline(page);
    out.push_str(&assumed(page));
    match &answer.place {
        Some(place) => {
            out.push_str(&odds(page, place));
            out.push_str(&hours(page, place));
            out.push_str(&promise(page, place));
        }
        None if answer.able.is_empty() => {
            out.push_str("\nNo brake can bend it; below is why.\n");
        }
        None => out.push_str("\nNo brake that can bend it has the time within the plan's days.\n"),
    }
    out.push_str(&brakes(page));
    if let Some(breaks) = &page.sheet.quote.breaks {
        out.push_str(&price_breaks(page, breaks));
    }
    if answer.place.is_some() {
        out.push_str(&basis(page));
    }
    out.push('\n');
    out.push_str(CAUTION);
    out
}

fn headline(page: &Page<'_>) -> String {
    let (shop, clock) = (&page.sheet.quote.shop, page.clock());
    let mut out = format!(
        "Quote: {}",
        counted(page.sheet.ask.job.quantity as usize, "piece", "pieces")
    );
    if let Some(part) = page.sheet.quote.part() {
        let _ = write!(
            out,
            " of {} {}; {} {} mm, blank {} x {} mm, {}",
            part.id,
            part.name,
            part.material,
            part.thickness,
            part.blank.0,
            part.blank.1,
            counted(part.bends.len(), "bend", "bends")
        );
    }
    let how = if page.sheet.stands {
        "into the plan that stands"
    } else {
        "into a plan made now"
    };
    let _ = writeln!(
        out,
        "\n{}, {how}, from {} ({}); blanks ready {}",
        shop.name,
        clock.long(page.sheet.ask.from),
        shop.zone,
        clock.long(page.sheet.ask.job.ready),
    );
    let mut out: String = out
        .lines()
        .map(|line| wrapped(&format!("{line}\n"), 2, page.width))
        .collect();
    if page.sheet.invented {
        out.push_str(INVENTED);
    }
    out
}

fn assumed(page: &Page<'_>) -> String {
    if page.sheet.quote.assumed.is_empty() {
        return String::new();
    }
    let mut out = String::from("\nAssumed, as there is no drawing: an invented part\n");
    for line in &page.sheet.quote.assumed {
        out.push_str(&wrapped(&format!("- {line}\n"), 2, page.width));
    }
    out
}

/// `83 %`; never quite none or all, as that was only not seen.
fn percent(share: f64) -> String {
    match share {
        share if share > 0.995 => "over 99 %".to_owned(),
        share if share < 0.005 => "under 1 %".to_owned(),
        share => format!("{:.0} %", share * 100.0),
    }
}

fn odds(page: &Page<'_>, place: &Placed) -> String {
    let clock = page.clock();
    let Some(odds) = &page.sheet.quote.odds else {
        return String::new();
    };
    let rows: Vec<Vec<String>> = PROMISED_ODDS
        .iter()
        .map(|&share| {
            let by = odds.by(share);
            let by = by.map_or_else(|| "beyond the calendars".to_owned(), |by| clock.long(by));
            vec![format!("{:.0} %", share * 100.0), by]
        })
        .collect();
    let columns = [("odds", Side::Right), ("bending done by", Side::Left)];
    let mut out = format!("\n{}", table(&columns, &rows, page.width));
    let end = place.run.end;
    let _ = writeln!(
        out,
        "If all goes as planned it is done {}: odds {}.",
        clock.long(end),
        percent(odds.kept_by(end)),
    );
    if let Some(due) = page.sheet.due {
        let _ = writeln!(
            out,
            "By {}, as wished: odds {}.",
            clock.long(due),
            percent(odds.kept_by(due)),
        );
    }
    out
}

fn hours(page: &Page<'_>, place: &Placed) -> String {
    let run = &place.run;
    let crew = run.segments.iter().map(|segment| segment.crew.len()).max();
    let crew = i64::try_from(crew.unwrap_or(1)).unwrap_or(1);
    let change = run.changeover.work;
    let people = Seconds(change.0 + crew * run.run_time.0);
    let line = format!(
        "Bending hours, in this place: {:.2} h of {} ({:.2} h changeover, {:.2} h run of {} s a piece), {:.2} h of people\n",
        (change + run.run_time).hours(),
        place.brake,
        change.hours(),
        run.run_time.hours(),
        seconds_of(run.cycle_ms),
        people.hours(),
    );
    let mut out = format!("\n{}", wrapped(&line, 2, page.width));
    let programming = run.changeover.steps.iter();
    let programming = programming.filter(|step| step.kind == StepKind::Programming);
    let programming: Seconds = programming.map(|step| step.time).sum();
    if programming > Seconds::ZERO {
        let _ = writeln!(
            out,
            "{} of the changeover make the program: once, not for a repeat.",
            short_duration(programming)
        );
    }
    if crew > 1 {
        let _ = writeln!(
            out,
            "{crew} people handle the piece: agree who works the pedal, and both stay in sight."
        );
    }
    out
}

#[allow(clippy::cast_precision_loss)] // milliseconds of one piece
fn seconds_of(cycle_ms: i64) -> String {
    format!("{:.1}", cycle_ms as f64 / 1_000.0)
}

fn promise(page: &Page<'_>, place: &Placed) -> String {
    let clock = page.clock();
    let mut rows = vec![offer_row("costs least", place, clock)];
    if let Some(earliest) = &page.sheet.quote.answer.earliest {
        rows.push(offer_row("ends first", earliest, clock));
    }
    let columns = [
        ("place", Side::Left),
        ("run", Side::Left),
        ("change from", Side::Left),
        ("bending", Side::Left),
        ("to", Side::Left),
        ("orders later", Side::Right),
        ("newly late", Side::Right),
        ("late h added", Side::Right),
        ("change min added", Side::Right),
    ];
    let mut out = format!(
        "\nWhat the promise costs: the others keep brakes and order, and slip ({} places tried)\n{}",
        page.sheet.quote.answer.tried,
        table(&columns, &rows, page.width)
    );
    out.push_str(
        "Late h added: lateness of all other orders together; change min: changeovers of the whole plan.\nThe odds are those of the first row.\n",
    );
    out.push_str(&moved(page, place));
    out
}

fn offer_row(name: &str, place: &Placed, clock: Clock) -> Vec<String> {
    let (run, price): (_, &Price) = (&place.run, &place.price);
    vec![
        name.to_owned(),
        run.name.clone(),
        clock.short(run.changeover.start.min(run.start)),
        clock.short(run.start),
        clock.short(run.end),
        price.later.to_string(),
        price.newly_late.to_string(),
        added(price.others_late.hours(), 1),
        added(price.changeover.minutes(), 0),
    ]
}

/// With its sign, but for what rounds to nothing.
fn added(number: f64, decimals: usize) -> String {
    let text = format!("{number:+.decimals$}");
    let nothing = text.chars().all(|c| "+-0.".contains(c));
    if nothing {
        text.trim_start_matches(['+', '-']).to_owned()
    } else {
        text
    }
}

fn moved(page: &Page<'_>, place: &Placed) -> String {
    let clock = page.clock();
    let later: Vec<_> = place
        .moved
        .iter()
        .filter(|one| one.after > one.before)
        .collect();
    if later.is_empty() {
        return "No other order ends later.\n".to_owned();
    }
    let rows: Vec<Vec<String>> = later
        .iter()
        .take(NAMED_MOST)
        .map(|one| {
            vec![
                one.order.to_string(),
                clock.short(one.due),
                clock.short(one.before),
                clock.short(one.after),
                short_duration(one.after - one.before),
                short_duration(one.late_after),
            ]
        })
        .collect();
    let columns = [
        ("order", Side::Left),
        ("due", Side::Left),
        ("ended", Side::Left),
        ("ends now", Side::Left),
        ("later by", Side::Right),
        ("late", Side::Right),
    ];
    let mut out = format!("\n{}", table(&columns, &rows, page.width));
    if later.len() > NAMED_MOST {
        let _ = writeln!(
            out,
            "and {} more; --json has them all.",
            later.len() - NAMED_MOST
        );
    }
    out
}

fn brakes(page: &Page<'_>) -> String {
    let answer = &page.sheet.quote.answer;
    let mut out = String::new();
    if !answer.able.is_empty() {
        let rows: Vec<Vec<String>> = answer.able.iter().map(able_row).collect();
        let columns = [
            ("brake", Side::Left),
            ("program", Side::Left),
            ("people", Side::Right),
            ("s a piece", Side::Right),
            ("min to set up, empty bed", Side::Right),
        ];
        out.push_str("\nBrakes that can bend it\n");
        out.push_str(&table(&columns, &rows, page.width));
    }
    if !answer.refusals.is_empty() {
        out.push_str("\nWhy others cannot\n");
        // A reason that every bend gives is told once; --json has them all.
        let mut told: Vec<Refusal> = Vec::new();
        for refusal in &answer.refusals {
            let same = |one: &&Refusal| one.brake == refusal.brake && one.text == refusal.text;
            if !told.iter().any(|one| same(&one)) {
                told.push(refusal.clone());
            }
        }
        out.push_str(&unplaced::reasons(&told, page.width));
    }
    out
}

fn able_row(able: &AbleBrake) -> Vec<String> {
    let setup = able.setup.as_ref();
    vec![
        able.brake.to_string(),
        able.program
            .clone()
            .unwrap_or_else(|| "to be made".to_owned()),
        able.crew.to_string(),
        seconds_of(able.cycle_ms),
        setup.map_or_else(
            || "-".to_owned(),
            |setup| format!("{:.0}", setup.work.minutes()),
        ),
    ]
}

fn price_breaks(page: &Page<'_>, breaks: &Breaks) -> String {
    let rows: Vec<Vec<String>> = breaks
        .points
        .iter()
        .map(|point| {
            let asked = point.quantity == page.sheet.ask.job.quantity;
            vec![
                format!("{}{}", point.quantity, if asked { " *" } else { "" }),
                format!("{:.2}", point.changeover_each()),
                format!("{:.2}", point.minutes_each() - point.changeover_each()),
                format!("{:.2}", point.minutes_each()),
                format!("{:.2}", (point.changeover + point.run).hours()),
            ]
        })
        .collect();
    let columns = [
        ("pieces", Side::Left),
        ("changeover", Side::Right),
        ("run", Side::Right),
        ("minutes a piece", Side::Right),
        ("hours in all", Side::Right),
    ];
    let mut out = format!(
        "\nPrice breaks: minutes of the brake a piece, set up on an empty bed (* as asked)\n{}",
        table(&columns, &rows, page.width)
    );
    let flat = match breaks.flat_from {
        Some(pieces) => format!(
            "From {pieces} pieces on the curve is flat: larger lots save less than a tenth of the {:.2} min of an endless run.\n",
            breaks.endless_minutes
        ),
        None => "The curve is not flat within a million pieces.\n".to_owned(),
    };
    out.push_str(&wrapped(&flat, 0, page.width));
    out
}

fn basis(page: &Page<'_>) -> String {
    let Some(odds) = &page.sheet.quote.odds else {
        return String::new();
    };
    let text = format!(
        "The odds come from {} plays of the plan with the job in it, seed {}. {} Everybody comes to work and \
         blanks come when they should. What the odds leave out they cannot promise: docs/concepts/odds.md. \
         Times and spreads that nobody has measured here are common practice without a source.\n",
        odds.samples(),
        page.sheet.ask.seed,
        varies(&page.sheet.quote.chance),
    );
    format!("\n{}", wrapped(&text, 0, page.width))
}

fn varies(chance: &Chance) -> String {
    let stops = if chance.hours_between_stops > 0.0 && chance.repair_hours > 0.0 {
        format!(
            "a brake stops every {} h of work for {} h on average",
            chance.hours_between_stops, chance.repair_hours
        )
    } else {
        "no brake stops".to_owned()
    };
    format!(
        "A run varies by {:.0} %, a changeover by {:.0} % (standard deviation), rush orders at a rate of {} a week go first, {stops}.",
        chance.run_spread * 100.0,
        chance.changeover_spread * 100.0,
        chance.rush_per_week,
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_added_has_its_sign_and_nothing_has_none() {
        assert_eq!(added(10.64, 1), "+10.6");
        assert_eq!(added(-0.04, 1), "0.0");
        assert_eq!(added(0.4, 0), "0");
        assert_eq!(added(-7.0, 0), "-7");
    }

    #[test]
    fn odds_are_never_quite_none_or_all() {
        assert_eq!(percent(0.83), "83 %");
        assert_eq!(percent(1.0), "over 99 %");
        assert_eq!(percent(0.0), "under 1 %");
    }
}
